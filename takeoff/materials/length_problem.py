"""What is to be cut from which lengths, in a form that both the bound and the cutting work on. Whole millimetres.

A piece longer than the longest stock is made up from several parts; which ways there are to do so is settled here.
The other terms are those of `length_patterns`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations_with_replacement
from math import ceil, gcd, inf

from takeoff.materials.length_patterns import Pattern, Relaxation, Split, Stock, relax

__all__ = ["NOISE", "Problem", "ways_to_join"]

NOISE = 1e-6
"""Differences of cost below this are arithmetic."""
MOST_STEPS = 20_000
"""Costs that are gone through one by one for a bound in whole lengths; more bars than that need no such care."""


@dataclass(frozen=True)
class Problem:
    lengths: tuple[int, ...]
    """Distinct piece lengths, longest first."""
    counts: tuple[int, ...]
    long: tuple[int, ...]
    """Distinct lengths that must be joined."""
    long_counts: tuple[int, ...]
    splits: tuple[Split, ...]
    stocks: tuple[Stock, ...]
    kerf: int

    @classmethod
    def of(cls, wanted: Mapping[int, int], stocks: Sequence[Stock], kerf: int, smallest: int) -> Problem:
        longest = max(s.length_mm for s in stocks)
        long = sorted((n for n in wanted if n > longest and wanted[n]), reverse=True)
        ways = {n: ways_to_join(n, [s.length_mm for s in stocks], smallest) for n in long}
        parts = {part for options in ways.values() for way in options for part in way}
        lengths = sorted(parts | {n for n in wanted if n <= longest and wanted[n]}, reverse=True)
        place = {n: i for i, n in enumerate(lengths)}
        splits = tuple(
            Split(p, tuple(sorted((place[part], k) for part, k in Counter(way).items())))
            for p, n in enumerate(long)
            for way in ways[n]
        )
        return cls(
            tuple(lengths),
            tuple(wanted.get(n, 0) for n in lengths),
            tuple(long),
            tuple(wanted[n] for n in long),
            splits,
            tuple(stocks),
            kerf,
        )

    def with_splits(self, chosen: Sequence[int]) -> Problem:
        """The problem once split number s is used `chosen[s]` times."""
        counts = list(self.counts)
        for split, times in zip(self.splits, chosen, strict=True):
            for index, number in split.counts:
                counts[index] += number * times
        return Problem(self.lengths, tuple(counts), (), (), (), self.stocks, self.kerf)

    def less(self, patterns: Mapping[Pattern, int]) -> Problem:
        """What is still wanted when `patterns` are cut; a length no longer wanted is dropped."""
        counts = list(self.counts)
        for pattern, times in patterns.items():
            for index, number in pattern.counts:
                counts[index] = max(0, counts[index] - number * times)
        keep = [i for i, count in enumerate(counts) if count]
        lengths = tuple(self.lengths[i] for i in keep)
        return Problem(lengths, tuple(counts[i] for i in keep), (), (), (), self.stocks, self.kerf)

    def relax(self, enough: float = inf) -> Relaxation:
        """The bound and the fractional answer; the work stops once the bound is `enough`."""
        start = _single_patterns(self)
        return relax(self.lengths, self.counts, self.stocks, self.kerf, start, self.splits, self.long_counts, enough)

    def least_by_length(self) -> int:
        """What whole stock lengths cost that hold all pieces with their saw cuts: a bound, and a quick one."""
        need = sum((n + self.kerf) * k for n, k in zip(self.lengths, self.counts, strict=True))
        return self.least_whole([s.length_mm + self.kerf for s in self.stocks], need)

    def least_whole(self, worth: Sequence[float], need: float) -> int:
        """The least cost of whole stock lengths that are worth `need` together, one of each being worth `worth`.

        A bound stronger than `need` times the best rate, since nobody buys half a length. Where it would take long
        to find it is that rate.
        """
        rate = min(s.cost / w for s, w in zip(self.stocks, worth, strict=True) if w > 0)
        by_rate = self.up(rate * need)
        steps = [s.cost // self.cost_step for s in self.stocks]
        most = by_rate // self.cost_step + max(steps)
        if most > MOST_STEPS:
            return by_rate
        reached = [0.0] * (most + 1)
        for cost in range(1, most + 1):
            reached[cost] = max(
                (reached[cost - step] + w for step, w in zip(steps, worth, strict=True) if step <= cost), default=0.0
            )
            if reached[cost] >= need * (1 - NOISE):
                return cost * self.cost_step
        return by_rate

    def up(self, cost: float) -> int:
        """`cost` up to the next cost that whole stock lengths can add up to."""
        return ceil(cost / self.cost_step - NOISE) * self.cost_step

    @property
    def cost_step(self) -> int:
        return reduce(gcd, (s.cost for s in self.stocks))

    def cost_of(self, patterns: Mapping[Pattern, int]) -> int:
        return sum(self.stocks[p.stock].cost * n for p, n in patterns.items())


def ways_to_join(length: int, stocks: Sequence[int], smallest: int) -> list[tuple[int, ...]]:
    """Each way to make up `length` from the fewest parts: whole stock lengths and one cut part."""
    longest = max(stocks)
    fewest = -(-length // longest)
    ways = set()
    for whole in combinations_with_replacement(sorted(stocks), fewest - 1):
        rest = length - sum(whole)
        if 0 < rest <= longest:
            ways.add((*sorted(whole, reverse=True), rest))
    fit = [way for way in sorted(ways) if way[-1] >= min(smallest, length // fewest)]
    if fit:
        return fit
    rest = length - longest * (fewest - 1)
    moved = min(smallest, (longest + rest) // 2)
    return [(*([longest] * (fewest - 2)), longest + rest - moved, moved)]


def _single_patterns(problem: Problem) -> list[Pattern]:
    """Each length alone, as often as it goes, out of each stock that it fits."""
    patterns = []
    for index, length in enumerate(problem.lengths):
        for number, stock in enumerate(problem.stocks):
            times = (stock.length_mm + problem.kerf) // (length + problem.kerf)
            if times:
                patterns.append(Pattern(number, ((index, times),)))
    return patterns
