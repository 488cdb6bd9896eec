"""What drawn shapes say about the unit: door swings, wall thickness, the size of the whole, text heights.

Each witness looks at the drawing without a unit and returns an `Opinion`: for each unit the logarithm of how well
what it saw fits that unit, 0 for a perfect fit. Opinions of independent witnesses add up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from takeoff.drawing.chords import span_of
from takeoff.drawing.lengths import METRES
from takeoff.drawing.model import Drawing
from takeoff.geometry.vectors import lengths

__all__ = ["Opinion", "door_swings", "opinion_of", "overall_size", "straight_of", "text_heights", "wall_thickness"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one witness says: `fit` (unit -> log likelihood, at most 0), in plain words in `says`.

    `exact` marks a witness that compares print with drawing, not with what buildings usually measure.
    """

    witness: str
    fit: Mapping[str, float]
    says: str
    exact: bool = False

    def best(self) -> str:
        return max(self.fit, key=lambda unit: self.fit[unit])

    def lead(self) -> float:
        """By how much the best unit fits better than the second."""
        first, second = sorted(self.fit.values(), reverse=True)[:2]
        return first - second


def opinion_of(witness: str, likelihood: Mapping[str, float], says: str, power: float, exact: bool = False) -> Opinion:
    """An opinion from likelihoods (0 to 1) of each unit, each floored at 2 % and counted `power` times."""
    return Opinion(witness, {unit: power * math.log(max(p, 0.02)) for unit, p in likelihood.items()}, says, exact)


_LEAF_M, _LEAF_SPREAD = 0.82, 0.25
"""Door leaves are 0.6 to 1.0 m wide (EN and US schedules alike; common practice), spread as a natural logarithm."""
_WALL_M, _WALL_SPREAD = 0.17, 0.55
"""Walls are 0.07 to 0.45 m thick, most between 0.1 and 0.3 (common practice)."""
_SIZE_M, _SIZE_SPREAD = 15.0, 0.95
"""A plan spans 5 to 60 m (common practice)."""
_TEXT_M, _TEXT_SPREAD = 0.17, 0.6
"""Texts of 2 to 3.5 mm on paper at 1:50 or 1:100 stand 0.1 to 0.35 m high in the model (common practice)."""
_LEAF_SLACK = 0.12
"""A leaf may miss the hinge and the end of its arc by this share of its length: it has a thickness."""
_ENOUGH = 4
"""More of the same adds nothing: drawings repeat themselves."""


def straight_of(drawing: Drawing) -> Floats:
    """The straight lines (n, 4), chords of curves left out."""
    return drawing.segments.ends[drawing.segments.arc < 0]


def _fits(values: Floats, weight: Floats, usual: float, spread: float) -> dict[str, float]:
    """For each unit the weighted mean likelihood of `values` (drawing units) under a log-normal law, 1 at its peak."""
    return {
        unit: float(np.average(np.exp(-0.5 * (np.log(values * k / usual) / spread) ** 2), weights=weight))
        for unit, k in METRES.items()
    }


def door_swings(drawing: Drawing) -> Opinion | None:
    """Arcs of 10 to 100 degrees that a leaf as long as their radius joins to their centre."""
    from shapely import STRtree, box, points

    from takeoff.geometry.near import all_met

    shape = drawing.arcs.shape
    degrees = np.degrees(shape[:, 4])
    arcs = shape[(degrees > 10) & (degrees < 100) & (shape[:, 2] > 0)]
    ends = straight_of(drawing)
    if not len(arcs) or not len(ends):
        return None
    length = lengths(ends)
    leaves = _as_long_as_one(length, arcs[:, 2])
    ends, length = ends[leaves], length[leaves]
    both = np.concatenate([ends, ends[:, (2, 3, 0, 1)]])
    tree = STRtree(points(both[:, :2]))
    reach = _LEAF_SLACK * arcs[:, 2]
    swept = box(arcs[:, 0] - reach, arcs[:, 1] - reach, arcs[:, 0] + reach, arcs[:, 1] + reach)
    arc, end = all_met("door swings", tree, swept)
    far, radius, centre = both[end, 2:], arcs[arc, 2], arcs[arc, :2]
    as_long = np.abs(length[end % len(ends)] - radius) < _LEAF_SLACK * radius
    at_tip = np.zeros(len(arc), np.bool_)
    for angle in (arcs[arc, 3], arcs[arc, 3] + arcs[arc, 4]):
        tip = centre + radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
        at_tip |= np.hypot(*(far - tip).T) < _LEAF_SLACK * radius
    doors = np.unique(arc[as_long & at_tip])
    if not len(doors):
        return None
    radii = arcs[doors, 2]
    likelihood = _fits(radii, np.ones(len(radii)), _LEAF_M, _LEAF_SPREAD)
    middle = float(np.median(radii))
    return opinion_of(
        "door swings", likelihood, f"{len(radii)} door swings, their leaf mostly {middle:.4g} units wide",
        min(len(radii), _ENOUGH) / 2 + 0.5,
    )  # fmt: skip


def _as_long_as_one(length: Floats, radius: Floats) -> npt.NDArray[np.bool_]:
    """Which lines may be the leaf of an arc at all, by their length: few are, so that few have to be looked for."""
    radius = np.sort(radius)
    least = np.searchsorted(radius, length / (1 + 1.1 * _LEAF_SLACK))
    most = np.searchsorted(radius, length / (1 - 1.1 * _LEAF_SLACK))
    may: npt.NDArray[np.bool_] = least < most
    return may


