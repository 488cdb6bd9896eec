"""The pictures of docs/review.md, taken from the sample house in a real browser:

    python -m tests.review_page.pictures
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, expect

from tests.review_page.opened import DESK, PHONE, ROOT, browser, copy_of, served, shown
from tests.review_page.steps import list_of, open_room, point_at, take_tool

FOLDER = ROOT / "docs" / "pictures"
COLOURS = 220
"""Enough for flat areas and plain letters, and a third of the bytes."""


def whole(page: Page) -> None:
    page.locator(".query__head").first.click()
    page.get_by_role("button", name="All", exact=True).click()
    page.wait_for_timeout(300)


def room(page: Page) -> None:
    open_room(page, "R6")
    wall = page.locator("summary", has_text="R6-W4 wall")
    wall.click()
    page.locator(".panel").evaluate("(panel, summary) => (panel.scrollTop += summary - 190)", wall.bounding_box()["y"])


def split(page: Page) -> None:
    take_tool(page, "Split a room")
    point_at(page, 2.5, 6.9)
    point_at(page, 8.4, 6.9)
    page.get_by_label("Name of the upper part").fill("Dining")


def figures(page: Page) -> None:
    list_of(page, "Figures")


def phone(page: Page) -> None:
    open_room(page, "R6")


VIEWS: dict[str, tuple[Callable[[Page], None], dict[str, int], str]] = {
    "review-plan": (whole, DESK, "light"),
    "review-room": (room, DESK, "light"),
    "review-split": (split, DESK, "light"),
    "review-figures": (figures, DESK, "dark"),
    "review-phone": (phone, PHONE, "light"),
}


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, browser() as chromium:
        job = copy_of("new_house", Path(folder))
        told = job.read_text(encoding="utf-8")
        job.write_text(told.replace("height = 2.35", ""), encoding="utf-8")  # so that it asks
        with served(job) as address:
            for name, (arrange, size, scheme) in VIEWS.items():
                take(chromium, address, arrange, size, scheme, FOLDER / f"{name}.png")


def take(
    chromium: Browser, address: str, arrange: Callable[[Page], None], size: dict[str, int], scheme: str, path: Path
) -> None:
    """One picture; nothing is changed in the job by it."""
    context = chromium.new_context(viewport=size, color_scheme=scheme, reduced_motion="reduce")
    page = context.new_page()
    shown(page, address)
    arrange(page)
    expect(page.locator(".notice")).to_have_count(0)
    page.mouse.move(5, 5)
    page.wait_for_timeout(800)
    save(page.screenshot(), path)
    context.close()


def save(png: bytes, path: Path) -> None:
    Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)
    print(f"{path.relative_to(ROOT)}: {path.stat().st_size // 1000} kB")


if __name__ == "__main__":
    main()
