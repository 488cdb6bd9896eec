"""The closed figures of a drawing that may be furniture, walls or floors: told once, whatever the layers mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.shapes import closed_shapes

__all__ = ["Figures", "bodies_and_floors", "figures_among", "ring_sizes"]

_FILLED_WIDTH, _OUTLINED_WIDTH = 0.8, 0.33
"""Widest filled and widest outlined shape on a fabric layer that is a wall's or pier's body, metres."""
_FLOOR_AREA, _FLOOR_WIDTH = 0.8, 0.4
"""Least outlined floor, m2, and its least width (2 x area / perimeter), metres: a cupboard one can stand in."""


@dataclass(frozen=True)
class Figures:
    """Closed shapes, arrays of one length."""

    shapes: npt.NDArray[np.object_]
    entity: Index
    filled: Mask

    def take(self, which: Mask) -> Figures:
        """The figures masked by `which`."""
        return Figures(self.shapes[which], self.entity[which], self.filled[which])


def figures_among(drawing: Drawing, regions: Index) -> Figures:
    """The figures that the `regions` of a drawing (numbers) bound."""
    own = [drawing.regions[n] for n in regions.tolist()]
    entity = np.array([r.entity for r in own], dtype=np.int64)
    filled = np.array([r.filled for r in own], dtype=bool)
    return Figures(closed_shapes([r.ring for r in own]), entity, filled)


def bodies_and_floors(drawing: Drawing) -> tuple[Figures, Figures]:
    """The figures so thin that they may be bodies of walls or piers, and those drawn as outlines so wide that they may
    be floors.
    """
    corners = np.array([len(r.ring) for r in drawing.regions], dtype=np.int64)
    hole = np.array([r.hole for r in drawing.regions], dtype=bool)
    some = np.flatnonzero(corners >= 3)
    found = figures_among(drawing, some)
    area = shapely.area(found.shapes)
    width = 2 * area / np.maximum(shapely.length(found.shapes), 1e-9)
    thin = width <= np.where(found.filled, _FILLED_WIDTH, _OUTLINED_WIDTH)
    wide = (width >= _FLOOR_WIDTH) & (area >= _FLOOR_AREA) & ~found.filled & ~hole[some]
    bodies, floors = found.take(thin), found.take(wide)
    return bodies.take(shapely.is_valid(bodies.shapes)), floors.take(shapely.is_valid(floors.shapes))


def ring_sizes(rings: Sequence[Floats]) -> Floats:
    """Width and height (r, 2) of each of the `rings`."""
    if not rings:
        return np.zeros((0, 2))
    points = np.concatenate(rings)
    starts = np.cumsum([0, *(len(ring) for ring in rings[:-1])])
    return np.asarray(np.maximum.reduceat(points, starts) - np.minimum.reduceat(points, starts))
