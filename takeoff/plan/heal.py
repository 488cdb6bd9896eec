"""Small misses mended: line ends that stop just short of what they were meant to meet.

Terms:
  tip      an end of a run that nothing else meets.
  miss     a tip that would meet another line if carried on at most `REACH`; or a wall's cap that stops as short of a
           wall.
  overrun  a tip that lies at most `REACH` beyond a line that it crosses: it is cut back.
  corner   two tips that would meet each other if both were carried on: the unclosed outer corner of a wall.

`REACH` is the stated tolerance: nothing wider is closed here without an opening to explain it. Corners may reach
a wall's thickness, because both faces run towards each other there and no opening lies between.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, cluster_points
from takeoff.geometry.runs import straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.plan.jambs import TOUCH, Jambs, first_hits

__all__ = [
    "CORNER_REACH",
    "REACH",
    "close_corners",
    "close_misses",
    "close_open_ends",
    "close_short_walls",
    "meet_bridges",
    "meet_ends",
    "trim_overruns",
]

REACH = 0.06
"""Metres: ends that stop this short are carried on."""
MEETING = 0.012
"""Metres: ends of straight lines this near are one corner (hand-set points; thinner layers of a wall keep apart)."""
_STEADY = 0.05
"""Shorter lines keep their ends, metres."""
CORNER_REACH = 0.4
"""Metres: two loose faces that run towards each other are joined at their corner."""


def meet_ends(ends: Floats, arc: Index) -> Floats:
    """`ends` (n, 4) with the near ends of straight lines moved to their common middle; chords of curves stay."""
    length = lengths(ends)
    moved = np.flatnonzero((arc < 0) & (length >= _STEADY))
    if not len(moved):
        return ends
    places, label = cluster_points(ends[moved].reshape(-1, 2), MEETING)
    met = ends.copy()
    met[moved] = places[label].reshape(-1, 4)
    return met


def meet_bridges(bridges: Floats, ends: Floats) -> Floats:
    """`bridges` (k, 4) with ends that touch no line of `ends` (n, 4), but nearly the end of one, moved to it."""
    if not len(bridges) or not len(ends):
        return bridges
    tips = bridges.reshape(-1, 2).copy()
    lines = shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2)))
    loose = np.ones(len(tips), dtype=bool)
    loose[lines.query(shapely.points(tips), predicate="dwithin", distance=TOUCH)[0]] = False
    corners = ends.reshape(-1, 2)
    some = np.flatnonzero(loose)
    own, corner = shapely.STRtree(shapely.points(corners)).query_nearest(
        shapely.points(tips[some]), max_distance=2 * MEETING, all_matches=False
    )
    tips[some[own]] = corners[corner]
    return np.asarray(tips.reshape(-1, 4))


def trim_overruns(ends: Floats, arc: Index) -> Floats:
    """`ends` (n, 4) with loose ends that run over another line by at most `REACH` cut back to it."""
    way = ends[:, 2:] - ends[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    some = np.flatnonzero((arc < 0) & (length > 2 * REACH))
    if not len(some):
        return ends
    points = ends[some].reshape(-1, 2)
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    tip, other = shapely.STRtree(lines).query(shapely.points(points), predicate="dwithin", distance=TOUCH)
    loose = np.ones(len(points), dtype=bool)
    loose[tip[some[tip // 2] != other]] = False
    unit = way[some] / length[some, None]
    inward = np.stack([unit, -unit], axis=1).reshape(-1, 2)
    found = np.flatnonzero(loose)
    hit, far = first_hits(points[found], inward[found], np.full(len(found), REACH), ends, start=TOUCH)
    cut = found[hit >= 0]
    trimmed = ends.reshape(-1, 2).copy()
    trimmed[2 * some[cut // 2] + cut % 2] = points[cut] + inward[cut] * far[hit >= 0, None]
    return np.asarray(trimmed.reshape(-1, 4))


def _tips(ends: Floats) -> tuple[Floats, Floats, Floats]:
    """The runs (r, 4) in `ends` and their loose ends: points (t, 2) and the directions out of them."""
    runs, _, _ = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    points = runs.reshape(-1, 2)
    tree = shapely.STRtree(shapely.linestrings(runs.reshape(-1, 2, 2)))
    tip, other = tree.query(shapely.points(points), predicate="dwithin", distance=TOUCH)
    met = np.zeros(len(points), dtype=bool)
    met[tip[tip // 2 != other]] = True
    unit = (runs[:, 2:] - runs[:, :2]) / np.maximum(length, 1e-9)[:, None]
    out = np.stack([-unit, unit], axis=1).reshape(-1, 2)
    loose = ~met & np.repeat(length > 0.02, 2)
    return runs, points[loose], out[loose]


def close_misses(ends: Floats) -> Floats:
    """Lines (k, 4) that carry tips of `ends` (n, 4) on to what they miss by at most `REACH`."""
    if not len(ends):
        return np.zeros((0, 4))
    runs, point, out = _tips(ends)
    hit, far = first_hits(point, out, np.full(len(point), REACH), runs, start=TOUCH / 2)
    short = hit >= 0
    straight = np.hstack([point[short], point[short] + out[short] * far[short, None]])
    rest, rest_out = point[~short], out[~short]
    return np.vstack([straight, _end_to_end(rest, rest_out), _corner_lines(rest, rest_out, REACH)])


def _near_pairs(point: Floats, reach: float) -> tuple[Index, Index]:
    if not len(point):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    dots = shapely.points(point)
    i, j = shapely.STRtree(dots).query(dots, predicate="dwithin", distance=reach)
    once = i < j
    return i[once], j[once]


def _end_to_end(point: Floats, out: Floats) -> Floats:
    """Lines between tips that face each other across a small gap in one line."""
    i, j = _near_pairs(point, REACH)
    across = point[j] - point[i]
    opposed = np.einsum("ij,ij->i", out[i], out[j]) < -0.98
    ahead = np.einsum("ij,ij->i", across, out[i]) > 0
    off = np.abs(out[i, 0] * across[:, 1] - out[i, 1] * across[:, 0]) < 0.01
    good = opposed & ahead & off
    return np.hstack([point[i[good]], point[j[good]]])


def _corner_lines(point: Floats, out: Floats, reach: float) -> Floats:
    """Both legs of the corners that pairs of tips would make, nearest first, each tip used once."""
    i, j = _near_pairs(point, 1.5 * reach)
    cross = out[i, 0] * out[j, 1] - out[i, 1] * out[j, 0]
    apart = point[j] - point[i]
    safe = np.where(np.abs(cross) < 0.3, 1.0, cross)
    a = (apart[:, 0] * out[j, 1] - apart[:, 1] * out[j, 0]) / safe
    b = (apart[:, 0] * out[i, 1] - apart[:, 1] * out[i, 0]) / safe
    good = (np.abs(cross) >= 0.3) & (a > -TOUCH) & (b > -TOUCH) & (a <= reach) & (b <= reach)
    i, j, a, b = i[good], j[good], a[good], b[good]
    used: set[int] = set()
    rows = []
    for k in np.lexsort((j, i, a + b)).tolist():
        if int(i[k]) in used or int(j[k]) in used:
            continue
        used.update((int(i[k]), int(j[k])))
        corner = point[i[k]] + out[i[k]] * a[k]
        rows += [(*point[i[k]], *corner), (*point[j[k]], *corner)]
    return np.array(rows, dtype=float).reshape(-1, 4)


def close_corners(ends: Floats) -> Floats:
    """Lines that join the unclosed outer corners of walls among `ends`, bridges included."""
    if not len(ends):
        return np.zeros((0, 4))
    _, point, out = _tips(ends)
    return _corner_lines(point, out, CORNER_REACH)


def close_short_walls(jambs: Jambs, runs: Floats) -> Floats:
    """Lines that carry both faces of a wall on where its cap stops at most `REACH` short of another wall."""
    capped = np.flatnonzero(jambs.cap >= 0)
    rows = []
    for corner in (jambs.left, jambs.right):
        inset = corner[capped] + ((jambs.left + jambs.right)[capped] / 2 - corner[capped]) * 0.1
        hit, far = first_hits(inset, jambs.way[capped], np.full(len(capped), REACH), runs, start=0.0005)
        met = hit >= 0
        start = corner[capped[met]]
        rows.append(np.hstack([start, start + jambs.way[capped[met]] * far[met, None]]))
    return np.vstack(rows)


def close_open_ends(jambs: Jambs) -> Floats:
    """Lines across the open ends of walls, from loose face end to loose face end."""
    bare = (jambs.cap < 0) & (jambs.thick > 0)
    return np.hstack([jambs.left[bare], jambs.right[bare]])
