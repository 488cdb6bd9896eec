"""How an opening works: swing, two leaves, sliding, folding, pocket. Told by the lines drawn in and beside it.

Terms:
  along, across   a line's place in the frame of an opening: metres from its first jamb, and off the middle of the wall.
  leaf            a straight line from beside a jamb, slanted against the wall, as long as the opening or half of it.
  panel           a line along the wall, in it or just beside it, that is shorter or longer than the opening.
  zigzag          slanted lines that meet tip to tip between the jambs: folded leaves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask, extents
from takeoff.geometry.vectors import directions, left_of
from takeoff.plan.model import Opening, Room
from takeoff.plan.openings import CAR, Candidate
from takeoff.plan.symbols import Swings

__all__ = ["styled", "told_by_rooms"]

_NEAR_JAMB = 0.13
"""A leaf hangs this near a jamb, metres: half a frame and a lining."""
_BESIDE = 0.16
"""Leaves that slide in front of the wall stand this near its face, metres (common practice)."""
_WHOLE, _HALF = (0.75, 1.12), (0.36, 0.64)
"""Length of one leaf, and of one of two, as shares of the opening's width."""
_SLANT = 0.2
"""Sine of the least angle to the wall at which a leaf stands open: 12 degrees."""
_LEVEL = 0.04
"""Sine of the greatest angle at which a panel lies along the wall."""
_INTO_WALL = 0.15
"""A panel that reaches so far beyond the jambs slides into or along the wall, metres."""
_PANEL = (0.3, 0.8)
"""Length of one of several sliding leaves, as shares of the opening's width."""
_APART = 0.012
"""Leaves that slide past each other lie at least so far apart, metres."""
_SHIFTED = 0.05
"""Middles of leaves that slide past each other lie so far from the middle of them all, as a share of the width."""
_FOLD = (0.1, 0.6)
"""Length of one folded leaf, as shares of the opening's width."""
_TIPS_MEET = 0.05
_INDOORS = (0.55, 2.5)
"""Width of what fills a gap between two rooms and may be a door, metres."""
_BOTH_JAMBS = 0.3
"""Hinges this far apart, as a share of the width, are two leaves'."""


@dataclass(frozen=True)
class _Beside:
    """Lines beside openings: the number of the `opening` (n,), `along` (n, 2) and `across` (n, 2) of their two ends."""

    opening: Index
    along: Floats
    across: Floats

    @property
    def length(self) -> Floats:
        return np.asarray(np.hypot(np.diff(self.along)[:, 0], np.diff(self.across)[:, 0]))

    @property
    def slant(self) -> Floats:
        """Sine of the angle to the wall."""
        return np.asarray(np.abs(np.diff(self.across)[:, 0]) / np.maximum(self.length, 1e-9))


def styled(drawing: Drawing, candidates: Sequence[Candidate], swings: Swings, evidence: Index) -> list[Candidate]:
    """The `candidates` with their style, and those with a leaf made doors; `evidence` numbers the segments that may be
    symbols', `swings` are the drawing's.
    """
    if not candidates:
        return []
    lines = np.union1d(evidence, swings.leaf_lines[0]).astype(np.int64)
    lines = lines[drawing.segments.arc[lines] < 0]
    dashed = drawing.dashed[drawing.segments.entity[lines]]
    over, lines = drawing.segments.ends[lines[dashed]], lines[~dashed]
    width, thick = np.array([c.width for c in candidates]), np.array([c.thick for c in candidates])
    beside = _beside(candidates, drawing.segments.ends[lines])
    swung, double, both_ways = _swung(candidates, swings)
    whole, pair = _leaves(beside, width, thick)
    folds, (pocket, sliding) = _folds(beside, width, thick), _panels(beside, width, thick)
    plain = np.array([c.kind != "window" for c in candidates])
    untold = np.array([not c.told for c in candidates])
    broken = _beside(candidates, over)
    pocket |= _panels(broken, width, thick)[0]
    overhead = _carried(broken, width) & (width >= CAR) & plain & ~swung
    folds &= plain | untold
    told = [
        (both_ways & ~double, "both ways"), (double, "double"), (swung, "single"), (folds, "folding"),
        (whole & plain, "single"), (pair & plain, "double"), (pocket & plain, "pocket"), (sliding, "sliding"),
        (overhead, "overhead"),
    ]
    found = []
    for n, candidate in enumerate(candidates):
        style = next((word for mask, word in told if mask[n]), candidate.style)
        hung = (candidate.kind == "opening" and style != "") or bool(untold[n] and (swung[n] or folds[n]))
        found.append(replace(candidate, style=style, kind="door" if hung else candidate.kind))
    return found


