"""Which storey a place on the sheet belongs to, and the order places are read in: rows from the top, left to right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats
from takeoff.plan.model import Storey

__all__ = ["reading_order", "storeys_at"]

Point = tuple[float, float]

_ROW_M = 1.5
"""Things whose heights on the sheet differ by less stand in one row, metres."""


def reading_order(places: Sequence[Point]) -> list[int]:
    """Numbers of the `places` (metres) as one reads them.

    >>> reading_order([(5.0, 0.0), (0.0, 0.2), (0.0, 9.0)])
    [2, 1, 0]
    """
    by_height = sorted(range(len(places)), key=lambda n: (-places[n][1], places[n][0]))
    rows: list[list[int]] = []
    top = 0.0
    for n in by_height:
        if not rows or top - places[n][1] > _ROW_M:
            rows.append([])
            top = places[n][1]
        rows[-1].append(n)
    return [n for row in rows for n in sorted(row, key=lambda n: (places[n][0], -places[n][1]))]


def storeys_at(storeys: Sequence[Storey], points: Floats) -> list[int]:
    """For each of the `points` (n, 2) the number of the smallest storey whose bounds hold it, else the nearest."""
    if not storeys:
        return [0] * len(points)
    bounds = np.array([s.bounds for s in storeys])
    area = np.prod(bounds[:, 2:] - bounds[:, :2], axis=1)
    found = np.full(len(points), -1, dtype=np.int64)
    point, storey = shapely.STRtree(shapely.box(*bounds.T)).query(shapely.points(points), predicate="intersects")
    order = np.lexsort((storey, area[storey]))[::-1]
    found[point[order]] = storey[order]
    for n in np.flatnonzero(found < 0).tolist():
        miss = np.hstack([bounds[:, :2] - points[n], points[n] - bounds[:, 2:]]).max(axis=1)
        found[n] = np.lexsort((area, miss))[0]
    return [int(n) for n in found]
