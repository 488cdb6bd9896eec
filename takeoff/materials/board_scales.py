"""Lengths scaled so that whatever fits a sheet still fits it: the groundwork of the bounds. Millimetres.

Terms:
  scale   a length for each piece length, such that whatever fits in a sheet end to end, with the saw cuts between, has
          scaled lengths that add up to no more than the sheet's length. The same across the sheet.

Boxes packed in a sheet stay packed when they are scaled so (Fekete and Schepers, Mathematical Methods of Operations
Research 60, 2004). The best scales come from linear programmes over the ways to fill a sheet along its length.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Any

import numpy as np

from takeoff.materials.length_patterns import WorthMost, solver

__all__ = ["Scale", "best_scale", "whole"]

MANY = 10**6
NOISE = 1e-7
AT_ONCE = 12
"""Ways to fill a sheet that are added to a linear programme at a time."""


@dataclass(frozen=True, eq=False)
class Scale:
    """`of[length]`, whole millimetres, -> scaled millimetres. Other lengths count `rate` times their own."""

    of: Mapping[int, float]
    rate: float
    kerf: int

    def at(self, length: float) -> float:
        return self.of.get(whole(length), self.rate * length)

    def only(self, lengths: Iterable[int]) -> Scale:
        """The scale for some lengths alone, in whole millimetres; others count nothing."""
        return Scale({n: self.of[n] for n in sorted(lengths) if n in self.of}, 0.0, self.kerf)

    def most_in(self, room: float) -> float:
        """The most that pieces which together fit in `room` can count."""
        lengths = [n for n in self.of if n <= room]
        if not lengths:
            return self.rate * max(0.0, room)
        values = np.array([max(0.0, self.of[n] - self.rate * n) for n in lengths])
        knapsack = WorthMost([n + self.kerf for n in lengths], [MANY] * len(lengths), [floor(room) + self.kerf])
        return knapsack.find(values)[0][0] + self.rate * room


def whole(length: float) -> int:
    """A length in whole millimetres, rounded down: shorter pieces can only make a bound smaller."""
    return floor(length + 0.05)


def best_scale(
    wanted: Mapping[int, float],
    sheets: Sequence[float],
    kerf: float,
    tolerance: float,
    loose: float = 0.0,
    smallest: float = 0.0,
) -> Scale:
    """The scale under which `wanted` (whole mm -> how much of it) adds up to most.

    `sheets` are the lengths sold; one that is cut in two is reckoned shorter by the tolerance. `loose` millimetres are
    wanted besides in pieces of any length from `smallest` on.
    """
    lengths, saw = sorted(wanted), int(kerf)
    if not lengths:
        return Scale({}, 1.0 if loose else 0.0, saw)
    rooms = [floor(s - tolerance) + saw for s in sheets]
    sizes = [n + saw for n in lengths]
    programme = _Programme(lengths, wanted, sheets, loose)
    for sheet, room in zip(sheets, rooms, strict=True):
        programme.begin(sheet, room, sizes)
    fill = WorthMost(sizes, [max(rooms) // s for s in sizes], rooms)
    fill_partly = WorthMost(sizes, [max(rooms) // s for s in sizes], [max(0, r - whole(smallest) - saw) for r in rooms])
    while True:
        prices, rate = programme.solve()
        added = 0
        for sheet, patterns in zip(sheets, fill.find_with_each(prices, sizes, sheets, AT_ONCE), strict=True):
            added += sum(programme.add(sheet, counts, 0.0) for counts in patterns)
        if loose > 0:
            reduced = np.maximum(prices - rate * np.array(sizes, dtype=float), 0.0)
            for sheet, room, (_, counts) in zip(sheets, rooms, fill_partly.find(reduced), strict=True):
                rest = room - saw - sum(sizes[i] * k for i, k in counts)
                added += programme.add(sheet, counts, float(rest))
        if not added:
            return Scale(dict(zip(lengths, prices.tolist(), strict=True)), rate if loose > 0 else 0.0, saw)


class _Programme:
    """The linear programme over ways to fill a sheet found so far. Its prices are the scale."""

    def __init__(
        self, lengths: Sequence[int], wanted: Mapping[int, float], sheets: Sequence[float], loose: float
    ) -> None:
        self.highs: Any = solver()
        self.last = len(lengths)
        for length in lengths:
            self.highs.addRow(float(wanted[length]), self.highs.inf, 0, [], [])
        self.highs.addRow(float(loose), self.highs.inf, 0, [], [])
        for index, length in enumerate(lengths):
            self._column(min((s for s in sheets if s >= length), default=max(sheets)), [index], [1.0])
        self._column(max(sheets), [self.last], [float(max(sheets))])

    def begin(self, sheet: float, room: int, sizes: Sequence[int]) -> None:
        """Ways to start with: each length as often as it goes, the rest filled with the longest that fit."""
        for first, size in enumerate(sizes):
            counts, left = {first: room // size}, room % size
            if not counts[first]:
                continue
            for index in range(len(sizes) - 1, -1, -1):
                if sizes[index] <= left:
                    counts[index] = counts.get(index, 0) + left // sizes[index]
                    left %= sizes[index]
            self._column(sheet, list(counts), [float(n) for n in counts.values()])

    def solve(self) -> tuple[np.ndarray[Any, np.dtype[np.float64]], float]:
        """(price of each length, price of a millimetre of any length)."""
        self.highs.run()
        duals = np.maximum(np.array(self.highs.getSolution().row_dual, dtype=np.float64), 0.0)
        self.prices, self.rate = duals[:-1], float(duals[-1])
        return self.prices, self.rate

    def add(self, sheet: float, counts: Sequence[tuple[int, int]], rest: float) -> int:
        """Add a way to fill a sheet where its pieces are worth more than the sheet. Returns 1 then, else 0."""
        value = sum(self.prices[i] * k for i, k in counts) + self.rate * rest
        if value <= sheet * (1 + NOISE):
            return 0
        rows = [i for i, _ in counts] + ([self.last] if rest > 0 else [])
        self._column(sheet, rows, [float(k) for _, k in counts] + ([rest] if rest > 0 else []))
        return 1

    def _column(self, cost: float, rows: list[int], entries: list[float]) -> None:
        self.highs.addCol(float(cost), 0.0, self.highs.inf, len(rows), rows, entries)
