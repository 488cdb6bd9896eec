"""For everybody: checked by axe against WCAG 2.2 A and AA, by keyboard alone, on a phone, in the dark."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.review_page.access import faults
from tests.review_page.opened import DESK, PHONE
from tests.review_page.steps import in_file, list_of, open_room, saved, take_tool


@pytest.mark.parametrize(
    ("size", "scheme"), [(DESK, "light"), (DESK, "dark"), (PHONE, "light")], ids=["desk", "dark", "phone"]
)
def test_axe_finds_nothing_in_any_view(tab, size: dict[str, int], scheme: str):
    page = tab(size=size, color_scheme=scheme)
    told = {}
    for name in ("To settle", "Rooms", "Openings", "Drawing", "Figures", "Documents"):
        list_of(page, name)
        told[name] = faults(page)
    list_of(page, "To settle")
    page.locator(".query__head").first.click()
    told["a query"] = faults(page)
    open_room(page, "R2")
    page.locator("summary", has_text="Hours").last.wait_for()
    page.evaluate("document.querySelectorAll('.panel details').forEach((d) => (d.open = true))")
    told["a room, all open"] = faults(page)
    list_of(page, "Openings")
    page.locator(".rowbutton").first.click()
    told["an opening"] = faults(page)
    for tool in ("Split a room", "Join rooms", "Mark an opening"):
        take_tool(page, tool)
        told[tool] = faults(page)
    assert told == {view: [] for view in told}


def tab_to(page: Page, name: str, most: int = 60) -> None:
    """Tab until the thing called `name` has the focus, which must be seen all the way."""
    for _ in range(most):
        page.keyboard.press("Tab")
        here = page.evaluate(
            """() => { const e = document.activeElement, s = getComputedStyle(e);
                 const name = e.getAttribute("aria-label") ?? e.labels?.[0]?.textContent ?? e.textContent;
                 return [name, s.outlineStyle]; }"""
        )
        assert here[1] != "none", f"no visible focus on {here[0]!r}"
        if name in here[0].strip():
            return
    raise AssertionError(f"{name} is not reached by Tab")


def test_everything_by_keyboard(job: Path, tab):
    page = tab()
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip the plan")).to_be_focused()
    page.keyboard.press("Enter")
    tab_to(page, "Rooms")
    page.keyboard.press("Enter")
    tab_to(page, "SNUG")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=2)).to_be_focused()
    tab_to(page, "Height")
    page.keyboard.press("Control+a")
    page.keyboard.type("2.7")
    page.keyboard.press("Enter")
    saved(page, "Height of R1")
    assert in_file(job)["rooms"]["R1"]["height"] == 2.7


def test_a_room_is_split_by_keyboard(job: Path, tab):
    page = tab()
    open_room(page, "R1")
    page.get_by_role("button", name="Show on the plan").focus()
    page.keyboard.press("Enter")
    tab_to(page, "Split it")
    page.keyboard.press("Enter")
    expect(page.get_by_role("application", name="Plan")).to_be_focused()
    page.wait_for_timeout(100)
    _go_to(page, 0.0, 6.3)
    page.keyboard.press("Enter")
    _go_to(page, 2.4, 6.3)
    page.keyboard.press("Enter")
    expect(page.get_by_label("Name of the upper part")).to_be_focused()
    page.keyboard.press("Control+a")
    page.keyboard.type("Snug")
    page.keyboard.press("Enter")
    saved(page, "Split R1")
    assert in_file(job)["split"][0]["names"][0] == "Snug"


def _go_to(page: Page, x: float, y: float) -> None:
    """Arrow keys, big steps then small ones, until the cross is on the point."""
    for keys, step in (("", 80), ("Shift+", 4)):
        for _ in range(60):
            page.wait_for_timeout(30)
            at_x, at_y, scale = map(float, page.locator(".plan canvas").get_attribute("data-view").split())
            right, up = (x - at_x) * scale, (y - at_y) * scale
            if max(abs(right), abs(up)) <= step / 2 + 0.5:
                break
            if abs(right) > abs(up):
                page.keyboard.press(f"{keys}{'ArrowRight' if right > 0 else 'ArrowLeft'}")
            else:
                page.keyboard.press(f"{keys}{'ArrowUp' if up > 0 else 'ArrowDown'}")


def test_on_a_phone_nothing_runs_off_the_side(tab):
    page = tab(size=PHONE, has_touch=True)
    for name in ("To settle", "Rooms", "Openings", "Drawing", "Figures", "Documents"):
        list_of(page, name)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        small = page.evaluate(
            """() => [...document.querySelectorAll("button, input:not([type=file]), select, summary")]
                .map((e) => [e.textContent || e.type, e.getBoundingClientRect()])
                .filter(([, r]) => r.width && (r.height < 24 || r.width < 24) && r.height).map(([t]) => t)"""
        )
        assert [t for t in small if t != "checkbox"] == []  # WCAG 2.2 2.5.8: 24 by 24 pixels


def test_two_fingers_zoom(tab):
    page = tab(size=PHONE, has_touch=True)
    before = float(page.locator(".plan canvas").get_attribute("data-view").split()[2])
    page.evaluate(
        """() => {
            const canvas = document.querySelector(".plan canvas"), box = canvas.getBoundingClientRect();
            const send = (type, id, dx) => canvas.dispatchEvent(new PointerEvent(type, {
                pointerId: id, pointerType: "touch", bubbles: true,
                clientX: box.x + box.width / 2 + dx, clientY: box.y + 150,
            }));
            canvas.setPointerCapture = () => {};
            send("pointerdown", 1, -30); send("pointerdown", 2, 30);
            send("pointermove", 2, 60); send("pointermove", 1, -60);
            send("pointerup", 1, -60); send("pointerup", 2, 60);
        }"""
    )
    page.wait_for_timeout(100)
    assert float(page.locator(".plan canvas").get_attribute("data-view").split()[2]) > before * 1.8