def told_by_rooms(
    openings: Sequence[Opening], candidates: Sequence[Candidate], rooms: Sequence[Room], dashed: Mask
) -> tuple[Opening, ...]:
    """The `openings` of the `candidates` as the rooms beside them tell.

    A wide one without a leaf from a garage outdoors is an overhead door. What fills a gap between two rooms indoors is
    a door, not a window, where its leaves slide or neither layer nor symbol tells; the `dashed` ones, which nothing but
    broken lines show, have the wall over them and nothing in them.
    """
    kind_of = {room.ref: room.kind for room in rooms}

    def by_rooms(o: Opening, c: Candidate, overhead: bool) -> Opening:
        beside = [kind_of[ref] for ref in o.rooms]
        if o.kind in ("door", "opening") and beside == ["garage"] and not o.style and o.width_m >= CAR:
            return replace(o, kind="door", style="overhead")
        inner = o.kind == "window" and len(beside) == 2 and "outdoor" not in beside and o.style in ("", "sliding")
        if overhead and not c.told and not o.tag and not o.style and len(beside) == 2:
            return replace(o, kind="opening", sill_m=0.0)
        untold = not c.told and not o.tag and _INDOORS[0] <= o.width_m <= _INDOORS[1]
        return replace(o, kind="door", sill_m=o.sill_m or 0.0) if inner and (o.style or untold) else o

    rows = zip(openings, candidates, dashed.tolist(), strict=True)
    return tuple(by_rooms(*row) for row in rows)


def _frames(candidates: Sequence[Candidate]) -> tuple[Floats, Floats, Floats]:
    """Start, unit vector along and unit vector across of each opening."""
    axis = np.array([c.axis for c in candidates], dtype=float)
    way = axis[:, 2:] - axis[:, :2]
    unit = directions(way)
    return axis[:, :2], unit, left_of(unit)


def _beside(candidates: Sequence[Candidate], ends: Floats) -> _Beside:
    """The lines `ends` (n, 4) that touch each opening's part of the wall, widened by what slides in front of it."""
    start, unit, normal = _frames(candidates)
    axis = np.array([c.axis for c in candidates]).reshape(-1, 2, 2)
    half = np.array([c.thick / 2 for c in candidates]) + _BESIDE
    reach = shapely.buffer(shapely.linestrings(axis), half, cap_style="square")
    tree = shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2)))
    opening, line = tree.query(reach, predicate="intersects")
    apart = ends[line].reshape(-1, 2, 2) - start[opening, None]
    along, across = (np.einsum("ikj,ij->ik", apart, way[opening]) for way in (unit, normal))
    return _Beside(opening, along, across)


def _swung(candidates: Sequence[Candidate], swings: Swings) -> tuple[Mask, Mask, Mask]:
    """Openings (masks) in which leaves swing; those with leaves at both jambs; those whose leaf swings both ways."""
    count = len(candidates)
    none = np.zeros(count, dtype=bool)
    if not len(swings):
        return none, none, none
    start, unit, normal = _frames(candidates)
    width, thick = np.array([c.width for c in candidates]), np.array([c.thick for c in candidates])
    axis = np.array([c.axis for c in candidates]).reshape(-1, 2, 2)
    reach = shapely.buffer(shapely.linestrings(axis), thick / 2 + _BESIDE, cap_style="square")
    opening, swing = shapely.STRtree(shapely.points(swings.hinge)).query(reach, predicate="intersects")
    at = np.einsum("ij,ij->i", swings.hinge[swing] - start[opening], unit[opening])
    tips = swings.tips[swing] - start[opening, None]
    along, across = (np.einsum("ikj,ij->ik", tips, way[opening]) for way in (unit, normal))
    radius = swings.radius[swing]
    shut = (np.abs(across) <= thick[opening, None] / 2 + _NEAR_JAMB + 0.05 * radius[:, None]) & (
        np.abs(along - at[:, None]) > 0.75 * radius[:, None]
    )
    shut &= (along > -_BESIDE) & (along < width[opening, None] + _BESIDE)
    side_of = np.sign(across) * (np.abs(across) > 0.4 * radius[:, None])
    across_wall = side_of.prod(axis=1) < 0  # one arc from open on one side to open on the other
    inside = (at > -_BESIDE) & (at < width[opening] + _BESIDE) & (radius <= 1.3 * width[opening] + 0.1)
    good = inside & (shut.any(axis=1) | across_wall) & (radius >= 0.3 * width[opening])
    opening, at, side = opening[good], at[good], side_of[good].sum(axis=1)
    low, high = extents(at, opening, count)
    sides = [np.bincount(opening[side * s > 0], minlength=count) > 0 for s in (1, -1)]
    through = np.bincount(opening[across_wall[good]], minlength=count) > 0
    return high > -np.inf, high - low > _BOTH_JAMBS * width, (sides[0] & sides[1]) | through


