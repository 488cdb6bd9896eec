"""Wall runs: the sides of a room's outline joined into walls, so that one wall is one surface with its openings.

Terms:
  run       neighbouring sides in one plane (or on one circle), across the openings between them.
  corner    where two runs meet: 'internal' (the room's corner) or 'external' (a corner that stands into the room).
  open run  no wall at all: an assumed line with another room straight behind it.
  left end  of a run, seen from inside the room: outlines go round with the room on the left, so it is the run's end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, degrees, dist, hypot, inf

from takeoff.plan.model import Plan, Room, Side

__all__ = ["Corner", "Run", "corners_of", "open_sides", "runs_of"]

Point = tuple[float, float]

FLAT_M = 0.005
"""Sides belong to one wall while every joint lies this near its straight line: less than a coat of plaster."""
SAME_CIRCLE = 0.02
"""Two arcs are one curved wall while centre and radius agree to this part of the radius."""
CORNER_DEGREES = 10.0
"""A smaller change of direction is no angle: it gets neither bead nor trowelled corner (common practice)."""
SAME_LINE_M = 0.01


@dataclass(frozen=True, slots=True)
class Circle:
    centre: Point
    radius: float

    def same_as(self, other: Circle | None) -> bool:
        if other is None:
            return False
        slack = SAME_CIRCLE * self.radius + FLAT_M
        return abs(self.radius - other.radius) <= slack and dist(self.centre, other.centre) <= slack


@dataclass(frozen=True, slots=True)
class Run:
    """One wall. `starts` are the sides' places along the run, from the run's start in outline order, in metres."""

    sides: tuple[Side, ...]
    starts: tuple[float, ...]
    length_m: float
    circle: Circle | None = None
    open: bool = False

    @property
    def start(self) -> Point:
        return self.sides[0].start

    @property
    def end(self) -> Point:
        return self.sides[-1].end

    @property
    def ring(self) -> int:
        return self.sides[0].ring

    @property
    def curved(self) -> bool:
        return self.circle is not None

    @property
    def radius_m(self) -> float | None:
        """Of a curved wall; positive bulges out of the room."""
        return next((s.radius_m for s in self.sides if s.radius_m is not None), None) if self.curved else None

    @property
    def whole_ring(self) -> bool:
        """A run that ends where it starts: a round column."""
        return self.curved and dist(self.start, self.end) < FLAT_M

    def widest(self) -> Side:
        """The side that speaks for the wall: its longest that is wall, else its longest."""
        walls = [s for s in self.sides if s.support != "opening"]
        return max(walls or self.sides, key=lambda s: s.length_m)

    def path(self) -> tuple[tuple[float, Point], ...]:
        """(along, plan point) from the left end to the right end; a curve has a point per chord."""
        if not self.curved:
            return ((0.0, self.end), (self.length_m, self.start))
        outward: list[tuple[float, Point]] = []
        for side, start in zip(self.sides, self.starts, strict=True):
            outward += _chords(side, start)[1 if outward else 0 :]
        return tuple((self.length_m - s, p) for s, p in reversed(outward))

    def point_at(self, along: float) -> Point:
        """The plan point `along` metres from the left end, on the face."""
        path = self.path()
        for (s0, p), (s1, q) in pairwise(path):
            if along <= s1 or s1 == path[-1][0]:
                t = 0.0 if s1 == s0 else min(1.0, max(0.0, (along - s0) / (s1 - s0)))
                return (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]))
        return path[-1][1]


@dataclass(frozen=True, slots=True)
class Corner:
    """Where run `before` ends and run `after` starts (indices into the room's runs)."""

    at: Point
    before: int
    after: int
    external: bool


def open_sides(plan: Plan) -> frozenset[str]:
    """Refs of the assumed sides that have another room straight behind them: open space, no wall.

    A line that splits one space into two rooms makes such sides.
    """
    from shapely import LineString, STRtree, points

    assumed = [(r.ref, s) for r in plan.rooms for s in r.sides if s.support == "assumed" and s.length_m > 0]
    if not assumed:
        return frozenset()
    others = [(r.ref, s) for r in plan.rooms for s in r.sides]
    tree = STRtree([LineString([s.start, s.end]) for _, s in others])
    middles = points([((s.start[0] + s.end[0]) / 2, (s.start[1] + s.end[1]) / 2) for _, s in assumed])
    near = tree.query(middles, predicate="dwithin", distance=SAME_LINE_M)
    return frozenset(
        assumed[i][1].ref
        for i, j in near.T
        if others[j][0] != assumed[i][0] and abs(_turn(_heading(assumed[i][1]), _heading(others[j][1]))) > 170
    )


def runs_of(room: Room, open_refs: frozenset[str]) -> tuple[Run, ...]:
    """The wall runs of `room` in outline order: the first holds the room's first side; holes follow ring by ring."""
    rings: dict[int, list[Side]] = {}
    for side in room.sides:
        if side.length_m > 0:
            rings.setdefault(side.ring, []).append(side)
    return tuple(run for ring in sorted(rings) for run in _ring_runs(rings[ring], open_refs))


def corners_of(runs: Sequence[Run]) -> tuple[Corner, ...]:
    """The corners between neighbouring runs of each ring, in outline order. Open runs have none."""
    rings: dict[int, list[int]] = {}
    for index, run in enumerate(runs):
        rings.setdefault(run.ring, []).append(index)
    found = []
    for members in rings.values():
        for before, after in zip(members, members[1:] + members[:1], strict=True):
            if before == after or runs[before].open or runs[after].open:
                continue
            turn = _turn(_leaving(runs[before]), _entering(runs[after]))
            if abs(turn) >= CORNER_DEGREES:
                found.append(Corner(runs[after].start, before, after, external=turn < 0))
    return tuple(found)


def _ring_runs(sides: list[Side], open_refs: frozenset[str]) -> list[Run]:
    circles = _circles(sides)
    count = len(sides)
    first = max(range(count), key=lambda i: _break(sides, circles, open_refs, i))
    if _break(sides, circles, open_refs, first) <= 0:
        return [_run(sides, circles[0], open_refs)]
    order = [(first + k) % count for k in range(count)]
    groups: list[list[int]] = [[order[0]]]
    for i in order[1:]:
        if _break(sides, circles, open_refs, i) < inf and _joins([sides[k] for k in groups[-1]], sides[i], circles[i]):
            groups[-1].append(i)
        else:
            groups.append([i])
    home = next(n for n, group in enumerate(groups) if 0 in group)
    return [_run([sides[i] for i in g], circles[g[0]], open_refs) for g in groups[home:] + groups[:home]]


def _break(sides: list[Side], circles: list[Circle | None], open_refs: frozenset[str], i: int) -> float:
    """How surely a new wall starts at side `i`: infinite where it must, else the change of direction in degrees."""
    before, after, circle = sides[i - 1], sides[i], circles[i - 1]
    if (before.ref in open_refs) != (after.ref in open_refs) or (circle is None) != (circles[i] is None):
        return inf
    if len(_wall_types((before, after))) > 1:
        return inf
    if circle is not None:
        return 0.0 if circle.same_as(circles[i]) else inf
    return abs(_turn(_heading(before), _heading(after)))


def _joins(group: list[Side], side: Side, circle: Circle | None) -> bool:
    """Whether `side` goes on in the plane of `group`, or on its circle, as a wall of the same type."""
    if len(_wall_types((*group, side))) > 1:
        return False
    if circle is not None:
        return True
    start, end = group[0].start, side.end
    run = (end[0] - start[0], end[1] - start[1])
    length = hypot(*run)
    if length == 0 or any(_dot(run, _heading(s)) <= 0 for s in (*group, side)):
        return False
    return all(abs(run[0] * (s.end[1] - start[1]) - run[1] * (s.end[0] - start[0])) <= FLAT_M * length for s in group)


def _wall_types(sides: Sequence[Side]) -> set[str]:
    """What is known of the walls of `sides`: openings do not count."""
    return {s.wall_type for s in sides if s.support != "opening"} - {"unknown"}


def _run(sides: Sequence[Side], circle: Circle | None, open_refs: frozenset[str]) -> Run:
    starts, at = [], 0.0
    for side in sides:
        starts.append(at)
        at += side.length_m
    return Run(tuple(sides), tuple(starts), at, circle, sides[0].ref in open_refs)


def _circles(sides: list[Side]) -> list[Circle | None]:
    """The circle of each curved side, and of each opening that interrupts one; None for straight sides."""
    own = [_circle(side) for side in sides]
    found = list(own)
    for i, side in enumerate(sides):
        before, after = own[i - 1], own[(i + 1) % len(sides)]
        if own[i] is None and side.support == "opening" and before is not None and before.same_as(after):
            found[i] = before
    return found


def _circle(side: Side) -> Circle | None:
    """Through three chord points of a curved side. None for a straight one."""
    if side.radius_m is None or len(side.points) < 3:
        return None
    third = (len(side.points) - 1) / 3
    a, b, c = (side.points[round(k * third)] for k in (0, 1, 2)) if len(side.points) > 3 else side.points
    bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    twice = 2 * (bx * cy - by * cx)
    if twice == 0:
        return None
    ux = (cy * (bx * bx + by * by) - by * (cx * cx + cy * cy)) / twice
    uy = (bx * (cx * cx + cy * cy) - cx * (bx * bx + by * by)) / twice
    return Circle((a[0] + ux, a[1] + uy), hypot(ux, uy))


def _chords(side: Side, start: float) -> list[tuple[float, Point]]:
    """(place along the run in outline order, point) of a side's chord points, stretched to its arc length."""
    points = side.points or (side.start, side.end)
    lengths = [dist(p, q) for p, q in pairwise(points)]
    scale = side.length_m / sum(lengths)
    found, at = [(start, points[0])], start
    for length, point in zip(lengths, points[1:], strict=True):
        at += length * scale
        found.append((at, point))
    return found


def _heading(side: Side) -> Point:
    return (side.end[0] - side.start[0], side.end[1] - side.start[1])


def _leaving(run: Run) -> Point:
    """Direction of travel at the run's end: its tangent where curved."""
    return _tangent(run, run.end) if run.circle else _straight(run)


def _entering(run: Run) -> Point:
    return _tangent(run, run.start) if run.circle else _straight(run)


def _straight(run: Run) -> Point:
    return (run.end[0] - run.start[0], run.end[1] - run.start[1])


def _tangent(run: Run, at: Point) -> Point:
    """Direction of travel on the run's circle at `at`: a wall that bulges out of the room turns left."""
    assert run.circle is not None
    rx, ry = at[0] - run.circle.centre[0], at[1] - run.circle.centre[1]
    return (-ry, rx) if (run.radius_m or 0.0) > 0 else (ry, -rx)


def _turn(before: Point, after: Point) -> float:
    """Degrees from direction `before` to `after`, left positive, -180 to 180."""
    cross = before[0] * after[1] - before[1] * after[0]
    return degrees(atan2(cross, _dot(before, after)))


def _dot(a: Point, b: Point) -> float:
    return a[0] * b[0] + a[1] * b[1]
