"""Lengths and directions of straight pieces: rows x1 y1 x2 y2, metres."""

from __future__ import annotations

import numpy as np

from takeoff.geometry.cluster import Floats

__all__ = ["directions", "left_of", "lengths"]

_SHORTEST = 1e-9
"""What is shorter has no direction: it is taken as so long, metres."""


def lengths(ends: Floats) -> Floats:
    """How long the pieces `ends` (n, 4) are, (n,)."""
    return np.asarray(np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1]))


def directions(ways: Floats) -> Floats:
    """Unit vectors along `ways` (2,) or (n, 2)."""
    return np.asarray(ways / np.maximum(np.hypot(ways[..., 0], ways[..., 1]), _SHORTEST)[..., None])


def left_of(ways: Floats) -> Floats:
    """The vectors (2,) or (n, 2) turned a right angle to the left."""
    return np.stack([-ways[..., 1], ways[..., 0]], axis=-1)
