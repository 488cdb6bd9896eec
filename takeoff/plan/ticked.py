"""Dimensions taken apart: their lines would pass for wall faces, but for the marks at their ends.

Terms:
  tick    a short slanted stroke whose middle is the end of a dimension line.
  barb    one of two short strokes of an arrowhead that start at the end of a dimension line and lean back along it.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Mask

__all__ = ["dimension_lines"]

_LONGEST_MARK = 0.4
"""Ticks and barbs are 2-4 mm on paper: 0.4 m at 1:100 (common practice)."""
_LEAST = 0.1
_CENTRED = 0.08
"""A tick's middle is this near the line's end, as a share of the tick's length."""
_TICK = (np.radians(20), np.radians(70))
_BARB = (np.radians(4), np.radians(35))
_ON_END = 0.003


def dimension_lines(ends: Floats) -> Mask:
    """Which of the lines `ends` (n, 4) are dimension lines with a tick or an arrowhead at both ends, or their marks."""
    way = ends[:, 2:] - ends[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    marks = np.flatnonzero((length > 0.005) & (length <= _LONGEST_MARK))
    lines = np.flatnonzero(length >= _LEAST)
    found = np.zeros(len(ends), dtype=bool)
    if not len(marks) or not len(lines):
        return found
    unit = way / np.maximum(length, 1e-9)[:, None]
    tips = ends[lines].reshape(-1, 2)
    own_t, mark_t = _ticks(ends, unit, length, lines, marks, tips)
    own_b, mark_b, side = _barbs(ends, unit, lines, marks, tips)
    ticked = np.bincount(own_t, minlength=len(tips)) > 0
    both = np.zeros((len(tips), 2), dtype=bool)
    both[own_b, side] = True
    marked = np.asarray(ticked | both.all(axis=1)).reshape(-1, 2).all(axis=1)
    marked = np.asarray(marked, dtype=bool)
    found[lines[marked]] = True
    found[mark_t[marked[own_t // 2]]] = True
    found[mark_b[marked[own_b // 2]]] = True
    return found


def _ticks(
    ends: Floats, unit: Floats, length: Floats, lines: np.ndarray, marks: np.ndarray, tips: Floats
) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of a line's tip and a slanted mark whose middle it is."""
    middles = shapely.points((ends[marks, :2] + ends[marks, 2:]) / 2)
    tip, mark = shapely.STRtree(middles).query(shapely.points(tips), predicate="dwithin", distance=0.03)
    mark = marks[mark]
    off = np.hypot(*((ends[mark, :2] + ends[mark, 2:]) / 2 - tips[tip]).T)
    lean = _lean(unit, lines[tip // 2], mark)
    good = (off <= np.maximum(_CENTRED * length[mark], _ON_END)) & (lean >= _TICK[0]) & (lean <= _TICK[1])
    good &= length[mark] <= 0.5 * length[lines[tip // 2]]
    return tip[good], mark[good]


def _barbs(
    ends: Floats, unit: Floats, lines: np.ndarray, marks: np.ndarray, tips: Floats
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Triples of a line's tip, a mark that leans back from it, and the side (0, 1) that it is on."""
    points = shapely.points(ends[marks].reshape(-1, 2))
    tip, end = shapely.STRtree(points).query(shapely.points(tips), predicate="dwithin", distance=_ON_END)
    mark, line = marks[end // 2], lines[tip // 2]
    back = np.where(tip % 2 == 0, 1.0, -1.0)[:, None] * unit[line]
    course = np.where(end % 2 == 0, 1.0, -1.0)[:, None] * unit[mark]
    along = np.einsum("ij,ij->i", back, course)
    across = back[:, 0] * course[:, 1] - back[:, 1] * course[:, 0]
    lean = np.arctan2(np.abs(across), along)
    good = (lean >= _BARB[0]) & (lean <= _BARB[1]) & (mark != line)
    return tip[good], mark[good], (across[good] > 0).astype(np.int64)


def _lean(unit: Floats, line: np.ndarray, mark: np.ndarray) -> Floats:
    cosine = np.abs(np.einsum("ij,ij->i", unit[line], unit[mark]))
    return np.asarray(np.arccos(np.clip(cosine, 0.0, 1.0)))
