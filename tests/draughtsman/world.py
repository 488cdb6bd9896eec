"""What was really built: rooms, openings and walls with exact shapes, before anyone draws them.

Terms:
  room      polygon of the finished faces, metres.
  band      the strip of wall left between two rooms by a cut.
  inside    rooms and the bands between them, in one polygon: what the outer wall encloses.
  run       the centre line of one wall with its thickness.
  facing    a stretch of wall that two rooms (or a room and outdoors) share face to face, where an opening can go.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

import numpy as np
from shapely import LineString, Point, Polygon, STRtree, affinity, union_all
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

Xy = tuple[float, float]
OPEN_OVER = 0.6
"""A room with more of its outline than this not drawn is open, as the corpus scorer has it (metres)."""


@dataclass(frozen=True)
class TrueRoom:
    polygon: Polygon
    name: str = ""
    optional: bool = False
    """A shaft, a courtyard: no harm whether it is reported or not."""
    undrawn: float = 0.0


@dataclass(frozen=True)
class TrueOpening:
    """`a` and `b` are the jambs in the middle of the wall; windows have the room to the left of a to b."""

    kind: str
    a: Xy
    b: Xy
    thick: float
    drawn: bool = True

    @property
    def width(self) -> float:
        return math.dist(self.a, self.b)

    @property
    def at(self) -> Xy:
        return ((self.a[0] + self.b[0]) / 2, (self.a[1] + self.b[1]) / 2)

    def strip(self, extra: float = 0.002, wider: float = 0.0) -> Polygon:
        """The wall's body that the opening takes away."""
        return strip(self.a, self.b, self.thick + extra, wider)


@dataclass(frozen=True)
class Building:
    """One storey. `columns` stand free; `arcs` are circles (centre, radius) that curved walls follow."""

    rooms: tuple[TrueRoom, ...]
    inside: Polygon
    outer_thick: float
    inner_thick: float
    openings: tuple[TrueOpening, ...] = ()
    runs: tuple[tuple[LineString, float], ...] = ()
    """Inner walls only; the outer one follows `inside`."""
    columns: tuple[Polygon, ...] = ()
    stairs: tuple[Polygon, ...] = ()
    arcs: tuple[tuple[Xy, float], ...] = ()
    title: str = ""

    @property
    def outline(self) -> Polygon:
        return self.inside.buffer(self.outer_thick, join_style="mitre")

    def body(self) -> BaseGeometry:
        """All wall, openings not yet cut, free columns apart."""
        return self.outline.difference(union_all([*(r.polygon for r in self.rooms), *self.columns]))

    def moved(self, dx: float, dy: float) -> Building:
        def g(shape: Any) -> Any:
            return affinity.translate(shape, dx, dy)

        def p(at: Xy) -> Xy:
            return (at[0] + dx, at[1] + dy)

        return replace(
            self, rooms=tuple(replace(r, polygon=g(r.polygon)) for r in self.rooms), inside=g(self.inside),
            openings=tuple(replace(o, a=p(o.a), b=p(o.b)) for o in self.openings),
            runs=tuple((g(line), t) for line, t in self.runs), columns=tuple(map(g, self.columns)),
            stairs=tuple(map(g, self.stairs)), arcs=tuple((p(c), r) for c, r in self.arcs))


def strip(a: Xy, b: Xy, thick: float, wider: float = 0.0) -> Polygon:
    """The rectangle `thick` wide about the line a to b, each end `wider` longer."""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    nx, ny = -uy * thick / 2, ux * thick / 2
    a = (a[0] - ux * wider, a[1] - uy * wider)
    b = (b[0] + ux * wider, b[1] + uy * wider)
    return Polygon([(a[0] + nx, a[1] + ny), (a[0] - nx, a[1] - ny), (b[0] - nx, b[1] - ny), (b[0] + nx, b[1] + ny)])


@dataclass(frozen=True)
class Facing:
    """The middle line of a shared stretch of wall, room `left` on the left of a to b, `right` -1 for outdoors."""

    a: Xy
    b: Xy
    thick: float
    left: int
    right: int

    @property
    def length(self) -> float:
        return math.dist(self.a, self.b)

    def part(self, start: float, width: float) -> tuple[Xy, Xy]:
        """The ends of a stretch `width` long that begins `start` from a."""
        ux, uy = ((self.b[k] - self.a[k]) / self.length for k in (0, 1))
        return ((self.a[0] + ux * start, self.a[1] + uy * start),
                (self.a[0] + ux * (start + width), self.a[1] + uy * (start + width)))


def facings(rooms: list[Polygon], outline: Polygon, inner: float, outer: float) -> list[Facing]:
    """Every stretch where two rooms face each other through a wall `inner` thick, or outdoors through `outer`."""
    edges = [(p, q, n) for n, room in enumerate(rooms) for p, q in directed(room)]
    edges += [(q, p, -1) for p, q in directed(outline)]
    lines = [LineString([p, q]) for p, q, _ in edges]
    found = []
    for i, j in zip(*STRtree(lines).query(lines, predicate="dwithin", distance=max(inner, outer) + 0.01), strict=True):
        if i < j:
            one = _facing(edges[i], edges[j], inner, outer)
            if one is not None:
                found.append(one)
    return sorted(found, key=lambda f: (f.left, f.right, f.a, f.b))


