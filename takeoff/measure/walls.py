"""Wall surfaces: gross from length and top line, less what each opening takes off under the rule."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from math import dist

from shapely import MultiPoint, Polygon, unary_union
from shapely.geometry.base import BaseGeometry

from takeoff.measure._figures import metres, square
from takeoff.measure.model import Deduction, Surface
from takeoff.measure.opening_shape import opening_area, opening_rings
from takeoff.measure.parts import RoomParts, Wall
from takeoff.measure.placing import Placed
from takeoff.measure.profile import Profile
from takeoff.measure.rules import EQUAL_M, Common, Effect, Rule
from takeoff.plan.model import Room

__all__ = ["longest_side", "small_rings", "wall_surfaces"]

NOTHING_M2 = 1e-6

Effects = Callable[[Placed, Wall], Effect]
"""What an opening does to the wall under the rule."""


def wall_surfaces(parts: RoomParts, rule: Rule, common: Common, effects: Effects) -> Iterator[Surface]:
    """The wall and pier surfaces of a room. Open runs, and walls of no height, give none."""
    piers = small_rings(parts.room, common)
    for wall in parts.walls:
        if not wall.run.open and wall.profile.area() > NOTHING_M2:
            yield _surface(parts.room, wall, rule, effects, pier=wall.run.ring in piers)


def small_rings(room: Room, common: Common) -> frozenset[int]:
    """Numbers of the rings that are free-standing piers and columns, not a core or a room within the room."""
    return frozenset(
        n for n, hole in enumerate(room.holes, 1) if longest_side(MultiPoint(hole)) <= common.pier_max_side_m + EQUAL_M
    )


def longest_side(shape: Polygon | MultiPoint) -> float:
    """The greater side of the tightest rectangle round `shape`, in metres."""
    box = shape.minimum_rotated_rectangle
    if box.geom_type != "Polygon":
        return float(box.length)
    corners = list(box.exterior.coords)
    return max(dist(a, b) for a, b in pairwise(corners))


def _surface(room: Room, wall: Wall, rule: Rule, effects: Effects, pier: bool) -> Surface:
    run, profile = wall.run, wall.profile
    gross = profile.area()
    deductions, shares = _deductions(wall, effects)
    side = run.widest()
    high = profile.area(bottom=rule.high_from_m) - sum(
        share * opening_area(wall, p, rule.high_from_m) for p, share in zip(wall.placed, shares, strict=True)
    )
    return Surface(
        ref=wall.ref,
        room=room.ref,
        kind="pier" if pier else "wall",
        length_m=run.length_m,
        height_m=gross / run.length_m,
        gross_m2=gross,
        deductions=deductions,
        net_m2=max(0.0, gross - sum(d.area_m2 for d in deductions)),
        how=_working(profile, deductions),
        outline=profile.outline(),
        holes=tuple(ring for p in wall.placed for ring in opening_rings(wall, p)),
        side=run.sides[0].ref,
        thickness_m=side.thickness_m,
        wall_type=side.wall_type,
        external=side.external,
        curved=run.curved,
        radius_m=None if run.radius_m is None else abs(run.radius_m),
        narrow=run.length_m <= rule.narrow_width_m + EQUAL_M,
        over_height_m2=max(0.0, high),
        handles=tuple(dict.fromkeys(h for s in run.sides for h in s.handles)),
    )


def _deductions(wall: Wall, effects: Effects) -> tuple[tuple[Deduction, ...], list[float]]:
    """Each opening's deduction, and the share of it that comes off."""
    rows, shares = [], []
    overlapping = any(a.hi > b.lo + EQUAL_M for a, b in pairwise(wall.placed))
    before: list[BaseGeometry] = []
    for placed in wall.placed:
        effect = effects(placed, wall)
        area, reason = opening_area(wall, placed), effect.reason
        if placed.arch is not None:
            reason = f"{reason}; {placed.arch.says}"
        height = area / placed.width_m
        if overlapping:
            area, reason = _without(wall, placed, before, area, reason)
        rows.append(Deduction(placed.opening.ref, placed.width_m, height, effect.share * area, reason))
        shares.append(effect.share)
    return tuple(rows), shares


def _without(wall: Wall, placed: Placed, before: list[BaseGeometry], area: float, reason: str) -> tuple[float, str]:
    """The opening's area less what openings before it have taken already; `before` grows by it."""
    rings = opening_rings(wall, placed)
    if not rings:
        return 0.0, reason
    shape = unary_union([Polygon(ring) for ring in rings])
    left = shape.difference(unary_union(before)).area if before else area
    before.append(shape)
    if left > area - NOTHING_M2:
        return area, reason
    return float(left), f"{reason}, less its overlap with another opening"


def _working(profile: Profile, deductions: tuple[Deduction, ...]) -> str:
    taken = "".join(f" - {_taken(d)}" for d in deductions if d.area_m2 > 0)
    return f"{_gross_working(profile)}{taken}"


def _gross_working(profile: Profile) -> str:
    legs = [(a, b) for a, b in pairwise(profile.points) if b[0] > a[0]]
    if profile.is_level:
        return f"{metres(profile.length)} x {metres(profile.points[0][1])}"
    return " + ".join(_leg(a, b) for a, b in legs)


def _leg(a: tuple[float, float], b: tuple[float, float]) -> str:
    width = metres(b[0] - a[0])
    if abs(a[1] - b[1]) < 1e-9:
        return f"{width} x {metres(a[1])}"
    return f"{width} x ({metres(a[1])} + {metres(b[1])}) / 2"


def _taken(d: Deduction) -> str:
    """'0.90 x 2.10 (D1)', or the area where it is not the whole rectangle."""
    if abs(d.area_m2 - d.width_m * d.height_m) < NOTHING_M2:
        return f"{metres(d.width_m)} x {metres(d.height_m)} ({d.opening})"
    return f"{square(d.area_m2)} ({d.opening})"
