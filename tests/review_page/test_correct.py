"""Correcting the drawing's reading by pointing at the plan of samples/new_house.py (sizes by hand from its outline)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.review_page.steps import figure, in_file, list_of, open_room, point_at, saved, take_tool


def test_a_room_is_split_by_a_line(job: Path, tab):
    page = tab()
    take_tool(page, "Split a room")
    point_at(page, 0.0, 6.3)
    point_at(page, 2.4, 6.3)
    page.get_by_label("Name of the upper part").fill("Snug")
    page.get_by_label("Name of the lower part").fill("Cupboard")
    page.get_by_role("button", name="Split", exact=True).click()
    saved(page, "Split R1")
    row = in_file(job)["split"][0]
    assert (row["room"], row["names"]) == ("R1", ["Snug", "Cupboard"])
    list_of(page, "Rooms")
    expect(page.locator(".rowbutton", has_text="Snug")).to_be_visible()
    page.locator(".rowbutton", has_text="Cupboard").click()
    y = row["line"][0][1]
    assert y == pytest.approx(6.3, abs=0.03)
    assert figure(page, "Floor") == pytest.approx(2.4 * (y - 4.7), abs=0.02)  # the snug stands from y 4.7 to 8.0
    page.keyboard.press("Control+z")
    saved(page, "Undo: Split R1")
    assert "split" not in in_file(job)


def test_two_rooms_are_joined(job: Path, tab):
    page = tab()
    take_tool(page, "Join rooms")
    point_at(page, 1.2, 5.2)
    page.get_by_label("R4 LIVING ROOM").check()
    page.get_by_label("Name of the whole").fill("Family room")
    page.get_by_role("button", name="Join", exact=True).click()
    saved(page, "Join R1 and R4")
    assert in_file(job)["join"] == [{"rooms": ["R1", "R4"], "name": "Family room"}]
    list_of(page, "Rooms")
    expect(page.locator(".rowbutton", has_text="Family room")).to_be_visible()


def test_an_opening_is_taken_out_and_brought_back(job: Path, tab):
    page = tab()
    list_of(page, "Openings")
    page.locator(".rowbutton", has_text="W1").first.click()
    page.get_by_role("button", name="There is no opening here").click()
    saved(page, "Taking out of W1")
    assert in_file(job)["openings"]["W1"]["ignore"] is True
    page.get_by_role("button", name="Bring it back").click()
    saved(page, "W1 brought back")
    width = page.get_by_label("Width", exact=True)
    width.fill("1210 mm")
    width.press("Enter")
    saved(page, "Width of W1")
    assert in_file(job)["openings"]["W1"]["width"] == 1.21


def test_an_opening_is_marked(job: Path, tab):
    page = tab()
    take_tool(page, "Mark an opening")
    point_at(page, 2.45, 7.0)  # the wall between snug and kitchen
    page.get_by_label("Kind").select_option("opening")
    page.get_by_label("width", exact=True).fill("0.9")
    page.get_by_role("button", name="Mark it").click()
    saved(page, "An opening marked")
    row = in_file(job)["opening"][0]
    assert (row["kind"], row["width"]) == ("opening", 0.9)
    assert row["at"] == pytest.approx([2.45, 7.0], abs=0.08)
    list_of(page, "Openings")
    between = re.compile("R1 SNUG and R2 KITCHEN|R2 KITCHEN / DINING and R1 SNUG")
    expect(page.locator(".rowbutton", has_text=between)).to_contain_text("opening")


def test_a_missing_wall_is_drawn_and_catches_on_line_ends(job: Path, tab):
    page = tab()
    take_tool(page, "Missing wall")
    point_at(page, 0.03, 8.03)  # near the corner of the snug, which is at 0, 8
    point_at(page, 2.4, 6.3)
    page.get_by_role("button", name="Back a step").click()
    point_at(page, 2.4, 6.3)
    page.get_by_label("Thickness").fill("75 mm")
    page.get_by_role("button", name="Draw the wall").click()
    saved(page, "A wall drawn")
    row = in_file(job)["wall"][0]
    assert row["line"][0] == pytest.approx([0.0, 8.0], abs=0.002)
    assert row["thickness"] == 0.075


def test_the_scale_is_set_by_one_known_length(job: Path, tab):
    page = tab()
    take_tool(page, "Set the scale")
    point_at(page, 0.0, 8.0)
    point_at(page, 2.4, 8.0)
    page.get_by_label("It really is").fill("2.64")
    page.get_by_role("button", name="Set the scale").last.click()
    saved(page, "The scale")
    known = in_file(job)["drawing"]["known_length"]
    # In the drawing's own numbers, millimetres in this sample.
    assert (known["from"], known["to"]) == (pytest.approx([0, 8000], abs=2), pytest.approx([2400, 8000], abs=2))
    assert "unit" not in in_file(job)["drawing"]
    open_room(page, "R1")
    assert figure(page, "Floor") == pytest.approx(2.64 * 3.63, abs=0.05)  # a tenth longer each way
