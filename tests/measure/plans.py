"""Plans made by hand for the tests: rooms as lists of straight and curved sides, openings set into them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from shapely import LineString, Point, Polygon

from takeoff.plan.model import Opening, Plan, Room, Side

Xy = tuple[float, float]

CHORDS = 24


@dataclass(frozen=True)
class Arc:
    """In an outline: a curved side to the next corner, `radius` positive where it bulges out of the room."""

    radius: float


Outline = Sequence["Xy | Arc"]


@dataclass(frozen=True)
class RoomSpec:
    outline: Outline
    """Counter-clockwise corners, an `Arc` between two of them for a curved side."""
    height: float | None = 2.4
    holes: Sequence[Outline] = ()
    """Clockwise."""
    kind: str = "room"
    void_m2: float = 0.0
    assumed: Sequence[int] = ()
    """Indices of sides of the outer ring that are assumed lines."""
    wall_types: dict[int, str] = field(default_factory=dict)


def opening(
    ref: str,
    at: Xy,
    width: float,
    height: float | None = None,
    sill: float | None = None,
    thickness: float | None = 0.1,
) -> Opening:
    """An opening whose kind is told by its ref: D door, W window, O plain opening, L rooflight."""
    kind = {"D": "door", "W": "window", "O": "opening", "L": "rooflight"}[ref[0]]
    jambs = ((at[0] - width / 2, at[1]), (at[0] + width / 2, at[1]))
    told = "default" if height is None else "attribute"
    return Opening(ref, kind, "P1", at, width, height, sill, thickness, (), jambs, "gap", told)


def plan(*specs: RoomSpec, openings: Sequence[Opening] = (), broken: bool = True) -> Plan:
    """A plan of rooms R1, R2 ...; `broken` lays openings as sides of their own, else they are only listed on a side."""
    rooms = [_room(f"R{n}", spec) for n, spec in enumerate(specs, 1)]
    placed = []
    for item in openings:
        refs = []
        for n, room in enumerate(rooms):
            sides = _with_opening(room, item, broken)
            if sides is not None:
                rooms[n] = replace(room, sides=_numbered(room.ref, sides))
                refs.append(room.ref)
        placed.append(replace(item, rooms=tuple(refs)))
    return Plan("m", 1.0, (), (0.0, 0.0), (), tuple(rooms), tuple(placed))


def rectangle(length: float, width: float, height: float | None = 2.4, x: float = 0.0, y: float = 0.0) -> RoomSpec:
    return RoomSpec([(x, y), (x + length, y), (x + length, y + width), (x, y + width)], height)


def _room(ref: str, spec: RoomSpec) -> Room:
    sides = _ring(spec.outline, 0)
    for n in spec.assumed:
        sides[n] = replace(sides[n], support="assumed")
    for n, wall_type in spec.wall_types.items():
        sides[n] = replace(sides[n], wall_type=wall_type)
    holes = []
    for n, hole in enumerate(spec.holes, 1):
        ring = _ring(hole, n)
        sides += ring
        holes.append(_corners(ring))
    outline = _corners([s for s in sides if s.ring == 0])
    shape = Polygon(outline, holes)
    told = "default" if spec.height is None else "drawing"
    return Room(
        ref,
        ref,
        "P1",
        outline,
        tuple(holes),
        _numbered(ref, sides),
        shape.area,
        sum(s.length_m for s in sides),
        spec.height,
        told,
        1.0,
        outline[0],
        spec.kind,
        void_m2=spec.void_m2,
    )


def _ring(outline: Outline, ring: int) -> list[Side]:
    entries = [*outline, outline[0]]
    sides = []
    for n, (here, after) in enumerate(pairwise(entries)):
        if isinstance(here, Arc):
            continue
        if isinstance(after, Arc):
            nxt = entries[n + 2]
            assert not isinstance(nxt, Arc)
            sides.append(arc_side(here, nxt, after.radius, ring))
        else:
            sides.append(Side("", here, after, math.dist(here, after), "drawn", ring=ring))
    return sides


def arc_side(start: Xy, end: Xy, radius: float, ring: int = 0) -> Side:
    """The shorter arc from `start` to `end`; a positive radius lies to the right of the way from start to end."""
    r, sign = abs(radius), 1 if radius > 0 else -1
    chord = math.dist(start, end)
    half = math.asin(chord / (2 * r))
    ux, uy = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    # Left normal (-uy, ux): the centre of an outward bulge lies on the room's side, the left.
    cx = (start[0] + end[0]) / 2 - sign * uy * r * math.cos(half)
    cy = (start[1] + end[1]) / 2 + sign * ux * r * math.cos(half)
    first = math.atan2(start[1] - cy, start[0] - cx)
    points = [start]
    for n in range(1, CHORDS):
        angle = first + sign * 2 * half * n / CHORDS
        points.append((cx + r * math.cos(angle), cy + r * math.sin(angle)))
    points.append(end)
    return Side("", start, end, 2 * half * r, "drawn", radius_m=radius, points=tuple(points), ring=ring)


def _corners(sides: Sequence[Side]) -> tuple[Xy, ...]:
    return tuple(p for s in sides for p in (s.points or (s.start, s.end))[:-1])


def _numbered(ref: str, sides: Sequence[Side]) -> tuple[Side, ...]:
    return tuple(replace(s, ref=f"{ref}-S{n}") for n, s in enumerate(sides, 1))


def _with_opening(room: Room, item: Opening, broken: bool) -> list[Side] | None:
    """The room's sides with the opening set into the nearest that it lies in, or None."""
    at, reach = Point(item.at), (item.wall_thickness_m or 0.1) / 2 + 0.02
    if item.kind == "rooflight":
        return list(room.sides) if Polygon(room.outline).covers(at) else None
    lines = [LineString(s.points or (s.start, s.end)) for s in room.sides]
    n = min(range(len(lines)), key=lambda i: lines[i].distance(at))
    along = lines[n].project(at)
    if lines[n].distance(at) > reach:
        return None
    side, sides = room.sides[n], list(room.sides)
    if not broken or side.radius_m is not None:
        sides[n] = replace(side, openings=(*side.openings, item.ref))
        return sides
    lo, hi = max(0.0, along - item.width_m / 2), min(side.length_m, along + item.width_m / 2)
    cuts = [side.start, _on(side, lo), _on(side, hi), side.end]
    pieces = [replace(side, start=a, end=b, length_m=math.dist(a, b)) for a, b in pairwise(cuts)]
    pieces[1] = replace(pieces[1], support="opening", openings=(item.ref,))
    sides[n : n + 1] = [p for p in pieces if p.length_m > 1e-9]
    return sides


def _on(side: Side, along: float) -> Xy:
    t = along / side.length_m
    return (side.start[0] + t * (side.end[0] - side.start[0]), side.start[1] + t * (side.end[1] - side.start[1]))
