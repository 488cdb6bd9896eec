"""Which lines are fabric: faces of walls, piers and columns; and which may tell of openings.

Evidence before names: a layer's line work is looked at (how much of it lies in parallel pairs a wall's thickness apart,
how well its ends meet), its name only supports. See `takeoff.plan.linework` for the terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, cluster_points
from takeoff.geometry.runs import mates, straight_runs
from takeoff.plan.jambs import THICKEST, THINNEST
from takeoff.plan.layers import NOT_FABRIC, Role
from takeoff.plan.linework import COLUMN, FABRIC, GLASS, Lines
from takeoff.plan.symbols import Mark

__all__ = ["LayerShape", "evidence_lines", "fabric_lines", "layer_shapes"]


@dataclass(frozen=True, slots=True)
class LayerShape:
    """What the straight lines of one layer look like. Lengths in metres."""

    length: float
    paired: float
    """Length of runs of half a metre or more that have one to four mates a wall's thickness away."""
    meeting: float
    """Share of run ends that another run of the layer meets."""

    @property
    def walliness(self) -> float:
        """Paired length, discounted where ends hang loose."""
        return self.paired * (0.3 + 0.7 * self.meeting)


def layer_shapes(drawing: Drawing, usable: Index) -> tuple[LayerShape, ...]:
    """The shape of each layer from its usable segments (mask)."""
    layer = np.array([e.layer for e in drawing.entities], dtype=np.int64)
    segments = drawing.segments
    pick = usable & (segments.arc < 0)
    runs, owner, _ = straight_runs(segments.ends[pick], layer[segments.entity[pick]])
    length = np.hypot(runs[:, 2] - runs[:, 0], runs[:, 3] - runs[:, 1])
    found = mates(runs, THINNEST, THICKEST)
    same = (owner[found.first] == owner[found.second]) & (found.overlap >= 0.3)
    count = np.bincount(np.concatenate([found.first[same], found.second[same]]), minlength=len(runs))
    paired = (length >= 0.5) & (count >= 1) & (count <= 4)
    return tuple(_shape(runs[owner == k], length[owner == k], paired[owner == k]) for k in range(len(drawing.layers)))


def _shape(runs: Floats, length: Floats, paired: Index) -> LayerShape:
    if not len(runs):
        return LayerShape(0.0, 0.0, 0.0)
    _, label = cluster_points(np.vstack([runs[:, :2], runs[:, 2:]]), 0.01)
    meeting = float((np.bincount(label)[label] > 1).mean())
    return LayerShape(float(length.sum()), float(length[paired].sum()), meeting)


def fabric_lines(drawing: Drawing, roles: Sequence[Role], inside: Index) -> tuple[Lines, Index]:
    """The fabric among the segments masked by `inside`, and which layers (mask) it was taken from."""
    entity_layer = np.array([e.layer for e in drawing.entities], dtype=np.int64)
    solid_line = np.array([not e.dashed for e in drawing.entities], dtype=bool)
    segments = drawing.segments
    usable = inside & solid_line[segments.entity]
    chosen = _fabric_layers(drawing, roles, usable)
    pick = np.flatnonzero(usable & chosen[entity_layer[segments.entity]])
    kinds = np.array([COLUMN if r.name == "column" else FABRIC for r in roles], dtype=np.int64)
    entity = segments.entity[pick].astype(np.int64)
    return Lines(
        segments.ends[pick], kinds[entity_layer[entity]], entity, segments.arc[pick].astype(np.int64),
        np.full(len(pick), -1, dtype=np.int64),
    ), chosen


def _fabric_layers(drawing: Drawing, roles: Sequence[Role], usable: Index) -> Index:
    named = np.array([r.name == "wall" and r.confidence >= 0.5 and r.detail != "low" for r in roles], dtype=bool)
    columns = np.array([r.name == "column" and r.confidence >= 0.5 for r in roles], dtype=bool)
    shapes = layer_shapes(drawing, usable)
    score = np.array([s.walliness for s in shapes])
    best_named = float(score[named | columns].sum())
    barred = np.array([r.name in NOT_FABRIC or r.name in ("door", "window", "opening", "stairs", "hatch", "structure") for r in roles])
    free = np.where(barred | named | columns, 0.0, score)
    if best_named >= 0.25 * float(free.max(initial=0.0)) and best_named > 2.0:
        return named | columns
    return named | columns | (free >= max(0.25 * float(free.max(initial=0.0)), 2.0))


def evidence_lines(drawing: Drawing, roles: Sequence[Role], marks: Sequence[Mark], fabric: Lines, inside: Index) -> Index:
    """Numbers of the segments that may belong to door and window symbols."""
    marked = {m.symbol for m in marks}
    speaking = np.array([
        e.symbol in marked or roles[e.layer].name in ("door", "window", "opening", "unknown") for e in drawing.entities
    ], dtype=bool)
    taken = np.zeros(len(drawing.entities), dtype=bool)
    taken[fabric.entity[fabric.entity >= 0]] = True
    entity = drawing.segments.entity
    return np.flatnonzero(inside & speaking[entity] & ~taken[entity])


_ = GLASS
