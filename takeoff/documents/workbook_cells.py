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

from takeoff.documents.safe_text import FORMULA_STARTS, clean
from takeoff.documents.workbook_sheet import LONGEST_CELL, BulkSheet

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
    "Styles",
    "begin_sheet",
    "cell_at",
    "handles_shown",
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

    @property
    def target(self) -> str:
        """The address it jumps to."""
        return f"'{self.sheet}'!A{self.row + 1}"


Cell = str | float | int | Live | Link | None


def number_of(cell: Cell) -> float:
    """The number in `cell` now. Raises `TypeError` for a cell that holds none."""
    number = cell.value if isinstance(cell, Live) else cell
    if not isinstance(number, (int, float)):
        raise TypeError(f"no number in {cell!r}")
    return float(number)


def _addend(cell: Cell) -> float | None:
    """What a total counts of `cell`: nothing of texts and blanks."""
    number = cell.value if isinstance(cell, Live) else cell
    return float(number) if isinstance(number, (int, float)) else None


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


class Styles:
    """The formats of one workbook, made once each."""

    def __init__(self, book: Workbook) -> None:
        self._book = book
        self._made: dict[tuple[tuple[str, Any], ...], Format] = {}
        self._columns: dict[tuple[str, bool], _ColumnStyle] = {}

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
        """The looks of a column's cells."""
        number, editable = column.number, column.editable
        if (number, editable) not in self._columns:
            fixed = self.body(number)
            self._columns[number, editable] = _ColumnStyle(
                fixed=fixed,
                given=self.body(number, bg_color="#FFF6D5", left=1, right=1) if editable else fixed,
                quoted=self.body(number, quote_prefix=True),
                link=self.body(number, underline=1, font_color="#1F3F8F"),
            )
        return self._columns[number, editable]

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

    def numbers(self) -> _Numbers:
        """The looks' numbers in the file; the library gives each out on first asking."""
        fixed, given, quoted, link = (f._get_xf_index() for f in (self.fixed, self.given, self.quoted, self.link))
        return fixed, given, quoted, link

    def of(self, cell: str | Link) -> Format:
        """The look of a text: one that would begin a formula is marked so that typing it again does not make one."""
        if isinstance(cell, Link):
            return self.link
        return self.quoted if cell.startswith(FORMULA_STARTS) else self.given


def begin_sheet(
    book: Workbook,
    styles: Styles,
    name: str,
    says: str,
    columns: Sequence[Column],
    *,
    frozen: int = 1,
    header: int = HEADER,
) -> BulkSheet:
    """The sheet `name` (already in `book`) with title, explanation, widths, frozen panes and page set-up.

    `frozen` columns stay in sight; the heading row `header` (0-based) is repeated on each printed page.
    """
    sheet = book.get_worksheet_by_name(name)
    if not isinstance(sheet, BulkSheet):
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


def put(sheet: BulkSheet, row: int, column: int, cell: Cell, style: _ColumnStyle) -> None:
    """Write one cell outside a table. A text is never taken for a formula, a number or an address."""
    if isinstance(cell, str | Link):
        text = cell if isinstance(cell, str) else cell.text
        if isinstance(cell, Link):
            sheet.jump(f"{xl_col_to_name(column)}{row + 1}", cell.target)
        sheet.write_string(row, column, clean(text, LONGEST_CELL), style.of(cell))
    elif isinstance(cell, Live):
        sheet.write_formula(row, column, cell.formula, style.fixed, cell.value)
    elif cell is None:
        sheet.write_blank(row, column, None, style.given)
    else:
        sheet.write_number(row, column, cell, style.given)


_STARTS = frozenset(FORMULA_STARTS)
_Numbers = tuple[int, int, int, int]
"""Numbers in the file of a column's four looks: fixed, given, quoted, link."""


