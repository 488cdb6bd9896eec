"""Rigid moves of a plan: shifted, turned, mirrored; and the moves that lay one shape on another.

Terms:
  move       mirror (x to -x) where it is mirrored, then turn about the origin, then shift.
  congruent  said of two shapes that cover each other, once moved, all but for a small share.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.polygon import orient

__all__ = ["CONGRUENT", "STILL", "Move", "laid_on", "overlap", "shape_measures"]

Floats = npt.NDArray[np.float64]
Index = npt.NDArray[np.int64]
Polygons = npt.NDArray[np.object_]

CONGRUENT = 0.93
"""Intersection over union from which two shapes are one: 2 cm all round a room of 3 x 3 m."""
_SAME_LENGTH = (0.02, 0.03)
"""Edges are as long as each other within this share, or so many metres."""
_TRIES = 16
"""Ways tried to lay one shape on another."""


@dataclass(frozen=True, slots=True)
class Move:
    """From the frame of one plan to that of another, metres and radians."""

    turn: float = 0.0
    mirrored: bool = False
    shift: tuple[float, float] = (0.0, 0.0)

    def apply(self, points: Floats) -> Floats:
        """The `points` (n, 2) moved."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        m = -1.0 if self.mirrored else 1.0
        return np.asarray(points @ np.array([[m * c, m * s], [-s, c]]) + np.array(self.shift))

    def __call__(self, shapes: Polygons) -> Polygons:
        """The `shapes` moved."""
        return shapes if self == STILL else np.asarray(shapely.transform(shapes, self.apply))

    @property
    def turned_degrees(self) -> float:
        """0 to 360, for people; whole where it is whole within a hundredth."""
        degrees = math.degrees(self.turn) % 360.0
        return round(degrees, 2) % 360.0


STILL = Move()


def overlap(first: Polygons, second: Polygons) -> Floats:
    """Intersection over union of each pair of shapes, 0-1."""
    shared = shapely.area(shapely.intersection(first, second))
    return np.asarray(shared / np.maximum(shapely.area(first) + shapely.area(second) - shared, 1e-12))


def shape_measures(shapes: Polygons) -> Floats:
    """What no move changes of each shape (n, 3): logarithms of area, of the outline's length and of the hull's area."""
    area, length = shapely.area(shapes), shapely.length(shapes)
    hull = shapely.area(shapely.convex_hull(shapes))
    return np.asarray(np.log(np.maximum(np.column_stack([area, length, hull]), 1e-9)))


def laid_on(shape: shapely.Polygon, other: shapely.Polygon) -> list[tuple[float, Move]]:
    """The moves that lay `shape` on `other` so that they are congruent, each with its overlap, the best first.

    A rectangle is laid on its like in four ways: which was meant, only what stands round it can tell.
    """
    found: list[tuple[float, Move]] = []
    for turn, mirrored in _turns(shape, other):
        bare = Move(turn, mirrored)
        middle = bare.apply(shapely.get_coordinates(shape.centroid))[0]
        to = shapely.get_coordinates(other.centroid)[0]
        move = Move(turn, mirrored, (float(to[0] - middle[0]), float(to[1] - middle[1])))
        share = float(overlap(move(np.array([shape], dtype=object)), np.array([other], dtype=object))[0])
        if share >= CONGRUENT:
            found.append((share, move))
    return sorted(found, key=lambda f: (-round(f[0], 3), f[1].mirrored, abs(math.remainder(f[1].turn, math.tau))))


def _turns(shape: shapely.Polygon, other: shapely.Polygon) -> list[tuple[float, bool]]:
    """Turns, plain and mirrored, that make the longest edge of `shape` parallel to an edge of `other` as long."""
    length, way = _edges(shape)
    others, ways = _edges(other)
    longest = int(np.argmax(length))
    near = np.abs(others - length[longest]) <= max(_SAME_LENGTH[0] * length[longest], _SAME_LENGTH[1])
    turns = [(float(w - way[longest]), False) for w in ways[near]]
    turns += [(float(w + way[longest]), True) for w in ways[near]]
    distinct: dict[tuple[int, bool], tuple[float, bool]] = {}
    for turn, mirrored in turns:
        turn = math.remainder(turn, math.tau)
        distinct.setdefault((round(math.degrees(turn)), mirrored), (turn, mirrored))
    return list(distinct.values())[:_TRIES]


def _edges(shape: shapely.Polygon) -> tuple[Floats, Floats]:
    """Length and direction of each edge of the outline, counter-clockwise, points on straight lines left out."""
    ring = shapely.get_coordinates(orient(shape).exterior.simplify(0.005))
    way = np.diff(ring, axis=0)
    return np.hypot(way[:, 0], way[:, 1]), np.arctan2(way[:, 1], way[:, 0])
