"""Room outlines that the office drew itself: closed rings on a layer of their own.

Terms:
  ring      a closed, unfilled polyline wide enough to be a room, on a layer for room outlines or called after a room.
  agrees    said of a ring that covers about the same floor as a space found between walls, most of it on the very
            faces:
            then the office's own outline counts, since it knows where a niche belongs. Rings along the middle of walls
            never agree so far and are left alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Index, Mask
from takeoff.geometry.shapes import closed_shapes
from takeoff.plan._room_words import room_name
from takeoff.plan.layers import Role
from takeoff.plan.linework import OUTLINE, Lines

__all__ = ["agreeing_rings", "ring_lines"]

Polygons = npt.NDArray[np.object_]

_LEAST_AREA, _LEAST_WIDTH = 0.8, 0.4
_SAME_FLOOR, _ON_FACE = 0.75, 0.6
_ON_FACE_M = 0.02
_DIFFERS = 0.003
"""Rings nearer to the space's own area than this share change nothing."""


def agreeing_rings(drawing: Drawing, roles: Sequence[Role], fabric: Mask, spaces: Polygons) -> tuple[Polygons, Index]:
    """The rings that agree with one of the `spaces` and change it, and the number of that space."""
    none = np.zeros(0, dtype=np.int64)
    rings = _rings(drawing, roles, fabric)
    if not len(rings) or not len(spaces):
        return np.zeros(0, dtype=object), none
    ring, space = shapely.STRtree(spaces).query(rings, predicate="intersects")
    common = shapely.area(shapely.intersection(rings[ring], spaces[space]))
    union = shapely.area(rings[ring]) + shapely.area(spaces[space]) - common
    rim = shapely.boundary(rings[ring])
    on_face = shapely.length(shapely.intersection(rim, shapely.buffer(shapely.boundary(spaces[space]), _ON_FACE_M)))
    good = (common >= _SAME_FLOOR * union) & (on_face >= _ON_FACE * shapely.length(rim))
    good &= union - common > _DIFFERS * union
    chosen = dict(zip(space[good].tolist(), ring[good].tolist(), strict=True))
    return rings[list(chosen.values())], np.array(list(chosen), dtype=np.int64)


def _rings(drawing: Drawing, roles: Sequence[Role], fabric: Mask) -> Polygons:
    telling = np.array(
        [
            not fabric[n]
            and (roles[n].name == "room outline" or (roles[n].name == "unknown" and room_name(layer.name) is not None))
            for n, layer in enumerate(drawing.layers)
        ],
        dtype=bool,
    )
    found = []
    for region in drawing.regions:
        entity = drawing.entities[region.entity]
        if region.filled or region.hole or entity.symbol >= 0 or not telling[entity.layer] or len(region.ring) < 3:
            continue
        found.append(region.ring)
    shapes = closed_shapes(found)
    area = shapely.area(shapes)
    wide = (area >= _LEAST_AREA) & (2 * area >= _LEAST_WIDTH * shapely.length(shapes))
    return np.asarray(shapes[wide & shapely.is_valid(shapes)])


def ring_lines(rings: Polygons) -> Lines:
    """The sides of the rings as lines of kind OUTLINE."""
    parts = [np.hstack([c[:-1], c[1:]]) for c in (shapely.get_coordinates(r) for r in rings)]
    ends = np.vstack(parts) if parts else np.zeros((0, 4))
    none = np.full(len(ends), -1, dtype=np.int64)
    return Lines(ends, np.full(len(ends), OUTLINE, dtype=np.int64), none, none, none)
