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

from takeoff.drawing.model import Drawing
from takeoff.plan._cells import SAME_ROW, Cell, by_row, cells_of
from takeoff.plan._headings import PLAIN, TELLING, Heading, heading_of

__all__ = ["Row", "Table", "tables_of"]

_ROW_GAP = 2.6
"""A gap of more than so many usual row steps ends the table."""
_LEAST_STEP = 2.5
_ROW_STEP, _COLUMN_STEP = 6.5, 60.0
"""The first row, or the first column of a turned table, stands within so many heights of the headings."""
_HEADING_DEPTH = 4.0
"""Second lines of headings stand within so many heights below the first."""
_NEXT_HEADING = 60.0
"""Neighbouring headings stand no farther apart than so many heights."""
_LEAST_HEADINGS = 3
_MARK = re.compile(
    r"[^\W\d_]{0,4}[-. ]?\d{1,4}[^\W\d_]?|[A-ZА-Я]{1,2}(?:[-. ][A-ZА-Я])?"
    r"|[(\[]?[^\W_]{1,2}[)\]]?|[①-⑳Ⓐ-Ⓩ]"
)
"""What marks look like: D01, T 2, W-A, B, (3)."""


@dataclass(frozen=True, slots=True)
class _Column:
    cell: Cell
    says: Heading

    @property
    def column(self) -> str:
        return self.says.column


class Row(dict[str, str]):
    """Column -> text, and the `cells` it was read from."""

    cells: tuple[Cell, ...] = ()
    unclear: frozenset[str] = frozenset()
    """Columns that stand twice in the table, with different texts."""
    by_size: bool = False
    """Its one cell with both figures is of the opening itself, those of one figure are not."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table: which columns it has, the unit a heading states (metres per unit), its rows."""

    columns: frozenset[str]
    unit: float | None
    high_first: bool
    """Sizes are written height before width."""
    headings: tuple[Cell, ...]
    rows: tuple[Row, ...]

    @property
    def cells(self) -> tuple[Cell, ...]:
        """Every text of the table."""
        return (*self.headings, *(cell for row in self.rows for cell in row.cells))


def tables_of(drawing: Drawing) -> list[Table]:
    """Every table on the sheet of `drawing`, upright or turned."""
    cells = cells_of(drawing)
    if not any(heading_of(cell.text).column for cell in cells):
        return []
    upright = _tables(cells, _ROW_STEP)
    used = {id(cell) for table in upright for row in table.rows for cell in row.cells}
    rest = [cell for cell in cells if id(cell) not in used]
    turned = [_tables([_turned(cell, edge) for cell in rest], _COLUMN_STEP) for edge in (0.5, 0.0)]
    return upright + max(turned, key=lambda tables: sum(len(t.rows) for t in tables))


def _turned(cell: Cell, edge: float) -> Cell:
    """The cell with rows and columns changed over: columns of print, which line up by their left ends (`edge` 0.5)
    or their middles (0.0), become rows."""
    return replace(cell, along=cell.down, down=cell.along - edge * cell.width, width=cell.height)


def _tables(cells: list[Cell], step: float) -> list[Table]:
    """The tables whose rows are no more than so many heights apart, at first."""
    headings = [_Column(c, heading_of(c.text)) for c in cells]
    named = sorted((h for h in headings if h.column), key=lambda h: (h.cell.down, h.cell.along))
    taken: set[int] = set()
    found = []
    for first in named:
        if id(first) in taken:
            continue
        group = _heading_group(first, [h for h in named if id(h) not in taken])
        columns = {h.column for h in group}
        if len(group) >= _LEAST_HEADINGS or ("mark" in columns and columns & TELLING):
            taken |= {id(h) for h in group}
            if table := _table(cells, group, _level_with(first, named), step):
                found.append(table)
    return found


def _level_with(first: _Column, named: list[_Column]) -> list[_Column]:
    """The headings level with `first` and in print like its own, from left to right."""
    height = first.cell.height
    level = [h for h in named if abs(h.cell.down - first.cell.down) <= SAME_ROW * height]
    return sorted((h for h in level if _alike(h.cell, first.cell)), key=lambda h: h.cell.along)


def _table_of(first: _Column, level: list[_Column]) -> list[_Column]:
    """The part of the `level` headings that is the table of `first`: another begins at a mark where the one before it
    has its mark and its sizes, and sizes follow."""
    parts: list[list[_Column]] = [[]]
    for n, heading in enumerate(level):
        columns = {h.column for h in parts[-1]}
        follow = {h.column for h in level[n:]}
        if heading.column == "mark" and "mark" in columns and columns & TELLING and follow & TELLING:
            parts.append([])
        parts[-1].append(heading)
    return next(part for part in parts if any(h is first for h in part))


