"""Sheets Findings and Hours: what was found or is allowed for in existing rooms, and every hour with its working."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from takeoff.data import load
from takeoff.documents.workbook_cells import TOP, Cell, Live, Styles, begin_sheet, cell_at, put_table
from takeoff.documents.workbook_job_layout import FINDING_COLUMNS, FINDINGS, HOUR_COLUMNS, HOURS
from takeoff.documents.workbook_places import Places
from takeoff.record import Takeoff
from takeoff.work.model import Finding, Operation

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

__all__ = ["write_findings", "write_hours"]

BLANK_ROWS = 6
"""Rows to fill in by hand, for each room."""
SAYS = (
    "Print, fill in on site, type in the amounts, save, and give this workbook to --findings. A row counts when it has "
    "an amount; one row is enough for a room's allowances to go."
)


def write_findings(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Findings: rows as they stand, then blank rows, room by room."""
    sheet = begin_sheet(book, styles, FINDINGS, SAYS, FINDING_COLUMNS)
    rows = list(_finding_rows(takeoff))
    put_table(book, sheet, styles, FINDING_COLUMNS, rows)
    known = load("findings")
    titles = [kind["title"] for kind in known["kinds"].values()]
    for heading, words, says in (
        ("Finding", titles, "What can be found (choose from these words):"),
        ("Hacked off to", list(known["under"]), "Loose plaster only:"),
    ):
        _choose(sheet, styles, heading, words, says, len(rows))


def _choose(sheet: Worksheet, styles: Styles, heading: str, words: Sequence[str], says: str, rows: int) -> None:
    """The words to choose from, below the table (to be printed), and as a list in every cell of the column."""
    column = next(n for n, c in enumerate(FINDING_COLUMNS) if c.heading == heading)
    first = TOP + rows + 3
    sheet.write_string(first - 1, column, says, styles.note)
    for number, word in enumerate(words):
        sheet.write_string(first + number, column, word, styles.body())
    end = f"${FINDING_COLUMNS.letters[heading]}${first + len(words)}"
    source = f"={cell_at(FINDING_COLUMNS, heading, first, FINDINGS)}:{end}"
    choose = {"validate": "list", "source": source, "error_type": "warning"}
    sheet.data_validation(TOP, column, TOP + rows - 1, column, choose)


def _finding_rows(takeoff: Takeoff) -> Iterator[list[Cell]]:
    for room in takeoff.measured.rooms:
        mine = [f for f in takeoff.work.findings if f.room == room.room]
        yield from (_finding(finding) for finding in mine)
        for _ in range(BLANK_ROWS):
            yield [room.room, *([None] * (len(FINDING_COLUMNS) - 1))]


def _finding(finding: Finding) -> list[Cell]:
    """What was found has its amount; an allowance shows what is allowed and leaves the amount to fill in."""
    found = finding.state == "found"
    title = load("findings")["kinds"][finding.kind]["title"]
    under = (finding.background or None) if finding.background_by == "found" else None
    depth = finding.thickness_mm or None
    allowed = None if found else finding.amount
    amounts: list[Cell] = [finding.amount if found else None, finding.unit, depth]
    spread: list[Cell] = [finding.low, finding.high] if found else [None, None]
    return [finding.room, finding.place, title, under, *amounts, *spread, finding.note, allowed]


def write_hours(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Hours: quantity x hours each x factors, live."""
    says = "Hours = quantity x hours each x factors. Change a figure on the pale ground and the total follows."
    sheet = begin_sheet(book, styles, HOURS, says, HOUR_COLUMNS, frozen=3)
    rows = [_hours(operation, row) for row, operation in enumerate(takeoff.work.operations, TOP)]
    put_table(book, sheet, styles, HOUR_COLUMNS, rows)


def _hours(operation: Operation, row: int) -> list[Cell]:
    parts = (cell_at(HOUR_COLUMNS, heading, row) for heading in ("Quantity", "Hours each", "Factors"))
    why = "; ".join(f"{factor.why} x {factor.value:g}" for factor in operation.factors)
    title = f"{operation.title} (allowance)" if operation.allowance else operation.title
    multiplier = round(operation.multiplier, 6)
    hours = operation.quantity * operation.hours_likely * multiplier
    where = ", ".join(operation.surfaces)
    return [
        operation.room, operation.task, title, operation.stage, operation.quantity, operation.unit,
        operation.hours_low, operation.hours_likely, operation.hours_high, multiplier,
        Live("=" + "*".join(parts), hours), why, where, operation.source,
    ]  # fmt: skip
