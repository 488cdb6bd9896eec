"""Line work that hangs together, found on a grid: no step compares all with all."""

from __future__ import annotations

import numpy as np

from takeoff.drawing.model import Floats, Ints
from takeoff.geometry.vectors import lengths

__all__ = ["clusters_of", "components"]

_MOST_SAMPLES = 4_000
"""A single segment is looked at in so many places at most."""
_CELLS_A_GAP = 3
_OFFSETS = [
    (dx, dy)
    for dx in range(-_CELLS_A_GAP, _CELLS_A_GAP + 1)
    for dy in range(_CELLS_A_GAP + 1)
    if (dy, dx) > (0, 0) and dx * dx + dy * dy <= _CELLS_A_GAP**2
]
"""Neighbour cells whose middles are no farther apart than the gap, each pair of cells once."""


def clusters_of(ends: Floats, gap: float) -> Ints:
    """(n,) cluster number of each segment of `ends` (n, 4): pieces closer than `gap` are in one cluster.

    The gap is kept to within the diagonal of a cell: pieces up to 0.5 gaps apart always join, pieces more than
    1.5 gaps apart never do. Numbers run from 0 in order of the first segment.
    """
    cell = gap / _CELLS_A_GAP
    segment, places = _samples(ends, cell)
    grid = np.floor(places / cell).astype(np.int64)
    grid -= grid.min(axis=0) - _CELLS_A_GAP
    width = int(grid[:, 0].max()) + _CELLS_A_GAP + 1
    keys, cell_of = np.unique(grid[:, 1] * width + grid[:, 0], return_inverse=True)
    pairs = [_neighbours(keys, dy * width + dx) for dx, dy in _OFFSETS]
    label = components(len(keys), np.concatenate(pairs))
    first = np.full(len(ends), -1, dtype=np.int64)
    first[segment[::-1]] = cell_of[::-1]
    links = np.stack([cell_of, first[segment]], axis=1)
    label = components(len(keys), np.concatenate([*pairs, links]))
    _, start, number = np.unique(label[first], return_index=True, return_inverse=True)
    rank = np.empty(len(start), dtype=np.int32)
    rank[np.argsort(start, kind="stable")] = np.arange(len(start), dtype=np.int32)
    return rank[number]


def _samples(ends: Floats, step: float) -> tuple[Ints, Floats]:
    """Points along each segment no more than `step` apart: their segment (m,) and place (m, 2)."""
    length = lengths(ends)
    count = np.clip(np.ceil(length / step).astype(np.int64) + 1, 2, _MOST_SAMPLES)
    segment = np.repeat(np.arange(len(ends)), count)
    place = np.arange(len(segment)) - np.repeat(np.cumsum(count) - count, count)
    share = (place / np.repeat(count - 1, count))[:, None]
    return segment.astype(np.int32), ends[segment, :2] * (1 - share) + ends[segment, 2:] * share


def _neighbours(keys: np.ndarray, offset: int) -> np.ndarray:
    """(m, 2) pairs of indices into sorted `keys` that are `offset` apart."""
    place = np.searchsorted(keys, keys + offset)
    place[place == len(keys)] = 0
    hit = keys[place] == keys + offset
    return np.stack([np.flatnonzero(hit), place[hit]], axis=1)


def components(count: int, pairs: np.ndarray) -> np.ndarray:
    """(count,) the least member of each item's connected group, by hooking and pointer jumping."""
    label = np.arange(count)
    if not len(pairs):
        return label
    a, b = pairs[:, 0], pairs[:, 1]
    while True:
        least = np.minimum(label[a], label[b])
        before = label.copy()
        np.minimum.at(label, label[a], least)
        np.minimum.at(label, label[b], least)
        while True:
            jumped = label[label]
            if (jumped == label).all():
                break
            label = jumped
        if (label == before).all():
            return label
