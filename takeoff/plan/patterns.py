"""Lines that fill a surface: tiles, ceiling grids, decking, treads. They run from wall to wall and tell of no opening.

Terms:
  pattern   several lines of one length side by side, each farther from the next than a window's lines are, or more
            than any window has.
  in step   said of lines as far apart as those of a pattern of the drawing. Between two such neighbours a line belongs
            to a pattern, whatever a skew wall leaves of it; so does one that a column cut, beside a pattern's line.
"""

from __future__ import annotations

import numpy as np

from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.runs import Mates, mates, straight_runs
from takeoff.geometry.vectors import lengths

__all__ = ["patterned"]

_SHORTEST, _SHORTEST_CUT = 0.9, 0.5
"""Shorter lines make no pattern, metres, for cubicle doors stand side by side as well; nor are shorter ones in step."""
_STEP = (0.25, 1.3)
"""From line to line, metres: wider than the lines of a window lie apart, no wider than boards and ceiling tiles
(common practice: 300 to 1200 mm)."""
_CLOSE = (0.06, _STEP[0])
"""From board to board, metres (common practice)."""
_ALIKE, _BESIDE = 0.95, 0.5
"""Lines of a pattern share this much of their length; lines in step this much of the shorter one's."""
_LEAST, _LEAST_CLOSE = 4, 10
_IN_STEP = 0.004
"""Lines in step keep the pattern's step to this, metres."""


def patterned(ends: Floats) -> Mask:
    """Which of the lines `ends` (n, 4) belong to a pattern."""
    if not len(ends):
        return np.zeros(0, dtype=bool)
    runs, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    long = np.flatnonzero(length >= _SHORTEST_CUT)
    found = np.zeros(len(runs), dtype=bool)
    for step, least in ((_STEP, _LEAST), (_CLOSE, _LEAST_CLOSE)):
        pairs = mates(runs[long], *step)
        found[long[_side_by_side(length[long], pairs, least)]] = True
    return np.asarray(found[run])


def _side_by_side(length: Floats, pairs: Mates, least: int) -> Index:
    """Numbers of the runs, of which the `pairs` lie beside each other, that make patterns of `least` lines or more or
    lie in step."""
    one, other = pairs.first, pairs.second
    alike = (length[one] >= _SHORTEST) & (pairs.overlap >= _ALIKE * np.maximum(length[one], length[other]))
    group = components(len(length), one[alike], other[alike])
    pattern = np.bincount(group)[group] >= least
    within = alike & pattern[one]
    if not within.any():
        return np.zeros(0, dtype=np.int64)
    step = np.full(len(length), np.inf)
    np.minimum.at(step, group[one[within]], pairs.apart[within])
    in_step = _near(pairs.apart, np.unique(step[np.isfinite(step)]))
    in_step &= pairs.overlap >= _BESIDE * np.minimum(length[one], length[other])
    one, other = one[in_step], other[in_step]
    found = pattern | (np.bincount(np.concatenate([one, other]), minlength=len(length)) >= 2)
    covered = pairs.overlap[in_step] >= _ALIKE * np.minimum(length[one], length[other])
    more = np.concatenate([other[found[one] & covered], one[found[other] & covered]])
    found[more] = True
    return np.flatnonzero(found)


def _near(values: Floats, steps: Floats) -> Mask:
    """Which of the `values` are one of the `steps` (in order)."""
    after = np.clip(np.searchsorted(steps, values), 1, len(steps)) - 1
    close = [np.abs(values - steps[np.clip(after + k, 0, len(steps) - 1)]) <= _IN_STEP for k in (0, 1)]
    return np.asarray(close[0] | close[1])
