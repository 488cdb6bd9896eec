"""Pieces placed on days: a quick placing first, and a solver where a shorter programme may exist.

Time is counted in quarter hours. A piece lies within one day. The quick placing takes the piece with the longest
tail first and the earliest place that fits. Two bounds tell how short a programme can be: the work divided by the
gang's hours, and the longest chain of pieces with its waits. Where the quick placing meets the bound it is the best
there is; otherwise CP-SAT (OR-tools) searches for fewer days with a fixed seed, one worker and a limit in its own
deterministic time, so that the same job gives the same days on any machine.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from takeoff.programme.model import Piece

__all__ = ["Placing", "place"]

QUARTERS = 4
DAY = 24 * QUARTERS
SOLVER_EFFORT = 1.5
"""Deterministic time units of CP-SAT; about twice as many seconds on a laptop."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where each piece starts, in quarter hours of the clock from the first day's start (24 hours a day)."""

    starts: dict[str, int]
    days: int
    bound: int
    """No programme is shorter than this many days."""


def place(pieces: Sequence[Piece], people: int, hours_per_day: float, effort: float = SOLVER_EFFORT) -> Placing:
    """Place `pieces` for a gang of `people`. Pieces longer than a day take their day whole and run over (queried)."""
    if not pieces:
        return Placing({}, 0, 0)
    day = max(1, int(hours_per_day * QUARTERS))
    lengths = {p.ref: min(day, max(1, ceil(p.hours * QUARTERS - 1e-9))) for p in pieces}
    quick = _quick(pieces, lengths, people, day)
    work = ceil(sum(lengths[p.ref] * p.people for p in pieces) / (people * day))
    chain = _days(_quick(pieces, lengths, sum(p.people for p in pieces), day))
    bound, days = max(work, chain), _days(quick)
    if days > bound:
        better, proven = _solve(pieces, lengths, people, day, quick, bound, effort)
        quick, days, bound = better, _days(better), max(bound, proven)
    return Placing(quick, days, bound)


def _days(starts: Mapping[str, int]) -> int:
    return max(starts.values()) // DAY + 1


def _quick(pieces: Sequence[Piece], lengths: Mapping[str, int], people: int, day: int) -> dict[str, int]:
    """Earliest places, longest tail first; with endless people this is the longest chain."""
    tails = _tails(pieces, lengths)
    waiting = {p.ref: p for p in pieces}
    starts: dict[str, int] = {}
    used: dict[int, int] = {}
    while waiting:
        ready = [p for p in waiting.values() if all(ref in starts for ref, _, _ in p.after)]
        earliest = {p.ref: _earliest(p, starts, lengths) for p in ready}
        best = min(ready, key=lambda p: (-tails[p.ref], earliest[p.ref]))
        at = _fit(earliest[best.ref], lengths[best.ref], best.people, people, day, used)
        starts[best.ref] = at
        for quarter in range(at, at + lengths[best.ref]):
            used[quarter] = used.get(quarter, 0) + best.people
        del waiting[best.ref]
    return starts


def _earliest(piece: Piece, starts: Mapping[str, int], lengths: Mapping[str, int]) -> int:
    ends = [starts[ref] + lengths[ref] + ceil(wait * QUARTERS) for ref, wait, _ in piece.after]
    return max(ends, default=0)


def _fit(start: int, length: int, hands: int, people: int, day: int, used: Mapping[int, int]) -> int:
    """The first start from `start` on where the piece lies within a day and hands are free."""
    at = start
    while True:
        within = at % DAY
        if within + length > day:
            at += DAY - within
            continue
        full = [q for q in range(at, at + length) if used.get(q, 0) + hands > people]
        if not full:
            return at
        at = full[-1] + 1


def _tails(pieces: Sequence[Piece], lengths: Mapping[str, int]) -> dict[str, int]:
    """Length of the longest chain from the start of each piece to the end of all."""
    followers: dict[str, list[tuple[str, int]]] = {p.ref: [] for p in pieces}
    for piece in pieces:
        for ref, wait, _ in piece.after:
            followers[ref].append((piece.ref, ceil(wait * QUARTERS)))
    tails: dict[str, int] = {}
    for piece in reversed(pieces):
        after = [wait + tails[ref] for ref, wait in followers[piece.ref]]
        tails[piece.ref] = lengths[piece.ref] + max(after, default=0)
    return tails


def _solve(
    pieces: Sequence[Piece],
    lengths: Mapping[str, int],
    people: int,
    day: int,
    quick: Mapping[str, int],
    bound: int,
    effort: float,
) -> tuple[dict[str, int], int]:
    """CP-SAT: fewest days, no worse than `quick`. Returns the starts and the bound that it proved."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    most = _days(quick)
    clock = {}
    intervals, hands = [], []
    last = model.new_int_var(bound, most, "days")
    for piece in pieces:
        length = lengths[piece.ref]
        on = model.new_int_var(0, most - 1, "")
        within = model.new_int_var(0, day - length, "")
        start = model.new_int_var(0, most * DAY, "")
        model.add(start == on * DAY + within)
        model.add(last >= on + 1)
        intervals.append(model.new_fixed_size_interval_var(start, length, ""))
        hands.append(piece.people)
        clock[piece.ref] = start
        model.add_hint(on, quick[piece.ref] // DAY)
        model.add_hint(within, quick[piece.ref] % DAY)
    for piece in pieces:
        for ref, wait, _ in piece.after:
            model.add(clock[piece.ref] >= clock[ref] + lengths[ref] + ceil(wait * QUARTERS))
    model.add_cumulative(intervals, hands, people)
    model.minimize(last)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return dict(quick), bound
    return {ref: int(solver.value(var)) for ref, var in clock.items()}, round(solver.best_objective_bound)
