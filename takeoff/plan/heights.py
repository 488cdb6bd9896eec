"""How high each room is, from what the drawing says: texts, attributes, notes for the whole drawing.

Terms:
  ceiling height   floor to underside of ceiling. Beams, door heads, cills, pipes and levels are told apart from it.
  bare height      only 'h=2.90': taken as a ceiling's where no explicit words are used on the drawing, no width stands
                   with it (then it is a beam) and no opening.
  general height   a ceiling height in a note outside every room: it holds for all rooms without their own.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.drawing.lengths import METRES, read_lengths
from takeoff.drawing.model import Drawing, Point
from takeoff.plan._height_texts import HeightText, bare_figure_m, height_in, height_words_of, slopes
from takeoff.plan.labels import Assignment, Label, Line
from takeoff.plan.layers import Role, fold, role_of
from takeoff.query import Query, query

__all__ = ["HeightFinding", "RoomHeight", "find_heights", "layer_opening"]

_SAME_M = 0.011
"""Heights closer than this are one height, rounded differently (2.58 and 2.581)."""
_SLOPE_M = (0.3, 8.0)
"""Metres: heights at the ends of a sloping ceiling."""
_HEIGHT_TAGS = frozenset({
    "HEIGHT", "H", "HOEHE", "HÖHE", "CEILINGHEIGHT", "CLGHT", "CH", "HAUTEUR", "ALTURA", "ALTEZZA", "WYSOKOSC",
    "HOOGTE", "RH", "RAUMHOEHE", "HSP",
})
_NO_CEILING = frozenset({"door", "window", "opening", "structure"})
"""On layers with these roles a bare height is not a ceiling's."""
_WIDTH = re.compile(r"^\s*(?:w|b|breite|ancho)\s*[=:]?\s*\d")
_LAYER_SIZE = re.compile(
    r"(?:^|[^a-z])(h|ho|hs|hp|sill|brh|par|all)[\s=:]*(\d{1,4}(?:[.,]\d+)?)\s*(mm|cm|m)?(?![a-z0-9])"
)


@dataclass(frozen=True, slots=True)
class RoomHeight:
    """What the drawing says of one room's height."""

    height_m: float | None
    """None: it says nothing; measuring then takes the default."""
    height_from: str
    """'drawing' or 'default'."""
    text: str = ""
    """The text that says so, as printed."""
    at: Point | None = None
    handles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class HeightFinding:
    """The height of every room, and what must be asked."""

    rooms: tuple[RoomHeight, ...]
    queries: tuple[Query, ...]


@dataclass(frozen=True, slots=True)
class _Stated:
    """A height with its place."""

    height: HeightText
    line: Line
    handles: tuple[str, ...]


def find_heights(
    drawing: Drawing, roles: Sequence[Role], assignment: Assignment, loose: Sequence[Label], refs: Sequence[str]
) -> HeightFinding:
    """The ceiling height of every room.

    `assignment` from `labels.assign` over the rooms' polygons; `loose` all labels of the drawing (those in no room may
    state a general height); `refs` the rooms' refs, for the queries. Metres throughout.
    """
    stated = [[s for label in group for s in _stated(drawing, label, roles)] for group in assignment.inside]
    explicit = any(s.height.kind == "ceiling" for group in stated for s in group)
    ceilings = [_ceilings(group, explicit) for group in stated]
    held = {line.entity for group in assignment.inside for label in group for line in label.lines}
    outside = [label for label in loose if not any(line.entity in held for line in label.lines)]
    general = _general([s for label in outside for s in _stated(drawing, label, roles)])
    queries: list[Query] = []
    rooms = []
    for ref, group, said, found in zip(refs, assignment.inside, stated, ceilings, strict=True):
        queries += _slope_queries(ref, group, said)
        queries += _conflict_query(ref, found)
        rooms.append(_room_height(found or general))
    return HeightFinding(tuple(rooms), tuple(queries))


def layer_opening(layer: str) -> tuple[float | None, float | None]:
    """Height and sill of the openings on a layer whose name states them: 'OKNO_H150cm_Ho90cm' -> (1.5, 0.9).

    (None, None) when the name states none, or is no layer of openings.
    """
    if role_of(layer).name not in {"door", "window", "opening"}:
        return None, None
    sizes = {name: _layer_length(figure, unit) for name, figure, unit in _LAYER_SIZE.findall(fold(layer))}
    height = sizes.pop("h", None)
    sill = next(iter(sizes.values()), None)
    if height is not None and not 0.2 <= height <= 8.0:
        height = None
    return height, sill if sill is None or 0.0 <= sill <= 5.0 else None


def _layer_length(figure: str, unit: str) -> float:
    """Metres: a bare figure is millimetres from 500 up, centimetres from 20 up."""
    value = float(figure.replace(",", "."))
    return value * (METRES[unit] if unit else 0.001 if value >= 500 else 0.01 if value >= 20 else 1.0)


