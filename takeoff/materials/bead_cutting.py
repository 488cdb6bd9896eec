"""Whole lengths cut into pieces at the least cost, with a proof of how near the least it is.

First the fractional optimum and its bound (see `length_patterns`), then whole numbers: where many bars are alike the
whole part of the fractional answer is cut as it stands, and what is left is settled by an integer programme over the
patterns found. Where that leaves a gap, every pattern that could still save anything is listed and the programme is
run again over all of them: its answer is then the best there is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import combinations_with_replacement
from math import ceil, floor, gcd

import numpy as np
from numpy.typing import NDArray

from takeoff.materials.length_patterns import Pattern, Relaxation, Split, Stock, most_wanted, relax, solver

__all__ = ["Bar", "Cutting", "cut_lengths"]

FEW_BARS = 60
"""Up to so many bars the whole answer is settled by one integer programme; more are cut down to it first."""
MOST_LENGTHS = 240
"""Where more lengths than this differ, neighbours are rounded up together (and down for the bound)."""
MOST_EVEN_CUTS = 12
GOOD_ENOUGH = 0.003
"""A cutting proven this near the best is taken; small jobs are always taken further, one length being more."""
MOST_LISTED = 4000
"""Patterns listed for the last proof; beyond it the gap is printed as it is."""
MOST_NODES = 1000
"""Branches of the integer programme: a count, not a time, so that the same input gives the same answer."""
NOISE = 1e-6
FEASIBLE = 2
"""HiGHS: the solution found obeys every row."""


@dataclass(frozen=True, slots=True, order=True)
class Bar:
    """`number` stock lengths cut alike. The off-cut is what is left after pieces and saw cuts."""

    stock_mm: int
    pieces_mm: tuple[int, ...]
    """Longest first."""
    number: int

    def off_cut_mm(self, kerf_mm: int) -> int:
        """What is left of one bar: a cut after each piece unless the last ends with the bar."""
        left = self.stock_mm - sum(self.pieces_mm) - kerf_mm * (len(self.pieces_mm) - 1)
        return max(0, left - kerf_mm)


@dataclass(frozen=True, slots=True)
class Cutting:
    bars: tuple[Bar, ...]
    joined: tuple[tuple[int, tuple[int, ...]], ...]
    """(length longer than any stock, lengths that it is made up of), one entry for each such piece."""
    cost: int
    bound: int
    """No cutting of these pieces costs less."""

    @property
    def gap(self) -> float:
        """(cost - bound) / cost: 0 means proven best."""
        return (self.cost - self.bound) / self.cost if self.cost else 0.0


def cut_lengths(
    wanted: Mapping[int, int], stocks: Sequence[Stock], kerf_mm: int = 3, smallest_mm: int = 300
) -> Cutting:
    """The cheapest way found to cut `wanted` (length in mm -> how many) out of `stocks`.

    A piece longer than the longest stock is joined from as few lengths as will make it, none shorter than
    `smallest_mm` where that can be helped; nothing else is joined. Raises `ValueError` for a length or stock that is
    not positive.
    """
    if any(s.length_mm <= 0 or s.cost <= 0 for s in stocks) or any(n <= 0 for n in wanted) or not stocks:
        raise ValueError("Stock lengths, their costs and the lengths wanted must be greater than nought.")
    stocks = sorted(stocks)
    longest = stocks[-1].length_mm
    short = {n: count for n, count in wanted.items() if n <= longest and count > 0}
    if len(short) <= MOST_LENGTHS:
        problem = _Problem.of(wanted, stocks, kerf_mm, smallest_mm)
        return _settle(problem) if problem.lengths else Cutting((), (), 0, 0)
    groups = _groups(short, stocks, kerf_mm, MOST_LENGTHS)
    long = {n: count for n, count in wanted.items() if n > longest and count > 0}
    rounded_up, rounded_down = Counter(long), Counter(long)
    for group in groups:
        rounded_up[group[-1]] += sum(short[n] for n in group)
        rounded_down[group[0]] += sum(short[n] for n in group)
    below = _Problem.of(rounded_down, stocks, kerf_mm, smallest_mm)
    cutting = _settle(_Problem.of(rounded_up, stocks, kerf_mm, smallest_mm))
    return replace(_true_lengths(cutting, short, groups), bound=_up(below, below.relax().bound))


def _groups(wanted: Mapping[int, int], stocks: Sequence[Stock], kerf: int, most: int) -> list[list[int]]:
    """`wanted` lengths in at most `most` groups of neighbours, so that rounding up within a group adds little.

    The least total that one group may add is found by halving. No group reaches across a length that goes just twice,
    three times ... into a stock length: rounding up there would cost a whole piece.
    """
    lengths = sorted(wanted)
    limits = {(s.length_mm + kerf) // times - kerf for s in stocks for times in range(1, MOST_EVEN_CUTS + 1)}
    bands = {n: sum(n > limit for limit in limits) for n in lengths}

    def grouped(limit: int) -> list[list[int]]:
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
        low, high = (low, middle) if len(grouped(middle)) <= most else (middle, high)
    return grouped(high)


def _true_lengths(cutting: Cutting, wanted: Mapping[int, int], groups: Sequence[Sequence[int]]) -> Cutting:
    """`cutting` with each rounded length put back to one of its group; parts of joined pieces keep theirs."""
    left = {g[-1]: [n for n in sorted(g, reverse=True) for _ in range(wanted[n])] for g in groups}
    bars: Counter[tuple[int, tuple[int, ...]]] = Counter()
    for bar in cutting.bars:
        for _ in range(bar.number):
            pieces = (left[n].pop(0) if left.get(n) else n for n in bar.pieces_mm)
            bars[bar.stock_mm, tuple(sorted(pieces, reverse=True))] += 1
    return replace(cutting, bars=tuple(sorted(Bar(stock, pieces, n) for (stock, pieces), n in bars.items())))


@dataclass(frozen=True)
class _Problem:
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
    def of(cls, wanted: Mapping[int, int], stocks: Sequence[Stock], kerf: int, smallest: int) -> _Problem:
        longest = max(s.length_mm for s in stocks)
        long = sorted((n for n in wanted if n > longest and wanted[n]), reverse=True)
        ways = {n: _ways_to_join(n, [s.length_mm for s in stocks], smallest) for n in long}
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

    def with_splits(self, chosen: Sequence[int]) -> _Problem:
        """The problem once split number s is used `chosen[s]` times."""
        counts = list(self.counts)
        for split, times in zip(self.splits, chosen, strict=True):
            for index, number in split.counts:
                counts[index] += number * times
        return _Problem(self.lengths, tuple(counts), (), (), (), self.stocks, self.kerf)

    def less(self, patterns: Mapping[Pattern, int]) -> _Problem:
        """What is still wanted when `patterns` are cut; a length no longer wanted is dropped."""
        counts = list(self.counts)
        for pattern, times in patterns.items():
            for index, number in pattern.counts:
                counts[index] = max(0, counts[index] - number * times)
        keep = [i for i, count in enumerate(counts) if count]
        lengths = tuple(self.lengths[i] for i in keep)
        return _Problem(lengths, tuple(counts[i] for i in keep), (), (), (), self.stocks, self.kerf)

    def relax(self, extra: Sequence[Pattern] = ()) -> Relaxation:
        start = [*_single_patterns(self), *extra]
        return relax(self.lengths, self.counts, self.stocks, self.kerf, start, self.splits, self.long_counts)

    @property
    def cost_step(self) -> int:
        return reduce(gcd, (s.cost for s in self.stocks))

    def cost_of(self, patterns: Mapping[Pattern, int]) -> int:
        return sum(self.stocks[p.stock].cost * n for p, n in patterns.items())


def _ways_to_join(length: int, stocks: Sequence[int], smallest: int) -> list[tuple[int, ...]]:
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


def _single_patterns(problem: _Problem) -> list[Pattern]:
    """Each length alone, as often as it goes, out of each stock that it fits."""
    patterns = []
    for index, length in enumerate(problem.lengths):
        for number, stock in enumerate(problem.stocks):
            times = (stock.length_mm + problem.kerf) // (length + problem.kerf)
            if times:
                patterns.append(Pattern(number, ((index, times),)))
    return patterns


def _settle(problem: _Problem) -> Cutting:
    relaxed = problem.relax()
    if sum(relaxed.used) <= FEW_BARS:
        best, chosen, bound = _best(problem, relaxed)
    else:
        chosen = _round_splits(problem, relaxed.split_used)
        best, bound = _shrink(problem.with_splits(chosen)), _up(problem, relaxed.bound)
    return _cutting(problem, best, chosen, bound)


def _up(problem: _Problem, cost: float) -> int:
    """`cost` up to the next cost that whole stock lengths can add up to."""
    return ceil(cost / problem.cost_step - NOISE) * problem.cost_step


def _shrink(problem: _Problem) -> dict[Pattern, int]:
    """Cut part of the fractional answer as it stands, then the same with what is left, until few bars are left."""
    done: Counter[tuple[int, tuple[int, ...]]] = Counter()
    rest = problem
    while rest.lengths:
        relaxed = rest.relax()
        bars = sum(relaxed.used)
        if bars <= FEW_BARS:
            part, _, _ = _best(rest, relaxed)
        else:
            part = _whole_part(relaxed, 1 - FEW_BARS / bars) or _whole_part(relaxed, 1)
        if not part:
            largest = max(range(len(relaxed.used)), key=lambda i: relaxed.used[i])
            part = {relaxed.patterns[largest]: 1}
        for pattern, times in part.items():
            done[pattern.stock, _lengths_of(rest, pattern)] += times
        rest = rest.less(part)
    place = {n: i for i, n in enumerate(problem.lengths)}
    return {
        Pattern(stock, tuple(sorted((place[n], k) for n, k in Counter(lengths).items()))): times
        for (stock, lengths), times in done.items()
    }


def _whole_part(relaxed: Relaxation, share: float) -> dict[Pattern, int]:
    """The whole bars in `share` of the fractional answer."""
    parts = {p: floor(n * share + NOISE) for p, n in zip(relaxed.patterns, relaxed.used, strict=True)}
    return {p: n for p, n in parts.items() if n}


def _lengths_of(problem: _Problem, pattern: Pattern) -> tuple[int, ...]:
    return tuple(problem.lengths[index] for index, number in pattern.counts for _ in range(number))


def _round_splits(problem: _Problem, used: Sequence[float]) -> list[int]:
    """Whole uses of the splits near the fractional ones, each over-long piece made up as often as it is wanted."""
    chosen = [floor(u + NOISE) for u in used]
    for piece, count in enumerate(problem.long_counts):
        ways = [s for s, split in enumerate(problem.splits) if split.piece == piece]
        ways.sort(key=lambda s: (chosen[s] - used[s], s))
        for n in range(count - sum(chosen[s] for s in ways)):
            chosen[ways[n % len(ways)]] += 1
    return chosen


def _whole(problem: _Problem, patterns: Sequence[Pattern], bound: int) -> tuple[dict[Pattern, int], list[int], int]:
    """The cheapest whole-number use of `patterns` and of the splits, and a cost that no such use goes below.

    Stops at `bound`. An empty answer with the cost -1 means that these patterns cannot cover what is wanted.
    """
    highs = solver()
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_max_nodes", MOST_NODES)
    highs.setOptionValue("objective_target", float(bound) + problem.cost_step / 2)
    endless = highs.inf
    for count in problem.counts:
        highs.addRow(float(count), endless, 0, [], [])
    for count in problem.long_counts:
        highs.addRow(float(count), float(count), 0, [], [])
    for split in problem.splits:
        rows = [i for i, _ in split.counts] + [len(problem.counts) + split.piece]
        highs.addCol(0.0, 0.0, endless, len(rows), rows, [-float(k) for _, k in split.counts] + [1.0])
    for pattern in patterns:
        rows = [i for i, _ in pattern.counts]
        cost = float(problem.stocks[pattern.stock].cost)
        highs.addCol(cost, 0.0, endless, len(rows), rows, [float(k) for _, k in pattern.counts])
    total = len(problem.splits) + len(patterns)
    highs.changeColsIntegrality(total, np.arange(total, dtype=np.int32), np.ones(total, dtype=np.uint8))
    highs.run()
    info = highs.getInfo()
    if info.primal_solution_status != FEASIBLE:
        return {}, [], -1
    values = [round(v) for v in highs.getSolution().col_value]
    chosen = values[: len(problem.splits)]
    best = {p: n for p, n in zip(patterns, values[len(chosen) :], strict=True) if n}
    return best, chosen, ceil(info.mip_dual_bound / problem.cost_step - NOISE) * problem.cost_step


def _best(problem: _Problem, relaxed: Relaxation) -> tuple[dict[Pattern, int], list[int], int]:
    """The best cutting found, the splits chosen, and the bound: raised where the search proves more.

    A pattern whose reduced cost is above what is left to save is in no cheaper cutting; the others are listed and the
    integer programme is run over them all. Where they are too many for that, the likeliest of them are tried.
    """
    bound = _up(problem, relaxed.bound)
    best, chosen, _ = _whole(problem, relaxed.patterns, bound)
    cost = problem.cost_of(best)
    while cost - bound > GOOD_ENOUGH * cost:
        slack = cost - problem.cost_step - relaxed.bound
        listed, all_of_them = _listed(problem, relaxed, slack)
        found, found_chosen, proven = _whole(problem, listed, bound)
        better = proven >= 0 and problem.cost_of(found) < cost
        if all_of_them:
            bound = cost if proven < 0 else max(bound, min(proven, cost))
        if not better:
            break
        best, chosen, cost = found, found_chosen, problem.cost_of(found)
    return best, chosen, bound


def _listed(problem: _Problem, relaxed: Relaxation, slack: float) -> tuple[list[Pattern], bool]:
    """Patterns that may save something, and whether they are all of them within `slack`."""
    listed = _patterns_within(problem, relaxed.prices, slack)
    if listed is not None:
        return listed, True
    for part in (0.5, 0.25, 0.1, 0.03, 0.01):
        listed = _patterns_within(problem, relaxed.prices, slack * part)
        if listed is not None:
            break
    return [*relaxed.patterns, *sorted(set(listed or ()) - set(relaxed.patterns))], False


def _patterns_within(problem: _Problem, prices: NDArray[np.float64], slack: float) -> list[Pattern] | None:
    """Every full pattern whose stock costs at most `slack` more than its pieces are worth; None beyond `MOST_LISTED`.

    A pattern is full when no further piece fits: any other is part of a full one that costs no more.
    """
    most = most_wanted(problem.counts, problem.splits, problem.long_counts)
    sizes = [length + problem.kerf for length in problem.lengths]
    reach = _worth_from(sizes, prices, max(s.length_mm for s in problem.stocks) + problem.kerf)
    listed: list[Pattern] = []

    def deepen(number: int, index: int, room: int, lacking: float, counts: tuple[tuple[int, int], ...]) -> bool:
        """Tries every number of piece `index` and on; `lacking` is what the pieces to come must still be worth."""
        if reach[index, room] < lacking - NOISE:
            return True
        if index == len(sizes):
            used = dict(counts)
            if not any(size <= room and used.get(i, 0) < most[i] for i, size in enumerate(sizes)):
                listed.append(Pattern(number, counts))
            return len(listed) <= MOST_LISTED
        for times in range(min(most[index], room // sizes[index]), -1, -1):
            more = (*counts, (index, times)) if times else counts
            left = room - times * sizes[index]
            if not deepen(number, index + 1, left, lacking - times * float(prices[index]), more):
                return False
        return True

    for number, stock in enumerate(problem.stocks):
        if not deepen(number, 0, stock.length_mm + problem.kerf, stock.cost - slack, ()):
            return None
    return listed


def _worth_from(sizes: Sequence[int], prices: NDArray[np.float64], top: int) -> NDArray[np.float64]:
    """[i, c]: no pieces from number i on are worth more in a length of c, however often each is used."""
    reach = np.zeros((len(sizes) + 1, top + 1))
    for index in range(len(sizes) - 1, -1, -1):
        reach[index] = reach[index + 1]
        size, price = sizes[index], float(prices[index])
        for start in range(size, top + 1, size):
            stop = min(start + size, top + 1)
            offer = reach[index, start - size : stop - size] + price
            np.maximum(reach[index, start:stop], offer, out=reach[index, start:stop])
    return reach


def _cutting(problem: _Problem, best: Mapping[Pattern, int], chosen: Sequence[int], bound: int) -> Cutting:
    """The answer with every piece cut just as often as it is wanted: what patterns make too many of is left out."""
    left = dict(zip(problem.lengths, problem.with_splits(chosen).counts, strict=True))
    bars: Counter[tuple[int, tuple[int, ...]]] = Counter()
    for pattern, times in sorted(best.items()):
        full = _lengths_of(problem, pattern)
        for _ in range(times):
            pieces = []
            for length in full:
                if left[length]:
                    left[length] -= 1
                    pieces.append(length)
            if pieces:
                bars[_least_stock(problem, pieces), tuple(pieces)] += 1
    made = tuple(sorted(Bar(stock, pieces, n) for (stock, pieces), n in bars.items()))
    costs = {s.length_mm: s.cost for s in problem.stocks}
    joined = tuple(
        (problem.long[split.piece], tuple(problem.lengths[i] for i, k in split.counts for _ in range(k)))
        for split, times in zip(problem.splits, chosen, strict=True)
        for _ in range(times)
    )
    return Cutting(made, joined, sum(costs[b.stock_mm] * b.number for b in made), bound)


def _least_stock(problem: _Problem, pieces: Sequence[int]) -> int:
    """The cheapest stock that `pieces` can be cut from."""
    needed = sum(pieces) + problem.kerf * (len(pieces) - 1)
    return min((s for s in problem.stocks if s.length_mm >= needed), key=lambda s: (s.cost, s.length_mm)).length_mm
