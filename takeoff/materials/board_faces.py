"""A surface turned the way its sheets run, and cut into what lies between two joints. Millimetres.

Terms:
  face     a surface in the frame of its sheets: x across the sheets, y along their length, the side that is seen
           towards the reader. Walls are turned, never mirrored; ceilings, drawn from above, are mirrored.
  slab     an upright strip of a face between neighbouring corners: in it the solid parts are plain trapezoids.
  part     what is left of the face between two joints in one piece: it may have notches where openings are.
  gap      the place of an opening: no joint may run in line with its sides.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin
from typing import Any

import numpy as np
from shapely import Polygon, box, get_parts, union_all
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry

from takeoff.materials.board_tolerances import SAME_MM, SAME_PLACE_MM, SPECK_MM
from takeoff.measure.model import Surface

__all__ = ["Face", "Gap", "Part", "Taken", "Trapezoid", "face_of"]

MM = 1000.0
ROUND_MM = 3
"""Places of a millimetre kept: coordinates carry the noise of the drawing's arithmetic."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Trapezoid:
    """Solid between x0 and x1: from y `low0` to `high0` at x0, `low1` to `high1` at x1."""

    x0: float
    x1: float
    low0: float
    high0: float
    low1: float
    high1: float

    def cut(self, lo: float, hi: float) -> Trapezoid | None:
        """What of it lies between x `lo` and `hi`."""
        a, b = max(lo, self.x0), min(hi, self.x1)
        if b - a < SAME_MM:
            return None
        if a == self.x0 and b == self.x1:
            return self
        return Trapezoid(a, b, *self._at(a), *self._at(b))

    def between(self, lo: float, hi: float) -> Trapezoid | None:
        """What of it lies between y `lo` and `hi`; None where that is no trapezoid."""
        if (self.low0 >= lo) != (self.low1 >= lo) or (self.high0 <= hi) != (self.high1 <= hi):
            return None
        if max(self.low0, self.low1) >= hi or min(self.high0, self.high1) <= lo:
            return None
        low = (self.low0, self.low1) if self.low0 >= lo else (lo, lo)
        high = (self.high0, self.high1) if self.high0 <= hi else (hi, hi)
        return Trapezoid(self.x0, self.x1, low[0], high[0], low[1], high[1])

    @property
    def polygon(self) -> Polygon:
        return Polygon([(self.x0, self.low0), (self.x1, self.low1), (self.x1, self.high1), (self.x0, self.high0)])

    def _at(self, x: float) -> tuple[float, float]:
        t = (x - self.x0) / (self.x1 - self.x0)
        return self.low0 + t * (self.low1 - self.low0), self.high0 + t * (self.high1 - self.high0)


@dataclass(frozen=True, slots=True)
class Gap:
    """The rectangle round an opening."""

    x0: float
    x1: float
    y0: float
    y1: float


@dataclass(frozen=True, slots=True)
class Part:
    """One piece between two joints, before it is cut to a sheet's length: the box round it and what it is made of."""

    x0: float
    x1: float
    y0: float
    y1: float
    trapezoids: tuple[Trapezoid, ...]

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def length(self) -> float:
        return self.y1 - self.y0

    @property
    def area(self) -> float:
        """In square millimetres."""
        return sum((t.x1 - t.x0) * (t.high0 - t.low0 + t.high1 - t.low1) / 2 for t in self.trapezoids)

    @property
    def is_rectangle(self) -> bool:
        return self.width * self.length - self.area < SPECK_MM**2

    @property
    def shape(self) -> BaseGeometry:
        """Its polygon."""
        whole = union_all([t.polygon for t in self.trapezoids])
        return whole if whole.geom_type == "Polygon" else whole.buffer(SAME_MM).buffer(-SAME_MM)

    def cut_at(self, joints: Sequence[float]) -> tuple[Part, ...]:
        """The pieces that end joints at these y cut it into, from below."""
        if not joints:
            return (self,)
        pieces: list[Part] = []
        for lo, hi in pairwise((self.y0, *joints, self.y1)):
            if self.is_rectangle:
                pieces.append(Part(self.x0, self.x1, lo, hi, (Trapezoid(self.x0, self.x1, lo, hi, lo, hi),)))
                continue
            inside = [t for t in self.trapezoids if min(t.low0, t.low1) < hi and max(t.high0, t.high1) > lo]
            level = [t.between(lo, hi) for t in inside]
            if all(level):
                pieces += _joined(_columns([t for t in level if t is not None]))
                continue
            cut = self.shape.intersection(box(self.x0, lo, self.x1, hi))
            for polygon in get_parts(cut).tolist():
                if polygon.geom_type == "Polygon" and polygon.area > SPECK_MM**2:
                    pieces += _joined([list(slab) for slab in _slabs(polygon) if slab])
        return tuple(pieces)


