"""Leaks stopped: where a wall's line is missing, the room beside it runs into the wall and through it into others.

Terms:
  core     what is left of a face when everything nearer than half a neck to its outline is gone: rooms, or outdoors.
  neck     the place where a face narrows from a core into a wall's body.
  run-off  a part of a face too narrow to stand in and too long for a niche: the body of a wall that it runs into.
  loose    said of a wall's face that ends in nothing: a face of the arrangement drops it, and the room with it.
  stop     the line laid across a neck, or on from the loose end of a face: it shuts the run-off off.

Told from shape alone: no room of the drawings that this was tried on has such a part, so each stop is asked about.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats, Mask
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import directions, lengths
from takeoff.plan.jambs import THICKEST, THINNEST, first_hits
from takeoff.plan.linework import GLASS, Lines

__all__ = ["leak_stops", "loose_stops", "wall_like"]

Polygons = npt.NDArray[np.object_]

_HALF_NECK = 0.2
"""Walls are thinner than twice this, metres; passages and cupboards one can stand in are wider (common practice)."""
_HALF_ROOM = 0.4
_CORE = 0.3
"""A room that has run off has at least this much floor, m2, farther than half the least room from its outline, metres:
the body of a thick wall has none."""
_RUN_OFF_AREA, _RUN_OFF_ROUND = 0.06, 1.6
"""A run-off is at least so large, m2, and so long round, metres: a niche for pipes is shorter."""
_SLIM = 0.7
"""Wall bodies are long: they fill at most this share of the circle of their own length round. A square fills 0.79, an
alcove half as deep again as wide 0.75."""
_COLUMN, _ALONG = 1.5, 0.2
"""A free-standing figure no longer than this, metres, is a column; a pocket has this share of its rim along it."""
_CARRIED = 0.45
"""Loose ends are carried on no farther, metres: usual walls are thinner."""
_LEAST, _WALL_LIKE = 0.3, 0.6
"""A loose run of this length, metres, with a mate a wall's thickness off beside this share of it, is a wall's face."""
_CONVEX = 0.985
"""A face that fills its hull to this share has no arm to run off into."""
_ON_OUTLINE = 0.002
_SHORTEST = 0.03
"""Shorter pieces of a run-off's rim are no necks, metres."""
_MARGIN = 2.0
"""Outdoors is looked at so far beyond the outermost line, metres."""


def leak_stops(arrangement: Arrangement) -> Floats:
    """Lines (k, 4) that shut off the wall bodies into which the faces of `arrangement`, and outdoors, run."""
    shapes = _armed(arrangement.polygons)
    outdoors = _outdoors(arrangement)
    if outdoors is not None:
        shapes = np.append(shapes, outdoors)
    cores = np.asarray(shapely.buffer(shapes, -_HALF_NECK, join_style="mitre"), dtype=object)
    roomy = np.flatnonzero(shapely.area(shapely.buffer(cores, _HALF_NECK - _HALF_ROOM, join_style="mitre")) >= _CORE)
    return np.vstack([np.zeros((0, 4)), *(_stops(shapes[n], cores[n]) for n in roomy)])


def loose_stops(arrangement: Arrangement, lines: Lines) -> Floats:
    """Lines (k, 4) that carry the loose ends of walls' faces on to what they meet within a wall's thickness."""
    bare = lines.kind[arrangement.loose_pieces] < GLASS
    edges = arrangement.loose[bare]
    if not len(edges):
        return np.zeros((0, 4))
    ends = arrangement.nodes[edges].reshape(-1, 4)
    like = wall_like(ends, lines.ends[lines.kind < GLASS])
    degree = np.bincount(np.vstack([arrangement.edges, arrangement.loose]).ravel(), minlength=len(arrangement.nodes))
    edge, end = np.nonzero((degree[edges] == 1) & like[:, None])
    tip = ends.reshape(-1, 2, 2)[edge, end]
    out = tip - ends.reshape(-1, 2, 2)[edge, 1 - end]
    out = directions(out)
    hit, far = first_hits(tip, out, np.full(len(tip), _CARRIED), lines.ends, start=0.01)
    met = hit >= 0
    return np.asarray(np.hstack([tip[met], tip[met] + out[met] * far[met, None]]))


