"""What a person does on the page, in the page's words."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from playwright.sync_api import Locator, Page, expect

from tests.review_page.opened import until

SAVED = re.compile(r"^Saved in ")


def in_file(job: Path) -> dict[str, Any]:
    return tomllib.loads(job.read_text(encoding="utf-8"))


def list_of(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="Lists").get_by_role("button", name=name).click()


def open_room(page: Page, ref: str) -> None:
    list_of(page, "Rooms")
    page.locator(".rowbutton", has=page.locator(f".rowbutton__ref:text-is('{ref}')")).click()
    expect(page.get_by_role("heading", level=2)).to_contain_text(ref)


def say_height(page: Page, text: str) -> None:
    field = page.get_by_label("Height", exact=True)
    field.fill(text)
    field.press("Enter")


def saved(page: Page, what: str) -> None:
    """Waits until the page says that `what` is saved: by then it is in the file."""
    expect(page.get_by_text(f"Saved: {what}.", exact=True).first).to_be_visible()
    expect(page.locator(".saved")).to_have_text(SAVED)


def figure(page: Page, what: str) -> float:
    """The number of the figure called `what`."""
    summary = page.locator("summary", has=page.locator(f".figure__what:text-is('{what}')")).first
    return float(re.sub(r"[^\d.]", "", summary.locator(".figure__value").inner_text()))


def plan_point(page: Page, x: float, y: float) -> tuple[float, float]:
    """Where a point of the drawing, in metres, is on the screen."""
    until(page, "Boolean(document.querySelector('.plan canvas').dataset.view)")
    middle_x, middle_y, scale = map(float, canvas(page).get_attribute("data-view").split())
    box = canvas(page).bounding_box()
    left = box["x"] + box["width"] / 2 + (x - middle_x) * scale
    return left, box["y"] + box["height"] / 2 + (middle_y - y) * scale


def point_at(page: Page, x: float, y: float) -> None:
    page.mouse.click(*plan_point(page, x, y))


def take_tool(page: Page, name: str) -> None:
    page.get_by_role("group", name="Correct the plan").get_by_role("button", name=name).click()


def canvas(page: Page) -> Locator:
    return page.locator(".plan canvas")
