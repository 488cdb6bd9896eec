"""A worksheet that takes the body of a table in one piece.

The library looks at each cell several times over; with tens of thousands of them that is most of the time a takeoff
takes. The body of a table is plain: numbers, texts, blanks, formulas of functions that every spreadsheet has had from
the first, and jumps within the book. So it is put into the file as it stands, by ECMA-376 part 1, 18.3.1.4 (cell) and
18.3.1.73 (row), and the library writes what stands around it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from xml.sax.saxutils import escape, quoteattr

from xlsxwriter.worksheet import Worksheet

from takeoff.documents.safe_text import clean

__all__ = ["LONGEST_CELL", "BulkSheet"]

LONGEST_CELL = 32_767
"""Characters a cell can hold (ECMA-376 implementers' limit of the common spreadsheet programs)."""


@dataclass(frozen=True, slots=True)
class _Block:
    first: int
    last: int
    rows: tuple[str, ...]


class BulkSheet(Worksheet):  # type: ignore[misc]
    """A worksheet of the library with whole rows besides. Styles are given by their number in the file."""

    dim_rowmin: int
    dim_rowmax: int

    def __init__(self) -> None:
        super().__init__()
        self._blocks: list[_Block] = []
        self._jumps: dict[str, str] = {}
        self._texts: dict[str, int] = {}
        """Text as given -> its number among the book's texts."""

    def add_rows(self, first: int, columns: int, rows: Iterable[str]) -> None:
        """Take the finished rows (see `row`) from row `first` (0-based) on, `columns` wide."""
        body = tuple(rows)
        if body:
            last = first + len(body) - 1
            self._blocks.append(_Block(first, last, body))
            for corner in ((first, 0), (last, columns - 1)):
                self._check_dimensions(*corner)

    @staticmethod
    def row(number: int, cells: Iterable[str], height: float | None) -> str:
        """A row (0-based `number`) of finished cells, `height` in points or as high as the library's rows."""
        tall = f' ht="{height:g}" customHeight="1"' if height else ""
        return f'<row r="{number + 1}"{tall}>{"".join(cells)}</row>'

    def number(self, at: str, number: float, style: int) -> str:
        """A cell that holds a number. What is no number (a division by nought in bad input) is left blank."""
        if not isfinite(number):
            return self.blank(at, style)
        return f'<c r="{at}" s="{style}"><v>{number!r}</v></c>'

    def text(self, at: str, text: str, style: int) -> str:
        """A cell that holds a text, whatever it begins with, without what no document can hold."""
        index = self._texts.get(text)
        if index is None:
            index = self._texts[text] = self.str_table._get_shared_string_index(clean(text, LONGEST_CELL))
        else:
            self.str_table.count += 1
        return f'<c r="{at}" s="{style}" t="s"><v>{index}</v></c>'

    def blank(self, at: str, style: int) -> str:
        """A cell that shows its ground and frame only."""
        return f'<c r="{at}" s="{style}"/>'

    def formula(self, at: str, formula: str, value: float | str, style: int) -> str:
        """A cell that holds a formula and shows `value` until it is worked out again."""
        kind = ' t="str"' if isinstance(value, str) else ""
        shown = escape(value) if isinstance(value, str) else repr(value)
        body = formula.removeprefix("=")
        if "<" in body or "&" in body:
            body = escape(body)
        return f'<c r="{at}" s="{style}"{kind}><f>{body}</f><v>{shown}</v></c>'

    def jump(self, at: str, target: str) -> None:
        """Make the cell `at` jump to `target`, an address in this book."""
        self._jumps[at] = target

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        """As it is: none of the later functions that need another spelling in the file is used."""
        return formula.removeprefix("=")

    def _write_rows(self) -> None:
        """The library's rows, with the blocks in their places."""
        low, high = self.dim_rowmin, self.dim_rowmax
        for block in sorted(self._blocks, key=lambda block: block.first):
            self.dim_rowmax = block.first - 1
            super()._write_rows()
            self.fh.write("".join(block.rows))
            self.dim_rowmin = block.last + 1
        self.dim_rowmax = high
        super()._write_rows()
        self.dim_rowmin = low

    def _write_hyperlinks(self) -> None:
        """Jumps within the book (18.3.1.47); nothing here links outside."""
        if self._jumps:
            links = (f'<hyperlink ref="{at}" location={quoteattr(to)}/>' for at, to in self._jumps.items())
            self.fh.write(f"<hyperlinks>{''.join(links)}</hyperlinks>")
