"""Furniture and fittings drawn on a wall layer: closed boxes with something drawn in them, open to the room.

Terms:
  box       a closed outline deeper than any wall and no longer than a bed or a run of cupboards.
  detail    a line drawn inside a box: a diagonal, a bowl, an inner edge. Walls, piers and rooms have none of their own.
  exposed   said of a side of a box with no other line within a wall's thickness outside it. A shaft or a cupboard has
            walls all round and no exposed side; furniture has at least one.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.plan.figures import Figures, figures_among, ring_sizes
from takeoff.plan.jambs import THINNEST, first_hits
from takeoff.plan.symbols import Swings

__all__ = ["furniture_boxes", "furniture_lines"]

_LEAST, _MOST = 0.38, 3.3
"""Sides of furniture, metres: a stool to a wardrobe or a bed."""
_COLUMN = 0.7
"""A crossed box no longer may be a column, metres."""
_WALL = 0.45
"""Other lines this near outside a side may be the other face of a wall, metres."""
_FULL = 0.75
"""Share of its least rectangle that furniture fills: a round table 0.785; corners of walls less."""
_WALL_THICK, _WALL_LONG = 0.5, 1.8
"""A box no deeper and so many times as long may be a piece of wall, metres."""
_LONG_RUN, _DOUBLE = 1.5, 0.6
_EXPOSED_LEAST = 0.3
_RAYS = (0.15, 0.38, 0.62, 0.85)
_ON_EDGE = 0.002
_DOORWAY = 0.12
"""A leaf whose hinge and shut tip both lie this near a box's outline hangs in it: then it is a cupboard, metres."""


def furniture_lines(drawing: Drawing, picked: Index, boxes: Figures, swings: Swings, names: Floats) -> Mask:
    """Which of the `picked` segments are furniture; `boxes` are those on their layers, `names` (n, 2) are the places of
    rooms' names.
    """
    none = np.zeros(len(picked), dtype=bool)
    entity, shapes = boxes.entity, boxes.shapes
    if not len(shapes) or not len(picked):
        return none
    ends = drawing.segments.ends[picked]
    if not _walls_are_double(ends):
        keep = ~_held(shapes, names) & ~_with_doors(shapes, swings)
        entity, shapes = entity[keep], shapes[keep]
    if not len(shapes):
        return none
    box, line = _inside(shapes, ends)
    own = drawing.segments.entity[picked][line] == entity[box]
    detail = ~own & _off_edge(shapes[box], ends[line])
    good = np.bincount(box[detail], minlength=len(shapes)) > 0
    crossed = _crossed(shapes, ends, box[detail], line[detail])
    good &= ~(crossed & (_spans(shapes)[1] <= _COLUMN))
    good[good] = [_exposed(s, ends) for s in shapes[good]]
    good &= ~_round_shafts(shapes, crossed & ~good)
    found = none.copy()
    found[line[good[box] & (own | detail)]] = True
    return found


def furniture_boxes(drawing: Drawing) -> Figures:
    """The closed outlines, whatever their layers, that are as large as furniture."""
    rings = [r.ring for r in drawing.regions]
    corners = np.array([len(ring) for ring in rings], dtype=np.int64)
    outline = np.array([not (r.filled or r.hole) for r in drawing.regions], dtype=bool)
    some = np.flatnonzero(outline & (corners >= 3) & (corners <= 400))
    size = ring_sizes([rings[n] for n in some.tolist()])
    some = some[(size.max(axis=1) <= 1.5 * _MOST) & (size.min(axis=1) >= _LEAST / 2)]
    found = figures_among(drawing, some)
    shapes = found.shapes
    short, long = _spans(shapes)
    good = (short >= _LEAST) & (long <= _MOST) & shapely.is_valid(shapes)
    good &= shapely.area(shapes) >= _FULL * short * long
    good &= (short > _WALL_THICK) | (long <= _WALL_LONG * short)
    return found.take(good)


def _walls_are_double(ends: Floats) -> bool:
    """Whether most length of the long lines has a mate a wall's thickness off: single-line boxes are no rooms then."""
    runs, _, _ = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    long = length >= _LONG_RUN
    found = mates(runs[long], THINNEST, _WALL)
    paired = np.zeros(int(long.sum()), dtype=bool)
    paired[found.first[found.overlap >= _LONG_RUN / 2]] = True
    paired[found.second[found.overlap >= _LONG_RUN / 2]] = True
    return bool(length[long][paired].sum() >= _DOUBLE * max(float(length[long].sum()), 1e-9))


def _held(shapes: np.ndarray, names: Floats) -> Mask:
    held = np.zeros(len(shapes), dtype=bool)
    if len(names):
        held[shapely.STRtree(shapes).query(shapely.points(names), predicate="within")[1]] = True
    return held


