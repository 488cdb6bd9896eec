"""The workbook against LibreOffice, which works the formulas out again, and against plain arithmetic."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from takeoff.documents.workbook import SHEETS, write_workbook
from takeoff.record import Takeoff
from tests.documents import building
from tests.documents.building import DEEP, DOOR, HEIGHTS, PLAIN, REVEAL, WALL, WIDE, WINDOW
from tests.documents.spreadsheet import differences, formulas, needs_soffice, recalculated, shown

GIRTH = 2 * (WIDE + DEEP)


def table(content: bytes, sheet: str) -> list[dict[str, object]]:
    """The rows of a sheet as dicts by heading."""
    rows = openpyxl.load_workbook(io.BytesIO(content), data_only=True)[sheet].iter_rows(min_row=4, values_only=True)
    heads = next(rows)
    return [dict(zip(map(str, heads), row, strict=True)) for row in rows]


def address(content: bytes, sheet: str, key: str, heading: str) -> str:
    """Where the cell under `heading` stands in the row that begins with `key`."""
    rows = openpyxl.load_workbook(io.BytesIO(content))[sheet]
    row = next(cell.row for cell in rows["A"] if cell.value == key)
    return next(f"{cell.column_letter}{row}" for line in rows.iter_rows() for cell in line if cell.value == heading)


def edited(content: bytes, folder: Path, *edits: tuple[str, str, str, object]) -> dict[tuple[str, str], object]:
    """All values after each edit (sheet, row key, heading, new value) and a recalculation."""
    book = openpyxl.load_workbook(io.BytesIO(content))
    for sheet, key, heading, new in edits:
        book[sheet][address(content, sheet, key, heading)] = new
    return recalculated(book, folder)


def test_every_sheet_is_there(two_rooms: Takeoff) -> None:
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(two_rooms)))
    assert book.sheetnames == [name for name, _ in SHEETS]


def test_rooms_are_plain_arithmetic(four_rooms: Takeoff) -> None:
    rooms = {row["Room"]: row for row in table(write_workbook(four_rooms), "Rooms")}
    door, window, plain = (w * h for w, h in (DOOR, WINDOW, PLAIN))
    expected = {
        "R1": GIRTH * HEIGHTS[0] - door - window,
        "R2": GIRTH * HEIGHTS[1] - door - plain,
        "R3": GIRTH * HEIGHTS[0] - door - window - plain,
        "R4": GIRTH * HEIGHTS[1] - door,
    }
    assert {ref: row["Walls net (m2)"] for ref, row in rooms.items()} == pytest.approx(expected)
    assert rooms["R1"]["Reveals net (m2)"] == pytest.approx((WINDOW[0] + 2 * WINDOW[1]) * REVEAL)
    assert rooms["R2"]["Reveals net (m2)"] == pytest.approx((PLAIN[0] + 2 * PLAIN[1]) * WALL)
    assert rooms["R2"]["Angles round openings (m)"] == pytest.approx(PLAIN[0] + 2 * PLAIN[1])


def test_order_is_the_order_of_the_takeoff(four_rooms: Takeoff) -> None:
    rows = {row["Material"]: row for row in table(write_workbook(four_rooms), "Materials")}
    for line in four_rooms.order.lines:
        row = rows[line.material.title]
        assert (row["Net"], row["With waste"]) == pytest.approx((line.net, line.with_waste))
        assert row["Packs to buy"] == line.packs
        assert row["Weight (kg)"] == pytest.approx(line.weight_kg)


def test_unknown_price_is_blank_and_listed(two_rooms: Takeoff) -> None:
    content = write_workbook(two_rooms)
    rows = {row["Material"]: row for row in table(content, "Materials")}
    assert rows["Finish plaster"]["Cost"] == "no price yet"
    assert not rows["Finish plaster"]["Price per pack"]
    assert rows["Plasterboard 12.5 mm"]["Cost"] == pytest.approx(9.75 * 19)
    texts = [str(row["What"]) for row in table(content, "Assumptions and cautions")]
    assert any("No price known" in text and "Finish plaster" in text for text in texts)


def test_shares_of_the_rooms_add_up(four_rooms: Takeoff) -> None:
    rows = table(write_workbook(four_rooms), "Materials by room")
    for line in four_rooms.order.lines:
        heading = f"{line.material.title} ({line.material.pack})"
        shares = {share.room: share.packs for share in line.shares}
        assert {row["Room"]: row[heading] for row in rows} == pytest.approx(
            {row["Room"]: shares.get(str(row["Room"]), 0.0) for row in rows}
        )


def test_same_takeoff_same_bytes(two_rooms: Takeoff) -> None:
    assert write_workbook(two_rooms) == write_workbook(building.takeoff(2))


HOSTILE = (
    "=1+1",
    "+44 main st",
    "-2",
    "@SUM(A1)",
    "a\x00b\x1f",
    "\udcff",
    "x" * 40_000,
    "R1\u202e",
    "{=A1}",
    "http://x.y/z",
)


def test_names_never_become_formulas(four_rooms: Takeoff) -> None:
    content = write_workbook(building.with_names(four_rooms, *HOSTILE))
    plain = formulas(write_workbook(four_rooms))
    assert set(formulas(content)) == set(plain)
    book = openpyxl.load_workbook(io.BytesIO(content))
    names = [cell.value for cell in book["Rooms"]["B"][4:]]
    assert names[:4] == ["=1+1", "+44 main st", "-2", "@SUM(A1)"]
    assert all(cell.data_type == "s" and cell.quotePrefix for cell in book["Rooms"]["B"][4:8])
    assert not any(cell.hyperlink and cell.hyperlink.target for row in book["Rooms"].iter_rows() for cell in row)


@needs_soffice
def test_hostile_names_leave_the_figures_alone(four_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(building.with_names(four_rooms, *HOSTILE, "*", "board ?", "<>5", "~*"))
    assert differences(content, recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)) == {}


@needs_soffice
def test_recalculated_it_shows_the_same_figures(four_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(four_rooms)
    again = recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)
    assert len(formulas(content)) > 300
    assert differences(content, again) == {}


@needs_soffice
def test_the_comparison_finds_a_planted_wrong_value(two_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(two_rooms)
    planted = _with_cached_value(content, "Rooms", "J5", 999.0)
    assert shown(planted)["Rooms", "J5"] == 999
    again = recalculated(openpyxl.load_workbook(io.BytesIO(planted)), tmp_path)
    assert set(differences(planted, again)) == {("Rooms", "J5")}


def _with_cached_value(content: bytes, sheet: str, cell: str, value: float) -> bytes:
    """The workbook with another cached value under one formula, as a faulty writer would leave it."""
    import zipfile

    number = openpyxl.load_workbook(io.BytesIO(content)).sheetnames.index(sheet) + 1
    part, out = f"xl/worksheets/sheet{number}.xml", io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        for name in old.namelist():
            data = old.read(name)
            if name == part:
                pattern = rf'(<c r="{cell}"[^>]*><f>[^<]*</f><v>)[^<]*'.encode()
                data, count = re.subn(pattern, rb"\g<1>" + str(value).encode(), data)
                assert count == 1
            new.writestr(name, data)
    return out.getvalue()


@needs_soffice
def test_a_changed_height_carries_through(two_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(two_rooms)
    after = edited(content, tmp_path, ("Rates", "Ceiling height by default", "Value", 3.0))
    walls = GIRTH * 3.0 - DOOR[0] * DOOR[1] - WINDOW[0] * WINDOW[1]
    assert after["Rooms", address(content, "Rooms", "R1", "Walls net (m2)")] == pytest.approx(walls)
    # R1's masonry walls (no openings in them) and reveals take 9.13 kg of undercoat a m2, R2's walls stay as they were.
    undercoat = 9.13 * (2 * WIDE * (3.0 + HEIGHTS[1]) + (WINDOW[0] + 2 * WINDOW[1]) * REVEAL)
    assert after["Materials", address(content, "Materials", "Undercoat plaster", "Net")] == pytest.approx(undercoat)
    packs = -int(-undercoat * 1.05 // 25)
    assert after["Materials", address(content, "Materials", "Undercoat plaster", "Packs to buy")] == packs


@needs_soffice
def test_a_changed_opening_threshold_waste_and_price_carry_through(two_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(two_rooms)
    after = edited(
        content,
        tmp_path,
        ("Openings", "W1", "Width (m)", 2.0),
        ("Rates", "Openings up to this area stay in", "Value", 1.8),
        ("Rates", "Finish plaster", "Waste (%)", 20),
        ("Rates", "Finish plaster", "Price per pack", 8.5),
    )
    gross = GIRTH * HEIGHTS[0]
    # The door (1.76 m2) now stays in; the widened window (2.00 x 1.05 = 2.10 m2) comes off.
    assert after["Rooms", address(content, "Rooms", "R1", "Walls net (m2)")] == pytest.approx(gross - 2.1)
    reveals = (2.0 + 2 * WINDOW[1]) * REVEAL
    assert after["Rooms", address(content, "Rooms", "R1", "Reveals net (m2)")] == pytest.approx(reveals)
    area = gross + GIRTH * HEIGHTS[1] - 2.1 + reveals + 2 * WIDE * DEEP
    assert after["Materials", address(content, "Materials", "Finish plaster", "With waste")] == pytest.approx(
        2.4 * area * 1.2
    )
    packs = -int(-2.4 * area * 1.2 // 25)
    assert after["Materials", address(content, "Materials", "Finish plaster", "Cost")] == pytest.approx(8.5 * packs)
    bead = 2.0 + 2 * WINDOW[1]
    assert after["Materials", address(content, "Materials", "Thin coat angle bead", "Net")] == pytest.approx(bead)


@needs_soffice
def test_another_build_up_and_coverage_carry_through(two_rooms: Takeoff, tmp_path: Path) -> None:
    content = write_workbook(two_rooms)
    coverage = address(content, "Build-ups", "Undercoat and finish", "Coverage")
    book = openpyxl.load_workbook(io.BytesIO(content))
    book["Surfaces"][address(content, "Surfaces", "R1-W1", "Build-up")] = "Skim on board"
    book["Build-ups"][coverage] = 10.0
    after = recalculated(book, tmp_path)
    reveals = (WINDOW[0] + 2 * WINDOW[1]) * REVEAL
    undercoat = 10.0 * (WIDE * HEIGHTS[0] + 2 * WIDE * HEIGHTS[1] + reveals)
    assert after["Materials", address(content, "Materials", "Undercoat plaster", "Net")] == pytest.approx(undercoat)
    share = after["Materials by room", address(content, "Materials by room", "R1", "Undercoat plaster (25 kg bag)")]
    assert share == pytest.approx(10.0 * (WIDE * HEIGHTS[0] + reveals) * 1.05 / 25)


def test_sheets_are_set_up_for_printing(two_rooms: Takeoff) -> None:
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(two_rooms)))
    for sheet in book.worksheets:
        assert sheet.freeze_panes, sheet.title
        assert sheet.print_title_rows, sheet.title
        assert sheet.page_setup.paperSize == 9, sheet.title  # A4, ECMA-376 part 1, 18.3.1.63
        assert sheet.sheet_properties.pageSetUpPr.fitToPage, sheet.title
        assert "&P" in sheet.oddFooter.right.text, sheet.title


def test_rooms_and_their_rows_link_to_each_other(four_rooms: Takeoff) -> None:
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(four_rooms)))
    for row in range(5, 9):
        ref = book["Rooms"].cell(row, 1)
        sheet, cell = ref.hyperlink.location.replace("'", "").split("!")
        target = book[sheet][cell]
        assert target.value.startswith(f"{ref.value}-")
        back = target.offset(0, 1)
        assert back.value == ref.value
        assert back.hyperlink.location.replace("'", "") == f"Rooms!A{row}"


def test_surfaces_say_where_they_come_from(two_rooms: Takeoff) -> None:
    rows = {row["Surface"]: row for row in table(write_workbook(two_rooms), "Surfaces")}
    wall = rows["R1-W2"]
    assert wall["Working as measured"] == "3.00 x 2.40"
    assert wall["Openings"] == "W1, D1"
    assert "D1 over 0.00 m2: deducted" in str(wall["Rule"])
    assert wall["Drawing handles"] == "01"


def test_what_was_laid_out_is_counted_apart(two_rooms: Takeoff) -> None:
    """An order whose board was laid out, not multiplied: the sheets show its net, waste and packs all the same."""
    laid = replace(two_rooms.order.lines[0], net=55.0, with_waste=57.6, waste_pct=4.0, packs=22)
    takeoff = replace(two_rooms, order=replace(two_rooms.order, lines=(laid, *two_rooms.order.lines[1:])))
    content = write_workbook(takeoff)
    row = next(r for r in table(content, "Materials") if r["Material"] == "Plasterboard 12.5 mm")
    assert (row["Net"], row["With waste"], row["Packs to buy"], row["Extra packs"]) == pytest.approx(
        (55.0, 57.6, 22, 2)
    )
    apart = [r for r in table(content, "Build-ups") if r["Build-up"] == "Counted apart"]
    assert [r["Material"] for r in apart] == ["Plasterboard 12.5 mm"]
