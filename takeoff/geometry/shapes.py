"""Many closed shapes made at once: one call for all costs a tenth of a call for each."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats

__all__ = ["closed_shapes"]


def closed_shapes(rings: Sequence[Floats]) -> npt.NDArray[np.object_]:
    """The polygon inside each of the `rings` (n, 2) of at least three corners, the first not repeated as the last."""
    if not rings:
        return np.zeros(0, dtype=object)
    ring_of = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    return np.asarray(shapely.polygons(shapely.linearrings(np.concatenate(rings), indices=ring_of)))
