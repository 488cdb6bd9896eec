"""Whole lengths cut into pieces at the least cost, with a proof of how near the least it is.

First the lengths are filled one after another (see `length_filling`), then comes the bound of the fractional optimum
(see `length_patterns`); mostly they meet. Where they do not, the fractional answer is made whole: where many bars are
alike its whole part is cut as it stands, and what is left is settled by an integer programme over the patterns found.
Where that leaves a gap, every pattern that could still save anything is listed and the programme is run again over all
of them: its answer is then the best there is.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor, inf

import numpy as np
from numpy.typing import NDArray

from takeoff.materials.length_filling import fill_lengths
from takeoff.materials.length_groups import grouped
from takeoff.materials.length_patterns import Pattern, Relaxation, Stock, most_wanted, solver, worth
from takeoff.materials.length_problem import NOISE, Problem

__all__ = ["Bar", "Cutting", "cut_lengths"]

FEW_BARS = 60
"""Up to so many bars the whole answer is settled by one integer programme; more are cut down to it first."""
MOST_LENGTHS = 240
"""Where more lengths than this differ, neighbours are taken together, the parts of joined pieces among them."""
GOOD_ENOUGH = 0.003
"""A cutting proven this near the best is taken; small jobs are always taken further, one length being more."""
MOST_LISTED = 4000
"""Patterns listed for the last proof; beyond it the gap is printed as it is."""
SHORT_PIECES, MANY_PATTERNS = 4, 500
"""With more pieces to a bar, and more patterns, the integer programme finds in many seconds what filling has found."""
MOST_NODES = 300
"""Branches of the integer programme: a count, not a time, so that the same input gives the same answer."""
FEASIBLE = 2
"""HiGHS: the solution found obeys every row."""
INFEASIBLE = "kInfeasible"
"""HiGHS: proven that no solution does."""


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
    problem = Problem.of(wanted, sorted(stocks), kerf_mm, smallest_mm)
    if not problem.lengths:
        return Cutting((), (), 0, 0)
    return _settle(problem) if len(problem.lengths) <= MOST_LENGTHS else _settle_in_groups(problem)


def _settle(problem: Problem) -> Cutting:
    filled = {} if problem.splits else fill_lengths(problem)
    if filled and _good(problem.cost_of(filled), bound := problem.least_by_length()):
        return _cutting(problem, filled, [], bound)
    relaxed = problem.relax(_enough(problem, problem.cost_of(filled)) if filled else inf)
    chosen = _round_splits(problem, relaxed.split_used)
    plain = problem.with_splits(chosen)
    best = filled or fill_lengths(plain)
    bound = max(problem.up(relaxed.bound), problem.least_whole(relaxed.stock_worth, relaxed.worth))
    if not _good(problem.cost_of(best), bound):
        if sum(relaxed.used) <= FEW_BARS:
            best, chosen, bound = _best(problem, relaxed, best, chosen, bound)
        else:
            best = min(best, _shrink(plain), key=problem.cost_of)
    return _cutting(problem, best, chosen, bound)


def _good(cost: int, bound: int) -> bool:
    return cost - bound <= GOOD_ENOUGH * cost


def _enough(problem: Problem, cost: int) -> float:
    """The bound that makes a cutting of `cost` good enough once it is rounded up to a cost that can be."""
    step = problem.cost_step
    return ceil(cost * (1 - GOOD_ENOUGH) / step - NOISE) * step - step + 10 * NOISE * step


def _settle_in_groups(problem: Problem) -> Cutting:
    """As `_settle`, where too many lengths differ: each over-long piece is made up of the longest lengths."""
    chosen = _last_splits(problem)
    plain = problem.with_splits(chosen)
    filled = _cutting(problem, fill_lengths(plain), chosen, 0)
    wanted = {n: count for n, count in zip(plain.lengths, plain.counts, strict=True) if count}
    groups = grouped(wanted, problem.stocks, problem.kerf, MOST_LENGTHS)
    below = Problem.of({g[0]: sum(wanted[n] for n in g) for g in groups}, problem.stocks, problem.kerf, 0)
    relaxed = below.relax(inf if problem.splits else _enough(problem, filled.cost))
    bound = problem.up(_worth_at_least(problem, below, relaxed) if problem.splits else relaxed.bound)
    if _good(filled.cost, bound):
        return replace(filled, bound=bound)
    above = Problem.of({g[-1]: sum(wanted[n] for n in g) for g in groups}, problem.stocks, problem.kerf, 0)
    cut = replace(_true_lengths(_settle(above), wanted, groups), joined=filled.joined)
    return replace(min(filled, cut, key=lambda c: c.cost), bound=bound)


def _worth_at_least(problem: Problem, below: Problem, relaxed: Relaxation) -> float:
    """What all pieces are worth at the prices of `relaxed`, each at that of the dearest length of `below` it holds.

    An over-long piece is worth its cheapest split, so that this is a bound whichever splits are chosen.
    """
    lengths = np.array(below.lengths[::-1])
    dearest = np.concatenate(([0.0], np.maximum.accumulate(relaxed.prices[::-1])))
    prices = dearest[np.searchsorted(lengths, np.array(problem.lengths), side="right")]
    return worth(prices, problem.counts, problem.splits, problem.long_counts)


def _last_splits(problem: Problem) -> list[int]:
    """The last split of each over-long piece, of the longest whole lengths, used as often as the piece is wanted."""
    last = {split.piece: number for number, split in enumerate(problem.splits)}
    return [
        problem.long_counts[split.piece] if last[split.piece] == number else 0
        for number, split in enumerate(problem.splits)
    ]


def _true_lengths(cutting: Cutting, wanted: Mapping[int, int], groups: Sequence[Sequence[int]]) -> Cutting:
    """`cutting` with each rounded length put back to one of its group; parts of joined pieces keep theirs."""
    left = {g[-1]: [n for n in sorted(g, reverse=True) for _ in range(wanted[n])] for g in groups}
    bars: Counter[tuple[int, tuple[int, ...]]] = Counter()
    for bar in cutting.bars:
        for _ in range(bar.number):
            pieces = (left[n].pop(0) if left.get(n) else n for n in bar.pieces_mm)
            bars[bar.stock_mm, tuple(sorted(pieces, reverse=True))] += 1
    return replace(cutting, bars=tuple(sorted(Bar(stock, pieces, n) for (stock, pieces), n in bars.items())))


def _shrink(problem: Problem) -> dict[Pattern, int]:
    """Cut part of the fractional answer as it stands, then the same with what is left, until few bars are left."""
    done: Counter[tuple[int, tuple[int, ...]]] = Counter()
    rest = problem
    while rest.lengths:
        relaxed = rest.relax()
        bars = sum(relaxed.used)
        if bars <= FEW_BARS:
            part, _, _ = _best(rest, relaxed, fill_lengths(rest), [], rest.up(relaxed.bound))
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


def _lengths_of(problem: Problem, pattern: Pattern) -> tuple[int, ...]:
    return tuple(problem.lengths[index] for index, number in pattern.counts for _ in range(number))


def _round_splits(problem: Problem, used: Sequence[float]) -> list[int]:
    """Whole uses of the splits near the fractional ones, each over-long piece made up as often as it is wanted."""
    chosen = [floor(u + NOISE) for u in used]
    for piece, count in enumerate(problem.long_counts):
        ways = [s for s, split in enumerate(problem.splits) if split.piece == piece]
        ways.sort(key=lambda s: (chosen[s] - used[s], s))
        for n in range(count - sum(chosen[s] for s in ways)):
            chosen[ways[n % len(ways)]] += 1
    return chosen


def _whole(problem: Problem, patterns: Sequence[Pattern], bound: int) -> tuple[dict[Pattern, int], list[int], int]:
    """The cheapest whole-number use of `patterns` and of the splits, and a cost that no such use goes below.

    Stops at `bound`. The cost -1 means that these patterns cannot cover what is wanted; an empty answer with another
    cost, that no answer was found.
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
    if highs.getModelStatus().name == INFEASIBLE:
        return {}, [], -1
    info = highs.getInfo()
    proven = ceil(max(0.0, info.mip_dual_bound) / problem.cost_step - NOISE) * problem.cost_step
    if info.primal_solution_status != FEASIBLE:
        return {}, [], proven
    values = [round(v) for v in highs.getSolution().col_value]
    chosen = values[: len(problem.splits)]
    best = {p: n for p, n in zip(patterns, values[len(chosen) :], strict=True) if n}
    return best, chosen, proven