def _stated(drawing: Drawing, label: Label, roles: Sequence[Role]) -> list[_Stated]:
    """Every height that a label's lines state; words and figure may stand in separate texts beside each other."""
    found = []
    with_width = any(_WIDTH.match(fold(line.text)) for line in label.lines)
    in_mm = drawing.metres_per_unit < 0.005
    pending = ""
    for line in label.lines:
        height = _tagged(label, line) or height_in(line.text, in_mm)
        if height is None and (kind := _words_alone(line)):
            pending = kind
        if height is None and pending and (value := bare_figure_m(line.text)) is not None:
            height, pending = HeightText(pending, value, line.text), ""
        if height is None:
            continue
        if height.kind == "bare" and (with_width or roles[line.layer].name in _NO_CEILING):
            height = HeightText("beam" if with_width else "other", height.value_m, height.text)
        found.append(_Stated(height, line, (drawing.entities[line.entity].handle,)))
    if pending and len(label.lines) > 1:
        found += _figure_before(drawing, label)
    return found


def _words_alone(line: Line) -> str:
    return "" if re.search(r"\d", line.text) else height_words_of(fold(line.text))


def _figure_before(drawing: Drawing, label: Label) -> list[_Stated]:
    """Words after their figure, as in scripts written from the right."""
    for figure, words in zip(label.lines, label.lines[1:], strict=False):
        value, kind = bare_figure_m(figure.text), _words_alone(words)
        if value is not None and kind:
            return [_Stated(HeightText(kind, value, figure.text), figure, (drawing.entities[figure.entity].handle,))]
    return []


def _tagged(label: Label, line: Line) -> HeightText | None:
    """An attribute that holds the height of a room's label."""
    if re.sub(r"[\W_]", "", line.tag.upper()) not in _HEIGHT_TAGS or not label.is_room:
        return None
    tags = {f"UNIT_{line.tag.upper()}", f"{line.tag.upper()}_UNIT"}
    units = [other.text for other in label.lines if other.tag.upper() in tags]
    unit = units[0] if units and units[0] in METRES else ""
    height = height_in(f"CH={line.text}{unit}")
    return height and HeightText("ceiling", height.value_m, line.text)


def _ceilings(stated: list[_Stated], explicit: bool) -> list[_Stated]:
    """The ceiling heights among the stated ones: explicit words where the drawing uses them, else bare ones."""
    return [s for s in stated if s.height.kind == ("ceiling" if explicit else "bare")]


def _general(outside: list[_Stated]) -> list[_Stated]:
    """Explicit ceiling heights outside every room, when they all agree."""
    found = [s for s in outside if s.height.kind == "ceiling"]
    return found if len(_distinct(found)) == 1 else []


def _distinct(found: Sequence[_Stated]) -> list[float]:
    values: list[float] = []
    for value in sorted(s.height.value_m for s in found):
        if not values or value - values[-1] > _SAME_M:
            values.append(value)
    return values


def _room_height(found: list[_Stated]) -> RoomHeight:
    """The height stated most often, the greater of equals."""
    if not found:
        return RoomHeight(None, "default")
    count = Counter(s.height.value_m for s in found)
    value = max(count, key=lambda v: (count[v], v))
    best = next(s for s in found if s.height.value_m == value)
    return RoomHeight(value, "drawing", best.height.text, best.line.at, best.handles)


def _conflict_query(ref: str, found: list[_Stated]) -> list[Query]:
    if len(_distinct(found)) < 2:
        return []
    texts = ", ".join(f"{v:.2f}" for v in sorted({round(s.height.value_m, 2) for s in found}))
    taken = _room_height(found)
    says = (
        f"{ref} has several ceiling heights written in it ({texts} m): {taken.height_m:g} m was taken. "
        "Set the right one, or split the room."
    )
    answer = f"[rooms.{ref}]\nheight = {taken.height_m:g}"
    return [query("height-conflict", says, about=[ref], at=taken.at, answer=answer)]


def _slope_queries(ref: str, group: Sequence[Label], stated: Sequence[_Stated]) -> list[Query]:
    """A ceiling that slopes, by words or by a least and a greatest height."""
    said = [(label, line) for label in group for line in label.lines if slopes(line.text) and "%" not in line.text]
    ends = [s for s in stated if s.height.kind in {"lowest", "highest"}]
    if not said and len({s.height.kind for s in ends}) < 2:
        return []
    figures = [s.height.value_m for s in ends] or [f for label, _ in said for f in _slope_figures(label)]
    low, high = (min(figures), max(figures)) if len(set(figures)) > 1 else (1.2, 2.4)
    what = f"'{said[0][1].text}'" if said else f"heights from {low:g} to {high:g} m"
    at = said[0][1].at if said else ends[0].line.at
    answer = f'[rooms.{ref}.slope]\nlow_side = "{ref}-S1"\nlow_height = {low:g}\nhigh_height = {high:g}'
    says = f"The ceiling of {ref} slopes ({what}): it was measured flat. Give the low side and both heights."
    return [query("ceiling-slopes", says, about=[ref], at=at, answer=answer)]


def _slope_figures(label: Label) -> list[float]:
    """Heights in the lines of a label about a slope: '1.50 at back wall', 'rising to 2.50'."""
    found = []
    for line in label.lines:
        for length in read_lengths(line.text).lengths:
            value = length.metres(1.0 if length.value < 10 else 0.001) or 0.0
            if _SLOPE_M[0] <= value <= _SLOPE_M[1]:
                found.append(round(value, 3))
    return found
