"""Reveal surfaces: the plastered returns at head, jambs and cill of an opening, each with its depth.

A plain opening's reveal goes through the whole wall and is counted once: in the room that comes first on the plan.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import hypot

from takeoff.measure._figures import metres
from takeoff.measure.model import Surface
from takeoff.measure.opening_shape import head_length
from takeoff.measure.parts import Wall
from takeoff.measure.placing import Placed
from takeoff.measure.rules import EQUAL_M, Effect, Rule
from takeoff.plan.model import Opening

__all__ = ["Side", "reveal_surface", "reveals_of", "sides_of"]

SHORT_M = 0.005
"""A side of an opening shorter than this is not there: it is flush with floor or ceiling."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of an opening as it lies in the wall."""

    part: str
    """'left', 'right', 'head' or 'cill', seen from inside the room."""
    length_m: float
    bottom: float
    top: float
    """Heights over the floor between which it lies."""
    along: float | None = None
    """For a jamb, its place along the wall."""
    radius_m: float | None = None
    """For an arched head, that of its curve."""

    def share_over(self, height_m: float) -> float:
        """The part of it, 0 to 1, that lies over `height_m`."""
        if self.top <= height_m:
            return 0.0
        return 1.0 if self.top == self.bottom else (self.top - max(self.bottom, height_m)) / (self.top - self.bottom)


def sides_of(wall: Wall, placed: Placed) -> tuple[Side, ...]:
    """The sides that the opening has: no head where it goes up to the ceiling, no cill where down to the floor."""
    radius = None if placed.arch is None else placed.arch.radius_m
    sides = [
        _jamb("left", placed, placed.lo, wall.profile.height_at(placed.lo)),
        _jamb("right", placed, placed.hi, wall.profile.height_at(placed.hi)),
        Side("head", head_length(wall, placed) - placed.splay_m, placed.jamb_top, placed.head, radius_m=radius),
    ]
    if placed.sill > SHORT_M:
        sides.append(Side("cill", placed.width_m - placed.splay_m, placed.sill, placed.sill))
    return tuple(side for side in sides if side.length_m > SHORT_M)


def reveals_of(wall: Wall, placed: Placed, effect: Effect, rule: Rule) -> Iterator[Surface]:
    """The reveal surfaces of an opening on this face; none where it is lined or flush."""
    finish = placed.finish
    if finish.depth_m <= 0:
        return
    for side in sides_of(wall, placed):
        if (side.part == "head" and not finish.head) or (side.part == "cill" and not finish.cill):
            continue
        yield _wall_reveal(wall, placed, side, effect, rule)


def reveal_surface(
    ref: str, room: str, opening: Opening, part: str, size: tuple[float, float], how: str, effect: Effect, rule: Rule
) -> Surface:
    """A reveal of `size` (length, depth) in metres. Its net is nought where the rule does not count reveals."""
    length, depth = size
    counted = "" if effect.reveals else ", not counted under this rule"
    return Surface(
        ref=ref,
        room=room,
        kind="reveal",
        length_m=length,
        height_m=depth,
        gross_m2=length * depth,
        deductions=(),
        net_m2=length * depth if effect.reveals else 0.0,
        how=f"{metres(length)} x {metres(depth)} ({how}){counted}",
        outline=((0.0, 0.0), (length, 0.0), (length, depth), (0.0, depth)),
        opening=opening.ref,
        part=part,
        narrow=depth <= rule.narrow_width_m + EQUAL_M,
        handles=opening.handles,
    )


def _wall_reveal(wall: Wall, placed: Placed, side: Side, effect: Effect, rule: Rule) -> Surface:
    finish, face = placed.finish, wall.run.widest()
    ref = f"{wall.ref}-{placed.opening.ref}-{side.part}"
    leaning = placed.splay_m if side.part in ("left", "right") else 0.0
    size = (side.length_m, hypot(finish.depth_m, leaning))
    surface = reveal_surface(ref, wall.room, placed.opening, side.part, size, _working(placed), effect, rule)
    return replace(
        surface,
        side=placed.side.ref,
        thickness_m=face.thickness_m,
        wall_type=face.wall_type,
        external=face.external,
        curved=side.radius_m is not None,
        radius_m=side.radius_m,
        over_height_m2=surface.net_m2 * side.share_over(rule.high_from_m),
    )


def _working(placed: Placed) -> str:
    """The working of a reveal's depth, and that its jambs splay."""
    if not placed.splay_m:
        return placed.finish.how
    frame = placed.width_m - 2 * placed.splay_m
    return f"{placed.finish.how}, splayed from {metres(placed.width_m)} in the face to {metres(frame)} wide"


def _jamb(part: str, placed: Placed, along: float, wall_height: float) -> Side:
    top = min(placed.jamb_top, wall_height)
    return Side(part, top - placed.sill, placed.sill, top, along)
