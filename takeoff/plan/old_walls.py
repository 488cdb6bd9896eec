"""Openings in old masonry: walls thicker than any new one, and jambs that splay to let in light.

Terms:
  jamb     a line from one face of a wall to the other, from whose ends the faces run back side by side.
  splayed  said of a jamb that does not stand square on the faces.
  throat   the narrow end of an opening whose jambs splay: the window fills it.

Furniture and chimney breasts end as thick walls do, so that a gap between such ends counts only where something shows
an opening in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from takeoff.geometry.cluster import Floats, Index
from takeoff.geometry.vectors import directions, left_of, lengths
from takeoff.plan.gaps import Gaps
from takeoff.plan.jambs import THICKEST, TOUCH, Jambs, first_hits

__all__ = ["with_old_walls"]

_THICKEST = 1.2
"""Walls of farmhouses, mills and churches are no thicker, metres (common practice)."""
_THINNEST = 0.25
"""A thinner wall has no splayed jambs, metres (common practice)."""
_SPLAYED, _MOST_SPLAYED = 0.07, 0.64
"""Sine of the angle by which a splayed jamb leans; a mitre of 45 degrees is none."""
_PARALLEL = 0.1
"""Sine of the angle between both faces of an old wall."""
_NARROWEST, _WIDEST = 0.25, 3.0
"""Width at the throat, metres."""
_LEVEL = 0.15
"""Facing jambs lie in one wall: their ends differ by no more, as a share of its thickness."""


@dataclass(frozen=True)
class _Old:
    """Jambs, arrays of one length: the `run` that draws each, the `way` (k, 2) out of the wall along its faces."""

    run: Index
    way: Floats

    def take(self, which: Index) -> _Old:
        return _Old(self.run[which], self.way[which])


def with_old_walls(gaps: Gaps, jambs: Jambs, runs: Floats) -> tuple[Gaps, Jambs]:
    """The `gaps` between `jambs` of the `runs` (r, 4), with those between jambs of old walls in place of what else
    their ends were found to face; and the jambs with those of the old walls behind them.
    """
    old = _old_jambs(runs, jambs)
    first, second = _facing(old, runs)
    if not len(first):
        return gaps, jambs
    number = len(jambs) + np.arange(len(first) + len(second), dtype=np.int64)
    both = old.take(np.concatenate([first, second]))
    left, right = _corners(runs[both.run], both.way)
    more = Jambs(left, right, both.way, both.run, jambs.sides, jambs.met)
    met = np.isin(jambs.cap, both.run) & (jambs.cap >= 0)
    gone = met[gaps.jamb] | (met[gaps.facing] & (gaps.facing >= 0))
    half = len(first)
    added = _between(more, number[:half], number[half:], half)
    return gaps.take(~gone).plus(added), jambs.plus(more)


def _old_jambs(runs: Floats, jambs: Jambs) -> _Old:
    """Jambs of old walls among the `runs`, of which the usual `jambs` are known."""
    both = jambs.sides[:, 0] | jambs.sides[:, 1]
    length = lengths(runs)
    some = np.flatnonzero(((both == 1) | (both == 2)) & (length >= _THINNEST) & (length <= 1.3 * _THICKEST))
    none = _Old(np.zeros(0, dtype=np.int64), np.zeros((0, 2)))
    if not len(some):
        return none
    unit = directions(runs[:, 2:] - runs[:, :2])
    behind = left_of(unit[some]) * np.where(both[some] == 1, 1.0, -1.0)[:, None]
    back = _backs(runs, unit, some, behind, jambs.met)
    lean = np.abs(np.einsum("kei,ki->ke", back, unit[some]))
    apart = np.abs(back[:, 0, 0] * back[:, 1, 1] - back[:, 0, 1] * back[:, 1, 0])
    thick = length[some] * np.abs(back[:, 0, 0] * unit[some, 1] - back[:, 0, 1] * unit[some, 0])
    leans = (lean >= _SPLAYED).all(axis=1)
    good = ~np.isnan(lean).any(axis=1) & (apart <= _PARALLEL) & (lean <= _MOST_SPLAYED).all(axis=1)
    good &= (thick <= _THICKEST) & (leans | (thick > THICKEST))
    if not good.any():
        return none
    way = -directions(np.nan_to_num(back).sum(axis=1))
    return _Old(some[good], way[good])


def _backs(runs: Floats, unit: Floats, some: Index, behind: Floats, met: tuple[Index, Index]) -> Floats:
    """For both ends of the runs numbered `some` (k, 2, 2) the direction in which a face runs back, the squarest where
    several do; not a number where none does. `behind` (k, 2) tells the side, `met` what they touch.
    """
    tips = runs[some].reshape(-1, 2)
    number = np.full(len(runs), -1, dtype=np.int64)
    number[some] = np.arange(len(some))
    tip, other = met
    own = number[tip // 2]
    tip, other = (2 * own + tip % 2)[own >= 0], other[own >= 0]
    course = unit[other] * np.sign(np.einsum("ij,ij->i", unit[other], behind[tip // 2]))[:, None]
    reach = [np.einsum("ij,ij->i", runs[other, n : n + 2] - tips[tip], course) for n in (0, 2)]
    runs_back = np.maximum(*reach) >= _THINNEST
    tip, course = tip[runs_back], course[runs_back]
    lean = np.abs(np.einsum("ij,ij->i", course, unit[some[tip // 2]]))
    order = np.lexsort((lean, tip))[::-1]
    found = np.full((len(tips), 2), np.nan)
    found[tip[order]] = course[order]
    return found.reshape(-1, 2, 2)


def _facing(old: _Old, runs: Floats) -> tuple[Index, Index]:
    """Pairs of the `old` jambs that face each other across a gap with nothing in it, each pair once."""
    none = np.zeros(0, dtype=np.int64)
    if len(old.run) < 2:
        return none, none
    middle = (runs[old.run, :2] + runs[old.run, 2:]) / 2
    hit, _ = first_hits(middle, old.way, np.full(len(middle), _WIDEST + _THICKEST), runs)
    jamb_of = np.full(len(runs) + 1, -1, dtype=np.int64)
    jamb_of[old.run] = np.arange(len(old.run))
    other = np.where(hit >= 0, jamb_of[hit], -1)
    first = np.flatnonzero((other >= 0) & (other[other] == np.arange(len(other))) & (np.arange(len(other)) < other))
    second = other[first]
    opposed = np.einsum("ij,ij->i", old.way[first], old.way[second]) < -1 + _PARALLEL**2
    first, second = first[opposed], second[opposed]
    across = left_of(old.way[first])
    (low, high), (low_b, high_b) = (_span(runs[old.run[n]], across) for n in (first, second))
    level = np.maximum(np.abs(low - low_b), np.abs(high - high_b)) <= _LEVEL * (high - low) + TOUCH
    _, start = _span(runs[old.run[first]], old.way[first])
    end, _ = _span(runs[old.run[second]], old.way[first])
    fits = level & (end - start >= _NARROWEST) & (end - start <= _WIDEST)
    return first[fits], second[fits]


def _span(ends: Floats, along: Floats) -> tuple[Floats, Floats]:
    """From where to where the lines `ends` (k, 4) reach along the unit vectors `along` (k, 2)."""
    a, b = (np.einsum("ij,ij->i", ends[:, n : n + 2], along) for n in (0, 2))
    return np.minimum(a, b), np.maximum(a, b)


def _corners(ends: Floats, way: Floats) -> tuple[Floats, Floats]:
    """The ends of jambs (k, 4) on the left and on the right of their ways."""
    across = left_of(way)
    first = np.einsum("ij,ij->i", ends[:, :2] - ends[:, 2:], across) > 0
    return np.where(first[:, None], ends[:, :2], ends[:, 2:]), np.where(first[:, None], ends[:, 2:], ends[:, :2])


def _between(jambs: Jambs, first: Index, second: Index, half: int) -> Gaps:
    """The gaps between the first `half` of `jambs` and the others, numbered `first` and `second`. The axis runs along
    the throat."""
    a, b = np.arange(half), half + np.arange(half)
    way, across = jambs.way[a], left_of(jambs.way[a])
    own, facing = (np.hstack([jambs.left[n], jambs.right[n]]) for n in (a, b))
    (_, start), (end, _) = _span(own, way), _span(facing, way)
    (low, high), (low_b, high_b) = _span(own, across), _span(facing, across)
    middle = (low + high + low_b + high_b) / 4
    at = middle[:, None] * across
    axis = np.hstack([start[:, None] * way + at, end[:, None] * way + at])
    thick = np.minimum(high - low, high_b - low_b)
    return Gaps(first, second, jambs.cap[b], end - start, thick, jambs.bridges(a, b), axis, np.zeros(half, dtype=bool))
