"""Where walls stop, and what they face across the gap.

Terms:
  jamb    the end of a wall: a short line across its thickness with a face running back from each end (a cap),
          or two loose face ends side by side (an open end), or the loose end of a single-line wall (a tip).
  way     the unit vector from a jamb out into the gap, along the wall.
  beam    the strip as wide as the wall that a jamb throws along its way.
  target  the first line that the beam meets: another jamb (facing) or the side of a wall.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, extents
from takeoff.geometry.runs import mates
from takeoff.geometry.vectors import left_of

__all__ = ["THICKEST", "THINNEST", "TOUCH", "Jambs", "find_jambs", "first_hits", "wide_as_wall"]

THINNEST, THICKEST = 0.035, 0.65
"""Thickness of walls in metres: thin partitions to old masonry (common practice)."""
TOUCH = 0.005
"""Two runs meet when nearer than this, metres."""
_STUB = 0.03
"""A line that leaves a cap by less is an end run over, no face, metres."""
_AHEAD = 0.99
"""Cosine of the angle within which a line runs on along a wall's way."""
_THIN_WALL, _THINNER = 0.08, 0.38
"""What goes on from a cap is a wall, not the frame of a window, where its faces lie so far apart, metres, and by this
share of the cap's length."""
_SQUARE = 0.5
"""Sine of the least angle between a cap and the faces behind it."""


@dataclass(frozen=True)
class Jambs:
    """Ends of walls: corners `left` and `right` of the way (n, 2), `way` (n, 2), thickness `thick` (n,)."""

    left: Floats
    right: Floats
    way: Floats
    cap: Index
    """(n,) run that caps the wall, -1 for an open end or a tip."""
    sides: Index
    """(r, 2) which sides of each run's ends other runs leave on, see `_end_sides`."""
    met: tuple[Index, Index]
    """Pairs of an end of a run (twice its number, or one more) and another run that it touches."""

    @property
    def thick(self) -> Floats:
        """Thickness (n,), 0 for tips."""
        return np.asarray(np.hypot(*(self.left - self.right).T))

    def __len__(self) -> int:
        return len(self.left)

    def bridges(self, first: Index, second: Index) -> Floats:
        """The two lines (n, 2, 4) that carry a wall's faces on from each of the jambs `first` to `second` facing it."""
        return np.stack(
            [np.hstack([self.left[first], self.right[second]]), np.hstack([self.right[first], self.left[second]])],
            axis=1,
        )

    def plus(self, more: Jambs) -> Jambs:
        """These jambs and `more` of the same runs."""
        left, right, way, cap = (
            np.concatenate([getattr(self, name), getattr(more, name)]) for name in ("left", "right", "way", "cap")
        )
        return Jambs(left, right, way, cap, self.sides, self.met)


