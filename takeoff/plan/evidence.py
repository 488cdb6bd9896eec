"""The lines of a drawing that may tell of openings, and which of them lie where.

Terms:
  pool   lines and the tree that finds them by place: so large that one is made for a drawing, not for each trial.
  held   said of the lines that count just now: those of the walls assumed tell of no opening.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask

__all__ = ["Evidence", "Pool", "pool_of"]

Shapes = npt.NDArray[np.object_]


@dataclass(frozen=True)
class Pool:
    """Some of the lines `ends` (n, 4), which are all of a drawing's in the order of its segments."""

    ends: Floats
    numbers: Index
    """Of the lines in the tree."""
    tree: shapely.STRtree

    def met_by(self, shapes: Shapes, predicate: str | None = None) -> tuple[Index, Index]:
        """Pairs of a shape and the number of a line whose boxes meet, or that are as `predicate` of shapely says."""
        shape, line = self.tree.query(shapes, predicate=predicate)
        return shape, self.numbers[line]


def pool_of(ends: Floats, some: Mask) -> Pool:
    """The pool of the lines masked by `some`."""
    numbers = np.flatnonzero(some)
    return Pool(ends, numbers, shapely.STRtree(shapely.linestrings(ends[numbers].reshape(-1, 2, 2))))


@dataclass(frozen=True)
class Evidence:
    """The lines of a pool that are held."""

    pool: Pool
    held: Mask
    """Over the drawing's segments."""
    passing: Mask
    """Those that tell of no opening they run on beyond: on layers that say nothing, and in no symbol."""

    @property
    def numbers(self) -> Index:
        """Of the segments held."""
        return np.flatnonzero(self.held)

    def without(self, gone: Mask) -> Evidence:
        """The evidence less the segments masked by `gone`."""
        return replace(self, held=self.held & ~gone)

    def met_by(self, shapes: Shapes, predicate: str | None = None) -> tuple[Index, Index]:
        """As of `Pool`, for the lines held."""
        shape, line = self.pool.met_by(shapes, predicate)
        held = self.held[line]
        return shape[held], line[held]
