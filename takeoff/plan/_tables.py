"""Tables drawn as texts in rows and columns, with or without ruling lines.

Terms:
  heading  a text whose words name a column: mark, width, height, size, sill, or something else that tables hold.
  table    headings side by side, and under them rows of cells; or the same turned, headings down the left side.
  cell     one text, each under the heading nearest to it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np

from takeoff.data import load
from takeoff.drawing.lengths import METRES
from takeoff.drawing.model import Drawing, Text
from takeoff.plan._text_lines import plain
from takeoff.plan.layers import REMEMBERED, fold

__all__ = ["Cell", "Row", "Table", "by_row", "cells_of", "tables_of"]

_SAME_ROW = 0.6
"""Texts whose middles are closer than so many heights stand in one row."""
_ROW_GAP = 2.6
"""A gap of more than so many usual row steps ends the table."""
_LEAST_STEP = 2.5
_ROW_STEP, _COLUMN_STEP = 6.5, 60.0
"""The first row, or the first column of a turned table, stands within so many heights of the headings."""
_HEADING_DEPTH = 4.0
"""Second lines of headings stand within so many heights below the first."""
_NEXT_HEADING = 60.0
"""Neighbouring headings stand no farther apart than so many heights."""
_SHORTEST_INSIDE = 4
_LEAST_HEADINGS = 3
_LONGEST_HEADING = 40
_TELLING = frozenset({"size", "width", "height"})


@dataclass(frozen=True, slots=True)
class Cell:
    """A text of a table: `along` its row, `down` its column (growing downwards), metres."""

    text: str
    along: float
    down: float
    width: float
    height: float
    handle: str


@dataclass(frozen=True, slots=True)
class _Heading:
    cell: Cell
    column: str
    unit: float | None


class Row(dict[str, str]):
    """Column -> text, and the `cells` it was read from."""

    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """A table: which columns it has, the unit a heading states (metres per unit), its rows."""

    columns: frozenset[str]
    unit: float | None
    headings: tuple[Cell, ...]
    rows: tuple[Row, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Every text of the table."""
        return (*self.headings, *(cell for row in self.rows for cell in row.cells))


def tables_of(drawing: Drawing) -> list[Table]:
    """Every table on the sheet of `drawing`, upright or turned."""
    cells = cells_of(drawing)
    if not any(heading_of(cell.text)[0] in _TELLING | {"mark", "other"} for cell in cells):
        return []
    upright = _tables(cells, _ROW_STEP)
    used = {id(cell) for table in upright for row in table.rows for cell in row.cells}
    rest = [cell for cell in cells if id(cell) not in used]
    turned = [_tables([_turned(cell, edge) for cell in rest], _COLUMN_STEP) for edge in (0.5, 0.0)]
    return upright + max(turned, key=lambda tables: sum(len(t.rows) for t in tables))


def cells_of(drawing: Drawing) -> list[Cell]:
    """The level texts of `drawing` as cells."""
    return [_cell(drawing, t) for t in drawing.paragraphs if abs(np.sin(t.rotation)) < 0.05 and plain(t.value)]


def _cell(drawing: Drawing, text: Text) -> Cell:
    handle = drawing.entities[text.entity].handle
    return Cell(plain(text.value), text.at[0], -text.at[1], text.width, text.height, handle)


def _turned(cell: Cell, edge: float) -> Cell:
    """The cell with rows and columns changed over: columns of print, which line up by their left ends (`edge` 0.5)
    or their middles (0.0), become rows."""
    return replace(cell, along=cell.down, down=cell.along - edge * cell.width, width=cell.height)


def by_row(cells: Sequence[Cell]) -> list[list[Cell]]:
    """Cells in rows from the top, each from left to right."""
    rows: list[list[Cell]] = []
    for cell in sorted(cells, key=lambda c: (c.down, c.along)):
        if rows and abs(cell.down - rows[-1][0].down) <= _SAME_ROW * max(cell.height, rows[-1][0].height):
            rows[-1].append(cell)
        else:
            rows.append([cell])
    return [sorted(row, key=lambda c: c.along) for row in rows]


@lru_cache(maxsize=REMEMBERED)
def heading_of(text: str) -> tuple[str, float | None]:
    """The column that a heading names and the metres per unit it states: 'Width (mm)' -> ('width', 0.001)."""
    if len(text) > _LONGEST_HEADING or text.replace(".", "").isdigit():
        return "", None
    folded = fold(text)
    stated = re.search(r"[(\[\s,](mm|cm|m)\b[)\]]?\s*$", folded)
    words = " ".join(re.findall(r"\w+", folded[: stated.start()] if stated else folded))
    unit = METRES[stated.group(1)] if stated else None
    for column in ("sill", "size", "width", "height", "mark", "other"):
        if words in _columns()[column]:
            return column, unit
    if words.count(" ") <= 2:
        for column in ("sill", "size", "width", "height", "mark"):
            if any(len(w) >= _SHORTEST_INSIDE and w in _columns()[column] for w in words.split(" ")):
                return column, unit
    return "", None