def _leaves(beside: _Beside, width: Floats, thick: Floats) -> tuple[Mask, Mask]:
    """Openings (masks) with one leaf that stands open without a swing, and with one at either jamb."""
    w = width[beside.opening]
    slanted = beside.slant >= _SLANT
    share = beside.length / w
    hung = np.zeros((3, len(width)), dtype=bool)
    reach = thick[beside.opening] / 2 + _NEAR_JAMB
    for end in (0, 1):
        at, off = beside.along[:, end], np.abs(beside.across[:, end])
        free = np.abs(beside.across[:, 1 - end]) > off
        left, right = (free & slanted & (np.abs(at - jamb) <= _NEAR_JAMB) & (off <= reach) for jamb in (0.0, w))
        single, half = (_within(share, limits) for limits in (_WHOLE, _HALF))
        for row, mask in enumerate(((left | right) & single, left & half, right & half)):
            hung[row, beside.opening[mask]] = True
    return hung[0], hung[1] & hung[2]


def _within(values: Floats, limits: tuple[float, float]) -> Mask:
    return np.asarray((values >= limits[0]) & (values <= limits[1]))


def _folds(beside: _Beside, width: Floats, thick: Floats) -> Mask:
    """Openings (mask) between whose jambs slanted lines meet tip to tip."""
    w = width[beside.opening]
    slanted = (beside.slant >= _SLANT) & (beside.slant <= 0.995) & _within(beside.length / w, _FOLD)
    slanted &= ((beside.along > -_NEAR_JAMB) & (beside.along < w[:, None] + _NEAR_JAMB)).all(axis=1)
    slanted &= np.abs(beside.across).max(axis=1) <= thick[beside.opening] / 2 + _NEAR_JAMB + 0.6 * w
    rows = np.flatnonzero(slanted)
    found = np.zeros(len(width), dtype=bool)
    if not len(rows):
        return found
    rise = np.sign(np.diff(beside.along[rows])[:, 0] * np.diff(beside.across[rows])[:, 0])
    apart = 100.0 * np.arange(len(width))[beside.opening[rows]]  # tips of other openings are no neighbours
    tips = np.stack([beside.along[rows] + apart[:, None], beside.across[rows]], axis=2).reshape(-1, 2)
    tip, other = shapely.STRtree(shapely.points(tips)).query(
        shapely.points(tips), predicate="dwithin", distance=_TIPS_MEET
    )
    meet = rise[tip // 2] * rise[other // 2] < 0
    found[beside.opening[rows[tip[meet] // 2]]] = True
    return found


def _panels(beside: _Beside, width: Floats, thick: Floats) -> tuple[Mask, Mask]:
    """Openings (masks) whose leaf slides into the wall, and whose leaves slide in front of it or past each other."""
    w, half = width[beside.opening], thick[beside.opening] / 2
    low, high = beside.along.min(axis=1), beside.along.max(axis=1)
    off = beside.across.mean(axis=1)
    level = (beside.slant <= _LEVEL) & _within(beside.length / w, (0.3, 2.2))
    shown = np.minimum(high, w) - np.maximum(low, 0.0) > 0.1 * w
    reaching = level & shown & ((low < -_INTO_WALL) ^ (high > w + _INTO_WALL))
    within = np.abs(off) < half - 0.008
    pocket = np.bincount(beside.opening[reaching & within], minlength=len(width)) > 0
    in_front = level & shown & (np.abs(off) > half + 0.008) & _within(beside.length / w, (0.8, 1.6))
    surface = np.bincount(beside.opening[in_front & reaching], minlength=len(width)) > 0
    part = level & _within(beside.length / w, _PANEL) & (low > -_NEAR_JAMB) & (high < w + _NEAR_JAMB)
    middle = (low + high) / (2 * w)
    number = np.maximum(np.bincount(beside.opening[part], minlength=len(width)), 1)
    mean = (np.bincount(beside.opening[part], middle[part], minlength=len(width)) / number)[beside.opening]
    left, right = part & (middle < mean - _SHIFTED), part & (middle > mean + _SHIFTED)
    return pocket, surface | _past_each_other(beside.opening, off, left, right, len(width))


def _carried(dashed: _Beside, width: Floats) -> Mask:
    """Openings (mask) over which a broken line runs from jamb to jamb."""
    low, high = dashed.along.min(axis=1), dashed.along.max(axis=1)
    w = width[dashed.opening]
    across = (dashed.slant <= _LEVEL) & (low <= 0.1 * w) & (high >= 0.9 * w)
    return np.asarray(np.bincount(dashed.opening[across], minlength=len(width)) > 0)


def _past_each_other(opening: Index, off: Floats, left: Mask, right: Mask, count: int) -> Mask:
    """Openings (mask) whose `left` and `right` lines lie apart across the wall."""
    number = [np.bincount(opening[side], minlength=count) for side in (left, right)]
    middle = [
        np.bincount(opening[side], off[side], minlength=count) / np.maximum(n, 1)
        for side, n in zip((left, right), number, strict=True)
    ]
    return np.asarray((number[0] > 0) & (number[1] > 0) & (np.abs(middle[0] - middle[1]) >= _APART))
