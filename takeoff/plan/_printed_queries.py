"""Printed areas and sizes against the measured ones: witnesses that may raise a query and never change a figure.

Terms:
  step       what one unit of the last printed digit is worth; half of it either way is rounding, never a difference.
  custom     what the printed areas of a whole drawing have in common: to the finished faces, to the middle of the
             walls, or reduced by a fixed share for plaster. A custom is told once; each room is held against it.
  witness    printed figures of which most agree with the measured ones: a room that departs from them is doubtful.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from takeoff.drawing.model import Floats
from takeoff.geometry.vectors import left_of
from takeoff.plan._printed import area_of
from takeoff.plan._room_words import NOT_PLASTERED
from takeoff.plan.model import Room
from takeoff.query import Query, acceptance, query

__all__ = ["printed_queries"]

_DIFFERS = 0.02
"""A printed figure may differ by this share of the measured one before anyone is asked (the job's own limit)."""
_FAR_OFF = 0.15
"""Without other witnesses a difference beyond this share makes the outline itself doubtful."""
_AGREES = 0.01
_LEAST_WITNESSES = 3
_MOST_AGREE = 0.6
"""So many rooms, and this share of all, must agree before one that does not is doubted."""
_SAME_CUSTOM = 0.007
"""Ratios of printed to measured within this of each other share a custom."""
_REDUCED = (0.015, 0.08)
"""Shares by which areas are reduced or raised as a rule (3 % for plaster is an old German custom; common practice)."""
_WALLS_M = (0.06, 0.5)
_SAME_WALL_M = 0.03
_SIZE_SLACK_M = 0.04
"""Printed sizes are rounded to an inch or a few centimetres."""
_RECTANGULAR = 0.95
_MULTIPLE = 5.0


@dataclass(frozen=True, slots=True)
class _Print:
    """One room's printed area."""

    room: Room
    printed: float
    step: float


@dataclass(frozen=True, slots=True)
class _Custom:
    """How a drawing prints its areas: expected = share x area + perimeter x wall / 2."""

    share: float = 1.0
    wall_m: float = 0.0
    says: str = ""

    def expected(self, room: Room) -> float:
        return self.share * room.floor_area_m2 + room.perimeter_m * self.wall_m / 2 + self.wall_m**2


def printed_queries(rooms: Sequence[Room], sure: bool = True) -> list[Query]:
    """Queries for printed areas and sizes that differ from the measured ones by more than 2 % and the rounding.

    A difference concerns the label; it concerns the outline where the drawing's other figures agree so well that this
    room must be doubted, where it is beyond 15 %, or where it is not `sure` which lines are walls.
    """
    rooms = [r for r in rooms if r.kind not in NOT_PLASTERED]
    prints = _prints(rooms)
    custom = _custom(prints)
    trusted = _trusted([_off(p, custom) for p in prints if _is_fine(p)])
    queries = [_custom_query(custom, prints)] if custom.says else []
    for p in prints:
        off = _off(p, custom)
        if off > _DIFFERS:
            queries.append(_area_query(p, custom, off > _FAR_OFF or trusted or not sure))
    asked = {p.room.ref for p in prints}
    return queries + _size_queries([r for r in rooms if r.printed_size_m and r.ref not in asked], sure)


def _prints(rooms: Sequence[Room]) -> list[_Print]:
    found = []
    for room in rooms:
        if room.printed_area_m2 is not None and room.floor_area_m2 > 0:
            areas = [a for text in room.labels if (a := area_of(text)) and abs(a.m2 - room.printed_area_m2) < 1e-6]
            found.append(_Print(room, room.printed_area_m2, areas[0].step_m2 if areas else 0.01))
    whole = [p.printed for p in found if p.step == 1.0]
    if len(whole) >= _LEAST_WITNESSES and all(v % _MULTIPLE == 0 for v in whole):
        return [_Print(p.room, p.printed, _MULTIPLE if p.step == 1.0 else p.step) for p in found]
    return found


def _off(p: _Print, custom: _Custom) -> float:
    """Share of the measured area by which the printed one differs beyond its rounding."""
    return max(0.0, abs(p.printed - custom.expected(p.room)) - p.step / 2) / p.room.floor_area_m2


def _is_fine(p: _Print) -> bool:
    """Whether an area is printed finely enough to witness for the others."""
    return p.step <= 2 * _AGREES * p.room.floor_area_m2


def _trusted(off: Sequence[float]) -> bool:
    agree = sum(1 for share in off if share <= _AGREES)
    return agree >= _LEAST_WITNESSES and agree >= _MOST_AGREE * len(off)


def _custom(prints: Sequence[_Print]) -> _Custom:
    """The custom that the finely printed areas share; to the finished faces unless most say otherwise."""
    fine = [p for p in prints if _is_fine(p)]
    if len(fine) < _LEAST_WITNESSES or _trusted([_off(p, _Custom()) for p in fine]):
        return _Custom()
    share = float(np.median([p.printed / p.room.floor_area_m2 for p in fine]))
    walls = [_wall_between(p) for p in fine]
    wall = float(np.median(walls))
    customs = []
    if _REDUCED[0] <= abs(share - 1) <= _REDUCED[1]:
        word = "below" if share < 1 else "above"
        customs.append(_Custom(share=share, says=f"{abs(share - 1):.1%} {word} the measured ones, all alike"))
    if _WALLS_M[0] <= wall <= _WALLS_M[1] and np.median(np.abs(np.array(walls) - wall)) <= _SAME_WALL_M:
        customs.append(_Custom(wall_m=wall, says=f"taken to the middle of walls about {wall:.2f} m thick"))
    fitting = [c for c in customs if _trusted([_off(p, c) for p in fine])]
    return fitting[0] if fitting else _Custom()


def _wall_between(p: _Print) -> float:
    """Thickness t of the walls if the area runs to their middle: of a rectangle, area + perimeter x t / 2 + t^2."""
    half = p.room.perimeter_m / 2
    return (math.sqrt(max(half**2 + 4 * (p.printed - p.room.floor_area_m2), 0.0)) - half) / 2


def _custom_query(custom: _Custom, prints: Sequence[_Print]) -> Query:
    return query(
        "printed-areas-custom",
        f"The areas printed in the rooms are {custom.says}: the measured areas are to the finished faces "
        "and were kept. "
        "Nothing to do, unless the printed ones are what you are paid by.",
        about=[p.room.ref for p in prints],
    )


def _area_query(p: _Print, custom: _Custom, outline: bool) -> Query:
    room = p.room
    off = (p.printed - custom.expected(room)) / room.floor_area_m2
    rounding = {1.0: ", rounded to whole m2", _MULTIPLE: ", rounded to 5 m2"}.get(p.step, "")
    says = (
        f"{_called(room)}: {p.printed:.2f} m2 is printed{rounding}, "
        f"{room.floor_area_m2:.2f} m2 was measured ({off:+.0%}). "
    )
    if outline:
        return query(
            "printed-area-outline",
            says + "Look whether its outline on the marked plan is right; split or join rooms if it is not.",
            about=[room.ref], at=room.label_at, answer=acceptance("printed-area-outline", room.ref),
        )
    return query(
        "printed-area-differs", says + "The measured area was kept; check which is right.",
        about=[room.ref], at=room.label_at, answer=acceptance("printed-area-differs", room.ref),
    )


def _called(room: Room) -> str:
    return f"{room.ref} {room.name}".strip()


def _size_queries(rooms: Sequence[Room], sure: bool) -> list[Query]:
    """Queries for printed sizes (two lengths) that the room does not have."""
    fits = [(room, *_size_fit(room)) for room in rooms]
    agree = sum(1 for _, fit, _ in fits if fit)
    trusted = not sure or (agree >= _LEAST_WITNESSES and agree >= _MOST_AGREE * len(fits))
    queries = []
    for room, fit, share in fits:
        if fit or room.printed_size_m is None:
            continue
        a, b = room.printed_size_m
        kind = "printed-area-outline" if trusted or share > _FAR_OFF else "printed-area-differs"
        says = (
            f"{_called(room)}: a size of {a:.2f} x {b:.2f} m is printed, "
            f"the measured room has {room.floor_area_m2:.2f} m2 and no such sides. "
        )
        what = "Look whether its outline is right." if kind == "printed-area-outline" else "Check which is right."
        queries.append(query(kind, says + what, about=[room.ref], at=room.label_at, answer=acceptance(kind, room.ref)))
    return queries


def _size_fit(room: Room) -> tuple[bool, float]:
    """Whether a room has the printed size, and by which share its area differs from the two lengths' product.

    Of a room that is no rectangle the two lengths need only be distances between its walls.
    """
    assert room.printed_size_m is not None
    across, along = _spans(room.outline)
    off = abs(room.floor_area_m2 - room.printed_size_m[0] * room.printed_size_m[1]) / max(room.floor_area_m2, 1e-9)
    whole = max(across) * max(along)
    if whole <= 0:
        return False, off
    if room.floor_area_m2 >= _RECTANGULAR * whole:
        across, along = across[-1:], along[-1:]
    pairs = (room.printed_size_m, room.printed_size_m[::-1])
    return any(_near(a, across) and _near(b, along) for a, b in pairs), off


def _spans(outline: Sequence[tuple[float, float]]) -> tuple[Floats, Floats]:
    """Distances between the corners of a room across and along its longest wall, ascending."""
    ring = np.asarray(Polygon(outline).exterior.coords)
    steps = np.diff(ring, axis=0)
    longest = steps[np.argmax(np.hypot(*steps.T))]
    u = longest / max(float(np.hypot(*longest)), 1e-12)
    found = []
    for axis in (u, left_of(u)):
        places = np.unique(np.round(ring @ axis, 3))
        apart = np.abs(places[:, None] - places[None, :]) if len(places) <= 60 else np.ptp(places)[None]
        found.append(np.unique(np.round(apart, 3)))
    return found[0], found[1]


def _near(length: float, spans: Floats) -> bool:
    return bool((np.abs(spans - length) <= np.maximum(_DIFFERS * length, _SIZE_SLACK_M)).any())
