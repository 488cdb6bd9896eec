"""Rooms crossed corner to corner on the walls' layer: a void, an atrium or a lift, marked as such, and no walls.

Terms:
  diagonals   two lines of one length that cross at their middles.
  framed      said of diagonals whose ends are the corners of a rectangle of drawn lines, but for doorways.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.vectors import lengths

__all__ = ["crossed_out"]

_SHORTEST = 1.0
"""Shorter diagonals cross out ducts and columns, which are no rooms in any case, metres."""
_SAME = 0.02
"""Diagonals share their middle, and the rectangle its lines, to this, metres; their length to this share."""
_SAMPLES = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
_FRAMED = 0.6
"""Share of the rectangle that is drawn."""


def crossed_out(ends: Floats) -> Mask:
    """Which of the lines `ends` (n, 4) are framed diagonals."""
    found = np.zeros(len(ends), dtype=bool)
    length = lengths(ends)
    long = np.flatnonzero(length >= _SHORTEST)
    one, other = _diagonals(ends[long], length[long])
    if not len(one):
        return found
    one, other = long[one], long[other]
    framed = _framed(ends, one, other)
    found[one[framed]] = found[other[framed]] = True
    return found


def _diagonals(ends: Floats, length: Floats) -> tuple[Index, Index]:
    middles = shapely.points((ends[:, :2] + ends[:, 2:]) / 2)
    one, other = shapely.STRtree(middles).query(middles, predicate="dwithin", distance=_SAME)
    way = (ends[:, 2:] - ends[:, :2]) / length[:, None]
    slant = np.abs(way[one, 0] * way[other, 1] - way[one, 1] * way[other, 0])
    alike = np.abs(length[one] - length[other]) <= _SAME * length[one]
    good = (one < other) & alike & (slant > 0.2)
    return one[good], other[good]


def _framed(ends: Floats, one: Index, other: Index) -> Mask:
    """Which pairs are framed by the rest of the `ends`."""
    corners = np.stack([ends[one, :2], ends[other, :2], ends[one, 2:], ends[other, 2:]], axis=1)
    sides = np.roll(corners, -1, axis=1) - corners
    points = corners[:, :, None] + sides[:, :, None] * _SAMPLES[:, None]
    rest = np.setdiff1d(np.arange(len(ends)), np.concatenate([one, other]))
    tree = shapely.STRtree(shapely.linestrings(ends[rest].reshape(-1, 2, 2)))
    drawn = np.zeros(points.size // 2, dtype=bool)
    drawn[tree.query(shapely.points(points.reshape(-1, 2)), predicate="dwithin", distance=_SAME)[0]] = True
    return np.asarray(drawn.reshape(len(one), -1).mean(axis=1) >= _FRAMED)
