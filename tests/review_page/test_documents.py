"""Documents made and taken home from the page; the workbook's figures are those on the page."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import expect

from tests.review_page.steps import figure, list_of, open_room, saved, say_height


def test_the_workbook_is_downloaded_with_the_figures_of_the_page(tab, tmp_path: Path):
    page = tab()
    open_room(page, "R1")
    say_height(page, "2.7")
    saved(page, "Height of R1")
    list_of(page, "Figures")
    walls, ceilings = figure(page, "Walls, net"), figure(page, "Ceilings")
    list_of(page, "Documents")
    page.get_by_role("button", name="Make the takeoff").click()
    workbook = page.locator(".rowbutton", has_text=".xlsx")
    expect(workbook).to_be_visible(timeout=120_000)
    with page.expect_download() as download:
        workbook.click()
    path = tmp_path / download.value.suggested_filename
    download.value.save_as(path)
    net = _net_areas(path)
    assert net["R1-W2", "wall"] == pytest.approx(3.3 * 2.7, abs=0.005)  # by hand
    assert sum(v for (_, kind), v in net.items() if kind in ("wall", "pier")) == pytest.approx(walls, abs=0.01)
    assert sum(v for (_, kind), v in net.items() if kind == "ceiling") == pytest.approx(ceilings, abs=0.01)


def _net_areas(path: Path) -> dict[tuple[str, str], float]:
    """Net m2 of each surface by its ref and kind, read back with openpyxl, which knows nothing of this program."""
    rows = list(openpyxl.load_workbook(path, data_only=True)["Surfaces"].iter_rows(values_only=True))
    head = next(row for row in rows if "Net (m2)" in row)
    ref, kind, net = head.index("Surface"), head.index("Kind"), head.index("Net (m2)")
    return {(row[ref], row[kind]): row[net] for row in rows[rows.index(head) + 1 :] if row[ref] and row[kind]}


def test_long_work_can_be_stopped(tab):
    page = tab()
    list_of(page, "Documents")
    page.get_by_role("button", name="Make the quotation").click()
    expect(page.get_by_role("progressbar")).to_be_visible()
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_text("Stopped. No documents were made.")).to_be_visible()
    expect(page.get_by_role("button", name="Make the quotation")).to_be_visible()


def test_the_boards_of_a_room_are_shown_as_a_picture(tab):
    page = tab()
    open_room(page, "R3")
    page.locator("summary", has_text="Boards").click()
    page.get_by_role("button", name="Lay the boards and show them").click()
    picture = page.get_by_role("img", name="The boards of R3")
    expect(picture).to_be_visible(timeout=60_000)
    assert picture.evaluate("image => image.complete && image.naturalWidth > 100")
