"""The top line of a wall, unrolled: how high the wall is at each place along it. Exact for level and raking tops.

Terms:
  along     metres from the wall's left end, seen from inside the room.
  profile   the wall's top as straight pieces: (along, height) points, along never falling.
  band      the part of the wall between two heights and two places along.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf

__all__ = ["Profile", "level"]

Point = tuple[float, float]

TOUCH_M = 0.005
"""An opening whose head comes this close to the wall's top reaches it: less than a coat of plaster."""


@dataclass(frozen=True, slots=True)
class Profile:
    """A wall's top line. `points` are (along, height) in metres, first along 0, at least two."""

    points: tuple[Point, ...]

    @property
    def length(self) -> float:
        return self.points[-1][0]

    @property
    def one_height(self) -> bool:
        """Whether it is a single level piece, as most walls are: what is worked out of it needs no knots then."""
        return len(self.points) == 2 and self.points[0][1] == self.points[1][1]

    @property
    def is_level(self) -> bool:
        return max(h for _, h in self.points) - min(h for _, h in self.points) < 1e-9

    def height_at(self, along: float) -> float:
        """Height at `along`; beyond the ends, the end's own."""
        if self.one_height or along <= self.points[0][0]:
            return self.points[0][1]
        for (s0, h0), (s1, h1) in pairwise(self.points):
            if along <= s1:
                return h1 if s1 == s0 else h0 + (h1 - h0) * (along - s0) / (s1 - s0)
        return self.points[-1][1]

    def area(self, lo: float = 0.0, hi: float = inf, bottom: float = 0.0, top: float = inf) -> float:
        """Area in m2 of the wall between `lo` and `hi` along and `bottom` and `top` up: the band clipped to the wall.

        Integral of max(0, min(top, height) - bottom), exact because it is linear between its knots.
        """
        lo, hi = max(lo, 0.0), min(hi, self.length)
        if self.one_height:
            return max(0.0, hi - lo) * max(0.0, min(top, self.points[0][1]) - bottom)
        knots = self._knots(lo, hi, (bottom, top))
        total = 0.0
        for (s0, h0), (s1, h1) in pairwise(knots):
            total += (s1 - s0) * (max(0.0, min(top, h0) - bottom) + max(0.0, min(top, h1) - bottom)) / 2
        return total

    def outline(self) -> tuple[Point, ...]:
        """The wall's shape, counter-clockwise from its bottom left corner, no point twice."""
        return _ring([(0.0, 0.0), (self.length, 0.0), *reversed(self.points)])

    def band(self, lo: float, hi: float, bottom: float, top: float) -> tuple[Point, ...]:
        """The band clipped to the wall as a ring, or () where nothing is left of it."""
        if self.area(lo, hi, bottom, top) < 1e-9:
            return ()
        knots = self._knots(max(lo, 0.0), min(hi, self.length), (bottom, top))
        above = [(s, min(top, h)) for s, h in knots if h >= bottom - 1e-12]
        return _ring([(above[0][0], bottom), (above[-1][0], bottom), *reversed(above)])

    def reached_by(self, lo: float, hi: float, head: float) -> list[tuple[float, float]]:
        """Where between `lo` and `hi` the wall is no higher than `head`: an opening there goes up to the ceiling."""
        knots = self._knots(max(lo, 0.0), min(hi, self.length), (head + TOUCH_M,))
        return [(a[0], b[0]) for a, b in pairwise(knots) if b[0] > a[0] and (a[1] + b[1]) / 2 <= head + TOUCH_M]

    def top_length(self, without: Iterable[tuple[float, float]] = ()) -> float:
        """Length of the top line itself, rakes along the rake, less the stretches `without`."""
        whole = self._stretch(0.0, self.length)
        return whole - sum(self._stretch(lo, hi) for lo, hi in _merged(without))

    def _stretch(self, lo: float, hi: float) -> float:
        return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(self._knots(lo, hi, ())))

    def _knots(self, lo: float, hi: float, levels: Iterable[float]) -> list[Point]:
        """(along, height) at `lo`, `hi`, each point between, and where the top crosses one of `levels`."""
        if hi <= lo:
            return []
        if self.one_height:
            return [(lo, self.points[0][1]), (hi, self.points[0][1])]
        inner = [(s, h) for s, h in self.points if lo < s < hi]
        knots = [(lo, self.height_at(lo)), *inner, (hi, self.height_at(hi))]
        crossings = [
            (s0 + (s1 - s0) * (y - h0) / (h1 - h0), y)
            for (s0, h0), (s1, h1) in pairwise(knots)
            for y in levels
            if min(h0, h1) < y < max(h0, h1)
        ]
        return sorted([*knots, *crossings], key=lambda knot: knot[0]) if crossings else knots


def level(length_m: float, height_m: float) -> Profile:
    """The profile of a wall of one height: `level(4.2, 2.4).area()` is 4.20 x 2.40 = 10.08 m2."""
    return Profile(((0.0, height_m), (length_m, height_m)))


def _ring(points: list[Point]) -> tuple[Point, ...]:
    """`points` without repeats of the point before, the last compared with the first."""
    kept: list[Point] = []
    for point in points:
        if not kept or hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) > 1e-9:
            kept.append(point)
    if len(kept) > 1 and hypot(kept[0][0] - kept[-1][0], kept[0][1] - kept[-1][1]) <= 1e-9:
        kept.pop()
    return tuple(kept)


def _merged(stretches: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """`stretches` as a list without overlaps, left to right."""
    merged: list[tuple[float, float]] = []
    for lo, hi in sorted(stretches):
        if merged and lo <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(hi, merged[-1][1]))
        else:
            merged.append((lo, hi))
    return merged