def _best(
    problem: Problem, relaxed: Relaxation, best: dict[Pattern, int], chosen: list[int], bound: int
) -> tuple[dict[Pattern, int], list[int], int]:
    """The best cutting found, the splits chosen, and the bound: raised where the search proves more.

    `best`, `chosen` and `bound` are what is known before.

    A pattern whose reduced cost is above what is left to save is in no cheaper cutting; the others are listed and the
    integer programme is run over them all. Where they are too many for that, the likeliest of them are tried.
    """
    cost = problem.cost_of(best)
    listed, all_of_them = relaxed.patterns, False
    if len(listed) > MANY_PATTERNS and sum(problem.counts) > SHORT_PIECES * sum(relaxed.used):
        return best, chosen, bound
    while True:
        found, found_chosen, proven = _whole(problem, listed, bound)
        better = bool(found) and problem.cost_of(found) < cost
        if all_of_them:
            bound = cost if proven < 0 else max(bound, min(proven, cost))
        if better:
            best, chosen, cost = found, found_chosen, problem.cost_of(found)
        if _good(cost, bound) or not (better or listed is relaxed.patterns):
            return best, chosen, bound
        listed, all_of_them = _listed(problem, relaxed, cost - problem.cost_step - relaxed.bound)
        if len(listed) <= len(relaxed.patterns) and not all_of_them:
            return best, chosen, bound


def _listed(problem: Problem, relaxed: Relaxation, slack: float) -> tuple[list[Pattern], bool]:
    """Patterns that may save something, and whether they are all of them within `slack`."""
    listed = _patterns_within(problem, relaxed.prices, slack)
    if listed is not None:
        return listed, True
    for part in (0.5, 0.25, 0.1, 0.03, 0.01):
        listed = _patterns_within(problem, relaxed.prices, slack * part)
        if listed is not None:
            break
    return [*relaxed.patterns, *sorted(set(listed or ()) - set(relaxed.patterns))], False


def _patterns_within(problem: Problem, prices: NDArray[np.float64], slack: float) -> list[Pattern] | None:
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


def _cutting(problem: Problem, best: Mapping[Pattern, int], chosen: Sequence[int], bound: int) -> Cutting:
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


def _least_stock(problem: Problem, pieces: Sequence[int]) -> int:
    """The cheapest stock that `pieces` can be cut from."""
    needed = sum(pieces) + problem.kerf * (len(pieces) - 1)
    return min((s for s in problem.stocks if s.length_mm >= needed), key=lambda s: (s.cost, s.length_mm)).length_mm
