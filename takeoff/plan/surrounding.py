"""How far round a place lines go: a layer whose lines go round few rooms' names does not wall rooms in by itself."""

from __future__ import annotations

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index

__all__ = ["share_surrounded"]

_SIDES = 16
"""Directions looked in from each place."""
_TURNED = 0.1
"""Radians: walls run along the axes of most plans, and what looks along one meets its ends by chance."""
_FAR = 15.0
"""So far is looked, metres: half the width of a hall."""
_MOST = 0.5
"""A place is surrounded where lines lie on this share of its sides."""


def share_surrounded(lines: Floats, owner: Index, owners: int, places: Floats) -> Floats:
    """For each of the `owners` of `lines` (n, 4) the share (0-1) of the `places` (k, 2) that its lines surround.

    `owner` (n,) numbers each line's; lengths in metres. One where there is no place.
    """
    if not len(places):
        return np.ones(owners)
    turn = _TURNED + np.arange(_SIDES) * (2 * np.pi / _SIDES)
    way = _FAR * np.column_stack([np.cos(turn), np.sin(turn)])
    rays = np.stack(np.broadcast_arrays(places[:, None], places[:, None] + way), axis=2).reshape(-1, 2, 2)
    tree = shapely.STRtree(shapely.linestrings(lines.reshape(-1, 2, 2)))
    ray, line = tree.query(shapely.linestrings(rays), predicate="intersects")
    met = np.zeros((owners, len(rays)), dtype=bool)
    met[owner[line], ray] = True
    sides = met.reshape(owners, len(places), _SIDES).mean(axis=2)
    return np.asarray((sides >= _MOST).mean(axis=1))
