"""Quotation, buying list, site schedule, variation and the job's own sheets, read back by other libraries."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from pathlib import Path

import pytest
from docx import Document
from openpyxl import load_workbook
from pypdf import PdfReader

from takeoff.data import load
from takeoff.documents.buying import buying_blocks, buying_pdf
from takeoff.documents.findings_read import with_findings
from takeoff.documents.paper import Table
from takeoff.documents.quotation import quotation_docx, quotation_pdf
from takeoff.documents.site_schedule import schedule_pdf
from takeoff.documents.variation import variation_docx, variation_pdf, variations
from takeoff.documents.words import kg_text
from takeoff.documents.workbook import write_workbook
from takeoff.errors import JobError
from takeoff.job import Job
from takeoff.record import Takeoff
from tests.documents.priced import PRICES, priced

FOUND = {"room": "R1", "place": "walls", "kind": "loose-plaster", "amount": 6.0}


@pytest.fixture(scope="module")
def takeoff() -> Takeoff:
    return priced(2, **PRICES)


def pdf_text(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages).split())


def docx_text(content: bytes) -> str:
    document = Document(BytesIO(content))
    cells = [cell.text for table in document.tables for row in table.rows for cell in row.cells]
    return " ".join(" ".join([*(p.text for p in document.paragraphs), *cells]).split())


def test_no_price_without_its_assumptions_on_the_same_paper(takeoff: Takeoff) -> None:
    assert takeoff.price is not None and takeoff.queries
    for text in (pdf_text(quotation_pdf(takeoff)), docx_text(quotation_docx(takeoff))):
        assert f"{takeoff.price.total:,.2f}" in text
        for query in takeoff.queries:
            assert " ".join(query.says.split()) in text
        assert "Parking permits." in text
        assert "Ceiling in the hall" in text
        assert "not a survey" in text.lower()
        assert "asbestos" in text.lower()


def test_rooms_share_the_price_to_the_penny(takeoff: Takeoff) -> None:
    price = takeoff.price
    assert price is not None and price.complete
    assert sum((room.net for room in price.rooms), Decimal(0)) == price.before_tax
    last = price.steps[-1]
    assert last.total == price.before_tax
    assert price.total == price.before_tax + price.tax


def test_a_missing_price_is_told_on_the_quotation() -> None:
    bare = priced(2)
    text = pdf_text(quotation_pdf(bare))
    assert "This is not a price yet" in text
    assert "finish plaster" in text


def test_one_page_per_room_in_the_schedule() -> None:
    four = priced(4, **PRICES)
    pages = PdfReader(BytesIO(schedule_pdf(four))).pages
    assert len(pages) == 1 + 4
    for page, room in zip(pages[1:], ("R1", "R2", "R3", "R4"), strict=True):
        text = page.extract_text()
        assert f"\n{room} " in text
        assert "Carry to the room" in text and "NHBC" in text and "Angles and beads" in text


def test_buying_list_holds_every_pack_of_the_order(takeoff: Takeoff) -> None:
    text = pdf_text(buying_pdf(takeoff))
    for line in takeoff.order.lines:
        assert line.material.title in text
    wanted = {slug: packs for d in takeoff.programme.deliveries for slug, packs in d.lines} if takeoff.programme else {}
    assert wanted == {line.material.slug: line.packs for line in takeoff.order.lines if line.packs}


def test_variation_tells_allowed_from_found(takeoff: Takeoff) -> None:
    after = priced(2, **PRICES, findings=[FOUND])
    rows = {row.room: row for row in variations(takeoff, after)}
    assert rows["R1"].changed and not rows["R2"].changed
    assert any("allowance" in words for words in rows["R1"].allowed)
    assert rows["R1"].found == (
        "Hack off loose plaster to the block (as drawn) and rebuild with undercoat, finished with the rest of the "
        "surface: 6 m2",
    )
    for text in (pdf_text(variation_pdf(takeoff, after)), docx_text(variation_docx(takeoff, after))):
        assert f"{rows['R1'].hours_allowed:.1f}" in text and f"{rows['R1'].hours_found:.1f}" in text
        assert "before this part of the work goes on" in text
        assert "R2 Hall" not in text


def test_nothing_to_vary(takeoff: Takeoff) -> None:
    assert "Nothing differs" in pdf_text(variation_pdf(takeoff, takeoff))


def test_the_same_takeoff_gives_the_same_bytes(takeoff: Takeoff) -> None:
    for make in (quotation_pdf, quotation_docx, schedule_pdf, buying_pdf, write_workbook):
        assert make(takeoff) == make(takeoff)


def test_hours_and_price_in_the_workbook_add_up(takeoff: Takeoff) -> None:
    book = load_workbook(BytesIO(write_workbook(takeoff)), data_only=True)
    hours = [row[10].value for row in book["Hours"].iter_rows(min_row=5) if isinstance(row[10].value, float)]
    assert sum(hours) == pytest.approx(sum(o.hours for o in takeoff.work.operations))
    cells = {row[0].value: row[5].value for row in book["Price"].iter_rows() if row[0].value}
    assert takeoff.price is not None
    assert cells["Price before tax"] == pytest.approx(float(takeoff.price.before_tax))
    assert cells["Total, GBP"] == pytest.approx(float(takeoff.price.total))
    names = {cell.value: cell.column for cell in book["Programme"][4]}
    rows = [r for r in book["Programme"].iter_rows(min_row=5) if r[0].value and r[1].value]
    ours = [r for r in rows if r[1].value != "services"]
    bars = [cell.value for row in ours for cell in row[names[1] - 1 :] if cell.value]
    assert takeoff.programme is not None
    placed = [p.piece for p in takeoff.programme.placed]
    assert sum(bars) == pytest.approx(sum(p.hours * p.people for p in placed))
    assert sum(bars) == pytest.approx(sum(row[names["Hours"] - 1].value for row in ours))
    assert len(ours) == len({(p.room, p.stage) for p in placed})


def fill_in(takeoff: Takeoff, path: Path, **cells: object) -> Path:
    """The workbook as a person would fill it in: one row of the findings sheet, saved again."""
    book = load_workbook(BytesIO(write_workbook(takeoff)))
    sheet = book["Findings"]
    names = {cell.value: cell.column for cell in sheet[4]}
    row = next(r for r in range(5, 60) if sheet.cell(r, 1).value == "R1" and not sheet.cell(r, names["Finding"]).value)
    for heading, value in cells.items():
        sheet.cell(row, names[heading.replace("_", " ")]).value = value
    book.save(path)
    return path


def test_findings_filled_in_on_site_are_read_back(takeoff: Takeoff, tmp_path: Path) -> None:
    title = "Hollow or loose plaster: hack off to the background and rebuild"
    cells = {"Hacked_off_to": "laths", "Place": "walls", "Amount": 6.0, "Note": "left of window"}
    path = fill_in(takeoff, tmp_path / "b.xlsx", Finding=title, **cells)
    (row,) = with_findings(takeoff.job, path).findings
    assert (row.room, row.kind, row.place, row.amount) == ("R1", "loose-plaster", "walls", 6.0)
    assert (row.background, row.note) == ("laths", "left of window")


def test_every_row_of_the_findings_sheet_offers_what_plaster_comes_off_to(takeoff: Takeoff) -> None:
    """Read by openpyxl: each blank row has the list in it, and the list stands on the sheet to be printed."""
    sheet = load_workbook(BytesIO(write_workbook(takeoff)))["Findings"]
    column = next(c.column_letter for c in sheet[4] if c.value == "Hacked off to")
    blank = [r for r in range(5, sheet.max_row) if str(sheet.cell(r, 1).value or "").startswith("R")]
    lists = [v for v in sheet.data_validations.dataValidation if f"{column}{blank[0]}" in v.sqref]
    assert all(any(f"{column}{row}" in v.sqref for v in lists) for row in blank)
    first, last = lists[0].formula1.replace("$", "").split("!")[-1].split(":")
    assert [c.value for (c,) in sheet[f"{first}:{last}"]] == list(load("findings")["under"])


def test_an_untouched_workbook_holds_no_findings(takeoff: Takeoff, tmp_path: Path) -> None:
    (tmp_path / "b.xlsx").write_bytes(write_workbook(takeoff))
    assert with_findings(takeoff.job, tmp_path / "b.xlsx").findings == ()


def test_findings_that_cannot_be_used_name_their_row(takeoff: Takeoff, tmp_path: Path) -> None:
    path = fill_in(takeoff, tmp_path / "b.xlsx", Finding="loose plastr", Amount=6.0)
    with pytest.raises(JobError, match=r"sheet Findings, row \d+: no such finding"):
        with_findings(takeoff.job, path)
    path = fill_in(takeoff, tmp_path / "c.xlsx", Finding="crack", Amount="about 3")
    with pytest.raises(JobError, match="is no number"):
        with_findings(takeoff.job, path)
    (tmp_path / "d.xlsx").write_text("no workbook")
    with pytest.raises(JobError, match="Cannot read the workbook"):
        with_findings(Job(), tmp_path / "d.xlsx")


def test_alternatives_stand_beside_the_price() -> None:
    both = priced(2, **PRICES, alternatives=[{"name": "Hack off and rebuild", "hack_off": True}])
    stands, hacked = both.alternatives
    assert both.price is not None
    assert (stands.before_tax, stands.name) == (both.price.before_tax, "as priced")
    assert hacked.hours > stands.hours


def test_beads_are_offered_only_where_they_are_priced(takeoff: Takeoff) -> None:
    """Old angles taken as sound get no bead (skim over sound plaster), so the scope must not promise any."""
    beads = {line.material.slug for line in takeoff.order.lines if line.material.kind == "bead"}
    assert not any(n.material in beads for n in takeoff.work.needs)
    assert "Beads to" not in pdf_text(quotation_pdf(takeoff))
    new = priced(2, job={"existing": False, "name": "New"})
    assert "Beads to" in pdf_text(quotation_pdf(new))


def test_alternatives_stand_side_by_side_in_the_quotation(takeoff: Takeoff) -> None:
    assert "done another way" not in pdf_text(quotation_pdf(takeoff))
    both = priced(2, **PRICES, alternatives=[{"name": "hack off and rebuild", "hack_off": True}])
    stands, hacked = both.alternatives
    for text in (pdf_text(quotation_pdf(both)), docx_text(quotation_docx(both))):
        assert "The same rooms done another way" in text
        for way in (stands, hacked):
            assert f"{way.before_tax:,.2f}" in text and f"{way.hours:.0f}" in text
        assert f"+GBP {hacked.before_tax - stands.before_tax:,.2f}" in text


@pytest.mark.parametrize(("kg", "says"), [(0.0, "0"), (0.004, "0.01"), (0.35, "0.35"), (2.44, "2.4"), (36.4, "36")])
def test_what_has_a_weight_is_never_nought(kg: float, says: str) -> None:
    assert kg_text(kg) == says


def test_no_line_of_the_buying_list_weighs_nothing(takeoff: Takeoff) -> None:
    tables = [block for block in buying_blocks(takeoff) if isinstance(block, Table)]
    weights = [row[4] for table in tables for row in table.rows[1:-1]]
    assert weights and "0" not in weights