def find_jambs(runs: Floats) -> Jambs:
    """All jambs among the `runs` (r, 4)."""
    way = runs[:, 2:] - runs[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    tip, other = _met(runs)
    sides, loose = _end_sides(runs, tip, other)
    caps = _caps(runs, way, length, sides)
    ends = ~_going_on(runs, length, caps, tip, other)
    sides[caps[3][~ends]] = 0  # nor do they carry a wall's face on
    caps = (caps[0][ends], caps[1][ends], caps[2][ends], caps[3][ends])
    open_ends, used = _open_ends(runs, length, loose)
    tips = _tips(runs, way, length, loose & ~used)
    parts = [caps, open_ends, tips]
    left, right, out, cap = (np.concatenate([p[k] for p in parts]) for k in range(4))
    return Jambs(left, right, out, cap, sides, (tip, other))


def _met(runs: Floats) -> tuple[Index, Index]:
    """Pairs of an end of a run (twice its number, or one more) and another of the `runs` (r, 4) that it touches."""
    tree = shapely.STRtree(shapely.linestrings(runs.reshape(-1, 2, 2)))
    tip, other = tree.query(shapely.points(runs.reshape(-1, 2)), predicate="dwithin", distance=TOUCH)
    apart = tip // 2 != other
    return tip[apart], other[apart]


def _end_sides(runs: Floats, tip: Index, other: Index) -> tuple[Index, Mask]:
    """For each run and end (r, 2): which sides of it other runs leave on (bit 1 left, bit 2 right), and whether it
    is loose; `tip` and `other` from `_met`.

    A run that goes on beyond the end, more or less straight, counts as bit 4.
    """
    count = len(runs)
    way = runs[:, 2:] - runs[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    tips = runs.reshape(-1, 2)
    own = tip // 2
    unit = way / np.where(length == 0, 1, length)[:, None]
    normal = left_of(unit)
    bits = np.zeros(2 * count, dtype=np.int64)
    slanted = np.abs(unit[own, 0] * unit[other, 1] - unit[own, 1] * unit[other, 0]) > _SQUARE
    for end in (slice(0, 2), slice(2, 4)):
        out = np.einsum("ij,ij->i", runs[other, end] - tips[tip], normal[own])
        np.bitwise_or.at(bits, tip[slanted & (out > _STUB)], 1)
        np.bitwise_or.at(bits, tip[slanted & (out < -_STUB)], 2)
    beyond = np.zeros(len(tip))
    for end in (slice(0, 2), slice(2, 4)):
        ahead = np.einsum(
            "ij,ij->i", runs[other, end] - tips[tip], unit[own] * np.where(tip % 2 == 1, 1.0, -1.0)[:, None]
        )
        beyond = np.maximum(beyond, ahead)
    np.bitwise_or.at(
        bits, tip[~slanted & (beyond > 2 * TOUCH) & (_off_line(runs, unit, tips, tip, other) < TOUCH / 2)], 4
    )
    met = np.zeros(2 * count, dtype=bool)
    met[tip] = True
    return bits.reshape(-1, 2), ~met.reshape(-1, 2)


def _off_line(runs: Floats, unit: Floats, tips: Floats, tip: Index, other: Index) -> Floats:
    """How far each tip lies off the straight line of the other run."""
    apart = tips[tip] - runs[other, :2]
    return np.asarray(np.abs(unit[other, 0] * apart[:, 1] - unit[other, 1] * apart[:, 0]))


def _caps(runs: Floats, way: Floats, length: Floats, sides: Index) -> tuple[Floats, Floats, Floats, Index]:
    short = (length >= THINNEST) & (length <= THICKEST)
    both = sides[:, 0] | sides[:, 1]
    behind_left = short & (both == 1)
    behind_right = short & (both == 2)
    cap = np.flatnonzero(behind_left | behind_right)
    unit = way[cap] / length[cap, None]
    flip = np.where(behind_left[cap], 1.0, -1.0)
    out = np.column_stack([unit[:, 1], -unit[:, 0]]) * flip[:, None]
    start, stop = runs[cap, :2], runs[cap, 2:]
    forward = (out[:, 0] * (stop - start)[:, 1] - out[:, 1] * (stop - start)[:, 0]) > 0
    left = np.where(forward[:, None], stop, start)
    right = np.where(forward[:, None], start, stop)
    return left, right, out, cap


def _going_on(
    runs: Floats, length: Floats, caps: tuple[Floats, Floats, Floats, Index], tip: Index, other: Index
) -> Mask:
    """Which of the `caps` (as `_caps` gives them) end no wall: a thinner one goes on from there, as between columns."""
    _, _, out, cap = caps
    number = np.full(len(runs), -1, dtype=np.int64)
    number[cap] = np.arange(len(cap))
    at = number[other]
    tip, at = tip[at >= 0], at[at >= 0]
    ends = runs.reshape(-1, 2)
    course = ends[tip ^ 1] - ends[tip]
    ahead = np.einsum("ij,ij->i", course, out[at]) >= _AHEAD * length[tip // 2]
    tip, at = tip[ahead], at[ahead]
    start = runs[cap[at], :2]
    unit = (runs[cap[at], 2:] - start) / length[cap[at], None]
    along = np.einsum("ij,ij->i", ends[tip] - start, unit)
    within = (along > 2 * TOUCH) & (along < length[cap[at]] - 2 * TOUCH)
    low, high = extents(along[within], at[within], len(cap))
    return wide_as_wall(high - low, length[cap])


def wide_as_wall(apart: Floats, cap: Floats) -> Mask:
    """Whether lines so far `apart` are faces of a wall, not of a window's frame, beside a cap so long (both metres)."""
    return np.asarray(apart >= np.maximum(_THIN_WALL, _THINNER * cap))


def _open_ends(runs: Floats, length: Floats, loose: Mask) -> tuple[tuple[Floats, Floats, Floats, Index], Mask]:
    """Pairs of loose ends side by side of two mates, nearest first; and which ends they use."""
    used = np.zeros_like(loose)
    some = np.flatnonzero(loose.any(axis=1) & (length > 2 * TOUCH))
    found = mates(runs[some], THINNEST, THICKEST)
    rows = []
    order = np.argsort(found.apart, kind="stable")
    for i, j in zip(some[found.first[order]].tolist(), some[found.second[order]].tolist(), strict=True):
        for a in (0, 1):
            for b in (0, 1):
                if not (loose[i, a] and loose[j, b]) or used[i, a] or used[j, b]:
                    continue
                p, q = runs[i, 2 * a : 2 * a + 2], runs[j, 2 * b : 2 * b + 2]
                out = (p - runs[i, 2 - 2 * a : 4 - 2 * a]) / length[i]
                across = q - p
                if abs(float(across @ out)) < 0.06 and float(out @ (q - runs[j, 2 - 2 * b : 4 - 2 * b])) > 0:
                    used[i, a] = used[j, b] = True
                    left_first = out[0] * across[1] - out[1] * across[0] < 0
                    rows.append((*(p if left_first else q), *(q if left_first else p), *out))
    table = np.array(rows, dtype=float).reshape(-1, 6)
    return (table[:, :2], table[:, 2:4], table[:, 4:], np.full(len(table), -1, dtype=np.int64)), used


def _tips(runs: Floats, way: Floats, length: Floats, loose: Mask) -> tuple[Floats, Floats, Floats, Index]:
    run, end = np.nonzero(loose & (length > 0.1)[:, None])
    point = runs.reshape(-1, 2, 2)[run, end]
    out = way[run] / length[run, None] * np.where(end == 1, 1.0, -1.0)[:, None]
    return point, point.copy(), out, np.full(len(run), -1, dtype=np.int64)


def first_hits(origins: Floats, ways: Floats, reach: Floats, runs: Floats, start: float = 0.02) -> tuple[Index, Floats]:
    """For each ray the first run it meets beyond `start`, and how far; -1 and infinity where none is met
    within `reach` (n,).
    """
    rays = np.hstack([origins + ways * start, origins + ways * reach[:, None]])
    tree = shapely.STRtree(shapely.linestrings(runs.reshape(-1, 2, 2)))
    ray, run = tree.query(shapely.linestrings(rays.reshape(-1, 2, 2)), predicate="intersects")
    along = runs[run, 2:] - runs[run, :2]
    cross = ways[ray, 0] * along[:, 1] - ways[ray, 1] * along[:, 0]
    slanted = np.abs(cross) > 0.1 * np.hypot(along[:, 0], along[:, 1])
    ray, run, along, cross = ray[slanted], run[slanted], along[slanted], cross[slanted]
    apart = runs[run, :2] - origins[ray]
    distance = (apart[:, 0] * along[:, 1] - apart[:, 1] * along[:, 0]) / cross
    order = np.lexsort((run, distance, ray))
    ray, run, distance = ray[order], run[order], distance[order]
    first = np.concatenate([[True], ray[1:] != ray[:-1]]) if len(ray) else np.zeros(0, dtype=bool)
    hit = np.full(len(origins), -1, dtype=np.int64)
    far = np.full(len(origins), np.inf)
    hit[ray[first]], far[ray[first]] = run[first], distance[first]
    return hit, far
