"""The line work that may be walls, with where it came from.

Terms:
  fabric      line work taken for faces of walls, piers and columns.
  evidence    line work that is not fabric but tells of openings: door and window symbols, leaves, swings, glass.
  kind        what a line is: FABRIC, COLUMN, GLASS, or one that was laid by us: BRIDGE across an opening,
              HEALED across a small gap, LEAK where a room ran into a wall, SPLIT by the job file.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from takeoff.geometry.cluster import Floats, Index, Mask

__all__ = [
    "BRIDGE", "COLUMN", "FABRIC", "GLASS", "HEALED", "LEAK", "MADE", "OUTLINE", "SPLIT", "Lines", "Traced", "joined",
    "made_lines",
]

FABRIC, COLUMN, GLASS, OUTLINE, BRIDGE, HEALED, LEAK, SPLIT = range(8)
Traced = tuple[tuple[int, tuple[float, ...]], ...]
"""Entities and the ends (x, y, x, y) of the pieces that they drew."""
MADE = (BRIDGE, HEALED, LEAK, SPLIT)


@dataclass(frozen=True)
class Lines:
    """Straight pieces, all arrays of one length n."""

    ends: Floats
    """(n, 4) metres."""
    kind: Index
    entity: Index
    """Index into the drawing's entities, -1 for lines laid by us."""
    arc: Index
    """Index into the drawing's arcs for chords of a curve, else -1."""
    owner: Index
    """For a BRIDGE the number of its opening candidate, else -1."""
    traced: Mapping[int, Traced] = field(default_factory=dict)
    """By the entity that a line drawn in pieces goes by: all its pieces."""

    def __len__(self) -> int:
        return len(self.ends)

    def take(self, which: Index | Mask) -> Lines:
        """The lines numbered or masked by `which`."""
        ends, kind, entity = self.ends[which], self.kind[which], self.entity[which]
        return Lines(ends, kind, entity, self.arc[which], self.owner[which], self.traced)


def made_lines(ends: Floats, kind: int, owner: Index | None = None) -> Lines:
    """Lines laid by us."""
    count = len(ends)
    none = np.full(count, -1, dtype=np.int64)
    return Lines(
        ends.reshape(-1, 4), np.full(count, kind, dtype=np.int64), none, none, none if owner is None else owner
    )


def joined(*parts: Lines) -> Lines:
    """All the lines of `parts`, in order."""
    return Lines(
        np.concatenate([p.ends for p in parts]),
        np.concatenate([p.kind for p in parts]),
        np.concatenate([p.entity for p in parts]),
        np.concatenate([p.arc for p in parts]),
        np.concatenate([p.owner for p in parts]),
        {entity: traces for p in parts for entity, traces in p.traced.items()},
    )