def _with_doors(shapes: np.ndarray, swings: Swings) -> Mask:
    hung = np.zeros(len(shapes), dtype=bool)
    if len(swings):
        rims = shapely.boundary(shapes)
        tree = shapely.STRtree(rims)
        near = [
            set(zip(*tree.query(shapely.points(p), predicate="dwithin", distance=_DOORWAY).tolist(), strict=True))
            for p in (swings.hinge, swings.tips[:, 0], swings.tips[:, 1])
        ]
        for swing, shape in near[0] & (near[1] | near[2]):
            tips = [k for k in (0, 1) if (swing, shape) in near[k + 1]]
            shut = swings.leaf_tip[swing]
            hung[shape] |= any(k != shut for k in tips)
    return hung


def _inside(shapes: np.ndarray, ends: Floats) -> tuple[Index, Index]:
    """Pairs of a shape and a line that lies in it, its edge included."""
    tree = shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2)))
    box, line = tree.query(shapely.buffer(shapes, _ON_EDGE), predicate="covers")
    return box, line


def _off_edge(shapes: np.ndarray, ends: Floats) -> Mask:
    middles = shapely.points((ends[:, :2] + ends[:, 2:]) / 2)
    return np.asarray(shapely.distance(shapely.boundary(shapes), middles) > _ON_EDGE)


def _round_shafts(shapes: np.ndarray, shafts: Mask) -> Mask:
    """Boxes (mask) that stand round one of the `shafts`, a wall's thickness off: the outer faces of its walls."""
    found = np.zeros(len(shapes), dtype=bool)
    inner = np.flatnonzero(shafts)
    if len(inner):
        shaft, outer = shapely.STRtree(shapes).query(shapes[inner], predicate="within")
        room = shapely.distance(shapely.boundary(shapes[outer]), shapely.boundary(shapes[inner[shaft]]))
        found[outer[(room >= THINNEST) & (room <= _WALL)]] = True
    return found


def _crossed(shapes: np.ndarray, ends: Floats, box: Index, line: Index) -> Mask:
    """Boxes (mask) with both diagonals drawn: small ones are columns or ducts, walled ones are shafts."""
    short, long = _spans(shapes)
    length = lengths(ends[line])
    across = length >= 0.9 * np.hypot(short, long)[box]
    return np.asarray(np.bincount(box[across], minlength=len(shapes)) >= 2)


def _spans(shapes: np.ndarray) -> tuple[Floats, Floats]:
    """The short and the long side of the least rectangle round each shape."""
    hull = shapely.minimum_rotated_rectangle(shapes)
    half = shapely.length(hull) / 4
    root = np.sqrt(np.maximum(half**2 - shapely.area(hull), 0.0))
    return half - root, half + root


def _exposed(shape: shapely.Polygon, ends: Floats) -> bool:
    """Whether a side of some length has no parallel line near outside it."""
    corners = shapely.get_coordinates(shapely.orient_polygons(shape))
    way = corners[1:] - corners[:-1]
    length = np.hypot(way[:, 0], way[:, 1])
    long = np.flatnonzero(length >= _EXPOSED_LEAST)
    if not len(long):
        return True  # a round table
    unit = way[long] / length[long, None]
    outward = np.column_stack([unit[:, 1], -unit[:, 0]])
    near = _near(ends, shape.bounds)
    origins = np.concatenate([corners[long] + way[long] * s for s in _RAYS])
    ways = np.tile(outward, (len(_RAYS), 1))
    hit, _ = first_hits(origins, ways, np.full(len(origins), _WALL), near, start=0.004)
    course = near[hit, 2:] - near[hit, :2] if len(near) else np.zeros_like(ways)
    square = np.abs(np.einsum("ij,ij->i", course, ways)) <= 0.1 * np.hypot(course[:, 0], course[:, 1])
    walled = ((hit >= 0) & square) | _lies_on(near, origins, shape)
    free = (~walled).reshape(len(_RAYS), -1).sum(axis=0) >= len(_RAYS) - 1
    return bool(free.any())


def _near(ends: Floats, bounds: tuple[float, float, float, float]) -> Floats:
    low = np.minimum(ends[:, :2], ends[:, 2:]) - _WALL
    high = np.maximum(ends[:, :2], ends[:, 2:]) + _WALL
    return ends[((low <= bounds[2:]) & (high >= bounds[:2])).all(axis=1)]


def _lies_on(ends: Floats, points: Floats, shape: shapely.Polygon) -> Mask:
    """Which points of the outline lie on another line too: a wall's face that the box is pushed against."""
    others = ends[_off_shape(ends, shape)]
    found = np.zeros(len(points), dtype=bool)
    if len(others):
        tree = shapely.STRtree(shapely.linestrings(others.reshape(-1, 2, 2)))
        found[tree.query(shapely.points(points), predicate="dwithin", distance=_ON_EDGE)[0]] = True
    return found


def _off_shape(ends: Floats, shape: shapely.Polygon) -> Mask:
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    return ~np.asarray(shapely.covered_by(lines, shapely.buffer(shape, _ON_EDGE)))


