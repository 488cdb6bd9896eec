"""Ceiling surfaces: level, or the slope and the level parts beside it, less voids under the rule.

A slope is unrolled: its outline is (along the low side, up the slope), so that its area is the area to be covered.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, asin, degrees, dist, inf, sin

from shapely import Polygon, box, unary_union
from shapely.affinity import affine_transform
from shapely.geometry import Point as Spot
from shapely.geometry.base import BaseGeometry

from takeoff.job import Job
from takeoff.measure._figures import metres, square
from takeoff.measure._rectangles import rectangles
from takeoff.measure.model import Deduction, Surface
from takeoff.measure.parts import RoomParts
from takeoff.measure.placing import stated_height
from takeoff.measure.rules import Rule, effect_of_void
from takeoff.measure.tops import Top
from takeoff.measure.walls import longest_side
from takeoff.plan.model import Opening, Room

__all__ = ["ceiling_surfaces"]

Point = tuple[float, float]

NOTHING_M2 = 1e-6
ON_EDGE_M = 1e-6
FAR_M = 1e5
"""Beyond any room: the reach of a strip that has no end."""
FEW_RECTANGLES = 6
"""A working longer than this helps nobody."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece of the ceiling in one plane. Plan area x `stretch` is its own area."""

    name: str
    """'flat' or 'slope'."""
    plan: Polygon
    stretch: float


@dataclass(frozen=True, slots=True)
class _Void:
    """A part of a ceiling piece that is no ceiling."""

    what: str
    whole_m2: float
    """All of it, by which the rule judges."""
    here_m2: float
    length_m: float
    ring: tuple[Point, ...] = ()


def ceiling_surfaces(parts: RoomParts, rooflights: Sequence[Opening], rule: Rule, job: Job) -> Iterator[Surface]:
    """The ceiling of a room: one surface for each piece in one plane, numbered R1-C1 ..."""
    room, top = parts.room, parts.top
    pieces = list(_pieces(_shell(room), top))
    placeless = max(range(len(pieces)), key=lambda n: (pieces[n].name == "flat", pieces[n].plan.area), default=0)
    for number, piece in enumerate(pieces):
        voids = [*_holes(room, piece, top), *_rooflight_voids(rooflights, piece, top, job)]
        if room.void_m2 > 0 and number == placeless:
            voids.append(_Void("void", room.void_m2, room.void_m2, room.void_m2**0.5))
        yield _surface(room, piece, number, voids, top, rule)


def _shell(room: Room) -> Polygon:
    shell = Polygon(room.outline)
    return shell if shell.is_valid else shell.buffer(0)


def _pieces(shell: Polygon, top: Top) -> Iterator[_Part]:
    """The ceiling cut along the lines where its pitch changes: behind the low side, the slope, beyond it."""
    if not top.slopes:
        yield _Part("flat", shell, 1.0)
        return
    for name, near, far in (("slope", 0.0, top.run_m), ("flat", top.run_m, FAR_M), ("flat", -FAR_M, 0.0)):
        cut = _between(shell, top, near, far)
        polygons = [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "Polygon"]
        for polygon in sorted(polygons, key=lambda p: p.bounds):
            if polygon.area > NOTHING_M2:
                yield _Part(name, polygon, top.stretch if name == "slope" else 1.0)


def _between(shape: BaseGeometry, top: Top, near: float, far: float) -> BaseGeometry:
    """The part of `shape` whose depth behind the low side's face is from `near` to `far`."""
    strip = affine_transform(box(-FAR_M, near, FAR_M, far), _outward(top))
    return shape.intersection(strip)


def _outward(top: Top) -> list[float]:
    """(along the low side, depth) to plan: shapely's a b d e x y."""
    (nx, ny), (x, y) = top.inward, top.origin
    return [ny, nx, -nx, ny, x, y]


def _unroll(ring: Sequence[Point], piece: _Part, top: Top) -> tuple[Point, ...]:
    """A ring of the plan in the surface's own frame: plan metres where level, (along, up the slope) where not."""
    if piece.name == "flat":
        return tuple((float(x), float(y)) for x, y in ring)
    (nx, ny), (ox, oy) = top.inward, top.origin
    return tuple((float((x - ox) * ny - (y - oy) * nx), float(top.depth((x, y)) * piece.stretch)) for x, y in ring)


def _holes(room: Room, piece: _Part, top: Top) -> Iterator[_Void]:
    """Piers and wells that go up through this piece."""
    for number, hole in enumerate(room.holes, 1):
        whole = Polygon(hole)
        here = whole.intersection(piece.plan)
        if here.area > NOTHING_M2:
            ring = _unroll(list(here.exterior.coords)[:-1], piece, top) if here.geom_type == "Polygon" else ()
            bulge = _bulge(room, number) if here.area > whole.area - NOTHING_M2 else 0.0
            area = (here.area - bulge) * piece.stretch
            yield _Void(f"pier {number}", whole.area - bulge, area, longest_side(here), ring)


