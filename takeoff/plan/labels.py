"""Room labels: the printed lines that belong together, what they say, and which room they stand in.

Terms:
  line        one printed line of text with its reading (`_text_lines`).
  label       lines that belong together: close one under the other, aligned, of like height, or attributes of one
              symbol.
  room label  a label that names or numbers a room, or gives its area. Other labels (notes, tags, titles) are kept,
              but not counted as rooms.
  style       layer and height of print: a text that says nothing known is a name when known names look alike.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import STRtree, box, points
from shapely.geometry import Polygon

from takeoff.drawing.model import Drawing, Point, Text
from takeoff.plan._height_texts import height_in, slopes
from takeoff.plan._label_groups import groups_of
from takeoff.plan._printed import Area
from takeoff.plan._printed_queries import printed_queries
from takeoff.plan._room_words import NOT_PLASTERED, ROOM_KINDS, RoomName
from takeoff.plan._tables import tables_of
from takeoff.plan._text_lines import Reading, lines_of, plain, read_line
from takeoff.plan.layers import Role

__all__ = [
    "NOT_PLASTERED", "ROOM_KINDS", "Assignment", "Label", "Line", "RoomFacts", "assign", "printed_queries",
    "read_labels", "room_facts",
]

_SURE, _LIKELY, _STYLED, _UNSURE = 0.95, 0.75, 0.6, 0.3
_LEAST_ALIKE = 2
_SAME_STYLE = 0.12
"""Heights of print within this share look alike."""
_LESS_ALIKE = 0.3
_MOST_NAME_LINES = 4
_SIZES_M = (0.3, 100.0)
"""Metres: least and greatest printed length of a room's side."""
_MOST_LINES = 8
"""A longer stack of lines is a note or a table, not a room label."""
_OVERLAP = 0.2
"""A label whose middle is in no room belongs to the room that holds this share of its box, or more."""


@dataclass(frozen=True, slots=True)
class Line:
    """One printed line. `at` its middle, `height` and `width` of print, metres."""

    text: str
    at: Point
    height: float
    width: float
    entity: int
    layer: int
    reading: Reading
    tag: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """Lines that belong together and what they say."""

    at: Point
    """Middle of the line that names it, else of its first line."""
    lines: tuple[Line, ...]
    """Top to bottom."""
    name: str = ""
    number: str = ""
    kind: str = ""
    """One of `ROOM_KINDS` when a known word says so, 'room' for another name, '' when it names no room."""
    confidence: float = 0.0
    """0-1: that this label names or numbers one room."""
    area: Area | None = None
    size_m: tuple[float, float] | None = None
    dwelling: bool = False
    """It names a flat of several rooms, so its area is not one room's."""
    handles: tuple[str, ...] = ()

    @property
    def is_room(self) -> bool:
        """Whether it is taken to speak of one room."""
        return self.confidence >= 0.5

    @property
    def is_called(self) -> bool:
        """Whether it names or numbers that room; a lone area does not."""
        return self.is_room and bool(self.name or self.number)


@dataclass(frozen=True, slots=True)
class Assignment:
    """Which labels stand in which polygon."""

    inside: tuple[tuple[Label, ...], ...]
    """Per polygon, all its labels, room labels first."""
    outside: tuple[Label, ...]
    """Room labels that stand in no polygon: each may be a leak."""
    crowded: tuple[int, ...]
    """Indices of polygons with two room labels or more: open plans, or rooms run together."""


@dataclass(frozen=True, slots=True)
class RoomFacts:
    """What the labels in one room say of it."""

    name: str
    number: str
    kind: str
    printed_area_m2: float | None
    printed_area_step_m2: float
    """Worth of the last printed digit; 0 when no area is printed."""
    printed_size_m: tuple[float, float] | None
    texts: tuple[str, ...]
    names: tuple[str, ...]
    """Every room name found in it."""
    at: Point | None
    """Where its name stands."""
    handles: tuple[str, ...]


def read_labels(drawing: Drawing, roles: tuple[Role, ...]) -> tuple[Label, ...]:
    """All labels of `drawing` (in metres), in the order of their first text."""
    texts = lines_of(drawing)
    lines = _without_codes([_line(drawing, text) for text in texts])
    symbols = [_symbol_of(drawing, line) for line in lines]
    grouped = groups_of(texts, symbols)
    tabled = {cell.handle for table in tables_of(drawing) for cell in table.cells}
    rooms = frozenset(i for i, role in enumerate(roles) if role.name == "room outline" and role.confidence >= 0.5)
    labels = [_label(drawing, [lines[i] for i in group], rooms) for group in grouped]
    labels = [replace(label, confidence=0.0) if tabled.intersection(label.handles) else label for label in labels]
    return tuple(_with_styles(labels, rooms))


