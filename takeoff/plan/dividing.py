"""The line that would best make two rooms of one open space with two names: an offer, never drawn by itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely
import shapely.ops

from takeoff.geometry.vectors import directions, left_of
from takeoff.plan.model import Opening, Point, Room

__all__ = ["dividing_line"]

Floats = npt.NDArray[np.float64]

_STEPS = 25
"""Places tried between the two names."""
_CLEAR = 0.05
"""The line keeps so far from openings, and goes so far beyond the walls, metres."""
_ON_RIM = 1e-6
"""An end of the line this near to the room's outer rim is on it, metres."""
_APART = 0.4
"""Names nearer than this along an axis are not told apart by a line across it, metres."""


def dividing_line(room: Room, openings: Sequence[Opening], one: Point, other: Point) -> tuple[Point, Point] | None:
    """The shortest straight line from wall to wall, along or across the room's longest side and clear of openings, that
    parts the places `one` and `other`; `one` is on its left. None where there is none.
    """
    shape = shapely.Polygon(room.outline, room.holes)
    barred = [o for o in openings if room.ref in o.rooms and o.kind != "rooflight"]
    jambs = shapely.linestrings(np.array([o.jambs for o in barred], dtype=float).reshape(-1, 2, 2))
    reach = np.array([(o.wall_thickness_m or 0.0) / 2 + _CLEAR for o in barred])
    cuts = sorted(_cuts(room, shape, one, other).tolist(), key=lambda c: round(c.length, 2))
    best = next((c for c in cuts if _clear(c, jambs, reach) and _parts(shape, c, one, other)), None)
    if best is None:
        return None
    (x0, y0), (x1, y1) = best.coords
    left = (x1 - x0) * (one[1] - y0) - (y1 - y0) * (one[0] - x0) > 0
    return ((x0, y0), (x1, y1)) if left else ((x1, y1), (x0, y0))


def _cuts(room: Room, shape: shapely.Polygon, one: Point, other: Point) -> npt.NDArray[np.object_]:
    """Lines from wall to wall between the two names, the ones in the middle first."""
    longest = max(room.sides, key=lambda s: s.length_m)
    way = np.array(longest.end) - np.array(longest.start)
    along = directions(way)
    across = left_of(along)
    first, last = np.array(one), np.array(other)
    shares = sorted(np.linspace(0.05, 0.95, _STEPS), key=lambda share: abs(share - 0.5))
    reach = float(np.hypot(*(np.array(shape.bounds[2:]) - np.array(shape.bounds[:2]))))
    middles = first + (last - first) * np.array(shares)[:, None]
    told = [b for a, b in ((along, across), (across, along)) if abs(float((last - first) @ a)) >= _APART]
    ends = [np.stack([middles - line * reach, middles + line * reach], axis=1) for line in told]
    whole = shapely.linestrings(np.concatenate([np.zeros((0, 2, 2)), *ends]))
    pieces = shapely.get_parts(shapely.intersection(whole, shape))
    pieces = pieces[
        (shapely.length(pieces) > _CLEAR) & (shapely.get_type_id(pieces) == shapely.GeometryType.LINESTRING)
    ]
    ends = [shapely.get_point(pieces, n) for n in (0, -1)]
    on_rim = np.all([shapely.distance(at, shape.exterior) < _ON_RIM for at in ends], axis=0)  # a hole parts nothing
    return np.asarray(
        shapely.linestrings(np.stack([shapely.get_coordinates(at[on_rim]) for at in ends], axis=1)), dtype=object
    )


def _clear(cut: shapely.LineString, jambs: npt.NDArray[np.object_], reach: Floats) -> bool:
    """Whether the line ends at no opening of the room, as deep as its wall."""
    ends = shapely.points(shapely.get_coordinates(cut))
    return not (shapely.distance(ends[:, None], jambs) < reach).any()


def _parts(shape: shapely.Polygon, cut: shapely.LineString, one: Point, other: Point) -> bool:
    """Whether the line makes two parts of the shape with a name in each."""
    (x0, y0), (x1, y1) = cut.coords
    dx, dy = (x1 - x0) / cut.length * _CLEAR, (y1 - y0) / cut.length * _CLEAR
    longer = shapely.LineString([(x0 - dx, y0 - dy), (x1 + dx, y1 + dy)])
    parts = [p for p in shapely.get_parts(shapely.ops.split(shape, longer)) if p.geom_type == "Polygon"]
    homes = [[n for n, p in enumerate(parts) if p.distance(shapely.Point(place)) < 1e-6] for place in (one, other)]
    return len(parts) == 2 and bool(homes[0] and homes[1]) and homes[0] != homes[1]
