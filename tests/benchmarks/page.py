"""The review page in a real browser, without a graphics card: first picture, panning, edit to figures.

    python tests/benchmarks/page.py [DRAWING]

DRAWING: the largest of the shared corpus unless told, and a sample where there is none. Prints

- the first picture of it: from asking for the page to all its lines drawn, the program having read the drawing;
- frames a second while it is dragged about, as it is and with its lines repeated up to 50,000 (target 30);
- a height said in the sample house: from the Enter key to the changed figure on the page (target 200 ms).

Run it on an idle machine: these are seconds, not ratios.
"""

from __future__ import annotations

import base64
import json
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from playwright.sync_api import Browser, Page, Route  # noqa: E402

from tests.review_page.opened import DESK, browser, copy_of, served, shown, until  # noqa: E402
from tests.review_page.steps import open_room  # noqa: E402

CORPUS = ROOT.parent / "shared" / "corpus"
MANY = 50_000
EDITS = 12
DRAG_S = 3.0

COUNT_FRAMES = """() => {
    window.frames_seen = [];
    const step = (now) => { window.frames_seen.push(now); window.counting = requestAnimationFrame(step); };
    window.counting = requestAnimationFrame(step);
}"""

WATCH = """(before) => {
    window.changed_after = null;
    const field = document.activeElement;
    field.addEventListener("keydown", (event) => {
        if (event.key !== "Enter") return;
        const start = performance.now();
        const look = () => {
            const now = [...document.querySelectorAll(".figure__value")].map((e) => e.textContent).join();
            if (now !== before) requestAnimationFrame(() => (window.changed_after = performance.now() - start));
            else setTimeout(look, 1);
        };
        look();
    }, { once: true });
}"""


def largest() -> Path:
    drawings = sorted(CORPUS.glob("**/*.dxf"), key=lambda path: path.stat().st_size)
    return drawings[-1] if drawings else ROOT / "samples" / "new_house.dxf"


def opened(chromium: Browser) -> Page:
    return chromium.new_context(viewport=DESK).new_page()


def first_picture(chromium: Browser, address: str) -> None:
    read = time.perf_counter()
    page = opened(chromium)
    shown(page, address)
    print(f"first view, reading included   {time.perf_counter() - read:6.2f} s")
    start = time.perf_counter()
    page = opened(chromium)
    shown(page, address)
    lines = page.evaluate("performance.getEntriesByName('takeoff-lines-drawn')[0].startTime / 1000")
    outside = time.perf_counter() - start
    print(f"first picture, drawing read    {lines:6.2f} s from the request ({outside:.2f} s seen from outside)")


def frames(page: Page) -> tuple[float, float]:
    """Frames a second and the longest wait for one, in ms, while the plan is dragged about."""
    box = page.locator(".plan canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 10, y)
    page.evaluate(COUNT_FRAMES)
    end, step = time.perf_counter() + DRAG_S, 0
    while time.perf_counter() < end:
        step += 1
        page.mouse.move(x + 300 * np.sin(step / 25), y + 200 * np.sin(step / 17))
    seen = page.evaluate("(cancelAnimationFrame(window.counting), window.frames_seen)")
    page.mouse.up()
    waits = np.diff(seen)
    return 1000 * len(waits) / float(waits.sum()), float(waits.max())


def panning(chromium: Browser, address: str, many: bool) -> None:
    page = opened(chromium)
    if many:
        page.route("**/api/plan*", repeated)
    shown(page, address)
    page.keyboard.press("Tab")
    for word, keys in (("whole", ""), ("near", "+++++")):
        page.get_by_role("application", name="Plan").focus()
        for key in keys:
            page.keyboard.press(key)
        page.wait_for_timeout(500)
        rate, worst = frames(page)
        lines = "50,000 lines" if many else "as it is"
        print(f"panning, {lines:<13} {word:<6} {rate:6.1f} frames a second, longest {worst:.0f} ms")


def repeated(route: Route) -> None:
    """The plan with its lines repeated, a little aside each time, until there are enough."""
    answer = route.fetch()
    plan = answer.json()
    ends = np.frombuffer(base64.b64decode(plan["segments"]), dtype="<f4").reshape(-1, 4)
    owner = np.frombuffer(base64.b64decode(plan["entity_of"]), dtype="<u4")
    times = -(-MANY // len(ends))
    aside = np.repeat(np.arange(times, dtype="<f4") * 0.03, len(ends))[:, None]
    plan["segments"] = base64.b64encode((np.tile(ends, (times, 1)) + aside).astype("<f4")[:MANY].tobytes()).decode()
    plan["entity_of"] = base64.b64encode(np.tile(owner, times)[:MANY].tobytes()).decode()
    route.fulfill(response=answer, body=json.dumps(plan))


def edits(chromium: Browser, address: str) -> None:
    page = opened(chromium)
    shown(page, address)
    open_room(page, "R2")
    page.locator("summary", has_text="R2-W1 wall").wait_for()
    waits = []
    for number in range(EDITS):
        field = page.get_by_label("Height", exact=True)
        field.fill(f"{2.41 + number / 100:.2f}")
        figures = page.evaluate("[...document.querySelectorAll('.figure__value')].map((e) => e.textContent).join()")
        page.evaluate(WATCH, figures)
        field.press("Enter")
        until(page, "window.changed_after !== null")
        waits.append(page.evaluate("window.changed_after"))
        page.wait_for_timeout(150)
    middle, most = statistics.median(waits), max(waits)
    print(f"edit to figures, sample house  {middle:6.0f} ms in the middle, {most:.0f} ms at most of {EDITS}")


def main() -> None:
    drawing = Path(sys.argv[1]) if len(sys.argv) > 1 else largest()
    with tempfile.TemporaryDirectory() as folder, browser() as chromium:
        job = Path(folder) / "large.toml"
        shutil.copy(drawing, folder)
        job.write_text(f'[drawing]\nfile = "{drawing.name}"\n', encoding="utf-8")
        with served(job) as address:
            first_picture(chromium, address)
            panning(chromium, address, many=False)
            panning(chromium, address, many=True)
        with served(copy_of("new_house", Path(folder))) as address:
            edits(chromium, address)


if __name__ == "__main__":
    main()
