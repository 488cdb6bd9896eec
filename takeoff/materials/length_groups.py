"""Lengths that nearly agree, put together so that few different ones are left to cut.

In a group every length counts as the longest of it where it is cut, and as the shortest of it in the bound.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from takeoff.materials.length_patterns import Stock

__all__ = ["grouped"]

MOST_EVEN_CUTS = 12
"""Stock lengths cut evenly into up to so many pieces: no group may reach across such a piece."""


def grouped(wanted: Mapping[int, int], stocks: Sequence[Stock], kerf: int, most: int) -> list[list[int]]:
    """`wanted` lengths in at most `most` groups of neighbours, so that rounding up within a group adds little.

    The least total that one group may add is found by halving. No group reaches across a length that goes just twice,
    three times ... into a stock length: rounding up there would cost a whole piece.
    """
    lengths = sorted(wanted)
    limits = {(s.length_mm + kerf) // times - kerf for s in stocks for times in range(1, MOST_EVEN_CUTS + 1)}
    bands = {n: sum(n > limit for limit in limits) for n in lengths}

    def within(limit: int) -> list[list[int]]:
        groups: list[list[int]] = []
        added = pieces = 0
        for length in lengths:
            step = pieces * (length - groups[-1][-1]) if groups else 0
            if groups and bands[length] == bands[groups[-1][-1]] and added + step <= limit:
                groups[-1].append(length)
                added, pieces = added + step, pieces + wanted[length]
            else:
                groups.append([length])
                added, pieces = 0, wanted[length]
        return groups

    low, high = 0, sum(wanted.values()) * lengths[-1]
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if len(within(middle)) <= most else (middle, high)
    return within(high)
