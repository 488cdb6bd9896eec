"""Lines among the fabric that bound no room: thin panels, furniture drawn on a wall layer, stairs, loose frames.

Terms:
  panel      a solid thinner than any wall that stands inside one space: a cubicle screen, a balustrade.
  cubicle    a small space without a name of its own that panels part off.
  stranger   a line between two spaces with no wall body on either side, in a drawing whose walls have bodies.
  island     line work inside a space that touches none of its walls.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, components
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.runs import mates
from takeoff.plan.faces import Faces
from takeoff.plan.layers import Role
from takeoff.plan.linework import BRIDGE, COLUMN, GLASS, MADE, Lines

Mask = npt.NDArray[np.bool_]

__all__ = ["PANEL", "edge_kinds", "soft_edges", "treads", "walls_have_bodies"]

PANEL = 0.034
"""Solids no thicker are panels, not walls, metres (common practice: cubicle boards 12-30 mm)."""
_CUBICLE = 4.0
"""Largest cubicle, m2 (common practice: 0.8 x 1.5 m to 1.5 x 2.2 m)."""
_LEAF_SLIVER = 0.9
"""Largest face between a leaf, its swing and the wall, m2: a quarter circle of a 1.05 m leaf."""
_BODIED = 0.4
_GOING = (0.18, 0.36)
"""Going of a stair, metres (common practice 0.20-0.35)."""
_TREADS_LEAST = 4


def treads(runs: Floats) -> Index:
    """Which runs (mask) are the nosings of a stair: many equal parallels, one going apart and nothing between them."""
    length = np.hypot(runs[:, 2] - runs[:, 0], runs[:, 3] - runs[:, 1])
    some = np.flatnonzero((length >= 0.5) & (length <= 2.6))
    found = mates(runs[some], *_GOING)
    i, j = some[found.first], some[found.second]
    alike = np.abs(length[i] - length[j]) <= 0.1 * np.minimum(length[i], length[j])
    alike &= found.overlap >= 0.85 * np.minimum(length[i], length[j])
    i, j = i[alike], j[alike]
    close = mates(runs[some], 0.0, 0.9 * _GOING[0])
    near = close.overlap >= 0.5 * np.minimum(length[some[close.first]], length[some[close.second]])
    crowded = np.zeros(len(runs), dtype=bool)
    crowded[some[close.first[near]]] = crowded[some[close.second[near]]] = True
    apart = ~crowded[i] & ~crowded[j]
    i, j = i[apart], j[apart]
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
    drawing: Drawing, roles: Sequence[Role], arrangement: Arrangement, lines: Lines, faces: Faces, named: Mask, bodied: bool
) -> Mask:
    """Edges (mask) to be dropped so that the faces beside them run together."""
    if not len(arrangement.edges):
        return np.zeros(0, dtype=bool)
    soft = _panels(arrangement, lines, faces, named) | _swung(arrangement, lines, faces, named)
    return np.asarray(soft | _strangers(drawing, roles, arrangement, lines, faces)) if bodied else soft


def _panels(arrangement: Arrangement, lines: Lines, faces: Faces, named: Mask) -> Mask:
    """Edges of panels that part no room from another, and of the doors hung between them.

    A cubicle, that is a small space without a name bounded in part by panels, counts as part of the room outside it.
    """
    left, right = arrangement.left, arrangement.right
    inner = (left != OUTSIDE) & (right != OUTSIDE)
    panel = faces.solid & (faces.width <= PANEL) & ~_touched(arrangement, _edge_any(arrangement, lines.kind == GLASS), len(faces.area))
    group = components(len(panel), *(side[inner & panel[left] & panel[right]] for side in (left, right)))
    own = inner & (panel[left] ^ panel[right])
    inside = np.where(panel[left], left, right)
    beyond = np.where(panel[left], right, left)
    cubicle = faces.space & ~named & (faces.area <= _CUBICLE) & (_share(arrangement, own, beyond, len(panel)) >= 0.2)
    spaces = own & faces.space[beyond] & ~cubicle[beyond]
    pairs = np.unique(np.column_stack([group[inside[spaces]], beyond[spaces]]), axis=0)
    several = np.bincount(pairs[:, 0], minlength=len(panel)) > 1
    outside = (left == OUTSIDE) ^ (right == OUTSIDE)
    bordering = np.where(left == OUTSIDE, right, left)[outside]
    several[group[bordering[panel[bordering]]]] = True
    loose = panel & ~several[group]
    parted = inner & (loose[left] | loose[right]) & ((faces.space | panel)[left] & (faces.space | panel)[right])
    hung = inner & (edge_kinds(arrangement, lines) == BRIDGE) & (cubicle[left] | cubicle[right])
    freed = _touched(arrangement, parted, len(panel)) & cubicle
    return np.asarray(parted | (hung & (freed[left] | freed[right]) & (faces.space | panel)[left] & (faces.space | panel)[right]))


def _touched(arrangement: Arrangement, edges: Mask, count: int) -> Mask:
    """Faces (mask) with one of the `edges` in their outline."""
    touched = np.zeros(count + 1, dtype=bool)
    touched[arrangement.left[edges]] = True
    touched[arrangement.right[edges]] = True
    return touched[:count]


def _share(arrangement: Arrangement, edges: Mask, face: Index, count: int) -> Floats:
    """For each face the share of its outline that the `edges` make, of which `face` (e,) names the one."""
    lengths = arrangement.lengths
    total = np.zeros(count + 1)
    np.add.at(total, arrangement.left, lengths)
    np.add.at(total, arrangement.right, lengths)
    part = np.bincount(face[edges], lengths[edges], minlength=count + 1)
    return np.asarray(part[:count] / np.maximum(total[:count], 1e-9))


def _edge_any(arrangement: Arrangement, flagged: Mask) -> Mask:
    """Edges (mask) along which one of the flagged lines runs."""
    offsets, numbers = arrangement.pieces
    return np.asarray(np.maximum.reduceat(flagged[numbers].astype(np.int8), offsets[:-1]) > 0)


def _swung(arrangement: Arrangement, lines: Lines, faces: Faces, named: Mask) -> Mask:
    """Curved edges that cut a sliver off a space: the swing of a door drawn on a wall layer.

    A face bounded by curves alone is a round column and stays.
    """
    curved = ~_edge_any(arrangement, lines.arc < 0)
    count = len(faces.area)
    straight_too = _touched(arrangement, ~curved, count)
    sliver = (faces.area <= _LEAF_SLIVER) & straight_too & ~named
    spacious = np.concatenate([faces.space & ~sliver, [True]])
    sliver = np.concatenate([sliver, [False]])
    left, right = arrangement.left, arrangement.right
    return np.asarray(curved & ((sliver[left] & spacious[right]) | (sliver[right] & spacious[left])))


def _strangers(
    drawing: Drawing, roles: Sequence[Role], arrangement: Arrangement, lines: Lines, faces: Faces
) -> Mask:
    """Edges between two spaces drawn on layers that no name calls walls."""
    space = np.concatenate([faces.space, [False]])
    between = space[arrangement.left] & space[arrangement.right]
    named = np.array([roles[e.layer].name in ("wall", "column") and roles[e.layer].confidence >= 0.5 for e in drawing.entities])
    hard_line = np.isin(lines.kind, MADE) | (lines.kind > COLUMN)
    own = (lines.kind <= COLUMN) & (lines.entity >= 0)
    hard_line[own] = named[lines.entity[own]]
    return np.asarray(between & ~_edge_any(arrangement, hard_line))
