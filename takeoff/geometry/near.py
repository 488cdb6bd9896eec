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
from takeoff.geometry.cluster import Index

__all__ = ["MOST_MET", "all_met", "met", "portions"]

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
