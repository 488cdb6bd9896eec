"""What each face of the arrangement is: the body of a wall, a space, a shaft, or outside.

Terms:
  width     2 x area / perimeter of a face: for a long strip, its thickness. Told from shape, not from size.
  solid     a face that is the body of a wall, pier or column, or the thin strip inside an opening.
  space     a face wide enough to stand in: perhaps a room.
  backing   the share of a space's outer boundary that has a solid behind it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Mask
from takeoff.geometry.planar import OUTSIDE, Arrangement

__all__ = ["Faces", "classify"]

_SURELY_WALL = 0.30
"""Faces no wider are walls whatever lies beside them, unless a name stands in them (metres)."""
_PERHAPS_WALL = 0.70
"""Faces no wider are walls or narrow rooms: their neighbours decide (metres). Where an opening goes through a thicker
wall, faces as wide as that are too."""
_NAMED_LEAST = 0.2
"""A face with a room's name in it is a space when at least this wide (metres)."""
_SPACE_AREA = 0.35
"""Least floor of a space, m2: a meter cupboard."""


@dataclass(frozen=True)
class Faces:
    """Per face (f,): `width`, `area`, `solid`, `space` (never both), `backing`."""

    width: Floats
    area: Floats
    solid: Mask
    space: Mask
    backing: Floats


def classify(
    arrangement: Arrangement, known_solid: Mask, named: Mask, entered: Mask, thickest: float = 0.0
) -> Faces:
    """Classes of the faces; masks (f,) say which lie in a drawn solid, hold a room's name, or have a door
    leading in; `thickest` is the thickest wall with an opening through it, metres.
    """
    polygons = arrangement.polygons
    area = shapely.area(polygons)
    width = 2 * area / np.maximum(shapely.length(polygons), 1e-9)
    thin = (width <= _SURELY_WALL) | known_solid
    beside = _share_beside(arrangement, thin)
    doubtful = ~thin & (width <= max(_PERHAPS_WALL, thickest))
    walled_in = beside >= 0.6
    solid = known_solid | (thin & ~(named & (width >= _NAMED_LEAST))) | (doubtful & ~walled_in & ~named & ~entered)
    space = ~solid & (area >= _SPACE_AREA)
    return Faces(width, area, solid, space, _share_beside(arrangement, solid))


def _share_beside(arrangement: Arrangement, which: Mask) -> Floats:
    """For each face the share of its outer ring's length that faces of `which` (mask) lie behind."""
    count = len(arrangement.polygons)
    lengths = arrangement.lengths
    flagged = np.concatenate([which, [False]])
    total, beside = np.zeros(count), np.zeros(count)
    outer = [r[0] for r in arrangement.rings]
    if not outer:
        return total
    half = np.concatenate(outer)
    face = np.repeat(np.arange(count), [len(r) for r in outer])
    edge = half // 2
    across = np.where(half % 2 == 0, arrangement.right[edge], arrangement.left[edge])
    np.add.at(total, face, lengths[edge])
    np.add.at(beside, face, lengths[edge] * (flagged[across] & (across != OUTSIDE)))
    return beside / np.maximum(total, 1e-9)