def _line(drawing: Drawing, text: Text) -> Line:
    value = plain(text.value)
    layer = drawing.entities[text.entity].layer
    return Line(value, text.at, text.height, text.width, text.entity, layer, _tagged_reading(text.tag, value), text.tag)


_SIZE_CODE = re.compile(r"^[1-9]\d(?:68|70|80)$|^[1-9]\d[1-9]0$")


def _without_codes(lines: list[Line]) -> list[Line]:
    """Four figures that are printed again and again are a door or window code (2668), not a room's number."""
    codes = Counter(line.text for line in lines if _SIZE_CODE.match(line.text) and not line.tag)
    if max(codes.values(), default=0) < 2:
        return lines
    code = Reading("opening")
    return [replace(line, reading=code) if line.text in codes and not line.tag else line for line in lines]


_AREA_TAGS = ("AREA", "FLAECHE", "FLÄCHE", "SURFACE", "SUPERFICIE", "SUP", "POWIERZCHNIA", "POW", "OPPERVLAKTE")
_NAME_TAGS = (
    "NAME", "ROOM", "ROOMNAME", "RAUM", "RAUMNAME", "NOM", "NOMBRE", "NOME", "NAZWA", "NAAM", "DESCRIPTION",
    "BEZEICHNUNG",
)
_NUMBER_TAGS = ("NUMBER", "NUM", "NR", "NO", "ROOMNO", "ROOMNUMBER", "RAUMNR", "NUMERO")


def _tagged_reading(tag: str, value: str) -> Reading:
    """An attribute's tag says what its value is, where the value alone does not."""
    key = tag.upper().replace("_", "").replace("-", "").replace(" ", "")
    reading = read_line(value)
    if key in _AREA_TAGS and reading.area is None and (bare := read_line(f"{value} m2")).area:
        return bare
    if key in _NAME_TAGS and reading.kind in {"word", "note", "other", "object"} and not value.isdigit():
        return Reading("name", name=value, room=reading.room)
    if key in _NUMBER_TAGS and reading.kind in {"value", "other", "word", "opening"}:
        return Reading("number", number=value)
    if tag and reading.kind == "number" and key not in _NUMBER_TAGS:
        return Reading("value")
    return reading


def _symbol_of(drawing: Drawing, line: Line) -> int:
    """The symbol whose attribute the line is, or -1."""
    return drawing.entities[line.entity].symbol if line.tag else -1


def _label(drawing: Drawing, lines: list[Line], room_layers: frozenset[int]) -> Label:
    """One label of `lines`, read together; a number on one of `room_layers` is the room's before any other."""
    named = _name_lines(lines)
    name = _joined_name(line.reading.name for line in named)
    rooms = [line.reading.room for line in named if line.reading.room]
    numbered = [line for line in lines if line.reading.number and line.reading.kind != "dwelling"]
    numbered.sort(key=lambda line: line.layer not in room_layers)
    number = numbered[0].reading.number if numbered else ""
    dwelling = any(line.reading.kind == "dwelling" for line in lines)
    area = next((line.reading.area for line in lines if line.reading.area), None)
    if not name and (lettered := _lettered(lines)):
        named, name = lettered[:1], lettered[0].text
        number = lettered[1].reading.number
    anchor = (named or numbered[:1] or lines)[0]
    kind = _room_kind(rooms, lines)
    label = Label(
        anchor.at, tuple(lines), name, number, kind, 0.0, area, _size(drawing, lines), dwelling,
        tuple(dict.fromkeys(drawing.entities[line.entity].handle for line in lines)),
    )
    return replace(label, confidence=_confidence(label, named))


def _lettered(lines: Sequence[Line]) -> list[Line]:
    """Two numbers of which the larger print has a letter and is the name: 'S-1' over '132'."""
    numbers = [line for line in lines if line.reading.kind == "number" and not line.tag]
    if len(numbers) != 2 or numbers[0].height <= numbers[1].height or numbers[0].text.isdigit():
        return []
    return numbers