@dataclass(frozen=True, slots=True)
class Taken:
    """What a part between two joints takes, whatever off-cuts are at hand."""

    width: float
    length: float
    """Of one piece: the part's, or the longest sheet that serves; 0 where none does."""
    left: bool
    right: bool
    times: float
    """So many pieces make the part."""
    free: float
    """Worth of the board in its notches were it all used, as a cost."""
    weight: float


@dataclass
class Known:
    """What was worked out of the shape of a face."""

    slabs: tuple[tuple[Trapezoid, ...], ...] = ()
    parts: dict[tuple[float, float], tuple[Part, ...]] = field(default_factory=dict)
    """Parts between joints."""
    cut: dict[tuple[float, float, float, float, tuple[float, ...]], tuple[Part, ...]] = field(default_factory=dict)
    """Pieces of the part with this box between end joints."""
    columns: dict[tuple[float, float], tuple[Taken, ...]] = field(default_factory=dict)
    """What the parts between two joints take."""
    rows: dict[tuple[float, ...], Any] = field(default_factory=dict)
    """Rows by the joints between columns (see `board_ends`)."""
    pieces: dict[tuple[tuple[float, ...], tuple[tuple[float, ...], ...]], Any] = field(default_factory=dict)
    """Pieces without names, by joints and end joints (see `board_pieces`)."""
    choices: dict[Hashable, Any] = field(default_factory=dict)
    """Layouts by surface, joints, framing and joints beneath (see `board_choice`)."""
    tried: dict[Hashable, Any] = field(default_factory=dict)
    """Layouts that were best before, by framing and joints beneath (see `board_choice`)."""


@dataclass(frozen=True)
class Face:
    surface: Surface
    direction: str
    """'up' or 'along' on walls; 'long' or 'short' on ceilings: which way the sheets' length runs."""
    shape: BaseGeometry
    matrix: tuple[float, float, float, float, float, float]
    """Surface millimetres to face millimetres: shapely's a b d e x y."""
    gaps: tuple[Gap, ...]
    known: Known = field(default_factory=lambda: Known(), compare=False, repr=False)
    """What was worked out once, shared by all faces of one shape."""

    @cached_property
    def width(self) -> float:
        """Across the sheets."""
        return float(self.shape.bounds[2])

    @cached_property
    def length(self) -> float:
        """Along the sheets."""
        return float(self.shape.bounds[3])

    @property
    def slabs(self) -> tuple[tuple[Trapezoid, ...], ...]:
        """Left to right; in each the solid parts from below."""
        if not self.known.slabs:
            self.known.slabs = _slabs(self.shape)
        return self.known.slabs

    def solid_at(self, x: float) -> list[tuple[float, float]]:
        """Where a line across the face at x is solid: from y to y."""
        for slab in self.slabs:
            if slab and slab[0].x0 - SAME_MM <= x <= slab[0].x1 + SAME_MM:
                cuts = [t._at(min(max(x, t.x0), t.x1)) for t in slab]
                return [(lo, hi) for lo, hi in cuts if hi - lo > SAME_MM]
        return []

    def parts(self, lo: float, hi: float) -> tuple[Part, ...]:
        """What the face is made of between two joints at x `lo` and `hi`."""
        parts = self.known.parts
        if (lo, hi) not in parts:
            parts[lo, hi] = self._parts(lo, hi)
        return parts[lo, hi]

    def cut(self, part: Part, joints: tuple[float, ...]) -> tuple[Part, ...]:
        """The pieces that end joints cut a part of this face into, from below."""
        if not joints or part.is_rectangle:
            return part.cut_at(joints)
        key = (part.x0, part.x1, part.y0, part.y1, joints)
        if key not in self.known.cut:
            self.known.cut[key] = part.cut_at(joints)
        return self.known.cut[key]

    def _parts(self, lo: float, hi: float) -> tuple[Part, ...]:
        columns = [
            [cut for t in slab if (cut := t.cut(lo, hi)) is not None] for slab in self.slabs if slab and slab[0].x1 > lo
        ]
        return _joined([column for column in columns if column])

    def to_surface(self, geometry: BaseGeometry) -> BaseGeometry:
        """A geometry of the face back in the surface's own frame, in metres."""
        a, b, d, e, x, y = self.matrix
        scale = a * e - b * d
        back = [e / scale, -b / scale, -d / scale, a / scale]
        offset = [-(back[0] * x + back[1] * y), -(back[2] * x + back[3] * y)]
        return affine_transform(geometry, [v / MM for v in (*back, *offset)])


