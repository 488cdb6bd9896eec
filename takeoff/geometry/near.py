"""Which shapes meet which, some at a time and never too many: a tree of shapes asked all at once holds every pair.

A drawing whose things lie over one another by the thousand has as many pairs as the square of them. Asked in one go the
tree would fill the memory, and end the process where the system gives no more, before anything could be said.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely

from takeoff.errors import DrawingError
from takeoff.geometry.cluster import Floats, Index, Mask

__all__ = ["MOST_MET", "all_met", "met", "near_any", "portions"]

MOST_MET = 20_000_000
"""More pairs of one kind of thing are refused: seconds of work. Plans of 20,000 rooms have some hundred thousand."""
_PAIRS_AT_ONCE = 1_000_000
"""About so many pairs are held at one time: their figures take some 100 bytes each."""
_FIRST_STEP, _LAST_STEP = 16, 1 << 15
"""Shapes looked at in one go, when nothing is known of how crowded they are and when they are not."""


def portions(tree: shapely.STRtree, shapes: Any, **how: Any) -> Iterator[tuple[Index, Index]]:
    """What ``tree.query(shapes, **how)`` finds, number of the shape and of what it met in the tree, some at a time, in
    the order of the shapes (an array)."""
    at, step = 0, _FIRST_STEP
    while at < len(shapes):
        first, second = tree.query(shapes[at : at + step], **how)
        yield first + at, second
        at += step
        step = int(min(max(_PAIRS_AT_ONCE * step // max(len(first), 1), _FIRST_STEP), _LAST_STEP))


def met(what: str, tree: shapely.STRtree, shapes: Any, **how: Any) -> Iterator[tuple[Index, Index]]:
    """`portions` of shapes that are `what` for people ('texts').

    Raises `DrawingError` when they are more than `MOST_MET`.
    """
    count = 0
    for first, second in portions(tree, shapes, **how):
        count += len(first)
        if count > MOST_MET:
            raise DrawingError(
                f"So many {what} lie over one another in this drawing that they cannot be told apart. "
                "Switch off or freeze their layers, or purge them, and save it again."
            )
        yield first, second


def all_met(what: str, tree: shapely.STRtree, shapes: Any, **how: Any) -> tuple[Index, Index]:
    """What ``tree.query(shapes, **how)`` returns. Raises as `met` does."""
    parts = [np.zeros((2, 0), np.int64), *map(np.asarray, met(what, tree, shapes, **how))]
    first, second = np.concatenate(parts, axis=1)
    return first, second


def near_any(points: Floats, places: Floats, distance: float) -> Mask:
    """Which of the `points` (n, 2) lie within `distance` of one of the `places` (k, 2), of which there are few."""
    near = np.zeros(len(points), dtype=bool)
    if not len(points) or not len(places):
        return near
    low = places.min(axis=0) - distance
    cell, own = (np.floor((at - low) / distance).astype(np.int64) for at in (places, points))
    width = int(cell[:, 0].max()) + 3
    about = [(cell[:, 0] + dx + 1) + (cell[:, 1] + dy) * width for dx in (-1, 0, 1) for dy in (-1, 0, 1)]
    there = np.flatnonzero((own[:, 0] >= -1) & (own[:, 0] < width - 1))
    there = there[np.isin(own[there, 0] + 1 + own[there, 1] * width, np.unique(np.concatenate(about)))]
    tree = shapely.STRtree(shapely.points(places))
    met = tree.query(shapely.points(points[there]), predicate="dwithin", distance=distance)[0]
    near[there[met]] = True
    return near
