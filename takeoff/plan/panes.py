"""Windows drawn with the pen of the walls: their lines stand on a wall layer and would pass for wall faces.

Terms:
  crossbar   a short wall line across the wall's thickness from which the wall goes on, to one side at least: a jamb.
  ladder     lines of the walls' layer that run from one crossbar to another; two at the crossbars' ends are the faces
             of a pier, one between them is glass or a frame.
  pane       a line of a ladder that has something between its faces: a window's, not a wall's.
  blank      a ladder of two faces with nothing between them: a pier, or a window drawn as two lines. See `blanks`.
  infill     a ladder of two lines well inside the crossbars: a wall between columns thicker than it, no window's frame.

The leaves of a cavity wall look alike between two openings; they are told by going on beyond: in the same straight line
there is a leaf that ends at no crossbar.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, extents
from takeoff.geometry.runs import straight_runs
from takeoff.geometry.vectors import left_of, lengths
from takeoff.plan.blanks import Ladders, blank_windows
from takeoff.plan.jambs import THICKEST, THINNEST, wide_as_wall

__all__ = ["panes"]

_SHORTEST, _LONGEST = 0.3, 6.0
"""Windows in metres, a loo's to a shop's (common practice)."""
_TOUCH = 0.006
_INSIDE = 0.02
"""A line this far from both ends of the crossbars lies inside the wall, metres."""
_GOES_ON = 0.05
"""The wall goes on beyond a jamb for at least so much, metres."""


def panes(ends: Floats, arc: Index) -> tuple[Mask, Mask]:
    """Which of the lines `ends` (n, 4) of the fabric are the lines of windows, and of those which may as well be faces
    of piers; chords of curves (`arc`) never are.
    """
    none = np.zeros(len(ends), dtype=bool)
    straight = np.flatnonzero(arc < 0)
    if not len(straight):
        return none, none
    runs, _, _ = straight_runs(ends[straight], np.zeros(len(straight), dtype=np.int64))
    bars, goes_on = _crossbars(runs)
    line, low, high = _between(ends[straight], bars, goes_on)
    if not len(line):
        return none, none
    inner, faces, place = _told(ends[straight][line], bars[low], bars[high])
    pairs, group = np.unique(low * len(bars) + high, return_inverse=True)
    inner &= ~_infills(place, inner, faces, group, lengths(bars)[low])
    leaf = inner & _goes_on(ends[straight], line)
    glazed = np.zeros(int(group.max()) + 1, dtype=bool)
    glazed[group[inner & ~leaf]] = True
    open_faces = np.bincount(group, faces, minlength=len(glazed)) >= 2
    found, guessed = none.copy(), none.copy()
    found[straight[line[(inner & ~leaf) | (faces & (glazed & open_faces)[group])]]] = True
    empty = open_faces & (np.bincount(group, inner, minlength=len(glazed)) == 0)
    ladders = Ladders(bars, goes_on, np.column_stack([pairs // len(bars), pairs % len(bars)]), empty, glazed)
    guessed[straight[line[faces & blank_windows(ladders)[group]]]] = True
    return found | guessed, guessed


def _crossbars(runs: Floats) -> tuple[Floats, Mask]:
    """Runs as long as walls are thick from both ends of which others leave squarely, and whether (n, 2) they do so to
    the left and to the right.
    """
    way = runs[:, 2:] - runs[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    short = np.flatnonzero((length >= THINNEST) & (length <= THICKEST))
    unit = way / np.maximum(length, 1e-9)[:, None]
    normal = left_of(unit)
    tree = shapely.STRtree(shapely.linestrings(runs.reshape(-1, 2, 2)))
    leaves = np.zeros((len(short), 2, 2), dtype=bool)
    for end in (0, 1):
        point = runs[short, 2 * end : 2 * end + 2]
        bar, other = tree.query(shapely.points(point), predicate="dwithin", distance=_TOUCH)
        own = short[bar]
        square = np.abs(unit[own, 0] * unit[other, 0] + unit[own, 1] * unit[other, 1]) < 0.1
        for k in (0, 2):
            out = np.einsum("ij,ij->i", runs[other, k : k + 2] - point[bar], normal[own])
            leaves[bar[square & (out > _GOES_ON)], end, 0] = True
            leaves[bar[square & (out < -_GOES_ON)], end, 1] = True
    both = leaves[:, 0] & leaves[:, 1]
    return runs[short[both.any(axis=1)]], both[both.any(axis=1)]


def _between(ends: Floats, bars: Floats, goes_on: Mask) -> tuple[Index, Index, Index]:
    """Lines that run from one crossbar squarely to another, the wall going on beyond one: their numbers, and the
    crossbars', lower first.
    """
    none = np.zeros(0, dtype=np.int64)
    length = lengths(ends)
    some = np.flatnonzero((length >= _SHORTEST) & (length <= _LONGEST))
    if len(bars) < 2 or not len(some):
        return none, none, none
    tree = shapely.STRtree(shapely.linestrings(bars.reshape(-1, 2, 2)))
    unit = (ends[some, 2:] - ends[some, :2]) / length[some, None]
    across = bars[:, 2:] - bars[:, :2]
    across = across / np.hypot(across[:, 0], across[:, 1])[:, None]
    met: list[dict[int, int]] = []
    onward: list[set[int]] = []
    for end in (0, 1):
        line, bar = tree.query(shapely.points(ends[some, 2 * end : 2 * end + 2]), predicate="dwithin", distance=_TOUCH)
        square = np.abs(np.einsum("ij,ij->i", unit[line], across[bar])) < 0.1
        leftward = across[bar, 0] * unit[line, 1] - across[bar, 1] * unit[line, 0] > 0
        leftward ^= end == 1  # the line runs away from its first end, towards its second
        onward.append(set(line[square & goes_on[bar, np.where(leftward, 1, 0)]].tolist()))
        met.append(dict(zip(line[square].tolist(), bar[square].tolist(), strict=True)))
    both = sorted(k for k in met[0] if k in met[1] and met[0][k] != met[1][k] and k in onward[0] | onward[1])
    first = np.array([met[0][k] for k in both], dtype=np.int64)
    second = np.array([met[1][k] for k in both], dtype=np.int64)
    return some[both], np.minimum(first, second), np.maximum(first, second)


def _infills(place: Floats, inner: Mask, faces: Mask, group: Index, bar: Floats) -> Mask:
    """Which lines belong to infills: `place` tells where along the crossbar, as long as `bar`, each line of a `group`
    meets it.
    """
    least, most = extents(place[inner], group[inner], int(group.max()) + 1)
    outermost = np.minimum(place - least[group], most[group] - place) <= _INSIDE / 2
    between = np.bincount(group, (inner & ~outermost) | faces) > 0
    wide = wide_as_wall((most - least)[group], bar)
    return np.asarray(inner & wide & ~between[group])


def _told(lines: Floats, low: Floats, high: Floats) -> tuple[Mask, Mask, Floats]:
    """Which lines lie inside both crossbars, which run from end to end of them, and where they meet the one."""
    inside, at_end = np.ones(len(lines), dtype=bool), np.ones(len(lines), dtype=bool)
    for bar in (low, high):
        way = bar[:, 2:] - bar[:, :2]
        length = np.hypot(way[:, 0], way[:, 1])
        apart = lines.reshape(-1, 2, 2) - bar[:, None, :2]
        along = np.einsum("ikj,ij->ik", apart, way / length[:, None])
        off = np.abs(np.einsum("ikj,ij->ik", apart, left_of(way) / length[:, None]))
        near = along[np.arange(len(lines)), off.argmin(axis=1)]
        inside &= (near > _INSIDE) & (near < length - _INSIDE)
        at_end &= (np.abs(near) <= _TOUCH) | (np.abs(near - length) <= _TOUCH)
    return inside, at_end, near


def _goes_on(ends: Floats, line: Index) -> Mask:
    """Which of the lines numbered `line` have another in the same straight line that is in no ladder, and long."""
    _, _, course = straight_runs(ends, np.zeros(len(ends), dtype=np.int64), gap=_LONGEST)
    length = lengths(ends)
    free = np.ones(len(ends), dtype=bool)
    free[line] = False
    going = np.zeros(int(course.max(initial=-1)) + 1, dtype=bool)
    going[course[free & (length >= THICKEST)]] = True
    return np.asarray(going[course[line]])
