"""Door and window schedules drawn as texts in rows and columns, lists of types, and the tags beside openings.

Terms:
  schedule   a table: a row of headings (mark, width, height, size, sill), rows of figures under it. Ruling lines do not
             matter; it may also be turned, with the headings down the left side.
  list       lines that begin with a mark and state a size: 'D1 - 900 x 2100 flush door'.
  mark       the name an opening has on the plan and in the schedule.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from takeoff.drawing.lengths import IMPERIAL, METRES
from takeoff.drawing.model import Drawing, Point
from takeoff.plan._cells import Cell, by_row, cells_of
from takeoff.plan._headings import TELLING
from takeoff.plan._opening_tags import (
    OpeningSize,
    is_mark,
    kind_noted,
    kind_of_mark,
    kind_of_words,
    labelled_size,
    mark_key,
    opening_size,
    style_of_words,
    tag_size,
)
from takeoff.plan._tables import Row, Table, tables_of
from takeoff.plan.labels import Label

__all__ = [
    "Note", "OpeningLabel", "OpeningSize", "Schedule", "kind_of_mark", "mark_key", "opening_labels", "opening_notes",
    "read_schedules", "style_of_words", "tag_size",
]

_LIST_REACH = 25.0
"""In a list the size stands on the mark's line, no farther off than so many heights."""
_LIST_STEP = 8.0
"""The next line of a list stands no farther below than so many heights."""
_FELLOW_M = 1.0
"""Lines are sought in columns so wide: wider than any text is high, in metres of the drawing."""
_LONGEST_MARK = 12
_STACKED_M = 0.5
"""Metres: a lower figure that is less is no height of an opening."""
_DOORS_M = (1.85, 2.65)
"""Metres: as high as doors are, where width and height are written in different units (common practice)."""
_LEAST_DOOR_M = 1.5
"""Metres: doors that people pass are no lower (common practice)."""
_MOST_TAG_LINES = 5
_SAME_M = 0.006


@dataclass(frozen=True, slots=True)
class OpeningLabel:
    """A label on the plan that belongs to an opening near it: a mark, a size, or both."""

    at: Point
    mark: str
    """As printed ('D02'); '' where only a size is. Compare by `mark_key`."""
    size: OpeningSize | None
    handles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Note:
    """Words on the plan that say what the opening beside them is."""

    at: Point
    kind: str
    """'window' for a hatch or a borrowed light, 'opening' for an arch or a cased opening."""


@dataclass(frozen=True, slots=True)
class Schedule:
    """What the door and window schedules and lists on the sheet say, by `mark_key` of the mark."""

    sizes: dict[str, OpeningSize]
    unclear: dict[str, str]
    """Marks whose rows cannot be relied on -> why, in words."""


def read_schedules(drawing: Drawing) -> Schedule:
    """The door and window schedules on the sheet, or where there are none its lists.

    A mark to which the sheet gives two different sizes, and a row that can be read in two ways, is `unclear`: a size
    would be a guess.
    """
    found: dict[str, list[OpeningSize]] = defaultdict(list)
    unclear: dict[str, str] = {}
    for table in tables_of(drawing):
        for mark, size in _opening_rows(table, drawing.metres_per_unit in IMPERIAL):
            if isinstance(size, str):
                unclear.setdefault(mark, size)
            else:
                found[mark].append(size)
    if not found:
        for mark, size in _lists(cells_of(drawing)):
            found[mark].append(size)
    unclear |= {mark: "two rows give it different sizes" for mark, sizes in found.items() if not _agree(sizes)}
    sized = {mark: sizes[0] for mark, sizes in sorted(found.items()) if mark not in unclear}
    return Schedule(sized, dict(sorted(unclear.items())))


