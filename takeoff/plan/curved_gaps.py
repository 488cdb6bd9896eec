"""Gaps in walls that follow a curve: their jambs stand across the curve, so that neither faces the other squarely.

Terms:
  chord     the straight line between the middles of two jambs.
  mirrored  said of two jambs that make the same angle with their chord, one to each side of it.
"""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index
from takeoff.geometry.vectors import directions
from takeoff.plan.gaps import Gaps
from takeoff.plan.jambs import TOUCH, Jambs

__all__ = ["with_curved"]

_NARROWEST, _WIDEST = 0.25, 3.0
"""Width of openings in curved walls, metres: as in straight ones, but a wider one would cut off much of the curve."""
_MIRRORED = 0.05
"""The angles of two jambs with their chord differ by no more, radians."""
_LEAST_TURN, _MOST_TURN = 0.02, 0.35
"""Angle of a jamb with the chord, radians: a straight wall below, above it a corner."""
_AS_THICK = 0.67


def with_curved(gaps: Gaps, jambs: Jambs, arc_ends: Floats) -> Gaps:
    """The `gaps` and those in curved walls, in place of what their jambs were found to face; `arc_ends` (n, 4) are the
    lines of the walls that follow arcs.
    """
    bent = _on_curves(jambs, arc_ends)
    if len(bent) < 2:
        return gaps
    first, second = _pairs(jambs, bent)
    if not len(first):
        return gaps
    paired = np.isin(gaps.jamb, [first, second]) | (np.isin(gaps.facing, [first, second]) & (gaps.facing >= 0))
    return gaps.take(~paired).plus(_between(jambs, first, second))


def _on_curves(jambs: Jambs, arc_ends: Floats) -> Index:
    """Numbers of the jambs with both corners at the ends of curved faces."""
    if not len(arc_ends) or not len(jambs):
        return np.zeros(0, dtype=np.int64)
    tips = shapely.STRtree(shapely.points(arc_ends.reshape(-1, 2)))
    at = np.ones(len(jambs), dtype=bool)
    for corners in (jambs.left, jambs.right):
        own = np.zeros(len(jambs), dtype=bool)
        own[tips.query(shapely.points(corners), predicate="dwithin", distance=TOUCH)[0]] = True
        at &= own
    return np.flatnonzero(at & (jambs.thick > TOUCH))


def _pairs(jambs: Jambs, bent: Index) -> tuple[Index, Index]:
    """Mirrored pairs of the `bent` jambs, each jamb with its nearest."""
    middle = ((jambs.left + jambs.right) / 2)[bent]
    places = shapely.points(middle)
    i, j = shapely.STRtree(places).query(places, predicate="dwithin", distance=_WIDEST)
    once = i < j
    i, j = i[once], j[once]
    apart = middle[j] - middle[i]
    width = np.hypot(apart[:, 0], apart[:, 1])
    i, j, apart, width = (rows[width >= _NARROWEST] for rows in (i, j, apart, width))
    chord = directions(apart)
    one, other = jambs.way[bent[i]], -jambs.way[bent[j]]
    turn, back = (chord[:, 0] * w[:, 1] - chord[:, 1] * w[:, 0] for w in (one, other))
    ahead = (np.einsum("ij,ij->i", chord, one) > 0.9) & (np.einsum("ij,ij->i", chord, other) > 0.9)
    a, b = jambs.thick[bent[i]], jambs.thick[bent[j]]
    good = ahead & (np.abs(turn + back) <= _MIRRORED) & (np.abs(turn) >= _LEAST_TURN) & (np.abs(turn) <= _MOST_TURN)
    good &= np.minimum(a, b) >= _AS_THICK * np.maximum(a, b)
    taken: set[int] = set()
    kept = []
    for n in np.flatnonzero(good)[np.argsort(width[good], kind="stable")].tolist():
        if taken.isdisjoint((int(i[n]), int(j[n]))):
            taken |= {int(i[n]), int(j[n])}
            kept.append(n)
    return bent[i[kept]], bent[j[kept]]


def _between(jambs: Jambs, first: Index, second: Index) -> Gaps:
    bridges = jambs.bridges(first, second)
    axis = bridges.mean(axis=1)
    width = np.hypot(*(axis[:, 2:] - axis[:, :2]).T)
    thick = np.minimum(jambs.thick[first], jambs.thick[second])
    return Gaps(first, second, jambs.cap[second], width, thick, bridges, axis, np.ones(len(first), dtype=bool))