def _rooflight_voids(rooflights: Sequence[Opening], piece: _Part, top: Top, job: Job) -> Iterator[_Void]:
    for light in rooflights:
        if not piece.plan.covers(Spot(light.at)):
            continue
        height = stated_height(light, job)
        area = light.width_m * height
        (x0, y0), (x1, y1) = _unroll(light.jambs, piece, top)
        length = dist((x0, y0), (x1, y1))
        ux, uy = ((x1 - x0) / length, (y1 - y0) / length) if length > 0 else (1.0, 0.0)
        cx, cy = _unroll([light.at], piece, top)[0]
        halves = [(a * light.width_m / 2, b * height / 2) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
        ring = tuple((cx + w * ux - h * uy, cy + w * uy + h * ux) for w, h in halves)
        yield _Void(light.ref, area, area, light.width_m, ring)


def _surface(room: Room, piece: _Part, number: int, voids: Sequence[_Void], top: Top, rule: Rule) -> Surface:
    bulge = _bulge(room, 0, piece)
    gross = (piece.plan.area + bulge) * piece.stretch
    length = longest_side(Polygon(_unroll(list(piece.plan.exterior.coords)[:-1], piece, top)))
    deductions = tuple(_deduction(void, rule) for void in voids)
    net = max(0.0, gross - sum(d.area_m2 for d in deductions))
    less = "".join(f" - {square(d.area_m2)} ({d.opening})" for d in deductions if d.area_m2)
    return Surface(
        ref=f"{room.ref}-C{number + 1}",
        room=room.ref,
        kind="ceiling",
        length_m=length,
        height_m=gross / length,
        gross_m2=gross,
        deductions=deductions,
        net_m2=net,
        how=_working(piece, bulge) + less,
        outline=_unroll(list(piece.plan.exterior.coords)[:-1], piece, top),
        holes=tuple(void.ring for void in voids if void.ring),
        part=piece.name,
        over_height_m2=net * _high_share(room, piece, top, rule),
        handles=room.handles,
    )


def _deduction(void: _Void, rule: Rule) -> Deduction:
    effect = effect_of_void(rule, void.whole_m2)
    return Deduction(void.what, void.length_m, void.here_m2 / void.length_m, effect.share * void.here_m2, effect.reason)


def _high_share(room: Room, piece: _Part, top: Top, rule: Rule) -> float:
    """The part of the piece, piers left out, that is over the rule's height."""
    edge = top.depth_at_height(rule.high_from_m)
    if edge in (inf, -inf):
        return 0.0 if edge > 0 else 1.0
    covered = piece.plan.difference(unary_union([Polygon(hole) for hole in room.holes]))
    near, far = (edge, FAR_M) if top.high_m > top.low_m else (-FAR_M, edge)
    return float(_between(covered, top, near, far).area / covered.area)


def _bulge(room: Room, ring: int, piece: _Part | None = None) -> float:
    """m2 in plan between a ring's true arcs and its chords, of those along `piece`; positive adds to the room."""
    total = 0.0
    for side in room.sides:
        if side.ring == ring and side.radius_m is not None and len(side.points) > 2:
            radius = abs(side.radius_m)
            for p, q in pairwise(side.points):
                middle = Spot((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
                if piece is not None and piece.plan.distance(middle) > ON_EDGE_M:
                    continue
                angle = 2 * asin(min(1.0, dist(p, q) / (2 * radius)))
                total += (1 if side.radius_m > 0 else -1) * radius**2 / 2 * (angle - sin(angle))
    return total


def _working(piece: _Part, bulge: float) -> str:
    plan = _plan_working(piece.plan)
    if bulge:
        plan += f" {'+' if bulge > 0 else '-'} {square(abs(bulge))} (curve)"
    if piece.name == "slope":
        whole = f"({plan})" if " + " in plan else plan
        return f"{whole} / cos {degrees(acos(1 / piece.stretch)):.1f} deg"
    return plan


def _plan_working(polygon: Polygon) -> str:
    """'4.20 x 3.00', a sum of rectangles for a square-cornered outline, else the area by coordinates."""
    pieces = rectangles(list(polygon.exterior.coords)[:-1])
    if 0 < len(pieces) <= FEW_RECTANGLES:
        return " + ".join(f"{metres(a)} x {metres(b)}" for a, b in pieces)
    return f"{square(polygon.area)} by the coordinates of {len(polygon.exterior.coords) - 1} corners"