def _rendered(sheet: BulkSheet, at: str, cell: Cell, style: _Numbers) -> str:
    """One cell of a table, finished. A text is never taken for a formula, a number or an address."""
    fixed, given, quoted, link = style
    if isinstance(cell, str):
        if not cell:
            return sheet.blank(at, given)
        return sheet.text(at, cell, quoted if cell[0] in _STARTS else given)
    if isinstance(cell, Live):
        return sheet.formula(at, cell.formula, cell.value, fixed)
    if isinstance(cell, Link):
        sheet.jump(at, cell.target)
        return sheet.text(at, cell.text, link)
    return sheet.blank(at, given) if cell is None else sheet.number(at, cell, given)


def put_table(
    book: Workbook,
    sheet: BulkSheet,
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
    drawn = [
        (xl_col_to_name(n), look.numbers(), 0.0 if column.number else column.width)
        for n, (look, column) in enumerate(zip(looks, columns, strict=True))
    ]
    sheet.add_rows(
        header + 1, len(columns), (_row(sheet, row, cells, drawn) for row, cells in enumerate(body, header + 1))
    )
    last = header + len(body)
    for number, column in enumerate(columns):
        letter = xl_col_to_name(number)
        if column.name:
            book.define_name(column.name, f"='{sheet.name}'!${letter}${header + 2}:${letter}${last + 1}")
        if column.total:
            addends = [a for a in (_addend(cells[number]) for cells in body) if a is not None]
            body_range = f"{letter}{header + 2}:{letter}{last + 1}"
            formula = f'=IF(COUNT({body_range})=0,"",SUBTOTAL(9,{body_range}))'
            style = styles.total(column.number)
            sheet.write_formula(header - 1, number, formula, style, sum(addends) if addends else "")
    if any(column.total for column in columns):
        sheet.write_string(header - 1, 0, "Total", styles.total("@"))
    if filtered:
        sheet.autofilter(header, 0, last, len(columns) - 1)
    return last + 1


def _row(sheet: BulkSheet, row: int, cells: Sequence[Cell], columns: Sequence[tuple[str, _Numbers, float]]) -> str:
    """One row of a table, finished, as high as its longest text needs: `columns` are letter, look and the width that
    texts are wrapped at, 0 where they are not."""
    lines, below, finished = 1, row + 1, []
    for cell, (letter, look, width) in zip(cells, columns, strict=True):
        finished.append(_rendered(sheet, f"{letter}{below}", cell, look))
        if width and isinstance(cell, (str, Link)):
            text = cell if isinstance(cell, str) else cell.text
            if len(text) > width or "\n" in text:
                lines = max(lines, _lines(text, width))
    return sheet.row(row, finished, lines * LINE_POINTS if lines > 1 else None)


def put_headings(sheet: BulkSheet, styles: Styles, columns: Sequence[Column], header: int) -> None:
    """The heading row, as high as its longest heading needs."""
    lines = 1
    for number, column in enumerate(columns):
        sheet.write_string(header, number, column.heading, styles.heading)
        lines = max(lines, len(textwrap.wrap(column.heading, max(3, int(column.width) - 1))))
    sheet.set_row(header, lines * LINE_POINTS + 3)


def _lines(text: str, width: float) -> int:
    """How many lines `text` takes in a column `width` characters wide, up to `MOST_LINES`: no program reckons that
    for a row before it is opened in a spreadsheet, and a preview never does."""
    room = max(4, int(width))
    return min(MOST_LINES, sum(1 + len(line) // room for line in text.split("\n")))


def handles_shown(handles: Iterable[str]) -> str:
    """Handles as a person looks them up in the drawing: of what lies in a block, the block reference, once."""
    return " ".join(dict.fromkeys(handle.partition("/")[0] for handle in handles))


def cell_at(columns: Columns, heading: str, row: int, sheet: str = "") -> str:
    """The address of the cell under `heading` in `row` (0-based), on `sheet` when it is another one."""
    letter = columns.letters[heading]
    return f"'{sheet}'!${letter}${row + 1}" if sheet else f"{letter}{row + 1}"


def range_of(columns: Columns, heading: str, first: int, last: int) -> str:
    """The addresses under `heading` from row `first` to `last` (0-based, both included)."""
    return f"{cell_at(columns, heading, first)}:{cell_at(columns, heading, last)}"
