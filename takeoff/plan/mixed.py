"""Rooms whose outlines must be doubted where the walls share their layer with everything else.

Terms:
  mixed    said of a drawing whose walls lie on layers that hold texts or doors too, and no name tells which lines are
           walls. Worktops, linings and footings run beside the walls there, a wall's thickness off.
  stacked  said of a solid that lies with a long side against another: one of them may be no wall.
  strip    a closed space beside a room that is none: a worktop, a cupboard, a bath.
"""

from __future__ import annotations

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Mask
from takeoff.plan.linework import GLASS
from takeoff.plan.rooms import Spaces
from takeoff.plan.soften import outlined

__all__ = ["beside_what", "is_mixed"]

_LEAST = 0.3
"""Shorter stretches of outline are left alone, metres."""
_LONG = 0.5
"""Solids that share a shorter side butt against each other, metres."""
_MATTERS = 0.02
"""What would not change a room's floor by this share is not asked about: the bound of a right area."""
_STACKED = 0.25
"""A stacked solid shares this much of its outline with others."""


def is_mixed(drawing: Drawing, fabric: Mask, doors: Mask) -> bool:
    """Whether one of the `fabric` layers (mask) holds texts too, or lines of doors (`doors` masks the segments)."""
    others = [t.entity for t in drawing.texts] + np.unique(drawing.segments.entity[doors]).tolist()
    return bool(fabric[drawing.layer_numbers[np.array(others, dtype=np.int64)]].any())


def beside_what(spaces: Spaces) -> dict[int, str]:
    """Why the outline of rooms (faces) must be doubted in a mixed drawing; rooms without a reason are left out."""
    drawn, solid, room = spaces.kinds < GLASS, spaces.faces.solid, spaces.room
    floor = _MATTERS * np.maximum(spaces.faces.area, 1e-9)
    stacked, depth = _beside(spaces, drawn, _stacked(spaces, drawn)) if spaces.bodied else _none(len(room))
    strip, wide = _beside(spaces, drawn, ~room & (~solid | (not spaces.bodied)), nearest=True)
    found = {}
    for face in np.flatnonzero(room).tolist():
        if strip[face] >= _LEAST and wide[face] >= floor[face]:
            found[face] = f"over {strip[face]:.1f} m it is parted from a closed space that is no room"
        elif stacked[face] >= _LEAST and depth[face] >= floor[face]:
            found[face] = f"behind {stacked[face]:.1f} m of it two bodies lie one behind the other"
    return found


def _none(count: int) -> tuple[Floats, Floats]:
    return np.zeros(count), np.zeros(count)


def _stacked(spaces: Spaces, drawn: Mask) -> Mask:
    arrangement, count = spaces.arrangement, len(spaces.faces.area)
    solid = np.append(spaces.faces.solid, False)
    left, right = arrangement.left, arrangement.right
    along = drawn & solid[left] & solid[right] & (left != right) & (arrangement.lengths >= _LONG)
    whole = outlined(arrangement, np.ones(len(left), dtype=bool), count)
    return np.asarray(outlined(arrangement, along, count) > _STACKED * whole)


def _beside(spaces: Spaces, drawn: Mask, what: Mask, nearest: bool = False) -> tuple[Floats, Floats]:
    """For each room the length of the `drawn` edges that keep it from faces of `what` (mask), metres, and the area
    that these faces have along them, m2. `nearest`: a face counts for the room alone that it has most edges with.
    """
    arrangement, count = spaces.arrangement, len(spaces.room)
    rooms, others = np.append(spaces.room, False), np.append(what, False)
    beside = np.column_stack([arrangement.left, arrangement.right])
    both = np.vstack([beside, beside[:, ::-1]])
    good = np.tile(drawn, 2) & rooms[both[:, 0]] & others[both[:, 1]]
    pairs, of = np.unique(both[good], axis=0, return_inverse=True)
    length = np.bincount(of.ravel(), np.tile(arrangement.lengths, 2)[good], minlength=len(pairs))
    if nearest:
        longest = np.zeros(count)
        np.maximum.at(longest, pairs[:, 1], length)
        length = np.where(length >= longest[pairs[:, 1]], length, 0.0)
    area = length * spaces.faces.width[pairs[:, 1]]
    total = [np.bincount(pairs[:, 0], x, minlength=count).astype(float) for x in (length, area)]
    return total[0], total[1]
