"""Lines that fill a surface: tiles, ceiling grids, decking, treads. They run from wall to wall and tell of no opening.

Terms:
  pattern   several lines of one length side by side, each farther from the next than a window's lines are, or more
            than any window has.
  in step   said of a line cut shorter, by a column or a corner, that lies one step from a line of a pattern.
"""

from __future__ import annotations

import numpy as np

from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.runs import Mates, mates, straight_runs
from takeoff.geometry.vectors import lengths

__all__ = ["patterned"]

_SHORTEST = 0.9
"""Shorter lines are left alone, metres: cubicle doors stand side by side as well."""
_STEP = (0.25, 1.3)
"""From line to line, metres: wider than the lines of a window lie apart, no wider than boards and ceiling tiles
(common practice: 300 to 1200 mm)."""
_CLOSE = (0.06, _STEP[0])
"""From board to board, metres (common practice)."""
_ALIKE = 0.95
"""Lines of a pattern share this much of their length."""
_LEAST, _LEAST_CLOSE = 4, 10
_IN_STEP = 0.004
"""Lines in step keep the pattern's step to this, metres."""


def patterned(ends: Floats) -> Mask:
    """Which of the lines `ends` (n, 4) belong to a pattern."""
    if not len(ends):
        return np.zeros(0, dtype=bool)
    runs, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    long = np.flatnonzero(length >= _SHORTEST)
    found = np.zeros(len(runs), dtype=bool)
    for step, least in ((_STEP, _LEAST), (_CLOSE, _LEAST_CLOSE)):
        pairs = mates(runs[long], *step)
        found[long[_side_by_side(length[long], pairs, least)]] = True
    return np.asarray(found[run])


def _side_by_side(length: Floats, pairs: Mates, least: int) -> Index:
    """Numbers of the runs, of which the `pairs` lie beside each other, that make patterns of `least` lines or more, or
    lie in step with one."""
    one, other = pairs.first, pairs.second
    alike = pairs.overlap >= _ALIKE * np.maximum(length[one], length[other])
    group = components(len(length), one[alike], other[alike])
    pattern = np.bincount(group)[group] >= least
    step = np.full(len(length), np.inf)
    within = alike & pattern[one]
    np.minimum.at(step, group[one[within]], pairs.apart[within])
    found = pattern.copy()
    for own, beside in ((one, other), (other, one)):
        covered = pattern[own] & ~pattern[beside] & (pairs.overlap >= _ALIKE * length[beside])
        apart = np.abs(pairs.apart - step[group[own]]) <= _IN_STEP
        found[beside[covered & apart]] = True
    return np.flatnonzero(found)