def _room_kind(rooms: Sequence[RoomName], lines: Sequence[Line]) -> str:
    """Kind of the room that the lines name; a porch with a ceiling height is a room, not outdoors."""
    if not rooms:
        return "room" if any(line.reading.kind in {"name", "word"} for line in lines) else ""
    kind = rooms[-1].kind
    ceiled = any((height := height_in(line.text)) and height.kind == "ceiling" for line in lines)
    return "hall" if kind == "outdoor" and ceiled else kind


def _name_lines(lines: Sequence[Line]) -> list[Line]:
    """The lines that make up the name: neighbours of like height, with a known word where there is one."""
    called = [i for i, line in enumerate(lines) if line.reading.kind in {"name", "word"}]
    known = [i for i in called if lines[i].reading.kind == "name"]
    if not called:
        return []
    first = (known or called)[0]
    chosen = [first]
    for step in (-1, 1):
        i = first + step
        while i in called and _same_name(lines[first], lines[i]) and len(chosen) < _MOST_NAME_LINES:
            chosen.append(i)
            i += step
    tagged = [i for i in chosen if lines[i].tag]
    return [lines[i] for i in sorted(tagged[:1] or chosen)]


def _same_name(first: Line, other: Line) -> bool:
    """Whether two neighbouring lines may make one name: in like print, or less alike when both are known words."""
    both = first.reading.kind == other.reading.kind == "name"
    apart = abs(first.height - other.height)
    return _alike(first.height, other.height) or (both and apart <= _LESS_ALIKE * first.height)


def _alike(a: float, b: float) -> bool:
    return abs(a - b) <= _SAME_STYLE * max(a, b)


def _joined_name(parts: Iterable[str]) -> str:
    """The parts of a name, none twice."""
    seen = {part.casefold(): part for part in reversed(list(parts)) if part}
    return " ".join(reversed(seen.values()))


def _size(drawing: Drawing, lines: list[Line]) -> tuple[float, float] | None:
    """The printed size in metres: bare figures are in the drawing's own unit when that makes a room."""
    for line in lines:
        size = line.reading.size
        if size is None:
            continue
        scale = 1.0 if line.reading.sized_in_metres else drawing.metres_per_unit
        a, b = size[0] * scale, size[1] * scale
        if min(a, b) >= _SIZES_M[0] and max(a, b) <= _SIZES_M[1]:
            return a, b
    return None


def _confidence(label: Label, named: list[Line]) -> float:
    """How sure a label names or numbers one room, before its style is looked at."""
    kinds = Counter(line.reading.kind for line in label.lines)
    if label.dwelling or len(label.lines) > _MOST_LINES or kinds["note"] > 1:
        return 0.0
    figures = sum(1 for k in ("area", "size", "height") if kinds[k]) + bool(label.number)
    known = max((line.reading.room.confidence for line in named if line.reading.room), default=0.0)
    if not known and any(slopes(line.text) for line in label.lines):
        return 0.0
    if known or any(line.tag for line in named):
        return max(known, _SURE if figures else known) * (0.6 if kinds["note"] else 1.0)
    if named and figures:
        return _LIKELY
    if label.area or (label.size_m and figures > 1):
        return _LIKELY
    return _UNSURE if named or label.number else 0.0


def _with_styles(labels: list[Label], room_layers: frozenset[int]) -> list[Label]:
    """Labels in print like that of sure room names, or on a layer for rooms, are room labels too."""
    by_layer: dict[int, list[float]] = defaultdict(list)
    for label in labels:
        if label.confidence >= _LIKELY and (named := _name_lines(label.lines)):
            by_layer[named[0].layer].append(named[0].height)
    return [_styled(label, by_layer, room_layers) if label.confidence == _UNSURE else label for label in labels]


def _styled(label: Label, by_layer: dict[int, list[float]], room_layers: frozenset[int]) -> Label:
    line = next((line for line in [*_name_lines(label.lines), *label.lines] if line.at == label.at), label.lines[0])
    alike = sum(1 for height in by_layer.get(line.layer, ()) if _alike(height, line.height))
    if (label.name and alike >= _LEAST_ALIKE) or line.layer in room_layers:
        return replace(label, confidence=_STYLED)
    return label


