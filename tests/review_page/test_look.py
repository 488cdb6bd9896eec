"""Looking at a job: what is on the page, from where, and that a name from a drawing is only ever text."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.review_page.steps import canvas, figure, list_of, open_room, plan_point, point_at


def test_a_room_is_picked_on_the_plan_and_its_figures_are_those_of_its_sizes(tab):
    page = tab()
    point_at(page, 1.2, 5.2)  # in the snug of samples/new_house.py, clear of its name
    expect(page.get_by_role("heading", level=2)).to_have_text("R1 SNUG")
    # By hand from the sizes the sample is drawn with: 2.40 x 3.30 m on the floor.
    assert figure(page, "Floor") == pytest.approx(2.4 * 3.3, abs=0.005)
    assert figure(page, "R1-W2 wall") == pytest.approx(3.3 * 2.4, abs=0.005)


def test_a_figure_opens_to_its_working_and_points_out_what_was_drawn_for_it(tab):
    page = tab()
    open_room(page, "R1")
    page.wait_for_timeout(300)
    before = canvas(page).screenshot()
    page.locator("summary", has_text="R1-W1 wall").click()
    wall = page.locator("details.figure[open]", has=page.locator("summary", has_text="R1-W1 wall"))
    working = wall.locator(".working").first
    expect(working).to_contain_text("2.40 x 2.40 - 0.838 x 2.04 (D2)")
    page.wait_for_timeout(300)
    assert canvas(page).screenshot() != before
    page.locator("summary", has_text="R1-W1 wall").click()
    page.wait_for_timeout(300)
    assert canvas(page).screenshot() == before


def test_wheel_drag_and_keys_move_the_plan(tab):
    page = tab()

    def place() -> list[float]:
        page.wait_for_timeout(80)
        return [float(v) for v in canvas(page).get_attribute("data-view").split()]

    whole = place()
    at = plan_point(page, 1.2, 5.2)
    page.mouse.move(*at)
    page.mouse.wheel(0, -400)
    assert place()[2] > whole[2] * 1.5
    assert plan_point(page, 1.2, 5.2) == pytest.approx(at, abs=1)  # what is under the pointer stays there
    page.mouse.down()
    page.mouse.move(at[0] + 60, at[1] + 40, steps=4)
    page.mouse.up()
    assert plan_point(page, 1.2, 5.2) == pytest.approx((at[0] + 60, at[1] + 40), abs=1)
    page.get_by_role("application", name="Plan").focus()
    page.keyboard.press("0")
    assert place() == pytest.approx(whole)
    page.keyboard.press("+")
    assert place()[2] > whole[2]
    page.keyboard.press("-")
    page.keyboard.press("ArrowRight")
    assert place()[0] > whole[0]


def test_storeys_are_tabs(tab):
    page = tab()
    first = canvas(page).get_attribute("data-view")
    page.get_by_role("navigation", name="Storeys").get_by_role("button", name="FIRST FLOOR").click()
    page.wait_for_timeout(200)
    assert canvas(page).get_attribute("data-view") != first
    open_room(page, "R1")
    expect(page.get_by_role("button", name="GROUND FLOOR")).to_have_attribute("aria-current", "true")


def test_measured_and_printed_areas_stand_side_by_side(tab):
    page = tab()
    list_of(page, "Figures")
    row = page.get_by_role("row", name="R1 SNUG")
    expect(row).to_contain_text("7.92 m²")  # measured
    expect(row).to_contain_text("7.90 m²")  # printed in the sample's drawing
    expect(row).to_contain_text("agrees")


HOSTILE = '<img src="x" onerror="document.title=1"><b>R & D</b>'


def test_names_are_only_ever_text(job: Path, tab):
    text = job.read_text(encoding="utf-8").replace("DEMO: New house, Plot 3, Kiln Field", HOSTILE.replace('"', '\\"'))
    job.write_text(text + f"\n[rooms.R1]\nname = '{HOSTILE}'\n", encoding="utf-8")
    page = tab(ready=False)
    expect(page.get_by_role("heading", level=1)).to_contain_text("onerror")
    open_room(page, "R1")
    expect(page.get_by_role("heading", level=2)).to_contain_text("<b>R & D</b>")
    assert page.locator("img, b:text-is('R & D')").count() == 0
    assert page.title() == "Review of a takeoff"


def test_without_its_key_the_page_shows_nothing(tab, address):
    page = tab(where=address.split("#")[0], ready=False)
    expect(page.get_by_role("heading", name="This page needs its key")).to_be_visible()
    assert page.locator("canvas").count() == 0


def test_the_key_leaves_the_address_bar(tab):
    assert "#" not in tab().url
