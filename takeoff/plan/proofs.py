"""What else proves a bare gap between two jambs an opening, however wide: its tag, its schedule row, the beams over it.

Terms:
  told    a place on the plan where a tag stands, with the width that the tag or its row in a schedule gives.
  bow     an arc from jamb to jamb: a window that bulges outwards.
  beams   dashed lines that carry both faces of the wall across the gap: the wall goes on overhead.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Mask
from takeoff.plan.evidence import Pool
from takeoff.plan.gaps import Gaps, covered_by, share_of

__all__ = ["Proofs", "beamed", "bowed", "told_of"]

_TAG_REACH = 1.6
"""A tag stands no farther from its opening, metres."""
_AGREE = 0.06
"""The width told and the width drawn differ by no more, metres: a lining's thickness."""
_BEAM_WIDEST = 4.0
"""Wider gaps under beams are open plan, metres."""
_BESIDE = 0.06
_CARRIED = 0.9
_BOW_LEAST, _BOW_REACH = 0.6, 0.35
"""Bows are wider; they end within half the wall of the middle of its jamb, metres."""
_NOTED_WIDEST = 4.0


@dataclass(frozen=True, slots=True)
class Proofs:
    """Which gaps are proved openings (masks)."""

    bare: Mask
    """However wide they are with nothing in them."""
    filled: Mask
    """By a bow."""


def told_of(gaps: Gaps, told: Floats) -> Mask:
    """Which gaps are as wide as a tag close by says; `told` (k, 3) gives the place and width of each, metres. One
    without a width (nan) speaks for the nearest gap whose jambs face each other.
    """
    found = np.zeros(len(gaps), dtype=bool)
    noted = np.isnan(told[:, 2])
    facing = np.flatnonzero((gaps.facing >= 0) & gaps.alike & (gaps.width <= _NOTED_WIDEST))
    if noted.any() and len(facing):
        lines = shapely.linestrings(gaps.axis[facing].reshape(-1, 2, 2))
        places = shapely.points(told[noted, :2])
        found[facing[shapely.STRtree(lines).query_nearest(places, max_distance=_TAG_REACH)[1]]] = True
    told = told[~noted]
    if len(gaps) and len(told):
        lines = shapely.linestrings(gaps.axis.reshape(-1, 2, 2))
        tag, gap = shapely.STRtree(lines).query(shapely.points(told[:, :2]), predicate="dwithin", distance=_TAG_REACH)
        found[gap[np.abs(gaps.width[gap] - told[tag, 2]) <= _AGREE]] = True
    return found


def bowed(gaps: Gaps, arcs: Floats) -> Mask:
    """Which gaps have an arc from jamb to jamb, glass that bows; `arcs` (k, 5) as the drawing has them."""
    found = np.zeros(len(gaps), dtype=bool)
    if not len(gaps) or not len(arcs):
        return found
    start, sweep = arcs[:, 3], arcs[:, 4]
    ends = [arcs[:, :2] + arcs[:, 2:3] * np.column_stack([np.cos(a), np.sin(a)]) for a in (start, start + sweep)]
    flat = np.flatnonzero((np.abs(sweep) < np.pi) & (np.hypot(*(ends[1] - ends[0]).T) > _BOW_LEAST))
    reach = gaps.thick / 2 + _BESIDE
    for one, other in ((0, 1), (1, 0)):
        jambs = shapely.points(gaps.axis[:, 2 * one : 2 * one + 2])
        arc, gap = shapely.STRtree(jambs).query(shapely.points(ends[0][flat]), predicate="dwithin", distance=_BOW_REACH)
        far = np.hypot(*(ends[1][flat][arc] - gaps.axis[gap, 2 * other : 2 * other + 2]).T)
        near = np.hypot(*(ends[0][flat][arc] - gaps.axis[gap, 2 * one : 2 * one + 2]).T)
        found[gap[(far <= reach[gap]) & (near <= reach[gap])]] = True
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
