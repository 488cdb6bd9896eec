"""Lengths filled one after another, each as full as the pieces left allow: quick, and near the best with short pieces.

Every length begins with the longest piece left, and the rest of it is filled by the sum of other pieces that comes
nearest. Which sums can be reached is kept in the bits of one whole number: bit t is set when some of the pieces
together take t millimetres, saw cuts and all. (Minimum bin slack with a fixed first piece: Gupta and Ho 1999, Fleszar
and Hindi 2002; the bits are the subset-sum of textbooks. Citations from memory.)
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Mapping, Sequence
from math import ceil

from takeoff.materials.length_patterns import Pattern
from takeoff.materials.length_problem import Problem

__all__ = ["fill_lengths"]

PIECES_IN_ALL = 12_000
"""A job is filled anew until so many pieces were placed: small jobs a hundred times, 200 flats twice."""
MOST_TRIES = 100
FEW_BARS = 60
"""Up to so many bars the lengths to buy are also chosen beforehand."""
TRIES_A_PLAN, PLANNED_TRIES, MOST_PLANS = 8, 160, 20_000
"""Counts, not times, so that the same input gives the same answer."""
SHUFFLE = 0.3
"""In later tries a piece is looked at as if it were up to this much longer or shorter."""


def fill_lengths(problem: Problem) -> dict[Pattern, int]:
    """The cheapest of some fillings. `problem` has no splits; all its pieces fit the longest stock.

    Stops where no whole lengths that hold all pieces cost less. Where few lengths are bought they are first taken as
    they serve, then chosen beforehand: the cheapest that could hold all pieces, and so on upwards.
    """
    rng = random.Random(1)
    tries = min(MOST_TRIES, 1 + PIECES_IN_ALL // max(1, sum(problem.counts)))
    enough = problem.least_by_length()
    best = _filled(problem, None)
    for _ in range(tries - 1):
        if _cost(problem, best) <= enough:
            break
        best = min(best, _filled(problem, rng), key=lambda bars: _cost(problem, bars))
    if len(problem.stocks) > 1 and len(best) <= FEW_BARS:
        best = _planned(problem, best, rng)
    return dict(sorted(Counter(best).items()))


def _cost(problem: Problem, bars: Sequence[Pattern]) -> int:
    return sum(problem.stocks[bar.stock].cost for bar in bars)


def _planned(problem: Problem, best: list[Pattern], rng: random.Random) -> list[Pattern]:
    """`best`, or the first filling found of lengths that cost less."""
    plans = [plan for plan in _plans(problem, _cost(problem, best)) for _ in range(TRIES_A_PLAN)]
    for plan in plans[:PLANNED_TRIES]:
        bars = _filled(problem, rng, list(plan))
        if bars:
            return bars
    return best


def _plans(problem: Problem, limit: int) -> list[tuple[int, ...]]:
    """How many of each stock could hold all pieces for less than `limit`, the cheapest first."""
    need = sum((n + problem.kerf) * k for n, k in zip(problem.lengths, problem.counts, strict=True))
    plans: list[tuple[int, tuple[int, ...]]] = []

    def extend(chosen: tuple[int, ...], cost: int, held: int) -> None:
        stock = problem.stocks[len(chosen)]
        last = len(chosen) == len(problem.stocks) - 1
        fewest = max(0, ceil((need - held) / (stock.length_mm + problem.kerf))) if last else 0
        for number in range(fewest, fewest + 1 if last else (limit - cost) // stock.cost + 1):
            now = cost + number * stock.cost
            if last and now < limit:
                plans.append((now, (*chosen, number)))
            elif not last and len(plans) < MOST_PLANS:
                extend((*chosen, number), now, held + number * (stock.length_mm + problem.kerf))

    extend((), 0, 0)
    return [plan for _, plan in sorted(plans)]


def _filled(problem: Problem, rng: random.Random | None, plan: list[int] | None = None) -> list[Pattern]:
    """One bar after another, each begun with the longest piece left; `rng` shuffles which pieces fill them up.

    With a `plan` so many of each stock are used and no more: where that does not go the answer is empty.
    """
    left = list(problem.counts)
    sizes = [length + problem.kerf for length in problem.lengths]
    bars: list[Pattern] = []
    for first in range(len(left)):
        while left[first]:
            left[first] -= 1
            order = [i for i in range(first, len(left)) if left[i]]
            if rng is not None:
                order.sort(key=lambda i: sizes[i] * rng.uniform(1 - SHUFFLE, 1 + SHUFFLE), reverse=True)
            bar = _one_bar(problem, first, sizes, left, order, plan)
            if bar is None:
                return []
            bars.append(bar)
    return bars


def _one_bar(
    problem: Problem, first: int, sizes: Sequence[int], left: list[int], order: Sequence[int], plan: list[int] | None
) -> Pattern | None:
    """The bar that costs least for each millimetre used, of the longer ones where equal; takes its pieces from `left`.

    With a `plan` the one of its stocks that wastes least, taken from it; None where none of them is long enough.
    """
    own = sizes[first]
    rooms = [s.length_mm + problem.kerf - own for s in problem.stocks]
    sums, steps = _reachable(max(rooms), sizes, left, order)
    choices = []
    for number, (stock, room) in enumerate(zip(problem.stocks, rooms, strict=True)):
        if room >= 0 and (plan is None or plan[number]):
            filled = (sums & ((1 << (room + 1)) - 1)).bit_length() - 1
            choices.append((stock.cost / (own + filled) if plan is None else room - filled, -filled, number))
    if not choices:
        return None
    _, less, number = min(choices)
    if plan is not None:
        plan[number] -= 1
    counts = Counter(_read_back(-less, sizes, steps))
    for index, times in counts.items():
        left[index] -= times
    counts[first] += 1
    return Pattern(number, tuple(sorted(counts.items())))


def _reachable(
    room: int, sizes: Sequence[int], left: Sequence[int], order: Sequence[int]
) -> tuple[int, list[tuple[int, int, int]]]:
    """Bits of the sums up to `room` that the pieces in `order` make, and the steps: (piece, copies, bits before it).

    Copies go 1, 2, 4 ... so that every number of a piece can be made up. Ends as soon as the room is filled exactly.
    """
    sums, full, within = 1, 1 << room, (1 << (room + 1)) - 1
    steps = []
    for index in order:
        size = sizes[index]
        wanted, copies = min(left[index], room // size), 1
        while wanted > 0:
            take = min(copies, wanted)
            steps.append((index, take, sums))
            sums |= (sums << (take * size)) & within
            wanted -= take
            copies *= 2
        if sums & full:
            break
    return sums, steps


def _read_back(total: int, sizes: Sequence[int], steps: Sequence[tuple[int, int, int]]) -> Mapping[int, int]:
    """How many of each piece make up `total`; pieces looked at first are used first."""
    counts: Counter[int] = Counter()
    for index, take, before in reversed(steps):
        if not before >> total & 1:
            counts[index] += take
            total -= take * sizes[index]
    return counts
