"""Door and window schedules drawn as texts in rows and columns, lists of types, and the tags beside openings.

Terms:
  schedule   a table: a row of headings (mark, width, height, size, sill), rows of figures under it. Ruling lines do not
             matter; it may also be turned, with the headings down the left side.
  list       lines that begin with a mark and state a size: 'D1 - 900 x 2100 flush door'.
  mark       the name an opening has on the plan and in the schedule.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from takeoff.data import load
from takeoff.drawing.model import Drawing, Point, Text
from takeoff.plan._opening_tags import (
    OpeningSize,
    is_mark,
    kind_of_mark,
    kind_of_words,
    mark_key,
    opening_size,
    tag_size,
)
from takeoff.plan._printed import FOOT_M
from takeoff.plan._text_lines import plain
from takeoff.plan.labels import Label
from takeoff.plan.layers import fold

__all__ = ["OpeningLabel", "OpeningSize", "kind_of_mark", "mark_key", "opening_labels", "read_schedules", "tag_size"]

_SAME_ROW = 0.6
"""Texts whose middles are closer than so many heights stand in one row."""
_ROW_GAP = 4.5
"""A gap of more than so many usual row steps ends the table."""
_HEADING_DEPTH = 3.5
"""Second lines of headings stand within so many heights below the first."""
_LIST_REACH = 25.0
"""In a list the size stands on the mark's line, no farther off than so many heights."""
_SAME_M = 0.006


@dataclass(frozen=True, slots=True)
class _Cell:
    """A text of a table: `along` the row, `down` the column (growing downwards), size and what it says."""

    text: str
    along: float
    down: float
    width: float
    height: float
    handle: str


@dataclass(frozen=True, slots=True)
class OpeningLabel:
    """A label on the plan that belongs to an opening near it: a mark, a size, or both."""

    at: Point
    mark: str
    """As `mark_key` gives it; '' where only a size is printed."""
    size: OpeningSize | None
    handles: tuple[str, ...] = ()


def read_schedules(drawing: Drawing) -> dict[str, OpeningSize]:
    """Sizes from the door and window schedules and lists on the sheet, by `mark_key` of the mark.

    A mark to which the sheet gives two different sizes is left out: it would be a guess.
    """
    cells = _cells(drawing)
    found: dict[str, list[OpeningSize]] = defaultdict(list)
    for table in (cells, [_turned(c) for c in cells]):
        for mark, size in _tables(table):
            found[mark].append(size)
    if not found:
        for mark, size in _lists(cells):
            found[mark].append(size)
    return {mark: sizes[0] for mark, sizes in sorted(found.items()) if _agree(sizes)}


def opening_labels(drawing: Drawing, labels: Sequence[Label]) -> tuple[OpeningLabel, ...]:
    """The labels on the plan that name or size an opening: the nearest opening is theirs.

    Sizes stand as printed in the label; combine a mark with `read_schedules` for its scheduled size.
    """
    found = []
    for label in labels:
        texts = [line.text for line in label.lines]
        mark = next((mark_key(t.split()[0]) for t in texts if t.split() and is_mark(t.split()[0])), "")
        drawn = not any(line.tag for line in label.lines)
        size = _merged([s for t in texts if (s := tag_size(t, drawing.metres_per_unit))]) or (_stacked(texts) if drawn else None)
        if (mark or size) and not label.area and len(texts) <= 5 and not (label.is_room and label.name):
            size = replace(size, handles=label.handles, kind=size.kind or kind_of_mark(mark)) if size else None
            found.append(OpeningLabel(label.at, mark, size, label.handles))
    return tuple(found)


def _merged(sizes: list[OpeningSize]) -> OpeningSize | None:
    """One size of several lines: a height here, a sill there."""
    if not sizes:
        return None
    first = sizes[0]
    return replace(
        first,
        width_m=next((s.width_m for s in sizes if s.width_m is not None), None),
        height_m=next((s.height_m for s in sizes if s.height_m is not None), None),
        sill_m=next((s.sill_m for s in sizes if s.sill_m is not None), None),
        kind=next((s.kind for s in sizes if s.kind), ""),
        text=" ".join(s.text for s in sizes),
    )


def _stacked(texts: Sequence[str]) -> OpeningSize | None:
    """Two bare figures one above the other, width over height: 90 over 210."""
    figures = [t for t in texts if re.fullmatch(r"\d{2,4}|\d[.,]\d{2,3}", t)]
    if len(figures) != 2 or len(texts) > 3 or len({"." in f or "," in f for f in figures}) > 1:
        return None
    size = tag_size("/".join(figures))
    return size if size and (size.height_m or 0) >= 0.5 else None


def _cells(drawing: Drawing) -> list[_Cell]:
    return [_cell(drawing, t) for t in drawing.texts if plain(t.value) and abs(np.sin(t.rotation)) < 0.05]


def _cell(drawing: Drawing, text: Text) -> _Cell:
    return _Cell(plain(text.value), text.at[0], -text.at[1], text.width, text.height, drawing.entities[text.entity].handle)


def _turned(cell: _Cell) -> _Cell:
    """The cell with rows and columns changed over."""
    return replace(cell, along=cell.down, down=cell.along, width=cell.height)


@cache
def _heading(text: str) -> tuple[str, float | None]:
    """The column that a heading names and the metres per unit it states: 'Width (mm)' -> ('width', 0.001)."""
    unit = re.search(r"[(\[\s](mm|cm|m)\b[)\]]?\s*$", fold(text))
    words = " ".join(re.findall(r"\w+", fold(text)[: unit.start()] if unit else fold(text)))
    scale = {"mm": 0.001, "cm": 0.01, "m": 1.0}[unit.group(1)] if unit else None
    for column in ("sill", "size", "width", "height", "other", "mark"):
        listed = _columns()[column]
        if words in listed or any(not w.isascii() and w == words for w in listed):
            return column, scale
    for column in ("sill", "size", "width", "height", "mark"):
        if any(len(w) >= 4 and f" {w} " in f" {words} " for w in _columns()[column]) and words.count(" ") <= 3:
            return column, scale
    return "", None


