"""Windows drawn as two lines with the pen of the walls, told from the piers beside them by turns.

Between two crossbars a pier and such a window look alike. But along a wall they take turns: beyond the last crossbar
the wall goes on to a corner or a junction and is wall for certain, so the ladder before it is a window, the next one a
pier; where a wall stops at a gap, the ladder before the gap is the pier that the door hangs on. A row of ladders tells
only where both its ends agree.

Terms:
  ladder, crossbar   as in `takeoff.plan.panes`.
  row                ladders one after another in one straight line, each sharing a crossbar with the next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from takeoff.geometry.cluster import Floats, Index, Mask

__all__ = ["Ladders", "blank_windows"]

_NARROWEST, _WIDEST = 0.45, 3.6
"""Windows drawn so, metres (common practice): narrower ones are as likely columns between infill walls."""
_DEEPER = 1.3
"""A ladder not so many times as long as the wall is thick may be a column in the wall."""

Place = tuple[int, int]
"""A crossbar's number and a side of it, 0 left or 1 right of its way."""


@dataclass(frozen=True)
class Ladders:
    """Crossbars and what runs from one to another."""

    bars: Floats
    """(m, 4)"""
    goes_on: Mask
    """(m, 2) whether lines leave from both ends to the left, to the right."""
    ends: Index
    """(k, 2) the crossbars of each ladder."""
    empty: Mask
    """(k,) two faces and nothing between."""
    glazed: Mask
    """(k,) something between that tells a window."""


def blank_windows(ladders: Ladders) -> Mask:
    """Which ladders (mask) are windows by turns."""
    windows = np.zeros(len(ladders.ends), dtype=bool)
    numbers = np.flatnonzero(ladders.empty)
    if not len(numbers):
        return windows
    told = np.flatnonzero(ladders.empty | ladders.glazed).tolist()
    places = {n: (_place(ladders, n, 0), _place(ladders, n, 1)) for n in told}
    at = {place: n for n, both in places.items() for place in both}
    seen: set[int] = set()
    for first in numbers.tolist():
        if first not in seen:
            row, wall_ends = _row(ladders, places, at, first)
            seen.update(row)
            starts = [0 if wall else 1 for wall in wall_ends]
            if starts[0] % 2 == (len(row) - 1 - starts[1]) % 2:
                windows[row[starts[0] :: 2]] = True
    return np.asarray(windows & _window_like(ladders))


def _place(ladders: Ladders, ladder: int, end: int) -> Place:
    """The crossbar at an end of the ladder and the side of it that the ladder lies on."""
    bar, other = (int(b) for b in (ladders.ends[ladder, end], ladders.ends[ladder, 1 - end]))
    a, b = ladders.bars[bar, :2], ladders.bars[bar, 2:]
    off = (ladders.bars[other, :2] + ladders.bars[other, 2:]) / 2 - a
    way = b - a
    return bar, 0 if way[0] * off[1] - way[1] * off[0] > 0 else 1


def _row(
    ladders: Ladders, places: dict[int, tuple[Place, Place]], at: dict[Place, int], first: int
) -> tuple[list[int], tuple[bool, bool]]:
    """The empty ladders in one row with `first`, in order, and whether the wall goes on beyond the first and the last:
    beyond a glazed ladder it is as if it stopped, for what stands beside a window is wall.
    """
    arms: list[list[int]] = []
    walls: list[bool] = []
    for way in (0, 1):
        arm: list[int] = []
        ladder, end = first, way
        while True:
            bar, side = places[ladder][end]
            beyond = at.get((bar, 1 - side))
            if beyond is None or not ladders.empty[beyond] or beyond == first:
                walls.append(beyond is None and bool(ladders.goes_on[bar, 1 - side]))
                break
            arm.append(beyond)
            end = 1 - [place[0] for place in places[beyond]].index(bar)
            ladder = beyond
        arms.append(arm)
    return [*arms[0][::-1], first, *arms[1]], (walls[0], walls[1])


def _window_like(ladders: Ladders) -> Mask:
    middle = (ladders.bars[:, :2] + ladders.bars[:, 2:]) / 2
    way = middle[ladders.ends[:, 1]] - middle[ladders.ends[:, 0]]
    length = np.hypot(way[:, 0], way[:, 1])
    thick = np.hypot(*(ladders.bars[:, 2:] - ladders.bars[:, :2]).T)[ladders.ends[:, 0]]
    return np.asarray((length >= np.maximum(_NARROWEST, _DEEPER * thick)) & (length <= _WIDEST))
