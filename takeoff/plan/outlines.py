"""Room outlines that the office drew itself: closed rings on a layer of their own.

Terms:
  ring      a closed, unfilled polyline wide enough to be a room, that is no wall's.
  telling   said of a layer for room outlines or called after a room. If a ring there was taken apart, its lines count.
  agrees    said of a ring that covers about the same floor as a space found between walls, most of it on the very
            faces:
            then the office's own outline counts, since it knows where a niche belongs. Rings along the middle of walls
            never agree so far and are left alone. On a layer that says nothing, the ring may be a floor's covering: it
            changes nothing, but what differs is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.plan._room_words import room_name
from takeoff.plan.enclose import Enclosure
from takeoff.plan.figures import Figures
from takeoff.plan.layers import Role
from takeoff.plan.linework import OUTLINE, Lines

__all__ = ["agreeing_rings", "outlined_otherwise", "ring_lines"]

Polygons = npt.NDArray[np.object_]

_MATTERS, _DOORWAYS = 0.02, 0.04
"""Rings that say nothing are asked about when they are smaller by this share of the space's area, the bound of a right
area, or larger by so much: rings that run into the doorways hold up to 4 % more (common practice)."""
_SAME_FLOOR, _ON_FACE = 0.75, 0.6
_ON_FACE_M = 0.02
_DIFFERS = 0.003
"""Rings nearer to the space's own area than this share change nothing."""


def agreeing_rings(drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure, spaces: Polygons) -> Polygons:
    """The rings on telling layers that agree with one of the `spaces` (polygons) of the `enclosure` and change it."""
    telling, _ = _telling(drawing, roles, enclosure.fabric_layers)
    rings = np.concatenate([_rings(drawing, enclosure.floors, telling), _taken_apart(drawing, telling)])
    ring, space, differs = _agreeing(rings, spaces)
    some = differs > _DIFFERS
    chosen = dict(zip(space[some].tolist(), ring[some].tolist(), strict=True))
    return np.asarray(rings[list(chosen.values())], dtype=object)


def outlined_otherwise(
    drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure, spaces: Polygons
) -> dict[int, str]:
    """Why those of the `spaces` (numbers) are doubted that a ring on a layer that says nothing agrees with but for so
    much that it matters.
    """
    _, unknown = _telling(drawing, roles, enclosure.fabric_layers)
    rings = _rings(drawing, enclosure.floors, unknown)
    ring, space, _ = _agreeing(rings, spaces)
    found = {}
    for r, s in zip(ring.tolist(), space.tolist(), strict=True):
        more = float(rings[r].area / spaces[s].area - 1)
        if not -_MATTERS <= more <= _DOORWAYS:
            found[s] = f"a closed outline drawn over it holds {rings[r].area:.2f} m2, not {spaces[s].area:.2f} m2"
    return found


def _agreeing(rings: Polygons, spaces: Polygons) -> tuple[Index, Index, Floats]:
    """Pairs of a ring and a space that agree, and the share of what they cover together that they do not share."""
    if not len(rings) or not len(spaces):
        none = np.zeros(0, dtype=np.int64)
        return none, none, np.zeros(0)
    ring, space = shapely.STRtree(spaces).query(rings, predicate="intersects")
    common = shapely.area(shapely.intersection(rings[ring], spaces[space]))
    union = shapely.area(rings[ring]) + shapely.area(spaces[space]) - common
    rim = shapely.boundary(rings[ring])
    on_face = shapely.length(shapely.intersection(rim, shapely.buffer(shapely.boundary(spaces[space]), _ON_FACE_M)))
    good = (common >= _SAME_FLOOR * union) & (on_face >= _ON_FACE * shapely.length(rim))
    return ring[good], space[good], ((union - common) / union)[good]


def _telling(drawing: Drawing, roles: Sequence[Role], fabric: Mask) -> tuple[Mask, Mask]:
    """Layers (masks) that tell of rooms' outlines, and others whose names say nothing."""
    unknown = np.array([r.name == "unknown" for r in roles], dtype=bool) & ~fabric
    outlines = np.array([r.name == "room outline" for r in roles], dtype=bool) & ~fabric
    after_rooms = np.array([room_name(layer.name) is not None for layer in drawing.layers], dtype=bool)
    telling = outlines | (unknown & after_rooms)
    return telling, unknown & ~telling


def _rings(drawing: Drawing, floors: Figures, layers: Mask) -> Polygons:
    """The `floors` on the `layers` (mask) that belong to no symbol."""
    loose = np.array([drawing.entities[e].symbol < 0 for e in floors.entity.tolist()], dtype=bool)
    return np.asarray(floors.shapes[loose & layers[drawing.layer_numbers[floors.entity]]])


def _taken_apart(drawing: Drawing, telling: Mask) -> Polygons:
    """The rings that loose lines on each of the `telling` layers (mask) make."""
    closed = np.array([e.closed for e in drawing.entities], dtype=bool)[drawing.segments.entity]
    layer = drawing.layer_numbers[drawing.segments.entity]
    found = [
        shapely.get_parts(shapely.polygonize(shapely.linestrings(drawing.segments.ends[own].reshape(-1, 2, 2))))
        for n in np.flatnonzero(telling).tolist()
        if (own := (layer == n) & ~closed).any()
    ]
    return np.asarray(np.concatenate([np.zeros(0, dtype=object), *found]), dtype=object)


def ring_lines(rings: Polygons) -> Lines:
    """The sides of the rings as lines of kind OUTLINE."""
    parts = [np.hstack([c[:-1], c[1:]]) for c in (shapely.get_coordinates(r) for r in rings)]
    ends = np.vstack(parts) if parts else np.zeros((0, 4))
    none = np.full(len(ends), -1, dtype=np.int64)
    return Lines(ends, np.full(len(ends), OUTLINE, dtype=np.int64), none, none, none)