def opening_labels(
    drawing: Drawing, labels: Sequence[Label], scheduled: Collection[str] = ()
) -> tuple[OpeningLabel, ...]:
    """The labels on the plan that name or size an opening: the nearest opening is theirs.

    Sizes stand as printed in the label; combine a mark with `read_schedules` for its scheduled size. A text that alone
    might be anything ('B', '101') is a mark where it is the key of one that is `scheduled`.
    """
    found = []
    for label in labels:
        if label.is_room and label.name and not _is_scheduled(label, scheduled):
            found += _tags_in_room_label(drawing, label)
            continue
        texts = [line.text for line in label.lines]
        mark = next((m for t in texts if (m := _mark_in(t))), "")
        mark = mark or (texts[0] if _is_scheduled(label, scheduled) else "")
        drawn = not any(line.tag for line in label.lines)
        size = _merged([s for t in texts if (s := tag_size(t, drawing.metres_per_unit))])
        size = size or (_stacked(texts) if drawn else None)
        if (mark or size) and not label.area and len(texts) <= _MOST_TAG_LINES:
            size = replace(size, handles=label.handles, kind=size.kind or _kind_of_tag(mark)) if size else None
            found.append(OpeningLabel(label.at, mark, size, label.handles))
    return tuple(found)


def opening_notes(labels: Sequence[Label]) -> tuple[Note, ...]:
    """The lines of the `labels` that say what an opening is, but for the names of rooms."""
    lines = (line for label in labels for line in label.lines if line.reading.room is None)
    return tuple(Note(line.at, kind) for line in lines if (kind := kind_noted(line.text)))


def _is_scheduled(label: Label, scheduled: Collection[str]) -> bool:
    """Whether the label is one short text that is the mark of a schedule's row."""
    text = label.lines[0].text
    return len(label.lines) == 1 and len(text) <= _LONGEST_MARK and mark_key(text) in scheduled


def _mark_in(text: str) -> str:
    """The mark that a line of a tag is, or begins with, as printed: 'D02' of 'D02 900x2100', 'D 02' of itself."""
    words = text.split()
    return next((m for m in (" ".join(words), words[0] if words else "") if m and is_mark(m)), "")


def _tags_in_room_label(drawing: Drawing, label: Label) -> list[OpeningLabel]:
    """Tags that stand so close to a room's label that they were read with it."""
    found = []
    for line in label.lines:
        if line.reading.kind == "opening" and not line.tag:
            size = tag_size(line.text, drawing.metres_per_unit)
            mark = _mark_in(line.text)
            handles = (drawing.entities[line.entity].handle,)
            if mark or size:
                found.append(OpeningLabel(line.at, mark, size and replace(size, handles=handles), handles))
    return found


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
    """Two bare figures one above the other, width over height: 90 over 210, 88,5 over 2,01."""
    figures = [t for t in texts if re.fullmatch(r"\d{2,4}|\d[.,]\d{2,3}|\d{2}[.,]5", t)]
    if len(figures) != 2 or len(texts) > 3:
        return None
    size = tag_size("/".join(figures))
    if size is None or size.height_m is None:
        return None
    alike = len({bool(re.search(r"\d[.,]\d{2}", f)) for f in figures}) == 1
    low, high = (_STACKED_M, math.inf) if alike else _DOORS_M
    return size if low <= size.height_m <= high else None


def _opening_rows(table: Table, imperial: bool) -> Iterable[tuple[str, OpeningSize | str]]:
    """(mark, size) of every row of a table that gives openings their sizes, or why a row's cannot be told."""
    if not table.columns & TELLING:
        return
    rows = [(mark_key(row.get("mark", "")), row) for row in table.rows if _marks(row.get("mark", ""))]
    read = [(mark, row, _row_size(table, row, imperial)) for mark, row in rows]
    doors = [size for _, row, size in read if size is not None and _kind_in(row, size) == "door"]
    turned = not table.high_first and bool(doors) and all(_lies(door) for door in doors)
    for mark, row, size in read:
        if (size is None or row.unclear) and not any(re.search(r"\d", row.get(c, "")) for c in TELLING):
            continue
        if size is None or row.unclear:
            yield mark, f"'{' '.join(cell.text for cell in row.cells)}' can be read in more than one way"
            continue
        if (table.high_first or turned) and "size" in row and size.height_m is not None:
            size = replace(size, width_m=size.height_m, height_m=size.width_m)
        handles = tuple(cell.handle for cell in row.cells)
        texts = " ".join(cell.text for cell in row.cells)
        kind = _kind_in(row, size)
        if kind == "door" and _lies(size):
            yield mark, f"'{texts}' makes a door wider than it is high"
        else:
            yield mark, replace(size, kind=kind, text=texts, handles=handles)


def _marks(text: str) -> bool:
    """Whether the `text` of a mark's cell is one: a figure, or a letter or two by themselves."""
    lone = re.fullmatch(r"[(\[]?[^\W\d_]{1,2}(?:[-. ][^\W\d_])?[)\]]?", text) is not None and text.isupper()
    return len(text) <= _LONGEST_MARK and (lone or any(c.isnumeric() for c in text))