def face_of(surface: Surface, direction: str) -> Face | None:
    """The face of `surface` with its sheets running in `direction`; None where its shape is not known or is nothing."""
    shape = _solid(surface)
    if shape.is_empty or shape.area < SPECK_MM**2:
        return None
    turn = _turn(surface, direction, shape)
    turned = affine_transform(shape, [*turn, 0.0, 0.0])
    x0, y0 = turned.bounds[:2]
    matrix = (*turn, -x0, -y0)
    placed = _rounded(affine_transform(shape, list(matrix)))
    gaps = []
    for hole in surface.holes:
        ring = affine_transform(Polygon([(x * MM, y * MM) for x, y in hole]), list(matrix))
        gaps.append(Gap(*(float(ring.bounds[i]) for i in (0, 2, 1, 3))))
    return Face(surface, direction, placed, matrix, tuple(gaps))


def _solid(surface: Surface) -> BaseGeometry:
    """The surface less its openings, in millimetres."""
    outline = surface.outline
    if len(outline) < 3:
        outline = ((0, 0), (surface.length_m, 0), (surface.length_m, surface.height_m), (0, surface.height_m))
    shape: BaseGeometry = Polygon([(x * MM, y * MM) for x, y in outline])
    if not shape.is_valid:
        shape = shape.buffer(0)
    for hole in surface.holes:
        ring = Polygon([(x * MM, y * MM) for x, y in hole])
        shape = shape.difference(ring if ring.is_valid else ring.buffer(0))
    return shape


def _turn(surface: Surface, direction: str, shape: BaseGeometry) -> tuple[float, float, float, float]:
    """The turn (a b d e) from the surface to the face: x across the sheets, y along them."""
    if surface.kind != "ceiling":
        return (1.0, 0.0, 0.0, 1.0) if direction == "up" else (0.0, 1.0, -1.0, 0.0)
    angle = _main_direction(shape)
    c, s = cos(angle), sin(angle)
    along = affine_transform(shape, [c, s, -s, c, 0.0, 0.0]).bounds
    wide = along[2] - along[0] >= along[3] - along[1]
    first_is_length = wide == (direction == "long")
    first, second = (c, s), (-s, c)
    if first_is_length:
        return (*second, *first)
    return (-first[0], -first[1], *second)


def _main_direction(shape: BaseGeometry) -> float:
    """The direction, within a quarter turn, that most of the outline's length runs in or across."""
    outline = shape.geoms[0] if hasattr(shape, "geoms") else shape
    points = np.asarray(outline.exterior.coords)
    steps = np.diff(points, axis=0)
    best: dict[int, tuple[float, float]] = {}
    for dx, dy in steps.tolist():
        length, angle = hypot(dx, dy), atan2(dy, dx) % (pi / 2)
        key = round(angle / (pi / 2) * 360) % 360
        total, longest = best.get(key, (0.0, 0.0))
        keep = longest if total and length < total else angle
        best[key] = (total + length, keep)
    return max(best.items(), key=lambda item: (round(item[1][0], 3), -item[0]))[1][1]


