"""The shape of an opening in its wall: a rectangle or one with an arched head, cut off where the wall is lower.

Lengths in metres, areas in m2.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from takeoff.measure.parts import Wall
from takeoff.measure.placing import Placed
from takeoff.measure.profile import TOUCH_M

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["head_length", "opening_area", "opening_rings", "reaches_top"]

Point = tuple[float, float]

NOTHING_M2 = 1e-9


def opening_area(wall: Wall, placed: Placed, bottom: float = 0.0, top: float = inf) -> float:
    """Area of the opening as it lies in the wall, clipped to its ends and top, or of its part between two heights."""
    low, high = max(placed.sill, bottom), min(placed.head, top)
    if placed.arch is None:
        return wall.profile.area(placed.lo, placed.hi, low, high)
    return float(_cut(wall, placed, low, high).area) if high > low else 0.0


def opening_rings(wall: Wall, placed: Placed) -> tuple[tuple[Point, ...], ...]:
    """Its outline in the wall's frame, without the first point repeated; () where nothing of it lies in the wall."""
    if placed.arch is None:
        ring = wall.profile.band(placed.lo, placed.hi, placed.sill, placed.head)
        return (ring,) if ring else ()
    return tuple(
        tuple((float(x), float(y)) for x, y in polygon.exterior.coords[:-1])
        for polygon in _parts(_cut(wall, placed, placed.sill, placed.head))
        if polygon.geom_type == "Polygon" and polygon.area > NOTHING_M2
    )


def head_length(wall: Wall, placed: Placed) -> float:
    """Length of the head, along its curve where it is arched, as far as there is wall over it."""
    if placed.arch is None:
        return placed.width_m - sum(b - a for a, b in reaches_top(wall, placed))
    return float(_curve(placed).intersection(_under(wall, TOUCH_M)).length)


def reaches_top(wall: Wall, placed: Placed) -> list[tuple[float, float]]:
    """Where along the wall the opening goes up to the ceiling."""
    if placed.arch is None:
        return wall.profile.reached_by(placed.lo, placed.hi, placed.head)
    above = _parts(_curve(placed).difference(_under(wall, TOUCH_M)))
    return [(float(part.bounds[0]), float(part.bounds[2])) for part in above if part.length > 0]


def _curve(placed: Placed) -> BaseGeometry:
    """The arched head between the ends of the wall."""
    from shapely import LineString, box

    assert placed.arch is not None
    return LineString(placed.arch.curve()).intersection(box(placed.lo, -1.0, placed.hi, placed.head + 1.0))


def _cut(wall: Wall, placed: Placed, low: float, high: float) -> BaseGeometry:
    from shapely import Polygon, box

    assert placed.arch is not None
    curve = placed.arch.curve()
    whole = Polygon([(curve[-1][0], placed.sill), (curve[0][0], placed.sill), *curve][::-1])
    return whole.intersection(_under(wall, 0.0)).intersection(box(placed.lo, low, placed.hi, high))


def _under(wall: Wall, short: float) -> BaseGeometry:
    """The wall's face, its top lower by `short`."""
    from shapely import Polygon
    from shapely.affinity import translate

    face = Polygon(wall.profile.outline())
    return face.intersection(translate(face, 0.0, -short)) if short else face


def _parts(shape: BaseGeometry) -> list[BaseGeometry]:
    from shapely import get_parts

    found: list[BaseGeometry] = get_parts(shape).tolist()
    return found