def assign(polygons: Sequence[Polygon], labels: Sequence[Label]) -> Assignment:
    """Which labels stand in which of `polygons` (metres, the labels' frame).

    A label whose lines stand in several polygons is taken apart. Cost n log n.
    """
    parts = _parted(polygons, labels) if polygons else []
    inside: list[list[Label]] = [[] for _ in polygons]
    outside = [] if polygons else [label for label in labels if label.is_called]
    for label, place in parts:
        if place >= 0:
            inside[place].append(label)
        elif label.is_called:
            outside.append(label)
    held = tuple(tuple(sorted(group, key=lambda label: -label.confidence)) for group in inside)
    crowded = tuple(i for i, group in enumerate(held) if sum(1 for label in group if label.is_called) > 1)
    return Assignment(held, tuple(outside), crowded)


def _parted(polygons: Sequence[Polygon], labels: Sequence[Label]) -> list[tuple[Label, int]]:
    """(label, index of its polygon or -1), labels that straddle walls taken apart by line."""
    tree = STRtree(list(polygons))
    lines = [(n, line) for n, label in enumerate(labels) for line in label.lines]
    place = _places(tree, [line for _, line in lines])
    by_label: dict[int, list[tuple[Line, int]]] = defaultdict(list)
    for (n, line), where in zip(lines, place, strict=True):
        by_label[n].append((line, int(where)))
    parts: list[tuple[Label, int]] = []
    for n, label in enumerate(labels):
        homes = [where for _, where in by_label[n] if where >= 0]
        if len(set(homes)) <= 1:
            parts.append((label, homes[0] if homes else -1))
            continue
        for home in dict.fromkeys(homes):
            own = [line for line, where in by_label[n] if where in (home, -1)]
            parts.append((_part(label, own), home))
    return parts


def _part(label: Label, lines: list[Line]) -> Label:
    """The part of a label that `lines` make."""
    named = _name_lines(lines)
    rooms = [line.reading.room for line in named if line.reading.room]
    part = replace(
        label,
        at=(named or lines)[0].at,
        lines=tuple(lines),
        name=_joined_name([line.reading.name for line in named]),
        number=next((line.reading.number for line in lines if line.reading.number), ""),
        kind=_room_kind(rooms, lines),
        area=next((line.reading.area for line in lines if line.reading.area), None),
        size_m=label.size_m if any(line.reading.size for line in lines) else None,
    )
    return replace(part, confidence=min(label.confidence, _confidence(part, named)))


def _places(tree: STRtree, lines: Sequence[Line]) -> np.ndarray:
    """For each line the polygon that holds its middle, else the one that holds most of its box, else -1."""
    place = np.full(len(lines), -1)
    if not lines:
        return place
    at = np.array([line.at for line in lines])
    line, polygon = tree.query(points(at), predicate="intersects")
    place[line[::-1]] = polygon[::-1]
    homeless = np.flatnonzero(place < 0)
    if len(homeless):
        stray = [lines[i] for i in homeless.tolist()]
        size = np.array([(max(line.width, line.height), line.height) for line in stray]) / 2
        boxes = box(*(at[homeless] - size).T, *(at[homeless] + size).T)
        which, polygon = tree.query(boxes, predicate="intersects")
        for i, p in zip(which.tolist(), polygon.tolist(), strict=True):
            share = boxes[i].intersection(tree.geometries[p]).area / max(boxes[i].area, 1e-12)
            if share >= _OVERLAP and place[homeless[i]] < 0:
                place[homeless[i]] = p
    return place


def room_facts(labels: Sequence[Label]) -> RoomFacts:
    """What the `labels` in one room say of it; of several room labels the surest names it."""
    called = [label for label in labels if label.is_called]
    main = called[0] if called else None
    areas = {label.area.m2: label.area for label in labels if label.area and not label.dwelling}
    area = next(iter(areas.values())) if len(called) <= 1 and len(areas) == 1 else None
    sizes = [label.size_m for label in labels if label.size_m]
    size = sizes[0] if len(called) <= 1 and sizes else None
    names = tuple(dict.fromkeys(label.name for label in called if label.name))
    number = main.number if main else ""
    return RoomFacts(
        name=main.name if main else "",
        number=number,
        kind=(main.kind if main else "") or "room",
        printed_area_m2=area.m2 if area else None,
        printed_area_step_m2=area.step_m2 if area else 0.0,
        printed_size_m=size,
        texts=tuple(line.text for label in labels for line in label.lines),
        names=names,
        at=main.at if main else None,
        handles=tuple(dict.fromkeys(h for label in labels for h in label.handles)),
    )
