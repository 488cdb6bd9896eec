"""Ways to cut stock lengths into pieces, and the least cost that any cutting can have. Whole millimetres, whole money.

Terms:
  stock    a length that is sold, with its cost in whole units of money (or its millimetres when no price is known).
  piece    a length that is needed, so many times.
  pattern  what is cut from one stock length: how many of each piece. Between two pieces the saw takes the kerf.
  split    a way to make up a piece longer than the longest stock from several shorter ones.
  bound    a cost that no cutting, however clever, can go below.

The bound is the linear relaxation of Gilmore and Gomory (Operations Research 9, 1961): patterns may be used in
fractions. Patterns are made as they are wanted: the dual prices of the pieces say what a pattern is worth, and a
knapsack finds the one worth most. Until none is worth more than its stock costs, the prices scaled down by the worst
ratio are still a proof (Farley, Operations Research 38, 1990); so the bound holds whenever the work stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Pattern", "Relaxation", "Split", "Stock", "WorthMost", "most_wanted", "relax", "solver", "worth"]

AT_ONCE = 30
"""Patterns taken up in one round for each stock length: more rounds cost more than more patterns."""
NOISE = 1e-9
"""Differences of dual price below this are arithmetic, not savings."""
MOST_ROUNDS = 3000
"""Rounds of pattern making after which the bound so far is taken; never met on houses."""

Counts = tuple[tuple[int, int], ...]
"""(index of a piece, how many of it), by index."""
Table = tuple[NDArray[np.float64], NDArray[np.bool_]]
"""The most that each capacity can be worth, and which bundles were taken on the way."""


@dataclass(frozen=True, slots=True, order=True)
class Stock:
    length_mm: int
    cost: int


@dataclass(frozen=True, slots=True, order=True)
class Pattern:
    """One stock length and the pieces cut from it: `counts` has (index of the piece length, how many)."""

    stock: int
    """Index into the stock list."""
    counts: Counts


@dataclass(frozen=True, slots=True)
class Split:
    """One way to make up over-long piece number `piece`: `counts` as in a pattern."""

    piece: int
    counts: Counts


@dataclass
class Relaxation:
    """The fractional optimum: patterns with their fractional use, uses of the splits, dual prices and the bound."""

    patterns: list[Pattern]
    used: list[float]
    split_used: list[float]
    prices: NDArray[np.float64]
    bound: float
    worth: float
    """What all pieces are worth at `prices`."""
    stock_worth: tuple[float, ...]
    """The most that can be cut from each stock length is worth at `prices`: never more than its cost."""


class WorthMost:
    """The most valuable patterns for given piece values: a bounded knapsack over every capacity at once."""

    def __init__(self, sizes: Sequence[int], most: Sequence[int], capacities: Sequence[int]) -> None:
        """`sizes` are piece lengths with kerf, `capacities` stock lengths with kerf; `most` bounds the use of each."""
        self.capacities = list(capacities)
        self.most = list(most)
        self.top = max(capacities)
        self.bundles: list[tuple[int, int, int]] = []
        """(piece, copies, size): copies 1, 2, 4 ... so that every number up to the most can be made up."""
        for index, (size, bound) in enumerate(zip(sizes, most, strict=True)):
            left = min(bound, self.top // size)
            copies = 1
            while left > 0:
                take = min(copies, left)
                self.bundles.append((index, take, take * size))
                left -= take
                copies *= 2

    def find(self, values: NDArray[np.float64]) -> list[tuple[float, Counts]]:
        """For each capacity: (value, pieces with counts) of the pattern worth most."""
        return self._worth_most(self._table(values))

    def find_with_each(
        self, values: NDArray[np.float64], sizes: Sequence[int], costs: Sequence[float], most: int
    ) -> list[list[Counts]]:
        """For each capacity, up to `most` patterns worth more than its cost: the best with one piece and with another.

        `sizes` are those of all pieces. A pattern that would use a piece more often than it is wanted is left out.
        """
        return self._with_each(self._table(values), values, sizes, costs, most)

    def find_both(
        self, values: NDArray[np.float64], sizes: Sequence[int], costs: Sequence[float], most: int
    ) -> tuple[list[tuple[float, Counts]], list[list[Counts]]]:
        """What `find` and `find_with_each` return, by one reckoning."""
        table = self._table(values)
        return self._worth_most(table), self._with_each(table, values, sizes, costs, most)

    def _worth_most(self, table: Table) -> list[tuple[float, Counts]]:
        best, taken = table
        return [(float(best[c]), self._read_back(taken, c)) for c in self.capacities]

    def _with_each(
        self, table: Table, values: NDArray[np.float64], sizes: Sequence[int], costs: Sequence[float], most: int
    ) -> list[list[Counts]]:
        best, taken = table
        found = []
        sizes_of = np.asarray(sizes)
        for capacity, cost in zip(self.capacities, costs, strict=True):
            room = capacity - sizes_of
            with_each = np.where(room >= 0, best[np.maximum(room, 0)] + values, 0.0)
            order = np.argsort(-with_each, kind="stable")[: 4 * most]
            patterns: dict[Counts, None] = {}
            for index in order[with_each[order] > cost * (1 + NOISE)].tolist():
                counts = dict(self._read_back(taken, int(room[index])))
                counts[index] = counts.get(index, 0) + 1
                if counts[index] <= self.most[index]:
                    patterns[tuple(sorted(counts.items()))] = None
            found.append(list(patterns)[:most])
        return found

    def _table(self, values: NDArray[np.float64]) -> Table:
        """The most that each capacity can be worth, and which bundles were taken on the way."""
        best = np.zeros(self.top + 1)
        taken = np.zeros((len(self.bundles), self.top + 1), dtype=bool)
        for row, (index, copies, size) in enumerate(self.bundles):
            worth = copies * values[index]
            if worth <= NOISE:
                continue
            offer = best[: self.top + 1 - size] + worth
            better = offer > best[size:] + NOISE
            taken[row, size:] = better
            best[size:] = np.where(better, offer, best[size:])
        return best, taken

    def _read_back(self, taken: NDArray[np.bool_], capacity: int) -> Counts:
        counts: dict[int, int] = {}
        row = len(self.bundles)
        while len(rows := np.flatnonzero(taken[:row, capacity])):
            row = int(rows[-1])
            index, copies, size = self.bundles[row]
            counts[index] = counts.get(index, 0) + copies
            capacity -= size
        return tuple(sorted(counts.items()))


def solver() -> Any:
    """A silent HiGHS with one thread and a fixed seed: the same input gives the same answer."""
    import highspy

    class Silent(highspy.Highs):
        def enableCallbacks(self) -> None:  # noqa: N802 - the library's name; called before the first word is printed
            self.silent()
            super().enableCallbacks()  # type: ignore[no-untyped-call]

    highs: Any = Silent()  # type: ignore[no-untyped-call]
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", 1)
    return highs


def relax(
    lengths: Sequence[int],
    counts: Sequence[int],
    stocks: Sequence[Stock],
    kerf: int,
    start: Sequence[Pattern],
    splits: Sequence[Split] = (),
    split_counts: Sequence[int] = (),
    enough: float = inf,
) -> Relaxation:
    """The least fractional cost of cutting `counts` pieces of `lengths` out of `stocks`, and its proof.

    `splits` feed extra pieces: over-long piece number p must be made up `split_counts[p]` times, in any mix of its
    splits. `start` must be able to cover every piece. Lengths in millimetres. Once the bound is `enough` the work
    stops, whatever it might still be.
    """
    most = most_wanted(counts, splits, split_counts)
    sizes = [length + kerf for length in lengths]
    costs = [float(s.cost) for s in stocks]
    knapsack = WorthMost(sizes, most, [s.length_mm + kerf for s in stocks])
    master = _Master(counts, split_counts, splits, stocks)
    for pattern in start:
        master.add(pattern)
    bound, rounds = 0.0, 0
    while True:
        rounds += 1
        prices = np.maximum(master.prices()[: len(lengths)], 0.0)
        found, more = knapsack.find_both(prices, sizes, costs, AT_ONCE)
        ratio = max(1.0, max(value / cost for (value, _), cost in zip(found, costs, strict=True)))
        whole = worth(prices, counts, splits, split_counts) / ratio
        bound = max(bound, whole)
        used = master.used()
        new = [] if bound >= enough or rounds >= MOST_ROUNDS else _paying(found, more, costs)
        if not sum([master.add(pattern) for pattern in new]):
            return Relaxation(
                patterns=master.patterns,
                used=used[len(splits) :],
                split_used=used[: len(splits)],
                prices=np.asarray(prices / ratio),
                bound=bound,
                worth=whole,
                stock_worth=tuple(value / ratio for value, _ in found),
            )


def _paying(
    found: Sequence[tuple[float, Counts]], more: Sequence[Sequence[Counts]], costs: Sequence[float]
) -> list[Pattern]:
    """The patterns worth more than their stock costs: the best of each stock, and others that are nearly as good."""
    new = []
    for index, ((value, pieces), others, cost) in enumerate(zip(found, more, costs, strict=True)):
        if value > cost * (1 + NOISE) + NOISE:
            new += [Pattern(index, counts) for counts in dict.fromkeys((pieces, *others))]
    return new


def worth(
    prices: NDArray[np.float64], counts: Sequence[int], splits: Sequence[Split], split_counts: Sequence[int]
) -> float:
    """What all pieces are worth at `prices`, an over-long one as much as its cheapest split: the dual's value.

    It is worked out from the prices alone, so that the bound rests on no more than arithmetic.
    """
    total = float(prices @ np.asarray(counts, dtype=np.float64))
    for piece, number in enumerate(split_counts):
        ways = (sum(float(prices[i]) * k for i, k in s.counts) for s in splits if s.piece == piece)
        total += number * min(ways)
    return total


def most_wanted(counts: Sequence[int], splits: Sequence[Split], split_counts: Sequence[int]) -> list[int]:
    """How many of each piece can be wanted at the very most, whichever splits are chosen."""
    most = list(counts)
    extra: dict[tuple[int, int], int] = {}
    for split in splits:
        for index, times in split.counts:
            key = (index, split.piece)
            extra[key] = max(extra.get(key, 0), times * split_counts[split.piece])
    for (index, _), number in extra.items():
        most[index] += number
    return most


class _Master:
    """The linear programme over the patterns made so far: splits are its first columns, patterns follow."""

    def __init__(
        self, counts: Sequence[int], split_counts: Sequence[int], splits: Sequence[Split], stocks: Sequence[Stock]
    ) -> None:
        self.highs = solver()
        self.infinity = self.highs.inf
        self.stocks = stocks
        self.patterns: list[Pattern] = []
        self.known: set[Pattern] = set()
        for count in counts:
            self.highs.addRow(float(count), self.infinity, 0, [], [])
        for count in split_counts:
            self.highs.addRow(float(count), float(count), 0, [], [])
        for split in splits:
            rows = [index for index, _ in split.counts] + [len(counts) + split.piece]
            entries = [-float(times) for _, times in split.counts] + [1.0]
            self.highs.addCol(0.0, 0.0, self.infinity, len(rows), rows, entries)

    def add(self, pattern: Pattern) -> bool:
        if pattern in self.known:
            return False
        self.known.add(pattern)
        self.patterns.append(pattern)
        rows = [index for index, _ in pattern.counts]
        entries = [float(times) for _, times in pattern.counts]
        cost = float(self.stocks[pattern.stock].cost)
        self.highs.addCol(cost, 0.0, self.infinity, len(rows), rows, entries)
        return True

    def prices(self) -> NDArray[np.float64]:
        """Dual prices of all rows at the least cost."""
        self.highs.run()
        return np.array(self.highs.getSolution().row_dual)

    def used(self) -> list[float]:
        return [float(v) for v in self.highs.getSolution().col_value]
