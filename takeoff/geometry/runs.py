"""Straight runs and their parallel mates.

Terms:
  run    pieces of one straight line that touch or overlap, joined: split and doubled lines become one.
  mate   another run, parallel, beside it within a distance, overlapping it lengthwise.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from takeoff.geometry.cluster import Floats, Index
from takeoff.geometry.noding import crossings

__all__ = ["Mates", "mates", "straight_runs"]

_ANGLE_STEP = np.radians(0.25)
"""Pieces whose directions differ by less share a line."""
_END_OFF = 0.006
"""An end drawn this far off, metres, slants a short line and leaves it parallel to its mate."""


@dataclass(frozen=True)
class Mates:
    """Pairs of parallel runs: numbers `first` < `second`, distance apart and overlap lengthwise, both in metres."""

    first: Index
    second: Index
    apart: Floats
    overlap: Floats


def straight_runs(
    ends: Floats, kind: Index, offset_step: float = 0.003, gap: float = 0.003
) -> tuple[Floats, Index, Index]:
    """Runs (r, 4), the kind (r,) of each, and the run (n,) of each piece of `ends` (n, 4).

    Only pieces of one kind, direction and line are joined, where they touch, overlap or leave at most `gap`.
    """
    if not len(ends):
        return ends.reshape(0, 4), np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    way = ends[:, 2:] - ends[:, :2]
    angle = np.arctan2(way[:, 1], way[:, 0]) % np.pi
    turn = np.round(angle / _ANGLE_STEP).astype(np.int64) % round(np.pi / _ANGLE_STEP)
    unit = np.column_stack([np.cos(turn * _ANGLE_STEP), np.sin(turn * _ANGLE_STEP)])
    middle = (ends[:, :2] + ends[:, 2:]) / 2
    offset = np.round((unit[:, 0] * middle[:, 1] - unit[:, 1] * middle[:, 0]) / offset_step).astype(np.int64)
    first = np.einsum("ij,ij->i", ends[:, :2], unit)
    last = np.einsum("ij,ij->i", ends[:, 2:], unit)
    low, high = np.minimum(first, last), np.maximum(first, last)
    order = np.lexsort((low, offset, turn, kind))
    line = np.concatenate(
        [[True], ((np.diff(kind[order]) != 0) | (np.diff(turn[order]) != 0) | (np.diff(offset[order]) != 0))]
    )
    reach = _reach(high[order], line)
    new = line | np.concatenate([[True], low[order][1:] > reach[:-1] + gap])
    number = np.cumsum(new) - 1
    run = np.empty(len(ends), dtype=np.int64)
    run[order] = number
    return _extremes(ends, order, new, low, high, first <= last), kind[order][new], run


def _reach(high: Floats, line: Index) -> Floats:
    """The farthest end so far along each line: a running maximum that starts afresh where `line` is true."""
    span = float(high.max() - high.min()) + 1.0
    lift = np.cumsum(line) * span
    return np.asarray(np.maximum.accumulate(high + lift) - lift)


def _extremes(ends: Floats, order: Index, new: Index, low: Floats, high: Floats, forward: Index) -> Floats:
    """From the lowest to the highest drawn end of each run."""
    starts = np.flatnonzero(new)
    lowest = order[starts]
    number = np.cumsum(new) - 1
    by_height = order[np.lexsort((high[order], number))]
    highest = by_height[np.concatenate([starts[1:], [len(order)]]) - 1]
    a = np.where(forward[lowest, None], ends[lowest, :2], ends[lowest, 2:])
    b = np.where(forward[highest, None], ends[highest, 2:], ends[highest, :2])
    return np.hstack([a, b])


def mates(runs: Floats, nearest: float, farthest: float, slant: float = 0.02, firsts: int | None = None) -> Mates:
    """All mates among `runs` (r, 4) between `nearest` and `farthest` apart, or those of the `firsts` first runs only;
    `slant` is the sine that still counts as parallel; short runs may slant more.
    """
    way = runs[:, 2:] - runs[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    unit = way / np.where(length == 0, 1, length)[:, None]
    found = [_mates(runs, unit, length, i, j, slant) for i, j in crossings(runs, farthest, firsts)]
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return Mates(none, none, np.zeros(0), np.zeros(0))
    first, second, apart, overlap = (np.concatenate(part) for part in zip(*found, strict=True))
    good = (apart >= nearest) & (apart <= farthest)
    return Mates(first[good], second[good], apart[good], overlap[good])


def _mates(
    runs: Floats, unit: Floats, length: Floats, i: Index, j: Index, slant: float
) -> tuple[Index, Index, Floats, Floats]:
    """Of the pairs i-j the parallel ones that overlap lengthwise: both numbers, distance apart and overlap."""
    off = slant + _END_OFF / np.maximum(np.minimum(length[i], length[j]), _END_OFF)
    parallel = np.abs(unit[i, 0] * unit[j, 1] - unit[i, 1] * unit[j, 0]) < off
    i, j = i[parallel], j[parallel]
    longer = np.where(length[i] >= length[j], i, j)
    other = i + j - longer
    middle = (runs[other, :2] + runs[other, 2:]) / 2 - runs[longer, :2]
    apart = np.abs(unit[longer, 0] * middle[:, 1] - unit[longer, 1] * middle[:, 0])
    a = np.einsum("ij,ij->i", runs[other, :2] - runs[longer, :2], unit[longer])
    b = np.einsum("ij,ij->i", runs[other, 2:] - runs[longer, :2], unit[longer])
    overlap = np.minimum(np.maximum(a, b), length[longer]) - np.maximum(np.minimum(a, b), 0)
    beside = overlap > 0
    return i[beside], j[beside], apart[beside], overlap[beside]