def _heading_group(first: _Column, named: list[_Column]) -> list[_Column]:
    """The headings that stand beside `first`, neighbour by neighbour, and those just under them."""
    height = first.cell.height
    level = _table_of(first, _level_with(first, named))
    at = next(n for n, h in enumerate(level) if h is first)
    group = [first]
    for ordered in (level[at + 1 :], level[:at][::-1]):
        last = first.cell
        for heading in ordered:
            if abs(heading.cell.along - last.along) > _NEXT_HEADING * height:
                break
            group.append(heading)
            last = heading.cell
    left = min(h.cell.along - h.cell.width for h in group)
    right = max(h.cell.along + h.cell.width for h in group)
    right += (right - left) / (2 * len(group))  # the last of them may head two columns
    under = [
        h for h in named
        if SAME_ROW * height < h.cell.down - first.cell.down <= _HEADING_DEPTH * height
        and left <= h.cell.along <= right and h.column in TELLING and any(g.column == "size" for g in group)
    ]
    return _parented(group, under)


def _parented(group: list[_Column], under: list[_Column]) -> list[_Column]:
    """The headings, those in two lines as one: 'Leaf' over 'width' is the leaf's width."""
    above = sorted((h for h in group if h.column == "size" or h.says.whose != PLAIN), key=lambda h: h.cell.along)
    runs: list[list[_Column]] = []
    for child in sorted(under, key=lambda h: h.cell.along):
        if not runs or child.column in {h.column for h in runs[-1]}:
            runs.append([])
        runs[-1].append(child)
    over: dict[int, _Column] = {}
    for n, run in enumerate(runs):
        middle = sum(h.cell.along for h in run) / len(run)
        nearest = min(above, key=lambda h: abs(h.cell.along - middle))
        over |= {id(child): above[n] if len(above) == len(runs) else nearest for child in run}
    parents = {id(h) for h in over.values()}
    children = [replace(c, says=replace(c.says, whose=over[id(c)].says.whose)) for c in under]
    return [h for h in group if id(h) not in parents or h.column != "size"] + children


def _alike(a: Cell, b: Cell) -> bool:
    return 0.4 <= a.height / max(b.height, 1e-9) <= 2.5


def _table(cells: list[Cell], group: list[_Column], level: list[_Column], widest: float) -> Table | None:
    """The rows under a group of headings, or None where there are none; `level` are all headings beside them, of other
    tables too."""
    bottom = max(h.cell.down for h in group)
    height = max(h.cell.height for h in group)
    left = min(h.cell.along - h.cell.width / 2 for h in group) - 6 * height
    right = max(h.cell.along + h.cell.width / 2 for h in group) + 30 * height
    under = [c for c in cells if c.down > bottom + SAME_ROW * height and left <= c.along <= right]
    beside = [h for h in level if not any(h.cell is g.cell for g in group) and h.column != "size"]
    if any(h.column in TELLING for h in beside):
        own = {id(g) for g in group}
        under = [c for c in under if id(_nearest(c, [*group, *beside])) in own]
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
    telling = [h for h in group if h.column in TELLING]
    unit = next((h.says.unit for h in telling if h.says.unit), None)
    high_first = any(h.says.high_first for h in telling)
    return Table(frozenset(h.column for h in group), unit, high_first, tuple(h.cell for h in group), read)


def _heads_another(row: Sequence[Cell]) -> bool:
    """Whether a row is the headings of the next table."""
    columns = [heading_of(cell.text).column for cell in row]
    return bool(TELLING & set(columns)) and sum(1 for c in columns if c) > len(row) / 2


def _nearest(cell: Cell, group: list[_Column]) -> _Column:
    """The heading a cell stands under: aligned left or middle with it, whichever is nearest."""
    def off(heading: _Column) -> float:
        head = heading.cell
        lefts = abs((cell.along - cell.width / 2) - (head.along - head.width / 2))
        return min(lefts, abs(cell.along - head.along))

    return min(group, key=off)


def _mark_heading(placed: list[list[tuple[Cell, _Column]]], group: list[_Column]) -> _Column | None:
    """Of several columns that may hold the marks, the one whose cells look most like marks."""
    score: dict[int, int] = defaultdict(int)
    for row in placed:
        for cell, heading in row:
            score[id(heading)] += 1 if _MARK.fullmatch(cell.text) else -1
    marks = [h for h in group if h.column == "mark"]
    return max(marks, key=lambda h: score[id(h)], default=None)


def _row(placed: list[tuple[Cell, _Column]], mark: _Column | None) -> Row:
    """The row, of several columns for one thing the opening's own before the leaf's."""
    row = Row()
    from_: dict[str, _Column] = {}
    unclear = set()
    for cell, heading in placed:
        column = heading.column if heading.column != "mark" or heading is mark else "other"
        held = from_.get(column)
        if held is None or heading.says.whose < held.says.whose:
            unclear.discard(column)
            row[column], from_[column] = cell.text, heading
        elif heading is not held and heading.says.whose == held.says.whose and cell.text != row[column]:
            unclear.add(column)
    row.cells = tuple(cell for cell, _ in placed)
    row.unclear = frozenset(unclear & TELLING)
    one = [from_[c].says.whose for c in ("width", "height") if c in from_]
    row.by_size = "size" in from_ and bool(one) and from_["size"].says.whose < min(one)
    return row
