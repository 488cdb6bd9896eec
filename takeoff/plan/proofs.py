"""What else proves a bare gap between two jambs an opening, however wide: its tag, its schedule row, the beams over it.

Terms:
  told    a place on the plan where a tag stands, with the width that the tag or its row in a schedule gives.
  beams   dashed lines that carry both faces of the wall across the gap: the wall goes on overhead.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Mask
from takeoff.plan.evidence import Pool
from takeoff.plan.gaps import Gaps, covered_by, share_of

__all__ = ["beamed", "told_of"]

_TAG_REACH = 1.6
"""A tag stands no farther from its opening, metres."""
_AGREE = 0.06
"""The width told and the width drawn differ by no more, metres: a lining's thickness."""
_BEAM_WIDEST = 4.0
"""Wider gaps under beams are open plan, metres."""
_BESIDE = 0.06
_CARRIED = 0.9


def told_of(gaps: Gaps, told: Floats) -> Mask:
    """Which gaps are as wide as a tag close by says; `told` (k, 3) gives the place and width of each, metres."""
    found = np.zeros(len(gaps), dtype=bool)
    if len(gaps) and len(told):
        lines = shapely.linestrings(gaps.axis.reshape(-1, 2, 2))
        tag, gap = shapely.STRtree(lines).query(shapely.points(told[:, :2]), predicate="dwithin", distance=_TAG_REACH)
        found[gap[np.abs(gaps.width[gap] - told[tag, 2]) <= _AGREE]] = True
    return found


def beamed(gaps: Gaps, dashed: Pool) -> Mask:
    """Which gaps have one of the `dashed` lines along either face, from jamb to jamb."""
    if not len(gaps) or not len(dashed.numbers):
        return np.zeros(len(gaps), dtype=bool)
    both = gaps.width <= _BEAM_WIDEST
    for face in (0, 1):
        ends = gaps.bridges[:, face]
        none = np.full(len(gaps), -1, dtype=np.int64)
        strip = Gaps(none, np.zeros_like(none), none, gaps.width, np.full(len(gaps), _BESIDE), gaps.bridges, ends, both)
        both = both & (share_of(covered_by(strip, dashed.ends, dashed.met_by)[0]) >= _CARRIED)
    return both