def wall_like(loose: Floats, fabric: Floats) -> Mask:
    """Which `loose` pieces belong to a run that has a mate among the `fabric` a wall's thickness off."""
    if not len(loose):
        return np.zeros(0, dtype=bool)
    runs, _, run = straight_runs(loose, np.zeros(len(loose), dtype=np.int64))
    near = shapely.STRtree(shapely.linestrings(fabric.reshape(-1, 2, 2))).query(
        shapely.linestrings(runs.reshape(-1, 2, 2)), predicate="dwithin", distance=THICKEST
    )[1]
    beside, _, _ = straight_runs(fabric[np.unique(near)], np.zeros(len(np.unique(near)), dtype=np.int64))
    pairs = mates(np.vstack([runs, beside]), THINNEST, THICKEST, firsts=len(runs))
    length = lengths(runs)
    wall = np.zeros(len(runs), dtype=bool)
    for side in (pairs.first, pairs.second):
        own = side < len(runs)
        wall[side[own][pairs.overlap[own] >= _WALL_LIKE * length[side[own]]]] = True
    return np.asarray((wall & (length >= _LEAST))[run])


def _armed(polygons: Polygons) -> Polygons:
    """The polygons large enough for a room that are not nearly convex."""
    if not len(polygons):
        return polygons
    area = shapely.area(polygons)
    large = polygons[area >= 4 * _HALF_ROOM**2]
    hull = shapely.area(shapely.convex_hull(large))
    holed = shapely.get_num_interior_rings(large) > 0
    return np.asarray(large[(shapely.area(large) < _CONVEX * hull) | holed], dtype=object)


def _outdoors(arrangement: Arrangement) -> shapely.Geometry | None:
    """Everything round the outermost lines, as far as `_MARGIN`."""
    rim = (arrangement.left == OUTSIDE) | (arrangement.right == OUTSIDE)
    if not rim.any():
        return None
    ends = arrangement.nodes[arrangement.edges[rim]]
    box = shapely.box(*(ends.reshape(-1, 2).min(axis=0) - _MARGIN), *(ends.reshape(-1, 2).max(axis=0) + _MARGIN))
    loops = shapely.get_parts(shapely.polygonize(shapely.linestrings(ends)))
    inner = shapely.point_on_surface(loops)
    held = np.zeros(len(loops), dtype=bool)
    held[arrangement.tree.query(inner, predicate="within")[0]] = True
    return shapely.difference(box, shapely.union_all(loops[held]))


def _stops(shape: shapely.Geometry, core: shapely.Geometry) -> Floats:
    """The stops of one face."""
    wide = shapely.get_parts(shapely.buffer(core, _HALF_NECK + _ON_OUTLINE / 10, join_style="mitre"))
    arms = shapely.get_parts(shapely.difference(shape, shapely.union_all(wide)))
    off = _runs_off(arms) & ~_beside_columns(arms, shape)
    arms = arms[_joins_cores(arms, shapely.get_parts(core)) | off]
    if not len(arms):
        return np.zeros((0, 4))
    outline = shapely.buffer(shapely.boundary(shape), _ON_OUTLINE)
    necks = shapely.get_parts(shapely.line_merge(shapely.difference(shapely.boundary(arms), outline)))
    necks = necks[shapely.length(necks) >= _SHORTEST]
    return np.vstack([np.zeros((0, 4)), *(_pieces(n) for n in shapely.simplify(necks, _ON_OUTLINE))])


def _runs_off(arms: Polygons) -> Mask:
    area, round_ = shapely.area(arms), shapely.length(arms)
    slim = 4 * np.pi * area <= _SLIM * round_**2
    return np.asarray((area >= _RUN_OFF_AREA) & (round_ >= _RUN_OFF_ROUND) & slim)


def _beside_columns(arms: Polygons, shape: shapely.Geometry) -> Mask:
    """Which arms run along a column that stands free in the face `shape`: pockets of the room, as no wall's body is."""
    rings = shapely.get_rings(shape)[1:]
    x0, y0, x1, y1 = shapely.bounds(rings).T
    rings = rings[np.maximum(x1 - x0, y1 - y0) <= _COLUMN]
    if not len(rings):
        return np.zeros(len(arms), dtype=bool)
    along = shapely.intersection(shapely.boundary(arms), shapely.buffer(shapely.union_all(rings), _ON_OUTLINE))
    return np.asarray(shapely.length(along) >= _ALONG * shapely.length(arms))


def _joins_cores(arms: Polygons, cores: Polygons) -> Mask:
    """Which arms lead from one core to another."""
    if len(cores) < 2:
        return np.zeros(len(arms), dtype=bool)
    near = shapely.STRtree(cores).query(arms, predicate="dwithin", distance=2 * _HALF_NECK)[0]
    return np.asarray(np.bincount(near, minlength=len(arms)) > 1)


def _pieces(line: shapely.Geometry) -> Floats:
    points = shapely.get_coordinates(line)
    return np.hstack([points[:-1], points[1:]])