def _kind_in(row: Row, size: OpeningSize) -> str:
    texts = " ".join(cell.text for cell in row.cells)
    return size.kind or _kind_of_tag(row.get("mark", "")) or kind_of_words(texts)


def _kind_of_tag(mark: str) -> str:
    """What the letters of a mark say; a letter by itself is a number of a list."""
    return kind_of_mark(mark) if any(c.isnumeric() or c in "-. " for c in mark.strip()) else ""


def _lies(size: OpeningSize) -> bool:
    """Whether a door of this size would be wider than high, and lower than doors are."""
    width, height = size.width_m, size.height_m
    return width is not None and height is not None and height < width and height < _LEAST_DOOR_M


def _row_size(table: Table, row: Row, imperial: bool) -> OpeningSize | None:
    if row.by_size and (size := _size_cell(row, imperial)):
        return size
    width, height = row.get("width", ""), row.get("height", "")
    size = opening_size(width, height, row.get("sill", ""), table.unit, imperial)
    return size or (_size_cell(row, imperial) if "size" in row else None)


def _size_cell(row: Row, imperial: bool) -> OpeningSize | None:
    """Width and height written in one cell, the cill in its own."""
    text = row["size"]
    scale = METRES["ft"] if imperial else None
    size = labelled_size(text) or tag_size(text, scale) or tag_size(text, METRES["ft"])
    if size is not None and size.sill_m is None and (bottom := opening_size("1.0", "", row.get("sill", ""), None)):
        return replace(size, sill_m=bottom.sill_m)
    return size


@dataclass(frozen=True, slots=True)
class _Entry:
    """A line of a list: the `cell` that begins with the mark; `apart` where the size stands in a cell of its own."""

    cell: Cell
    mark: str
    size: OpeningSize
    apart: bool


def _lists(cells: list[Cell]) -> Iterable[tuple[str, OpeningSize]]:
    """(mark, size) of lines that begin with a mark, the size in the same text or beside it.

    A size beside a mark may as well be a room's, printed near a door's tag: such a line needs a fellow of another mark
    above or below it, as lists have.
    """
    entries = list(_entries(cells))
    by_left: dict[int, list[_Entry]] = defaultdict(list)
    for entry in entries:
        by_left[_left(entry)].append(entry)
    for entry in entries:
        if not entry.apart or _has_fellow(entry, by_left):
            yield entry.mark, entry.size


def _entries(cells: list[Cell]) -> Iterable[_Entry]:
    for row in by_row(cells):
        for cell, beside in zip(row, [*row[1:], None], strict=True):
            head, _, rest = cell.text.partition(" ")
            mark = head.rstrip(":-")
            if not is_mark(mark):
                continue
            near = beside if beside and beside.along - cell.along <= _LIST_REACH * cell.height else None
            said = (rest or (near.text if near else "")).lstrip(" -:=")
            size = tag_size(said) or labelled_size(said)
            if size and size.width_m and size.height_m:
                handles = (cell.handle,) if rest or near is None else (cell.handle, near.handle)
                size = replace(size, kind=size.kind or kind_of_mark(mark), text=f"{mark} {said}", handles=handles)
                yield _Entry(cell, mark_key(mark), size, not rest)


def _left(entry: _Entry) -> int:
    return math.floor(entry.cell.along / _FELLOW_M)


def _has_fellow(entry: _Entry, by_left: dict[int, list[_Entry]]) -> bool:
    """Whether a line of another mark begins above or below `entry`."""
    cell, left = entry.cell, _left(entry)
    near = [other for column in (left - 1, left, left + 1) for other in by_left.get(column, ())]
    return any(
        other.mark != entry.mark
        and abs(other.cell.along - cell.along) <= cell.height
        and abs(other.cell.down - cell.down) <= _LIST_STEP * cell.height
        for other in near
    )


def _agree(sizes: list[OpeningSize]) -> bool:
    def close(a: float | None, b: float | None) -> bool:
        return a is None or b is None or abs(a - b) <= _SAME_M

    first = sizes[0]
    return all(close(first.width_m, s.width_m) and close(first.height_m, s.height_m) for s in sizes)
