"""Rooms whose outlines must be doubted, told from what was drawn and is not explained by them.

Terms:
  stopped    a side of the room was laid by us where it ran off into a wall's body (`takeoff.plan.leaks`).
  parted     a single line, no wall, keeps the room from the next one, in a drawing whose walls have two faces.
  stepped    a side of the room lies in one line with the outer face of a wall beside it: the inner face is missing.
  stray      line work on the walls' layers inside a room that bounds nothing.
  cluttered  said of a storey with much stray line work: what is a wall there cannot be told from the lines alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.runs import straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.plan.faces import Faces
from takeoff.plan.leaks import wall_like
from takeoff.plan.linework import GLASS, LEAK, Lines
from takeoff.plan.soften import edge_kinds, edges_with, outlined

__all__ = ["Suspicions", "cluttered", "suspicions"]

_LEAST = 0.3
"""Shorter stretches of outline are left alone, metres."""
_INSIDE = 0.03
"""Lines this near a room's outline are the outline's own, metres."""
_CLUTTERED, _CLUTTERED_MIXED = 0.15, 0.14
"""Storeys with this much stray line work for each metre of their rooms' outlines are cluttered. Orderly drawings of the
generated and the shared plans have 0.03 and less, everything on one layer 0.1 and more. Where the walls are known to
share their layer with everything else, less is clutter."""


@dataclass(frozen=True)
class Suspicions:
    """Masks over the faces of an arrangement, and the `stray` length in each face, metres."""

    stopped: Mask
    parted: Mask
    stepped: Mask
    loose: Mask
    stray: Floats

    def why(self, face: int) -> str:
        """What speaks against the outline of a face, in words; '' when nothing does."""
        said = (
            (self.stopped, "it ran into the body of a wall and was shut off there"),
            (self.stepped, "a part of it lies in one line with the outer face of the wall beside it"),
            (self.parted, "a single line keeps it from the next room, where the other walls have two faces"),
            (self.loose, "a wall's face ends loose in it"),
        )
        return next((words for mask, words in said if mask[face]), "")


def suspicions(
    whole: Arrangement, arrangement: Arrangement, lines: Lines, kinds: Index, faces: Faces, room: Mask, hung: Mask
) -> Suspicions:
    """What speaks against the rooms (mask `room` over faces) of `arrangement`.

    `whole` is the arrangement before lines that bound nothing were dropped, `kinds` are of the edges, `hung` (mask)
    the lines in which single-line partitions with openings run.
    """
    count = len(faces.area)
    if not room.any():
        none = np.zeros(count, dtype=bool)
        return Suspicions(none, none, none, none, np.zeros(count))
    left, right = arrangement.left, arrangement.right
    rooms = np.concatenate([room, [False]])
    stopped = outlined(arrangement, kinds == LEAK, count) > 0
    firm = hung | (lines.kind == GLASS)
    single = rooms[left] & rooms[right] & (left != right) & (kinds < GLASS) & ~edges_with(arrangement, firm)
    parted = outlined(arrangement, single, count) > _LEAST
    stepped = _stepped(arrangement, lines, kinds, faces, rooms)
    at, length, like = _stray(whole, lines)
    line, held = _held(arrangement, room, at)
    stray = np.bincount(held, length[line], minlength=count).astype(float)
    loose = np.bincount(held, like[line], minlength=count) > 0
    return Suspicions(stopped, parted, stepped, loose, stray)


def cluttered(stray: Floats, outlines: Floats, storey: Sequence[str], mixed: bool) -> tuple[str, ...]:
    """The storeys that are cluttered, from the stray length, the outline's length (metres) and storey of each room;
    `mixed` as in `takeoff.plan.mixed`.
    """
    least = _CLUTTERED_MIXED if mixed else _CLUTTERED
    names = sorted(set(storey))
    of = np.array(storey)
    return tuple(n for n in names if stray[of == n].sum() >= least * outlines[of == n].sum() > 0)


def _held(arrangement: Arrangement, room: Mask, at: Floats) -> tuple[Index, Index]:
    """Pairs of a point (number in `at`) and the room's face in which it lies, clear of the outline."""
    own = np.flatnonzero(room)
    polygons = arrangement.polygons[own]
    points = shapely.points(at)
    point, held = shapely.STRtree(polygons).query(points, predicate="within")
    clear = shapely.distance(shapely.boundary(polygons)[held], points[point]) > _INSIDE
    return point[clear], own[held[clear]]


def _stepped(arrangement: Arrangement, lines: Lines, kinds: Index, faces: Faces, rooms: Mask) -> Mask:
    count = len(faces.area)
    found = np.zeros(count, dtype=bool)
    left, right, lengths = arrangement.left, arrangement.right, arrangement.lengths
    if not len(left):
        return found
    solid = np.concatenate([faces.solid, [False]])
    ends = arrangement.nodes[arrangement.edges].reshape(-1, 4)
    way = ends[:, 2:] - ends[:, :2]
    forward = (way[:, 0] > 1e-6) | ((np.abs(way[:, 0]) <= 1e-6) & (way[:, 1] > 0))
    drawn = kinds < GLASS
    _, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    for outer_left in (False, True):
        outer, inner = (left, right) if outer_left else (right, left)
        rim = drawn & (outer == OUTSIDE)
        side = 2 * run + (forward ^ outer_left)
        size = int(side.max()) + 1
        backed = np.bincount(side[rim & solid[inner]], lengths[rim & solid[inner]], minlength=size)
        bare = rim & rooms[inner] & (backed[side] >= _LEAST)
        total = np.bincount(inner[bare], lengths[bare], minlength=count + 1)
        found |= total[:count] >= _LEAST
    return found


def _stray(whole: Arrangement, lines: Lines) -> tuple[Floats, Floats, Mask]:
    """Middle (k, 2), length (k,) and whether wall-like (k,) of the drawn pieces of `whole`, loose ones included."""
    kept = whole.nodes[whole.edges[edge_kinds(whole, lines) < GLASS]].reshape(-1, 4)
    bare = whole.nodes[whole.loose[lines.kind[whole.loose_pieces] < GLASS]].reshape(-1, 4)
    ends = np.vstack([kept, bare])
    length = lengths(ends)
    like = np.concatenate([np.zeros(len(kept), dtype=bool), wall_like(bare, lines.ends[lines.kind < GLASS])])
    return (ends[:, :2] + ends[:, 2:]) / 2, length, like
