"""Saying things on the page: each is in the job file before the page says so, and can be taken back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.review_page.steps import figure, in_file, list_of, open_room, saved, say_height


def test_a_height_said_is_in_the_file_and_the_figures_follow(job: Path, tab):
    page = tab()
    open_room(page, "R1")
    say_height(page, "2.7")
    saved(page, "Height of R1")
    assert in_file(job)["rooms"]["R1"]["height"] == 2.7
    assert figure(page, "R1-W2 wall") == pytest.approx(3.3 * 2.7, abs=0.005)  # by hand
    expect(page.get_by_text("you said so").first).to_be_visible()


@pytest.mark.parametrize(("text", "value"), [("2700 mm", 2.7), ("8'10\"", 2.6924), ("2,55", 2.55)])
def test_lengths_are_read_as_people_write_them(job: Path, tab, text: str, value: float):
    page = tab()  # 8 ft 10 in = 106 x 0.0254 m exactly (international inch, 1959)
    open_room(page, "R1")
    say_height(page, text)
    saved(page, "Height of R1")
    assert in_file(job)["rooms"]["R1"]["height"] == pytest.approx(value)


def test_what_is_no_length_is_told_at_the_field_and_not_sent(job: Path, tab):
    page = tab()
    before = job.read_text(encoding="utf-8")
    open_room(page, "R1")
    for text, told in [("2700", "2700 of what"), ("high", "is no length")]:
        say_height(page, text)
        expect(page.get_by_role("alert").filter(has_text=told)).to_be_visible()
    assert job.read_text(encoding="utf-8") == before
    page.keyboard.press("Escape")
    expect(page.get_by_label("Height", exact=True)).to_have_value("2.4")


def test_undo_and_redo_by_keys_step_through_the_file(job: Path, tab):
    page = tab()
    before = in_file(job)
    open_room(page, "R1")
    say_height(page, "2.7")
    saved(page, "Height of R1")
    page.get_by_role("heading", level=2).click()
    page.keyboard.press("Control+z")
    saved(page, "Undo: Height of R1")
    assert in_file(job) == before
    expect(page.get_by_label("Height", exact=True)).to_have_value("2.4")
    page.keyboard.press("Control+Shift+Z")
    saved(page, "Redo: Height of R1")
    assert in_file(job)["rooms"]["R1"]["height"] == 2.7


def test_undo_reaches_back_over_a_closed_tab(job: Path, tab):
    before = in_file(job)
    first = tab()
    open_room(first, "R1")
    say_height(first, "2.7")
    saved(first, "Height of R1")
    first.close()
    page = tab()
    page.get_by_role("button", name="Undo: Height of R1").click()
    saved(page, "Undo: Height of R1")
    assert in_file(job) == before


def test_a_query_is_answered_where_it_stands(job: Path, tab):
    job.write_text(re.sub(r"\[rooms\.R11\].*\nheight = .*\n", "", job.read_text(encoding="utf-8")), encoding="utf-8")
    page = tab()
    many = page.locator(".query")
    query = page.locator(".query", has_text="Nothing says how high R11 is")
    expect(query).to_have_count(1)
    count = many.count()
    query.get_by_role("button").first.click()
    expect(page.get_by_role("button", name="FIRST FLOOR")).to_have_attribute("aria-current", "true")
    field = query.get_by_role("textbox").first
    field.fill("2.35")
    field.press("Enter")
    expect(page.locator(".query", has_text="Nothing says how high R11 is")).to_have_count(0)
    expect(many).to_have_count(count - 1)
    assert "2.35" in job.read_text(encoding="utf-8")


def test_two_tabs_see_each_other_and_neither_loses_a_change(job: Path, tab, address):
    one, other = tab(), tab()
    for page in (one, other):
        open_room(page, "R1")
    say_height(one, "2.7")
    saved(one, "Height of R1")
    expect(other.get_by_label("Height", exact=True)).to_have_value("2.7")
    name = other.get_by_label("Name", exact=True)
    name.fill("Study")
    name.press("Enter")
    saved(other, "Name of R1")
    expect(one.get_by_role("heading", level=2)).to_have_text("R1 Study")
    room = in_file(job)["rooms"]["R1"]
    assert (room["height"], room["name"]) == (2.7, "Study")


def test_a_change_made_on_an_old_state_is_kept_and_can_be_made_again(job: Path, tab):
    page = tab()
    open_room(page, "R1")
    page.route("**/api/state*", lambda route: None)  # news no longer comes through: the page stays on the old state
    other = tab()
    open_room(other, "R2")
    say_height(other, "2.6")
    saved(other, "Height of R2")
    page.wait_for_timeout(300)
    page.unroute("**/api/state*")
    say_height(page, "2.7")
    if page.get_by_role("button", name="Make my change again").is_visible():
        page.get_by_role("button", name="Make my change again").click()
    saved(page, "Height of R1")
    rooms = in_file(job)["rooms"]
    assert (rooms["R1"]["height"], rooms["R2"]["height"]) == (2.7, 2.6)


def test_a_change_that_cannot_be_is_refused_in_words_and_nothing_is_written(job: Path, tab):
    page = tab()
    before = job.read_text(encoding="utf-8")
    open_room(page, "R1")
    say_height(page, "0.01")
    expect(page.get_by_role("alert").filter(has_text="Not saved: Height of R1")).to_be_visible()
    assert job.read_text(encoding="utf-8") == before
    tab.wrong.clear()  # the browser notes the refusal (status 422) on its console


def test_a_build_up_and_a_finding_change_the_price(job: Path, tab):
    page = tab()
    open_room(page, "R2")
    before = figure(page, "Price")
    page.locator("summary", has_text="Found on site").click()
    page.get_by_label("What you found").select_option("loose-plaster")
    page.get_by_label("How much").fill("6")
    page.get_by_role("button", name="Enter it").click()
    expect(page.get_by_role("button", name=re.compile("Take back"))).to_be_visible()
    assert in_file(job)["findings"] == [{"room": "R2", "kind": "loose-plaster", "amount": 6, "place": "walls"}]
    assert figure(page, "Price") > before
    page.get_by_role("button", name=re.compile("Take back")).click()
    expect(page.get_by_role("button", name=re.compile("Take back"))).to_have_count(0)
    assert figure(page, "Price") == before


def test_the_file_changed_by_hand_is_followed(job: Path, tab):
    page = tab()
    open_room(page, "R1")
    job.write_text(job.read_text(encoding="utf-8") + "\n[rooms.R1]\nheight = 2.55\n", encoding="utf-8")
    expect(page.get_by_label("Height", exact=True)).to_have_value("2.55")


def test_layers_left_out_are_in_the_file_and_read_again(job: Path, tab):
    page = tab()
    list_of(page, "Drawing")
    name = page.locator(".layers li", has_text="taken for openings").first.locator("b").inner_text()
    page.get_by_role("button", name=f"Leave out layer {name}").click()
    saved(page, f"Layer {name} left out")
    assert in_file(job)["drawing"]["ignore_layers"] == [name]
    page.get_by_role("button", name=f"Read layer {name}").click()
    saved(page, f"Layer {name} read again")
    assert "ignore_layers" not in in_file(job)["drawing"]


def test_without_the_program_nothing_is_said_to_be_saved_and_nothing_is_lost(job: Path, tab):
    page = tab()
    open_room(page, "R1")
    page.route("**/api/**", lambda route: route.abort())
    say_height(page, "2.7")
    expect(page.get_by_role("alert").filter(has_text="Not saved: Height of R1")).to_be_visible()
    expect(page.locator(".saved")).not_to_contain_text("Saved")
    page.unroute("**/api/**")
    page.get_by_role("button", name="Make my change again").click()
    saved(page, "Height of R1")
    assert in_file(job)["rooms"]["R1"]["height"] == 2.7
    tab.wrong.clear()  # the browser notes each request that failed on its console