def _rounded(shape: BaseGeometry) -> BaseGeometry:
    """Coordinates to the micrometre, so that equal places are equal numbers."""
    from shapely import transform

    rounded = transform(shape, lambda xy: np.round(xy, ROUND_MM) + 0.0)
    return rounded if rounded.is_valid else rounded.buffer(0)


def _slabs(shape: BaseGeometry) -> tuple[tuple[Trapezoid, ...], ...]:
    edges = []
    for polygon in get_parts(shape).tolist():
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.asarray(ring.coords)
            edges.append(np.hstack([points[:-1], points[1:]]))
    e = np.vstack(edges)
    swap = e[:, 0] > e[:, 2]
    e[swap] = e[swap][:, [2, 3, 0, 1]]
    xs = np.unique(np.round(np.concatenate([e[:, 0], e[:, 2]]), ROUND_MM))
    e = e[e[:, 2] - e[:, 0] > SAME_MM]
    return tuple(_slab(e, a, b) for a, b in pairwise(xs.tolist()))


def _slab(edges: np.ndarray, a: float, b: float) -> tuple[Trapezoid, ...]:
    """The solid trapezoids between x `a` and `b`: edges that cross the middle, paired from below."""
    middle = (a + b) / 2
    crossing = edges[(edges[:, 0] < middle) & (edges[:, 2] > middle)]
    slope = (crossing[:, 3] - crossing[:, 1]) / (crossing[:, 2] - crossing[:, 0])
    at_a = crossing[:, 1] + slope * (a - crossing[:, 0])
    at_b = crossing[:, 1] + slope * (b - crossing[:, 0])
    order = np.argsort(at_a + at_b, kind="stable")
    ya, yb = np.round(at_a[order], ROUND_MM).tolist(), np.round(at_b[order], ROUND_MM).tolist()
    pairs = zip(ya[::2], ya[1::2], yb[::2], yb[1::2], strict=True)
    found = (Trapezoid(a, b, low0, max(low0, high0), low1, max(low1, high1)) for low0, high0, low1, high1 in pairs)
    return tuple(t for t in found if t.high0 - t.low0 > SAME_MM or t.high1 - t.low1 > SAME_MM)


def _columns(trapezoids: Sequence[Trapezoid]) -> list[list[Trapezoid]]:
    """Trapezoids by slab, left to right."""
    slabs: dict[float, list[Trapezoid]] = {}
    for t in trapezoids:
        slabs.setdefault(t.x0, []).append(t)
    return [slabs[x] for x in sorted(slabs)]


def _joined(columns: list[list[Trapezoid]]) -> tuple[Part, ...]:
    """Trapezoids of neighbouring slabs gathered where they touch along a length."""
    groups: list[list[Trapezoid]] = []
    open_groups: list[tuple[Trapezoid, int]] = []
    parent: list[int] = []

    def root(n: int) -> int:
        while parent[n] != n:
            n = parent[n]
        return n

    for column in columns:
        following = []
        for t in column:
            met = {root(g) for before, g in open_groups if _touch(before, t)}
            if not met:
                parent.append(len(parent))
                groups.append([])
                met = {len(parent) - 1}
            keep = min(met)
            for other in met:
                parent[other] = keep
            groups[keep].append(t)
            following.append((t, keep))
        open_groups = following
    whole: dict[int, list[Trapezoid]] = {}
    for n, members in enumerate(groups):
        whole.setdefault(root(n), []).extend(members)
    return tuple(_part(members) for members in whole.values())


def _touch(before: Trapezoid, after: Trapezoid) -> bool:
    if abs(before.x1 - after.x0) > SAME_MM:
        return False
    return min(before.high1, after.high0) - max(before.low1, after.low0) > SAME_PLACE_MM


def _part(members: list[Trapezoid]) -> Part:
    return Part(
        min(t.x0 for t in members),
        max(t.x1 for t in members),
        min(min(t.low0, t.low1) for t in members),
        max(max(t.high0, t.high1) for t in members),
        tuple(members),
    )
