"""Edges of a room: angles, arrises round openings, stops, and the joint of wall and ceiling. Metres, piece by piece.

Every jamb and head is its own edge, because beads are cut and fixed piece by piece.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from shapely import LineString, Polygon

from takeoff.measure._figures import metres
from takeoff.measure.model import Edge, Surface
from takeoff.measure.opening_shape import reaches_top
from takeoff.measure.parts import RoomParts, Wall
from takeoff.measure.placing import Placed
from takeoff.measure.reveals import Side, sides_of
from takeoff.measure.rules import Common
from takeoff.measure.runs import Corner
from takeoff.measure.tops import Top

__all__ = ["Reveals", "edges_of", "rounded_angles"]

Point = tuple[float, float]

NIB_M = 0.02
"""An opening this near a corner leaves no nib: its jamb runs on from the wall beside it."""
MIRRORED = {"left": "right", "right": "left"}
"""The left jamb seen from one room is the right jamb seen from the other."""
SHORT_M = 0.005
"""No edge is shorter than this."""
BESIDE_M = 1e-4
FAR_M = 1e5


@dataclass
class _Numbered:
    """Edges of one room, numbered R1-E1 ... as they are added."""

    room: str
    edges: list[Edge] = field(default_factory=list)

    def add(
        self,
        kind: str,
        length: float,
        how: str,
        surfaces: Sequence[str],
        opening: str = "",
        at: Point | None = None,
        curved: bool = False,
    ) -> None:
        if length > SHORT_M:
            ref = f"{self.room}-E{len(self.edges) + 1}"
            self.edges.append(Edge(ref, self.room, kind, length, how, tuple(surfaces), opening, at, curved))


@dataclass(frozen=True, slots=True)
class Reveals:
    """The reveal surfaces of the drawing by ref, and which wall counts each reveal that goes through the wall."""

    surfaces: Mapping[str, Surface]
    owners: Mapping[str, str]

    def at(self, wall: Wall, placed: Placed, part: str) -> Surface | None:
        """The reveal that turns out of `wall` at this part of the opening, whichever room counts it."""
        opening = placed.opening.ref
        owner = self.owners.get(opening, wall.ref) if placed.finish.through else wall.ref
        seen = part if owner == wall.ref else MIRRORED.get(part, part)
        return self.surfaces.get(f"{owner}-{opening}-{seen}")


def edges_of(parts: RoomParts, surfaces: Mapping[str, Surface], reveals: Reveals, common: Common) -> tuple[Edge, ...]:
    """All edges of a room: `surfaces` are its own, by ref; `reveals` those of the whole drawing."""
    found = _Numbered(parts.room.ref)
    solid = [wall for wall in parts.walls if wall.ref in surfaces]
    for corner in parts.corners:
        _corner(found, parts, corner)
    for wall in rounded_angles(parts, common):
        kind = "internal angle" if (wall.run.radius_m or 0) > 0 else "external angle"
        height = wall.profile.area() / wall.profile.length
        how = f"{metres(height)} high, rounded to {metres(abs(wall.run.radius_m or 0))}"
        found.add(kind, height, how, [wall.ref], at=wall.run.point_at(wall.profile.length / 2), curved=True)
    for wall in solid:
        for placed in wall.placed:
            _round_opening(found, parts, wall, placed, reveals)
    ceilings = [s for s in surfaces.values() if s.kind == "ceiling"]
    for wall in solid:
        _top_edge(found, parts, wall, ceilings)
    _pitch_lines(found, parts, ceilings)
    return tuple(found.edges)


def rounded_angles(parts: RoomParts, common: Common) -> tuple[Wall, ...]:
    """The curved walls so tight that they are the rounding of an angle, not a wall."""
    limit = common.rounded_angle_max_radius_m
    return tuple(
        wall
        for wall in parts.walls
        if wall.run.radius_m is not None and abs(wall.run.radius_m) <= limit + 1e-9 and not wall.run.whole_ring
    )


def _corner(found: _Numbered, parts: RoomParts, corner: Corner) -> None:
    """The angle of two walls, less where an opening that comes right up to the corner leaves nothing to meet."""
    before, after = parts.walls[corner.before], parts.walls[corner.after]
    height = min(before.profile.points[0][1], after.profile.points[-1][1])
    gaps = [p for p in before.placed if p.lo <= NIB_M] + [p for p in after.placed if p.hi >= after.run.length_m - NIB_M]
    length, bottom = 0.0, 0.0
    for gap in sorted(gaps, key=lambda p: p.sill):
        length += max(0.0, min(gap.sill, height) - bottom)
        bottom = max(bottom, gap.jamb_top)
    length += max(0.0, height - bottom)
    less = "".join(f", less {p.opening.ref}" for p in gaps)
    kind = "external angle" if corner.external else "internal angle"
    found.add(kind, length, f"{metres(height)} high{less}", [before.ref, after.ref], at=corner.at)


def _round_opening(found: _Numbered, parts: RoomParts, wall: Wall, placed: Placed, reveals: Reveals) -> None:
    """Arrises where a plastered reveal turns out of the face; stops where plaster ends against frame or lining."""
    ref, finish = placed.opening.ref, placed.finish
    for side in sides_of(wall, placed):
        at = None if side.along is None else wall.run.point_at(side.along)
        reveal = reveals.at(wall, placed, side.part)
        how = f"{side.part} of {ref}, {metres(side.length_m)}"
        bent = side.radius_m is not None
        if bent:
            how += " along the arch"
        if reveal is None:
            if side.part != "cill":
                found.add("stop", side.length_m, how, [wall.ref], ref, at, bent)
            continue
        meets = [wall.ref, reveal.ref]
        if not _flush(parts, wall, placed, side):
            found.add("opening angle", side.length_m, how, meets, ref, at, bent or (wall.run.curved and at is None))
        if not finish.through:
            found.add("stop", side.length_m, f"{how}, at the frame", [reveal.ref], ref, at, bent)


def _flush(parts: RoomParts, wall: Wall, placed: Placed, side: Side) -> bool:
    """Whether the jamb runs on from the wall round an internal corner, so that there is no arris."""
    index = parts.walls.index(wall)
    if side.part == "left" and placed.lo <= NIB_M:
        return any(c.before == index and not c.external for c in parts.corners)
    if side.part == "right" and placed.hi >= wall.run.length_m - NIB_M:
        return any(c.after == index and not c.external for c in parts.corners)
    return False


def _top_edge(found: _Numbered, parts: RoomParts, wall: Wall, ceilings: Sequence[Surface]) -> None:
    """The joint with the ceiling, less openings that go up to it; a free edge where the wall stops short of it."""
    gaps = [gap for p in wall.placed for gap in reaches_top(wall, p)]
    length = wall.profile.top_length(gaps)
    less = f", less {metres(wall.profile.top_length() - length)} of openings" if gaps else ""
    if wall.free_top:
        found.add("stop", length, f"top of the plaster, {metres(wall.profile.top_length())}{less}", [wall.ref])
        return
    meets = [wall.ref, *(c.ref for c in ceilings if c.part in _pieces_over(wall, parts.top))]
    how = f"{metres(wall.profile.top_length())} along the top of the wall{less}"
    found.add("wall to ceiling", length, how, meets, curved=wall.run.curved)


def _pieces_over(wall: Wall, top: Top) -> set[str]:
    """Which pieces of ceiling the wall meets: 'slope', 'flat' or both."""
    if not top.slopes:
        return {"flat"}
    depths = [top.depth(wall.run.point_at((a[0] + b[0]) / 2)) for a, b in pairwise(wall.profile.points)]
    return {"slope" if -SHORT_M < d < top.run_m - SHORT_M else "flat" for d in depths}


def _pitch_lines(found: _Numbered, parts: RoomParts, ceilings: Sequence[Surface]) -> None:
    """Where a slope meets a level ceiling, beyond it or behind the low side."""
    if not parts.top.slopes or not ceilings:
        return
    shell = Polygon(parts.room.outline)
    rises = parts.top.high_m > parts.top.low_m
    for depth, inward in ((parts.top.run_m, rises), (0.0, not rises)):
        # A wall along the line is no change of pitch: only where there is ceiling on both sides of the line is one.
        length = min(_across(shell, parts.top, depth - BESIDE_M), _across(shell, parts.top, depth + BESIDE_M))
        kind = "internal angle" if inward else "external angle"
        found.add(kind, length, f"{metres(length)} along the change of pitch", [c.ref for c in ceilings])


def _across(shell: Polygon, top: Top, depth: float) -> float:
    """Metres of the line at `depth` that lie over the room."""
    line = LineString([_plan_point(top, -FAR_M, depth), _plan_point(top, FAR_M, depth)])
    return float(line.intersection(shell).length)


def _plan_point(top: Top, along: float, depth: float) -> Point:
    (nx, ny), (x, y) = top.inward, top.origin
    return (x + along * ny + depth * nx, y - along * nx + depth * ny)