@cache
def _columns() -> dict[str, frozenset[str]]:
    return {
        name: frozenset(s for word in row["words"] for s in _spellings(word))
        for name, row in load("opening_words")["columns"].items()
    }


def _spellings(word: str) -> set[str]:
    folded = " ".join(re.findall(r"\w+", fold(word)))
    return {folded, re.sub(r"(?<=[aou])e", "", folded)} if len(folded) > 3 else {folded}


def _tables(cells: list[Cell], step: float) -> list[Table]:
    """The tables whose rows are no more than so many heights apart, at first."""
    headings = [_Heading(c, *heading_of(c.text)) for c in cells]
    named = sorted((h for h in headings if h.column), key=lambda h: (h.cell.down, h.cell.along))
    taken: set[int] = set()
    found = []
    for first in named:
        if id(first) in taken:
            continue
        group = _heading_group(first, [h for h in named if id(h) not in taken])
        columns = {h.column for h in group}
        if len(group) >= _LEAST_HEADINGS or ("mark" in columns and columns & _TELLING):
            taken |= {id(h) for h in group}
            if table := _table(cells, group, step):
                found.append(table)
    return found


def _heading_group(first: _Heading, named: list[_Heading]) -> list[_Heading]:
    """The headings that stand beside `first`, neighbour by neighbour, and those just under them."""
    height = first.cell.height
    level = [h for h in named if abs(h.cell.down - first.cell.down) <= _SAME_ROW * height]
    level = sorted((h for h in level if _alike(h.cell, first.cell)), key=lambda h: h.cell.along)
    group = [first]
    for ordered in (level[level.index(first) + 1 :], level[: level.index(first)][::-1]):
        last = first.cell
        for heading in ordered:
            if abs(heading.cell.along - last.along) > _NEXT_HEADING * height:
                break
            group.append(heading)
            last = heading.cell
    left = min(h.cell.along - h.cell.width for h in group)
    right = max(h.cell.along + h.cell.width for h in group)
    under = [
        h for h in named
        if _SAME_ROW * height < h.cell.down - first.cell.down <= _HEADING_DEPTH * height
        and left <= h.cell.along <= right and h.column in _TELLING and any(g.column == "size" for g in group)
    ]
    return [h for h in group if h.column != "size" or not under] + under


def _alike(a: Cell, b: Cell) -> bool:
    return 0.4 <= a.height / max(b.height, 1e-9) <= 2.5


def _table(cells: list[Cell], group: list[_Heading], widest: float) -> Table | None:
    """The rows under a group of headings, or None where there are none."""
    bottom = max(h.cell.down for h in group)
    height = max(h.cell.height for h in group)
    left = min(h.cell.along - h.cell.width / 2 for h in group) - 6 * height
    right = max(h.cell.along + h.cell.width / 2 for h in group) + 30 * height
    under = [c for c in cells if c.down > bottom + _SAME_ROW * height and left <= c.along <= right]
    rows: list[list[Cell]] = []
    last, step = bottom, 0.0
    for row in by_row(under):
        gap = row[0].down - last
        if gap > (_ROW_GAP * max(step, _LEAST_STEP * height) if step else widest * height) or _heads_another(row):
            break
        step = max(gap, height) if not step else min(step, max(gap, height))
        last = row[0].down
        rows.append(row)
    placed = [[(cell, _nearest(cell, group)) for cell in row] for row in rows]
    mark = _mark_heading(placed, group)
    read = tuple(r for row in placed if len(r := _row(row, mark)) >= 2)
    if not read:
        return None
    unit = next((h.unit for h in group if h.unit), None)
    return Table(frozenset(h.column for h in group), unit, tuple(h.cell for h in group), read)


def _heads_another(row: Sequence[Cell]) -> bool:
    """Whether a row is the headings of the next table."""
    columns = [heading_of(cell.text)[0] for cell in row]
    return bool(_TELLING & set(columns)) and sum(1 for c in columns if c) > len(row) / 2


def _nearest(cell: Cell, group: list[_Heading]) -> _Heading:
    """The heading a cell stands under: aligned left or middle with it, whichever is nearest."""
    def off(heading: _Heading) -> float:
        head = heading.cell
        lefts = abs((cell.along - cell.width / 2) - (head.along - head.width / 2))
        return min(lefts, abs(cell.along - head.along))

    return min(group, key=off)


def _mark_heading(placed: list[list[tuple[Cell, _Heading]]], group: list[_Heading]) -> _Heading | None:
    """Of several columns that may hold the marks, the one whose cells look most like marks."""
    score: dict[int, int] = defaultdict(int)
    for row in placed:
        for cell, heading in row:
            score[id(heading)] += 1 if re.fullmatch(r"[A-Za-z]{0,4}[-. ]?\d{1,4}[A-Za-z]?", cell.text) else -1
    marks = [h for h in group if h.column == "mark"]
    return max(marks, key=lambda h: score[id(h)], default=None)


def _row(placed: list[tuple[Cell, _Heading]], mark: _Heading | None) -> Row:
    row = Row()
    for cell, heading in placed:
        column = heading.column if heading.column != "mark" or heading is mark else "other"
        row.setdefault(column, cell.text)
    row.cells = tuple(cell for cell, _ in placed)
    return row
