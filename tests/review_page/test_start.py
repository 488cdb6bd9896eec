"""A job started from the page alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.review_page.access import faults
from tests.review_page.opened import SAMPLES
from tests.review_page.steps import in_file

ROOMS = re.compile(r"^Rooms \d")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job file that is not there yet."""
    return tmp_path / "rear_extension.toml"


@pytest.fixture
def named(tmp_path: Path) -> tuple[Path | str, ...]:
    return ("--folder", tmp_path)


def test_a_chosen_drawing_starts_the_job(job: Path, tab):
    page = tab(ready=False)
    expect(page.get_by_role("heading", name="Start with a drawing")).to_be_visible()
    assert faults(page) == []
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Choose a drawing").click()
    chooser.value.set_files(SAMPLES / "rear_extension.dxf")
    expect(page.locator(".plan canvas")).to_be_visible(timeout=60_000)
    assert in_file(job)["drawing"]["file"] == "rear_extension.dxf"


def test_a_dropped_drawing_starts_the_job(job: Path, tab):
    page = tab(ready=False)
    expect(page.get_by_role("heading", name="Start with a drawing")).to_be_visible()
    _drop(page, "rear_extension.dxf", (SAMPLES / "rear_extension.dxf").read_text(encoding="utf-8"))
    expect(page.locator(".plan canvas")).to_be_visible(timeout=60_000)


def test_what_is_no_drawing_is_told_so(job: Path, tab):
    page = tab(ready=False)
    expect(page.get_by_role("heading", name="Start with a drawing")).to_be_visible()
    _drop(page, "letter.dxf", "Dear Sir")
    expect(page.locator(".notice--fault, .fault").first).to_contain_text("letter.dxf")
    tab.wrong.clear()  # the browser notes the refusal (status 4xx) on its console


def test_a_second_drawing_is_added_to_the_job_and_its_rooms_can_be_looked_at(job: Path, tab):
    page = tab(ready=False)
    expect(page.get_by_role("heading", name="Start with a drawing")).to_be_visible()
    _drop(page, "rear_extension.dxf", (SAMPLES / "rear_extension.dxf").read_text(encoding="utf-8"))
    expect(page.locator(".plan canvas")).to_be_visible(timeout=60_000)
    before = page.get_by_role("button", name=ROOMS).inner_text()
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Add a drawing").click()
    chooser.value.set_files(SAMPLES / "upstairs_flat.dxf")
    expect(page.get_by_role("button", name=ROOMS)).not_to_have_text(before, timeout=60_000)
    assert in_file(job)["drawing"]["more"] == ["upstairs_flat.dxf"]
    page.get_by_role("button", name=ROOMS).click()
    expect(page.get_by_role("heading", name="FIRST FLOOR FLAT")).to_be_visible()
    page.get_by_role("button", name=re.compile("^FIRST FLOOR FLAT")).click()
    expect(page.locator(".plan canvas")).to_be_visible()


def _drop(page, name: str, text: str) -> None:
    transfer = page.evaluate_handle(
        """([name, text]) => {
            const transfer = new DataTransfer();
            transfer.items.add(new File([text], name));
            return transfer;
        }""",
        [name, text],
    )
    page.dispatch_event("body", "dragenter", {"dataTransfer": transfer})
    expect(page.get_by_text("Let go to add this drawing")).to_be_visible()
    page.dispatch_event("body", "drop", {"dataTransfer": transfer})