def directed(polygon: Polygon) -> list[tuple[Xy, Xy]]:
    """The edges of a polygon, its inside on the left of each."""
    polygon = orient(polygon)
    return [pair for ring in (polygon.exterior, *polygon.interiors) for pair in pairwise(ring.coords)]


def _facing(e: tuple[Xy, Xy, int], f: tuple[Xy, Xy, int], inner: float, outer: float) -> Facing | None:
    if e[2] == f[2]:
        return None
    if e[2] < 0:
        e, f = f, e
    p, q, r, s = (np.array(v) for v in (e[0], e[1], f[0], f[1]))
    along = (q - p) / (np.linalg.norm(q - p) or 1.0)
    other = (s - r) / (np.linalg.norm(s - r) or 1.0)
    if float(along @ other) > -0.99999:  # they must run against each other
        return None
    normal = np.array([along[1], -along[0]])  # away from e's room
    gap = float((r - p) @ normal)
    if abs(gap - (inner if f[2] >= 0 else outer)) > 1e-6:
        return None
    low, high = max(0.0, float((s - p) @ along)), min(float(np.linalg.norm(q - p)), float((r - p) @ along))
    if high - low < 0.3:
        return None
    a, b = p + along * low + normal * gap / 2, p + along * high + normal * gap / 2
    return Facing((float(a[0]), float(a[1])), (float(b[0]), float(b[1])), gap, e[2], f[2])


def truth_json(buildings: list[Building], metres_per_unit: float, name: str) -> dict[str, Any]:
    """The truth in the form of the shared corpus: rooms as polygons, openings by their middles, metres."""
    rooms = [r for b in buildings for r in b.rooms]
    return {
        "drawing": name, "metres_per_unit": metres_per_unit, "truth": "generated plan",
        "rooms": [
            {"name": r.name, "number": None, "polygons": [_rings(r.polygon)], "area_m2": r.polygon.area,
             "perimeter_m": r.polygon.length, "undrawn_m": r.undrawn, "optional": r.optional} for r in rooms],
        "openings": [
            {"kind": o.kind, "width_m": o.width, "at_m": list(o.at), "wall_thickness_m": o.thick, "drawn": o.drawn}
            for b in buildings for o in b.openings],
    }


def _rings(polygon: Polygon) -> list[list[list[float]]]:
    return [[list(p) for p in ring.coords] for ring in (polygon.exterior, *polygon.interiors)]


@dataclass
class Draft:
    """A building being laid out: rooms are cut, merged and opened before it is frozen."""

    inside: Polygon
    outer: float
    inner: float
    rooms: list[Polygon] = field(default_factory=list)
    runs: list[tuple[LineString, float]] = field(default_factory=list)

    def facings(self) -> list[Facing]:
        outline = self.inside.buffer(self.outer, join_style="mitre")
        return facings(self.rooms, outline, self.inner, self.outer)

    def cut(self, room: int, line: LineString) -> bool:
        """Puts a wall along `line` through a room; False, and nothing done, where a part would be too narrow."""
        band = line.buffer(self.inner / 2, cap_style="flat")
        parts = list(getattr(self.rooms[room].difference(band), "geoms", []))
        if len(parts) < 2 or any(p.area < 1.6 or not roomy(p) for p in parts):
            return False
        self.runs += [(piece, self.inner) for piece in lines_of(line.intersection(self.rooms[room]))]
        self.rooms[room : room + 1] = parts
        return True

    def merge(self, facing: Facing) -> None:
        """Takes the wall between two rooms away over the whole stretch they share."""
        piece = strip(facing.a, facing.b, facing.thick + 1e-7)
        i, j = sorted((facing.left, facing.right))
        whole = union_all([self.rooms[i], self.rooms[j], piece]).buffer(1e-6, join_style="mitre").buffer(
            -1e-6, join_style="mitre").simplify(1e-6)
        assert isinstance(whole, Polygon)
        self.rooms[i] = whole
        del self.rooms[j]
        gone = piece.buffer(1e-4)
        left = [(part, t) for line, t in self.runs for part in lines_of(line.difference(gone))]
        self.runs = [(part, t) for part, t in left if part.length > 0.02]


def roomy(polygon: Polygon) -> bool:
    """Wide enough everywhere to be walked through: nothing is lost when strips and slits under 1 m are left out."""
    half = 0.5
    walkable = polygon.buffer(-half, join_style="mitre").buffer(half, join_style="mitre")
    return bool(walkable.geom_type == "Polygon" and walkable.area > 0.999 * polygon.area)


def lines_of(shape: BaseGeometry) -> list[LineString]:
    return [g for g in getattr(shape, "geoms", [shape]) if isinstance(g, LineString) and g.length > 0]


def spot(polygon: Polygon) -> Xy:
    """A point well inside."""
    centre = polygon.centroid
    if polygon.buffer(-0.4).contains(centre):
        return (centre.x, centre.y)
    inner = polygon.buffer(-0.25)
    at: Point = (inner if not inner.is_empty else polygon).representative_point()
    return (at.x, at.y)
