"""Reading order on a sheet: rows from the top, left to right in a row."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["reading_order"]

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