@cache
def _columns() -> dict[str, frozenset[str]]:
    def spellings(word: str) -> set[str]:
        folded = " ".join(re.findall(r"\w+", fold(word)))
        return {folded, re.sub(r"(?<=[aou])e", "", folded)} if len(folded) > 3 else {folded}

    return {
        name: frozenset(s for word in row["words"] for s in spellings(word))
        for name, row in load("opening_words")["columns"].items()
    }


def _tables(cells: list[_Cell]) -> Iterable[tuple[str, OpeningSize]]:
    """(mark, size) of every row of every table found in `cells`."""
    headings = [(c, *_heading(c.text)) for c in cells if len(c.text) <= 40]
    named = sorted(((c, column, unit) for c, column, unit in headings if column), key=lambda h: (h[0].down, h[0].along))
    taken: set[int] = set()
    for start, (first, _, _) in enumerate(named):
        if start in taken:
            continue
        depth = _HEADING_DEPTH * first.height
        row = [n for n in range(start, len(named)) if n not in taken and named[n][0].down - first.down <= depth]
        group = [named[n] for n in row if _one_table(first, named[n][0])]
        columns = {column for _, column, _ in group}
        if "mark" in columns and columns & {"size", "width", "height"}:
            taken |= set(row)
            yield from _rows(cells, group)


def _one_table(first: _Cell, other: _Cell) -> bool:
    return 0.4 <= other.height / max(first.height, 1e-9) <= 2.5 and abs(other.along - first.along) <= 150 * first.height


def _rows(cells: list[_Cell], heading: list[tuple[_Cell, str, float | None]]) -> Iterable[tuple[str, OpeningSize]]:
    """The rows under a heading, read by column."""
    bottom = max(c.down for c, _, _ in heading)
    height = max(c.height for c, _, _ in heading)
    left = min(c.along - c.width / 2 for c, _, _ in heading) - 4 * height
    right = max(c.along + c.width / 2 for c, _, _ in heading) + 12 * height
    under = sorted((c for c in cells if c.down > bottom + 0.5 * height and left <= c.along <= right), key=lambda c: c.down)
    unit = next((u for _, _, u in heading if u), None)
    last = bottom
    step = 0.0
    for row in _by_row(under):
        gap = row[0].down - last
        if step and gap > _ROW_GAP * step:
            return
        step = gap if not step else min(step, max(gap, height))
        last = row[0].down
        if (read := _row(row, heading, unit)) is not None:
            yield read


def _by_row(cells: list[_Cell]) -> list[list[_Cell]]:
    rows: list[list[_Cell]] = []
    for cell in cells:
        if rows and abs(cell.down - rows[-1][0].down) <= _SAME_ROW * max(cell.height, rows[-1][0].height):
            rows[-1].append(cell)
        else:
            rows.append([cell])
    return rows


def _row(
    row: list[_Cell], heading: list[tuple[_Cell, str, float | None]], unit: float | None
) -> tuple[str, OpeningSize] | None:
    """Mark and size of one row, each cell under the heading nearest to it."""
    values: dict[str, str] = {}
    for cell in row:
        _, column, _ = min(heading, key=lambda h: max(abs(cell.along - h[0].along) - h[0].width / 2, 0.0))
        values.setdefault(column, cell.text)
    mark = values.get("mark", "")
    if not re.search(r"\d", mark) or len(mark) > 12:
        return None
    size = opening_size(values.get("width", ""), values.get("height", ""), values.get("sill", ""), unit)
    if size is None and "size" in values:
        size = tag_size(values["size"]) or tag_size(values["size"], FOOT_M)
        if size and (bottom := opening_size("1.0", "", values.get("sill", ""), None)):
            size = replace(size, sill_m=bottom.sill_m if size.sill_m is None else size.sill_m)
    if size is None:
        return None
    kind = kind_of_mark(mark) or next((k for c in row if (k := kind_of_words(c.text))), "")
    handles = tuple(c.handle for c in row)
    return mark_key(mark), replace(size, kind=size.kind or kind, text=" ".join(c.text for c in row), handles=handles)


def _lists(cells: list[_Cell]) -> Iterable[tuple[str, OpeningSize]]:
    """(mark, size) of lines that begin with a mark, the size in the same text or beside it."""
    for row in _by_row(sorted(cells, key=lambda c: (c.down, c.along))):
        ordered = sorted(row, key=lambda c: c.along)
        for i, cell in enumerate(ordered):
            head, _, rest = cell.text.partition(" ")
            if not is_mark(head.rstrip(":-")):
                continue
            beside = ordered[i + 1] if i + 1 < len(ordered) else None
            said = rest or (beside.text if beside and beside.along - cell.along <= _LIST_REACH * cell.height else "")
            size = tag_size(said.lstrip(" -:=")) if said else None
            if size and size.width_m and size.height_m:
                mark = head.rstrip(":-")
                handles = (cell.handle,) if rest or beside is None else (cell.handle, beside.handle)
                yield mark_key(mark), replace(size, kind=size.kind or kind_of_mark(mark), text=f"{mark} {said}", handles=handles)


def _agree(sizes: list[OpeningSize]) -> bool:
    def close(a: float | None, b: float | None) -> bool:
        return a is None or b is None or abs(a - b) <= _SAME_M

    first = sizes[0]
    return all(close(first.width_m, s.width_m) and close(first.height_m, s.height_m) for s in sizes)
