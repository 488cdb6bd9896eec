"""The index workbook of a run: totals, every drawing with links to its documents, reasons, what is to be settled."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from takeoff.bulk.model import State, Summary
from takeoff.documents.workbook_book import BulkBook
from takeoff.documents.workbook_cells import (
    TOP,
    Cell,
    Column,
    Columns,
    Link,
    Live,
    Styles,
    begin_sheet,
    cell_at,
    put_table,
)
from takeoff.documents.workbook_sheet import BulkSheet

__all__ = ["Row", "index_workbook"]

CREATED = datetime.datetime(2000, 1, 1)
"""Instead of the clock, so that the same run gives the same bytes."""
MOST_ROWS = 1_000_000
"""Rows written of a table; a sheet holds 1,048,576 (ECMA-376 implementers' limit)."""
LONGEST_LINK = 255
"""Characters of a text within a formula (the common spreadsheet programs)."""
TOTALS, DRAWINGS, WITHOUT, QUERIES = "Totals", "Drawings", "Without a takeoff", "To settle"
AREA, COUNT, HOURS, MASS, MONEY = "#,##0.00", "#,##0", "#,##0.0", "#,##0", "#,##0.00"


@dataclass(frozen=True, slots=True)
class Row:
    """One drawing in the index."""

    name: str
    drawing: str
    job: str
    state: State
    reason: str
    summary: Summary | None
    documents: tuple[str, ...]
    """Paths from the index."""


_DRAWINGS = Columns(
    Column("Drawing", 30),
    Column("Rooms", 8, COUNT, total=True, name="drawing_rooms"),
    Column("Openings", 9, COUNT, total=True, name="drawing_openings"),
    Column("Floors (m2)", 11, AREA, total=True, name="drawing_floors"),
    Column("Walls net (m2)", 11, AREA, total=True, name="drawing_walls"),
    Column("Ceilings net (m2)", 11, AREA, total=True, name="drawing_ceilings"),
    Column("Reveals net (m2)", 11, AREA, total=True, name="drawing_reveals"),
    Column("To cover (m2)", 12, AREA, total=True, name="drawing_cover"),
    Column("Hours", 10, HOURS, total=True, name="drawing_hours"),
    Column("Materials (kg)", 11, MASS, total=True, name="drawing_mass"),
    Column("Price before tax", 13, MONEY, total=True, name="drawing_price"),
    Column("Currency", 9),
    Column("To settle", 9, COUNT, total=True, name="drawing_queries"),
    Column("Workbook", 12),
    Column("Marked plan", 13),
    Column("Quotation", 13),
    Column("File", 44),
    Column("Job file", 30),
)
_OPENED = {"Workbook": "takeoff.xlsx", "Marked plan": "marked-plan.pdf", "Quotation": "quotation.pdf"}
_WITHOUT = Columns(Column("Drawing", 30), Column("State", 11), Column("Why", 90), Column("File", 44))
_QUERIES = Columns(
    Column("Drawing", 30),
    Column("Ref", 6),
    Column("Kind", 22),
    Column("Concerns", 13),
    Column("About", 20),
    Column("What to settle", 90),
)
_TOTALS = Columns(Column("What", 34), Column("Amount", 16, AREA))


def index_workbook(rows: Sequence[Row], part: str = "") -> bytes:
    """The workbook of `rows`, in their order; `part` says which they are where there are more. The same rows give the
    same bytes."""
    book = BulkBook()
    book.set_properties({"title": "Drawings", "created": CREATED})
    for name in (TOTALS, DRAWINGS, WITHOUT, QUERIES):
        book.add_worksheet(name, BulkSheet)
    styles = Styles(book)
    done = [row for row in rows if row.summary is not None]
    without = [row for row in rows if row.summary is None]
    asked = [(row.name, query) for row in done if row.summary for query in row.summary.queries]
    at: dict[str, int] = {}
    for number, (name, _) in enumerate(asked[:MOST_ROWS]):
        at.setdefault(name, TOP + number)
    drawings = [_drawing(number, row, at) for number, row in enumerate(done)]
    _table(book, styles, DRAWINGS, f"Every drawing that was taken off.{part}", _DRAWINGS, drawings)
    _table(
        book, styles, WITHOUT,
        "Refused: the drawing or its job file must be put right. Given up: it met a limit of time or memory.",
        _WITHOUT, [(row.name, row.state, row.reason, row.drawing) for row in without],
    )  # fmt: skip
    queries = [(name, q.ref, q.kind, q.concerns, " ".join(q.about), q.says) for name, q in asked]
    _table(book, styles, QUERIES, "What the drawings do not say; answer it in the job file.", _QUERIES, queries)
    _totals(book, styles, done, without, part)
    return book.packed()


def _table(
    book: BulkBook, styles: Styles, name: str, says: str, columns: Columns, rows: Sequence[Sequence[Cell]]
) -> None:
    if len(rows) > MOST_ROWS:
        says = f"{says} The first {MOST_ROWS:,} of {len(rows):,}: make runs over parts of the folder for the rest."
    sheet = begin_sheet(book, styles, name, says, columns)
    put_table(book, sheet, styles, columns, rows[:MOST_ROWS])


def _drawing(number: int, row: Row, asked_at: dict[str, int]) -> Sequence[Cell]:
    """The cells of a drawing in body row `number`."""
    own = row.summary
    assert own is not None
    parts = [cell_at(_DRAWINGS, heading, TOP + number) for heading in ("Walls net (m2)", "Reveals net (m2)")]
    cover = Live(f"=SUM({parts[0]}:{parts[1]})", own.walls_m2 + own.ceilings_m2 + own.reveals_m2)
    opened = {path.rpartition("/")[2]: path for path in row.documents}
    settle = len(own.queries)
    name: Cell = Link(QUERIES, asked_at[row.name], row.name) if row.name in asked_at else row.name
    return (
        name, own.rooms, own.openings, own.floor_m2, own.walls_m2, own.ceilings_m2, own.reveals_m2, cover,
        own.hours, own.weight_kg, None if own.before_tax is None else float(own.before_tax), own.currency, settle,
        *(_opens(opened.get(document), heading) for heading, document in _OPENED.items()), row.drawing, row.job,
    )  # fmt: skip


def _opens(path: str | None, says: str) -> Cell:
    """A cell that opens a document beside the index."""
    if path is None:
        return ""
    link = path.replace('"', '""')
    return Live(f'=HYPERLINK("{link}","{says}")', says) if len(link) <= LONGEST_LINK else path


def _totals(book: BulkBook, styles: Styles, done: Sequence[Row], without: Sequence[Row], part: str) -> None:
    says = f"Live: they follow the sheet of drawings.{part}"
    sheet = begin_sheet(book, styles, TOTALS, says, _TOTALS)
    summaries = [row.summary for row in done if row.summary is not None]
    refused = sum(row.state == "refused" for row in without)
    rows: list[tuple[str, Cell]] = [
        ("Drawings taken off", Live("=COUNT(drawing_rooms)", len(done))),
        ("Drawings refused", Live(f"=COUNTIF('{WITHOUT}'!B:B,\"refused\")", refused)),
        ("Drawings given up", Live(f"=COUNTIF('{WITHOUT}'!B:B,\"given up\")", len(without) - refused)),
    ]
    for label, name, values in _summed(summaries):
        rows.append((label, Live(f"=SUM({name})", sum(values))))
    for currency in sorted({s.currency for s in summaries if s.before_tax is not None}):
        prices = [float(s.before_tax) for s in summaries if s.before_tax is not None and s.currency == currency]
        letter, last = _DRAWINGS.letters["Currency"], TOP + len(done)
        range_ = f"'{DRAWINGS}'!{letter}{TOP + 1}:{letter}{last}"
        rows.append(
            (f"Price before tax ({currency})", Live(f'=SUMIF({range_},"{currency}",drawing_price)', sum(prices)))
        )
    priced = sum(s.before_tax is not None for s in summaries)
    rows.append(("Drawings with a whole price", Live("=COUNT(drawing_price)", priced)))
    put_table(book, sheet, styles, _TOTALS, rows, filtered=False)


def _summed(summaries: Sequence[Summary]) -> Iterable[tuple[str, str, list[float]]]:
    """Label, named range and values of each total."""
    yield "Rooms", "drawing_rooms", [s.rooms for s in summaries]
    yield "Openings", "drawing_openings", [s.openings for s in summaries]
    yield "Floors (m2)", "drawing_floors", [s.floor_m2 for s in summaries]
    yield "Walls net (m2)", "drawing_walls", [s.walls_m2 for s in summaries]
    yield "Ceilings net (m2)", "drawing_ceilings", [s.ceilings_m2 for s in summaries]
    yield "Reveals net (m2)", "drawing_reveals", [s.reveals_m2 for s in summaries]
    yield "To cover (m2)", "drawing_cover", [s.walls_m2 + s.ceilings_m2 + s.reveals_m2 for s in summaries]
    yield "Hours", "drawing_hours", [s.hours for s in summaries]
    yield "Materials (kg)", "drawing_mass", [s.weight_kg for s in summaries]
    yield "To settle", "drawing_queries", [len(s.queries) for s in summaries]
