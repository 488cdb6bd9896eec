"""Cells, styles and tables of the workbook: how a sheet is written, whatever it shows.

Terms:
  live cell      a formula together with the value it has now, so that a preview without a calculator shows figures.
  link           a cell that jumps to a row of another sheet.
  editable cell  a figure that the user may change; the live cells that rest on it follow. Shown on a pale ground
                 with a frame, so that it is told apart in black and white too.
  named range    the body of a column under a name that formulas use: ``surface_net``.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from takeoff.documents.safe_text import FORMULA_STARTS, clean

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook

__all__ = [
    "HEADER",
    "LINE_POINTS",
    "TOP",
    "Cell",
    "Column",
    "Columns",
    "Link",
    "Live",
    "PlainSheet",
    "Styles",
    "begin_sheet",
    "cell_at",
    "number_of",
    "put",
    "put_headings",
    "put_table",
    "range_of",
]

HEADER = 3
"""Row (0-based) of the column headings of a table sheet; title, explanation and totals stand above."""
TOP = HEADER + 1
"""First row of the body."""
LONGEST_CELL = 32_767
"""Characters a cell can hold (ECMA-376 implementers' limit of the common spreadsheet programs)."""
PAPER_A4 = 9
LINE_POINTS = 12.0
"""Height of a printed line of the body type (9 point)."""
MOST_LINES = 12
"""Lines that a row may grow to: what is longer is read in the cell."""


@dataclass(frozen=True, slots=True)
class Live:
    """A formula and its present value."""

    formula: str
    value: float | str


@dataclass(frozen=True, slots=True)
class Link:
    """`text` that jumps to `row` (0-based) of `sheet`."""

    sheet: str
    row: int
    text: str


Cell = str | float | int | Live | Link | None


def number_of(cell: Cell) -> float:
    """The number in `cell` now. Raises `TypeError` for a cell that holds none."""
    number = cell.value if isinstance(cell, Live) else cell
    if not isinstance(number, (int, float)):
        raise TypeError(f"no number in {cell!r}")
    return float(number)


def _addend(cell: Cell) -> float:
    """What a total counts of `cell`: texts and blanks count nothing."""
    number = cell.value if isinstance(cell, Live) else cell
    return float(number) if isinstance(number, (int, float)) else 0.0


@dataclass(frozen=True, slots=True)
class Column:
    heading: str
    """With its unit: 'Net (m2)'."""
    width: float
    """In characters."""
    number: str = ""
    """Number format; '' for text."""
    editable: bool = False
    total: bool = False
    """Totalled above the heading, over the rows that a filter leaves."""
    name: str = ""
    """Named range of the column's body."""


class Columns(tuple[Column, ...]):
    """The columns of a table, left to right, with the letter of each heading."""

    def __new__(cls, *columns: Column) -> Columns:
        return super().__new__(cls, columns)

    @cached_property
    def letters(self) -> dict[str, str]:
        return {column.heading: xl_col_to_name(number) for number, column in enumerate(self)}


class PlainSheet(Worksheet):  # type: ignore[misc]
    """A sheet whose formulas use only functions that every spreadsheet has had from the first.

    The library looks through each formula for some 150 later functions that need another spelling in the file;
    that was nine tenths of the time of writing a formula.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class Styles:
    """The formats of one workbook, made once each."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}

    def of(self, **properties: Any) -> Format:
        """The format with these xlsxwriter properties."""
        key = tuple(sorted(properties.items()))
        if key not in self._made:
            self._made[key] = self._book.add_format(
                {"font_name": "Arial", "font_size": 9, "valign": "top", **properties}
            )
        return self._made[key]

    def body(self, number: str = "", **properties: Any) -> Format:
        """A cell inside a table."""
        shown = {"num_format": number} if number else {"text_wrap": True, "align": "left", "indent": 1}
        return self.of(border=4, border_color="#808080", **shown, **properties)

    def column(self, column: Column) -> _ColumnStyle:
        fixed = self.body(column.number)
        return _ColumnStyle(
            fixed=fixed,
            given=self.body(column.number, bg_color="#FFF6D5", left=1, right=1) if column.editable else fixed,
            quoted=self.body(column.number, quote_prefix=True),
            link=self.body(column.number, underline=1, font_color="#1F3F8F"),
        )

    @property
    def heading(self) -> Format:
        return self.of(bold=True, text_wrap=True, border=1, bg_color="#E4E4E4", valign="vcenter")

    def total(self, number: str) -> Format:
        return self.of(bold=True, num_format=number, top=1, bottom=6)

    @property
    def title(self) -> Format:
        return self.of(bold=True, font_size=14)

    @property
    def note(self) -> Format:
        return self.of(italic=True)


@dataclass(frozen=True, slots=True)
class _ColumnStyle:
    fixed: Format
    given: Format
    """A constant that may be edited."""
    quoted: Format
    """A text that would begin a formula if it were typed again."""
    link: Format


def begin_sheet(
    book: Workbook,
    styles: Styles,
    name: str,
    says: str,
    columns: Sequence[Column],
    *,
    frozen: int = 1,
    header: int = HEADER,
) -> Worksheet:
    """The sheet `name` (already in `book`) with title, explanation, widths, frozen panes and page set-up.

    `frozen` columns stay in sight; the heading row `header` (0-based) is repeated on each printed page.
    """
    sheet = book.get_worksheet_by_name(name)
    if sheet is None:
        raise KeyError(name)
    sheet.write_string(0, 0, name, styles.title)
    sheet.write_string(1, 0, says, styles.note)
    for number, column in enumerate(columns):
        sheet.set_column(number, number, column.width)
    sheet.freeze_panes(header + 1, frozen)
    sheet.repeat_rows(header)
    sheet.set_landscape()
    sheet.set_paper(PAPER_A4)
    sheet.fit_to_pages(1, 0)
    sheet.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    sheet.hide_gridlines(2)
    return sheet


def put(sheet: Worksheet, row: int, column: int, cell: Cell, style: _ColumnStyle) -> None:
    """Write one cell. A text is never taken for a formula, a number or an address."""
    if isinstance(cell, str):
        if cell:
            quoted = cell.startswith(FORMULA_STARTS)
            sheet.write_string(row, column, clean(cell, LONGEST_CELL), style.quoted if quoted else style.given)
        else:
            sheet.write_blank(row, column, None, style.given)
    elif isinstance(cell, Live):
        sheet.write_formula(row, column, cell.formula, style.fixed, cell.value)
    elif isinstance(cell, Link):
        target = f"internal:'{cell.sheet}'!A{cell.row + 1}"
        sheet.write_url(row, column, target, style.link, clean(cell.text, LONGEST_CELL))
    elif cell is None:
        sheet.write_blank(row, column, None, style.given)
    else:
        sheet.write_number(row, column, cell, style.given)


def put_table(
    book: Workbook,
    sheet: Worksheet,
    styles: Styles,
    columns: Sequence[Column],
    rows: Iterable[Sequence[Cell]],
    *,
    header: int = HEADER,
    filtered: bool = True,
) -> int:
    """Headings, body, totals, named ranges and, if `filtered`, a filter. Returns the row after the body."""
    looks = [styles.column(column) for column in columns]
    body = list(rows) or [[""] * len(columns)]
    put_headings(sheet, styles, columns, header)
    for row, cells in enumerate(body, header + 1):
        lines = 1
        for number, cell in enumerate(cells):
            put(sheet, row, number, cell, looks[number])
            text = cell.text if isinstance(cell, Link) else cell
            if isinstance(text, str) and not columns[number].number:
                lines = max(lines, _lines(text, columns[number].width))
        if lines > 1:
            sheet.set_row(row, lines * LINE_POINTS)
    last = header + len(body)
    for number, column in enumerate(columns):
        letter = xl_col_to_name(number)
        if column.name:
            book.define_name(column.name, f"='{sheet.name}'!${letter}${header + 2}:${letter}${last + 1}")
        if column.total:
            now = sum(_addend(cells[number]) for cells in body)
            formula = f"=SUBTOTAL(9,{letter}{header + 2}:{letter}{last + 1})"
            sheet.write_formula(header - 1, number, formula, styles.total(column.number), now)
    if any(column.total for column in columns):
        sheet.write_string(header - 1, 0, "Total", styles.total("@"))
    if filtered:
        sheet.autofilter(header, 0, last, len(columns) - 1)
    return last + 1


def put_headings(sheet: Worksheet, styles: Styles, columns: Sequence[Column], header: int) -> None:
    """The heading row, as high as its longest heading needs."""
    lines = 1
    for number, column in enumerate(columns):
        sheet.write_string(header, number, column.heading, styles.heading)
        lines = max(lines, len(textwrap.wrap(column.heading, max(3, int(column.width) - 1))))
    sheet.set_row(header, lines * LINE_POINTS + 3)


def _lines(text: str, width: float) -> int:
    """How many lines `text` takes in a column `width` characters wide, up to `MOST_LINES`: no program reckons that
    for a row before it is opened in a spreadsheet, and a preview never does."""
    if len(text) <= width and "\n" not in text:
        return 1
    room = max(4, int(width))
    return min(MOST_LINES, sum(1 + len(line) // room for line in text.split("\n")))


def cell_at(columns: Columns, heading: str, row: int, sheet: str = "") -> str:
    """The address of the cell under `heading` in `row` (0-based), on `sheet` when it is another one."""
    letter = columns.letters[heading]
    return f"'{sheet}'!${letter}${row + 1}" if sheet else f"{letter}{row + 1}"


def range_of(columns: Columns, heading: str, first: int, last: int) -> str:
    """The addresses under `heading` from row `first` to `last` (0-based, both included)."""
    return f"{cell_at(columns, heading, first)}:{cell_at(columns, heading, last)}"