def wall_thickness(drawing: Drawing) -> Opinion | None:
    """Distance of long parallel lines from their nearest mate."""
    spacing, weight = mate_spacings(drawing)
    if len(spacing) < 4:
        return None
    likelihood = _fits(spacing, weight, _WALL_M, _WALL_SPREAD)
    order = np.argsort(spacing)
    middle = spacing[order][np.searchsorted(np.cumsum(weight[order]), weight.sum() / 2)]
    says = f"{len(spacing)} long lines have a parallel mate, mostly {middle:.4g} units away"
    return opinion_of("wall thickness", likelihood, says, 1.5)


_LONG = 0.04
"""A line is long from this share of the drawing's span: 0.8 m in a house of 20 m."""
_MOST_LINES = 3000
_EVEN = 1.15
"""Lines of a pattern lie apart evenly within this share."""
_ENDS = 2
"""So many lines at each edge of a pattern have no pattern on their other side."""


def mate_spacings(drawing: Drawing) -> tuple[Floats, Floats]:
    """Distance of long straight lines to their nearest parallel mate, and how long they run side by side; lines of a
    pattern left out."""
    from shapely import STRtree, box

    ends = straight_of(drawing)
    span = span_of(ends)
    way = ends[:, 2:] - ends[:, :2]
    length = np.hypot(*way.T)
    longest = np.argsort(-length, kind="stable")[:_MOST_LINES]
    longest = longest[length[longest] > _LONG * span]
    if len(longest) < 2:
        return np.zeros(0), np.zeros(0)
    ends, way, length = ends[longest], way[longest], length[longest]
    unit = way / length[:, None]
    reach = span / 12
    low, high = np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])
    tree = STRtree(box(*low.T, *high.T))
    i, j = tree.query(box(*(low - reach).T, *(high + reach).T))
    keep = (i != j) & (np.abs(unit[i, 0] * unit[j, 1] - unit[i, 1] * unit[j, 0]) < 0.01)
    i, j = i[keep], j[keep]
    start, stop = ((ends[j, a : a + 2] - ends[i, :2]) for a in (0, 2))
    along = np.sort(np.stack([(d * unit[i]).sum(axis=1) for d in (start, stop)]), axis=0)
    overlap = np.minimum(along[1], length[i]) - np.maximum(along[0], 0.0)
    off = unit[i, 0] * start[:, 1] - unit[i, 1] * start[:, 0]
    del along, start, stop  # pairs by the million where lines lie in a heap
    keep = overlap > 0.5 * np.minimum(length[i], length[j])
    keep &= (np.abs(off) > 1e-3 * length[i]) & (np.abs(off) < reach)
    i, j, off, overlap = i[keep], j[keep], off[keep], overlap[keep]
    drawn = _in_pattern(i, j, off, len(ends))
    keep = ~(drawn[i] | drawn[j])
    i, away, overlap = i[keep], np.abs(off[keep]), overlap[keep]
    order = np.lexsort((away, i))
    first = np.concatenate([[True], np.diff(i[order]) > 0]) if len(order) else np.zeros(0, np.bool_)
    nearest = order[first]
    return away[nearest], overlap[nearest]


def _in_pattern(i: Ints, j: Ints, off: Floats, count: int) -> npt.NDArray[np.bool_]:
    """Which of `count` lines belong to a pattern (hatching, boards, nested outlines), by their mates `j` of `i`, `off`
    to one side or the other: the next mates on both sides are as far, and theirs too. A wall's face has one near mate.
    """
    near, mate = np.full((2, count), np.inf), np.full((2, count), -1, dtype=np.int64)
    order = np.argsort(-np.abs(off), kind="stable")
    i, j, off = i[order], j[order], off[order]
    side = (off > 0).astype(np.int64)
    near[side, i], mate[side, i] = np.abs(off), j  # the nearest comes last
    both = np.isfinite(near).all(axis=0)
    even = both & (near.max(axis=0) <= _EVEN * np.where(both, near.min(axis=0), 0.0))
    inside: npt.NDArray[np.bool_] = even & even[mate].all(axis=0)
    step = near.min(axis=0)
    for _ in range(_ENDS):
        for k in (0, 1):
            far = np.where(mate[k] >= 0, near[k], 0.0)
            alike = np.abs(far - step[mate[k]]) <= (_EVEN - 1) * far
            inside = inside | (alike & inside[mate[k]])
    return inside


def overall_size(drawing: Drawing) -> Opinion | None:
    """The span of the middle 90 % of all line ends."""
    span = span_of(drawing.segments.ends)
    if span <= 0:
        return None
    likelihood = _fits(np.array([span]), np.ones(1), _SIZE_M, _SIZE_SPREAD)
    return opinion_of("overall size", likelihood, f"the drawing spans about {span:.4g} units", 1.0)


def text_heights(drawing: Drawing) -> Opinion | None:
    """The middle height of the texts."""
    heights = np.array([text.height for text in drawing.texts if text.height > 0])
    if not len(heights):
        return None
    middle = float(np.median(heights))
    likelihood = _fits(np.array([middle]), np.ones(1), _TEXT_M, _TEXT_SPREAD)
    return opinion_of("text heights", likelihood, f"texts stand mostly {middle:.4g} units high", 0.7)
