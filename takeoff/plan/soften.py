"""Lines among the fabric that bound no room: thin panels, furniture drawn on a wall layer, stairs, loose frames.

Terms:
  panel      a solid thinner than any wall that stands inside one space: a cubicle screen, a balustrade.
  stranger   a line between two spaces with no wall body on either side, in a drawing whose walls have bodies.
  island     line work inside a space that touches none of its walls.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, components
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.runs import mates
from takeoff.plan.faces import Faces
from takeoff.plan.layers import Role
from takeoff.plan.linework import COLUMN, FABRIC, MADE, Lines

__all__ = ["PANEL", "edge_kinds", "soft_edges", "treads", "walls_have_bodies"]

PANEL = 0.034
"""Solids no thicker are panels, not walls, metres (common practice: cubicle boards 12-30 mm)."""
_ISLAND_WIDTH, _COLUMN_WIDEST = 0.05, 1.2
_BODIED = 0.4
_GOING = (0.18, 0.36)
"""Going of a stair, metres (common practice 0.20-0.35)."""
_TREADS_LEAST = 4


def treads(runs: Floats) -> Index:
    """Which runs (mask) are the nosings of a stair: many equal parallels, one going apart."""
    length = np.hypot(runs[:, 2] - runs[:, 0], runs[:, 3] - runs[:, 1])
    some = np.flatnonzero((length >= 0.5) & (length <= 2.6))
    found = mates(runs[some], *_GOING)
    i, j = some[found.first], some[found.second]
    alike = np.abs(length[i] - length[j]) <= 0.1 * np.minimum(length[i], length[j])
    alike &= found.overlap >= 0.85 * np.minimum(length[i], length[j])
    i, j = i[alike], j[alike]
    group = components(len(runs), i, j)
    size = np.bincount(group)
    return np.asarray(size[group] >= _TREADS_LEAST)


def edge_kinds(arrangement: Arrangement, lines: Lines) -> Index:
    """For each edge the kind of the strongest line along it: drawn before laid."""
    offsets, numbers = arrangement.pieces
    if not len(arrangement.edges):
        return np.zeros(0, dtype=np.int64)
    return np.asarray(np.minimum.reduceat(lines.kind[numbers], offsets[:-1]))


def walls_have_bodies(arrangement: Arrangement, faces: Faces) -> bool:
    """Whether the drawing shows walls with two faces: most line length has a solid on one side."""
    solid = np.concatenate([faces.solid, [False]])
    lengths = arrangement.lengths
    beside = solid[arrangement.left] ^ solid[arrangement.right]
    return bool(lengths[beside].sum() >= _BODIED * max(float(lengths.sum()), 1e-9))


def soft_edges(
    drawing: Drawing, roles: Sequence[Role], arrangement: Arrangement, lines: Lines, faces: Faces, bodied: bool
) -> Index:
    """Edges (mask) to be dropped so that the faces beside them run together."""
    return np.asarray(
        _panels(arrangement, faces) | (_strangers(drawing, roles, arrangement, lines, faces) if bodied else False)
    )


def _panels(arrangement: Arrangement, faces: Faces) -> Index:
    """Edges of panels: thin solids whose every neighbour is one and the same space, or another panel of it."""
    thin = faces.solid & (faces.width <= PANEL)
    left, right = arrangement.left, arrangement.right
    inner = (left != OUTSIDE) & (right != OUTSIDE)
    both_thin = inner & thin[left] & thin[right]
    group = components(len(thin), left[both_thin], right[both_thin])
    beside = np.full((int(group.max(initial=-1)) + 1, 2), -2, dtype=np.int64)
    for panel, other in ((left, right), (right, left)):
        touch = inner & thin[panel] & ~thin[other]
        for g, face in zip(group[panel[touch]].tolist(), other[touch].tolist(), strict=True):
            if beside[g, 0] in (-2, face):
                beside[g, 0] = face
            else:
                beside[g, 1] = face
        edge = thin[panel] & (panel != OUTSIDE) & (other == OUTSIDE)
        beside[group[panel[edge]], 1] = OUTSIDE
    single = (beside[:, 1] == -2) & (beside[:, 0] >= 0)
    single[single] = faces.space[beside[single, 0]]
    in_panel = thin & single[group] if len(group) else thin
    flagged = np.concatenate([in_panel, [False]])
    return np.asarray(flagged[left] | flagged[right])


def _strangers(
    drawing: Drawing, roles: Sequence[Role], arrangement: Arrangement, lines: Lines, faces: Faces
) -> Index:
    """Edges between two spaces drawn on layers that no name calls walls."""
    space = np.concatenate([faces.space, [False]])
    between = space[arrangement.left] & space[arrangement.right]
    named = np.array([roles[e.layer].name in ("wall", "column") and roles[e.layer].confidence >= 0.5 for e in drawing.entities])
    hard_line = np.isin(lines.kind, MADE) | (lines.kind > COLUMN)
    own = (lines.kind <= COLUMN) & (lines.entity >= 0)
    hard_line[own] = named[lines.entity[own]]
    offsets, numbers = arrangement.pieces
    if not len(arrangement.edges):
        return between
    hard = np.maximum.reduceat(hard_line[numbers].astype(np.int64), offsets[:-1]) > 0
    return np.asarray(between & ~hard)


_ = FABRIC
