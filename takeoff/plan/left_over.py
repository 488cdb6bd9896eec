"""What is left over when the rooms are told: ducts, shafts and cavities, spaces that may be rooms, and what openings
lead into that is no room at all.

Terms:
  entered   an opening leads in.
  nowhere   said of where an opening leads from a room when that is neither a room nor outdoors: a closet whose shelves
            part it, a cubicle that runs into the body of the wall behind it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.planar import OUTSIDE
from takeoff.plan.model import Point, Space, Storey
from takeoff.plan.openings import Candidate
from takeoff.plan.order import storeys_at
from takeoff.plan.rooms import Spaces, beside_openings

__all__ = ["entered_spaces", "leading_nowhere", "other_spaces"]

_SPACE_LEAST = 0.05
"""Smallest closed face listed among the spaces, m2."""
_ROOM, _WIDE = 2.0, 0.7
"""Smaller spaces, m2, and narrower ones, metres, are no rooms that must be asked about."""
_WAY_IN = 0.6
"""Narrower openings are hatches and cupboards' doors, metres."""
_STAND, _STOOD = 0.25, 0.1
"""What one can step into has this much floor, m2, farther than this from its outline, metres."""
_NEAR = 2
"""So many of the places beside an opening are looked at where walls share their layer: shelves part closets there."""
_ELBOW = 1.0
"""And has it no farther from the place beyond the opening, metres."""


def other_spaces(spaces: Spaces, storeys: Sequence[Storey]) -> tuple[Space, ...]:
    """The closed faces that are no rooms and no thin wall bodies, with what they are."""
    return _described(
        spaces, storeys, np.flatnonzero(~spaces.room & ~spaces.faces.solid & (spaces.faces.area >= _SPACE_LEAST))
    )


def entered_spaces(spaces: Spaces, storeys: Sequence[Storey]) -> tuple[Space, ...]:
    """Spaces that are no rooms, though an opening leads in and they lie within the building."""
    return _described(spaces, storeys, np.flatnonzero(_entered(spaces)))


def _entered(spaces: Spaces) -> Mask:
    """The same as a mask over faces: most of their outline is shared with something. A terrace lies outdoors."""
    arrangement, faces = spaces.arrangement, spaces.faces
    count = len(faces.area)
    lengths = arrangement.lengths
    rim, total = np.zeros(count + 1), np.zeros(count + 1)
    for side, other in ((arrangement.left, arrangement.right), (arrangement.right, arrangement.left)):
        np.add.at(total, side, lengths)
        np.add.at(rim, side, lengths * (other == OUTSIDE))
    within = rim[:count] < 0.5 * total[:count]
    large = (faces.area >= _ROOM) & (faces.width >= _WIDE)
    return np.asarray(faces.space & ~spaces.room & spaces.entered & within & large)


def _described(spaces: Spaces, storeys: Sequence[Storey], faces: Index) -> tuple[Space, ...]:
    """The `faces` (numbers) with what they are for want of being rooms."""
    if not len(faces):
        return ()
    points = shapely.get_coordinates(shapely.point_on_surface(spaces.arrangement.polygons[faces]))
    plans = storeys_at(storeys, points)
    return tuple(
        Space(
            "no wall behind most of its outline"
            if spaces.faces.space[f] and spaces.faces.backing[f] < 0.5
            else "closed, small, without door or name: a duct, shaft or cavity",
            (float(p[0]), float(p[1])),
            float(spaces.faces.area[f]),
            f"P{plan + 1}" if storeys else "",
        )
        for f, p, plan in zip(faces.tolist(), points.tolist(), plans, strict=True)
    )


def leading_nowhere(spaces: Spaces, candidates: Sequence[Candidate], names_tell: bool) -> list[Point]:
    """The places beyond openings that lead from a room nowhere: of doors into what one can step into; where no layer's
    name tells of walls (`names_tell`), of any opening.
    """
    ways = [c for c in candidates if c.width >= _WAY_IN and (not names_tell or c.kind == "door")]
    if not ways or not spaces.room.any():
        return []
    places = beside_openings(ways)[:, :, : None if names_tell else _NEAR]
    room, known, outdoors = _told(spaces, places)
    nowhere = np.flip(room.any(axis=2), axis=1) & ~known.any(axis=2) & ~outdoors.any(axis=2)
    beyond = places[nowhere][:, _NEAR - 1]
    if names_tell:
        beyond = beyond[_roomy(spaces, beyond)]
    return [(float(x), float(y)) for x, y in beyond]


def _told(spaces: Spaces, places: Floats) -> tuple[Mask, Mask, Mask]:
    """Which of the `places` (..., 2) lie in a room, in what is told of already, in no face but one round the house."""
    masks = np.zeros((3, places.size // 2), dtype=bool)
    point, face = spaces.arrangement.tree.query(shapely.points(places.reshape(-1, 2)), predicate="intersects")
    masks[0, point[spaces.room[face]]] = True
    masks[1, point[(spaces.room | _entered(spaces))[face]]] = True
    masks[2] = ~np.isin(np.arange(masks.shape[1]), point[~_round_rooms(spaces)[face]])
    room, known, outdoors = masks.reshape(3, *places.shape[:-1])
    return room, known, outdoors


def _round_rooms(spaces: Spaces) -> Mask:
    """Faces (mask) that are no rooms and no walls, and go right round some: a plinth, a terrace, a path."""
    arrangement = spaces.arrangement
    found = np.zeros(len(arrangement.polygons), dtype=bool)
    inside = shapely.get_coordinates(arrangement.insides[spaces.room]).T
    for n in np.flatnonzero(~spaces.room & ~spaces.faces.solid).tolist():
        if len(arrangement.rings[n]) > 1:
            whole = shapely.polygons(shapely.get_exterior_ring(arrangement.polygons[n]))
            found[n] = shapely.contains_xy(whole, *inside).any()
    return found


def _roomy(spaces: Spaces, places: Floats) -> Mask:
    """Which of the `places` (n, 2) lie in or near what one can step into."""
    point, face = spaces.arrangement.tree.query(shapely.points(places), predicate="intersects")
    cores = shapely.buffer(spaces.arrangement.polygons[face], -_STAND)
    good = (shapely.area(cores) >= _STOOD) & (shapely.distance(cores, shapely.points(places[point])) <= _ELBOW)
    found = np.zeros(len(places), dtype=bool)
    found[point[good]] = True
    return found
