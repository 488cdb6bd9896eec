"""Lines that fill a surface: tiles, ceiling grids, decking, treads. They run from wall to wall and tell of no opening.

Terms:
  pattern   several lines of one length side by side, each farther from the next than a window's lines are.
"""

from __future__ import annotations

import numpy as np

from takeoff.geometry.cluster import Floats, Mask, components
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import lengths

__all__ = ["patterned"]

_SHORTEST = 0.9
"""Shorter lines are left alone, metres: cubicle doors stand side by side as well."""
_STEP = (0.25, 1.3)
"""From line to line, metres: wider than the lines of a window lie apart, no wider than boards and ceiling tiles
(common practice: 300 to 1200 mm)."""
_ALIKE = 0.95
"""Lines of a pattern share this much of their length."""
_LEAST = 4


def patterned(ends: Floats) -> Mask:
    """Which of the lines `ends` (n, 4) belong to a pattern."""
    if not len(ends):
        return np.zeros(0, dtype=bool)
    runs, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    long = np.flatnonzero(length >= _SHORTEST)
    found = mates(runs[long], *_STEP)
    one, other = long[found.first], long[found.second]
    alike = found.overlap >= _ALIKE * np.maximum(length[one], length[other])
    group = components(len(runs), one[alike], other[alike])
    return np.asarray((np.bincount(group)[group] >= _LEAST)[run])
