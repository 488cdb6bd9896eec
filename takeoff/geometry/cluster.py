"""Points that mean the same place, and things that hang together: clusters and connected components.

Terms:
  component   things joined, directly or through others, by pairs.
  cluster     points joined by steps no longer than a tolerance; its place is the mean of its points.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["Floats", "Index", "Mask", "cluster_points", "components", "distinct", "extents", "numbered"]

Floats = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

_NEIGHBOURS = ((1, 0), (-1, 1), (0, 1), (1, 1))
"""Half of the eight cells round a cell: the other half is seen from the other cell."""


def numbered(keys: Index) -> tuple[Index, Index]:
    """The different `keys`, sorted, and for each of the keys its number among them.

    `np.unique` gives the same in twice the time.
    """
    order = np.argsort(keys)
    in_order = keys[order]
    new = _new(in_order)
    number = np.empty(len(keys), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    return in_order[new], number


def distinct(keys: Index) -> Index:
    """The different `keys`, sorted."""
    in_order = np.sort(keys)
    return in_order[_new(in_order)]


def _new(in_order: Index) -> Mask:
    """Which of the keys in order differ from the one before."""
    new = np.ones(len(in_order), dtype=bool)
    new[1:] = in_order[1:] != in_order[:-1]
    return new


def extents(values: Floats, group: Index, count: int) -> tuple[Floats, Floats]:
    """Least and greatest of the `values` (n,) or (n, k) of each of `count` groups; +inf and -inf where one has none."""
    shape = (count, *values.shape[1:])
    low, high = np.full(shape, np.inf), np.full(shape, -np.inf)
    np.minimum.at(low, group, values)
    np.maximum.at(high, group, values)
    return low, high


def components(count: int, first: Index, second: Index) -> Index:
    """Component number (0 ..., in order of first member) of each of `count` things joined by the pairs first-second.

    Labels sink to the smallest member by hooking and pointer jumping: a few vectorised rounds, no recursion.
    """
    root = np.arange(count, dtype=np.int64)
    a, b = np.asarray(first, dtype=np.int64), np.asarray(second, dtype=np.int64)
    while len(a):
        low = np.minimum(root[a], root[b])
        high = np.maximum(root[a], root[b])
        live = low != high
        if not live.any():
            break
        a, b = a[live], b[live]
        np.minimum.at(root, high[live], low[live])
        while True:
            jumped = root[root]
            if np.array_equal(jumped, root):
                break
            root = jumped
    return numbered(root)[1]


def cluster_points(points: Floats, tolerance: float) -> tuple[Floats, Index]:
    """Places (k, 2) and, for each of the `points` (n, 2), the number of its place.

    Points nearer than `tolerance` share a place; chains of near points do too, so that the tolerance
    must be well below the smallest distance that matters. Grid cells keep it n log n.
    """
    if not len(points):
        return np.zeros((0, 2)), np.zeros(0, dtype=np.int64)
    columns = np.ascontiguousarray(points.T)  # gathered and added up much faster than rows of two
    across, up = np.floor(columns / tolerance).astype(np.int64)
    across -= across.min()
    width = int(across.max()) + 3
    unique, owner = numbered(across + 1 + (up - up.min()) * width)
    means = _means(columns, owner, len(unique))
    pairs = [_near_cells(unique, means, dx + dy * width, tolerance) for dx, dy in _NEIGHBOURS]
    joined = components(len(unique), np.concatenate([p[0] for p in pairs]), np.concatenate([p[1] for p in pairs]))
    label = joined[owner]
    return _means(columns, label, int(joined.max()) + 1), label


def _means(columns: Floats, label: Index, count: int) -> Floats:
    size = np.bincount(label, minlength=count)
    return np.column_stack([np.bincount(label, column, minlength=count) / size for column in columns])


def _near_cells(unique: Index, means: Floats, step: int, tolerance: float) -> tuple[Index, Index]:
    place = np.searchsorted(unique, unique + step)
    place[place == len(unique)] = 0
    here = np.flatnonzero(unique[place] == unique + step)
    there = place[here]
    near = np.hypot(*(means[here] - means[there]).T) <= tolerance
    return here[near], there[near]
