"""Rooms drawn at random for the property tests: square-cornered outlines with windows in their walls."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn
from shapely import Polygon, box, unary_union
from shapely.geometry.polygon import orient

from takeoff.plan.model import Opening, Plan
from tests.measure.plans import RoomSpec, Xy, opening, plan

OUT_M = 0.15
"""Openings lie this far behind the face: the middle of a wall 0.30 thick."""


@dataclass(frozen=True)
class Drawn:
    """A room's outline, counter-clockwise, with its openings."""

    outline: tuple[Xy, ...]
    openings: tuple[Opening, ...]
    height: float

    def plan(self, broken: bool = True) -> Plan:
        return plan(RoomSpec(self.outline, self.height), openings=self.openings, broken=broken)

    def moved(self, dx: float, dy: float) -> Drawn:
        return self._mapped(lambda p: (p[0] + dx, p[1] + dy))

    def turned(self, degrees: float) -> Drawn:
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return self._mapped(lambda p: (c * p[0] - s * p[1], s * p[0] + c * p[1]))

    def mirrored(self) -> Drawn:
        seen = self._mapped(lambda p: (-p[0], p[1]))
        return replace(seen, outline=seen.outline[::-1])

    def begun_at(self, corner: int) -> Drawn:
        n = corner % len(self.outline)
        return replace(self, outline=self.outline[n:] + self.outline[:n])

    def split(self, parts: int) -> Drawn:
        """Every side cut into `parts` equal sides."""
        points = [
            (p[0] + (q[0] - p[0]) * k / parts, p[1] + (q[1] - p[1]) * k / parts)
            for p, q in pairwise([*self.outline, self.outline[0]])
            for k in range(parts)
        ]
        return replace(self, outline=tuple(points))

    def _mapped(self, move: object) -> Drawn:
        assert callable(move)
        openings = tuple(replace(o, at=move(o.at)) for o in self.openings)
        return replace(self, outline=tuple(move(p) for p in self.outline), openings=openings)


@st.composite
def outlines(draw: DrawFn) -> tuple[Xy, ...]:
    """A square-cornered outline without holes: cells of an uneven grid grown together, sides 0.4 m and more."""
    xs = _grid(draw)
    ys = _grid(draw)
    cells = {(1, 1)}
    for _ in range(draw(st.integers(0, 7))):
        near = sorted(
            (i + a, j + b)
            for i, j in cells
            for a, b in ((1, 0), (-1, 0), (0, 1), (0, -1))
            if 0 <= i + a < 4 and 0 <= j + b < 4 and (i + a, j + b) not in cells
        )
        cells.add(draw(st.sampled_from(near)))
    shape = unary_union([box(xs[i], ys[j], xs[i + 1], ys[j + 1]) for i, j in sorted(cells)])
    if shape.geom_type != "Polygon" or shape.interiors:
        shape = shape.convex_hull.envelope
    corners = orient(shape).exterior.coords[:-1]
    return tuple((x, y) for n, (x, y) in enumerate(corners) if not _straight(corners, n))


@st.composite
def rooms(draw: DrawFn) -> Drawn:
    """A room with up to four windows, at most one in a side, clear of its ends."""
    outline = draw(outlines())
    height = draw(st.sampled_from([2.0, 2.4, 2.75, 3.6, 5.2]))
    sides = list(pairwise([*outline, outline[0]]))
    chosen = draw(st.lists(st.integers(0, len(sides) - 1), unique=True, max_size=4))
    windows = []
    for n, side in enumerate(sorted(chosen), 1):
        (x0, y0), (x1, y1) = sides[side]
        length = math.dist((x0, y0), (x1, y1))
        width = draw(st.floats(0.1, 0.6)) * length
        at = draw(st.floats(0.35, 0.65))
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        middle = (x0 + (x1 - x0) * at + uy * OUT_M, y0 + (y1 - y0) * at - ux * OUT_M)
        tall, sill = draw(st.floats(0.2, 1.4)), draw(st.floats(0.0, 1.0))
        windows.append(opening(f"W{n}", middle, width, tall, sill, 2 * OUT_M))
    return Drawn(outline, tuple(windows), height)


def _grid(draw: DrawFn) -> list[float]:
    steps = draw(st.lists(st.integers(4, 40), min_size=4, max_size=4))
    lines = [0.0]
    for step in steps:
        lines.append(lines[-1] + step / 10)
    return lines


def _straight(corners: list[Xy], n: int) -> bool:
    a, b, c = corners[n - 1], corners[n], corners[(n + 1) % len(corners)]
    return Polygon([a, b, c]).area < 1e-9
