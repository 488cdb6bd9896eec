"""Layouts of surfaces and the sheets they are cut from, chosen together: the cheapest set of both. Millimetres.

Terms:
  option   one layout of a surface: what must be cut for it, and what its joints weigh.
  way      one sheet with the kinds of pieces cut from it (see `board_patterns`).

Each surface takes one of its options; the ways chosen yield every piece. Of very many ways those are kept that look
best by the prices of a linear programme; CP-SAT then picks. The plan as it stands is the answer where nothing cheaper
is found. What CP-SAT may spend is counted in its own steps, not in seconds: the same input, the same answer.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from takeoff.materials.board_offcuts import Blank, Cut, Stack
from takeoff.materials.board_patterns import Kinds, Way, cheapest_of_each, standing_ways, ways_to_cut
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.length_patterns import solver
from takeoff.materials.searching import search

__all__ = ["Option", "Standing", "cut_together", "recut"]

MOST_KINDS = 400
"""Kinds settled at once."""
MOST_WAYS = 1000
"""Ways that CP-SAT picks from."""
EFFORT = 0.25
"""What CP-SAT may spend, in its deterministic time: about seconds of a quick machine."""
COST_STEP_M2 = 1e-4
"""Costs are told to CP-SAT in whole steps of so much board."""


@dataclass(frozen=True)
class Option:
    blanks: tuple[Blank, ...]
    weight: float


@dataclass(frozen=True)
class Standing:
    """A job as it was cut before: its sheets, and the blanks by their names."""

    stack: Stack
    blanks: Mapping[str, Blank]


@dataclass(frozen=True)
class _Task:
    kinds: Kinds
    ways: Sequence[Way]
    wanted: Sequence[Sequence[Mapping[int, int]]]
    """By surface and option: how many of each kind."""
    weights: Sequence[Sequence[float]]
    spec: BoardSpec


def recut(stack: Stack, blanks: Sequence[Blank]) -> Stack:
    """The same pieces from the cheapest set of sheets found; off-cuts are not kept."""
    wanted = {blank.ref: blank for blank in blanks}
    sheets: dict[int, list[Cut]] = defaultdict(list)
    for cut in stack.cuts:
        sheets[cut.sheet].append(cut)
    out = Stack(stack.spec, stack.worth)
    for lot in _lots(sheets, wanted):
        part = Stack(stack.spec, stack.worth, stack.sheets, cuts=[cut for number in lot for cut in sheets[number]])
        own = {cut.blank: wanted[cut.blank] for cut in part.cuts}
        settled, _ = cut_together([[Option(tuple(own.values()), 0.0)]], [Standing(part, own)])
        begun = len(out.sheets)
        out.sheets += settled.sheets
        out.cuts += [replace(cut, sheet=cut.sheet + begun) for cut in settled.cuts]
    return out


def _lots(sheets: Mapping[int, Sequence[Cut]], wanted: Mapping[str, Blank]) -> Iterator[list[int]]:
    """Sheets in lots of so many kinds."""
    lot: list[int] = []
    kinds = Kinds()
    for number in sorted(sheets):
        for cut in sheets[number]:
            kinds.number(wanted[cut.blank])
        if lot and len(kinds) > MOST_KINDS:
            yield lot
            lot, kinds = [], Kinds()
            for cut in sheets[number]:
                kinds.number(wanted[cut.blank])
        lot.append(number)
    if lot:
        yield lot


def cut_together(options: Sequence[Sequence[Option]], standing: Sequence[Standing]) -> tuple[Stack, list[int]]:
    """The sheets of the cheapest choice found, off-cuts not kept, and which option each surface takes.

    The first option of every surface is that of ``standing[0]``, which the answer is never dearer than. Where there are
    too many kinds at once the last options are left out.
    """
    first = standing[0]
    spec, kinds = first.stack.spec, Kinds()
    wanted: list[list[Mapping[int, int]]] = [[_counted(own[0], kinds)] for own in options]
    for place in range(1, max((len(own) for own in options), default=0)):
        for counted, own in zip(wanted, options, strict=True):
            if place < len(own) and len(kinds) < MOST_KINDS:
                counted.append(_counted(own[place], kinds))
    most: Counter[int] = Counter()
    for counted in wanted:
        most.update({kind: max(c.get(kind, 0) for c in counted) for kind in {k for c in counted for k in c}})
    now = list(standing_ways(first.stack, first.blanks, kinds))
    seen = (way for one in standing[1:] for way in standing_ways(one.stack, one.blanks, kinds))
    ways = cheapest_of_each([*now, *seen, *ways_to_cut(kinds, most, spec)])
    task = _Task(kinds, ways, wanted, [[option.weight for option in own] for own in options], spec)
    used, chosen = _picked(_narrowed(task, now))
    cost = sum(way.size.cost * n for way, n in used) + sum(task.weights[i][n] for i, n in enumerate(chosen))
    if not used or cost > sum(way.size.cost for way in now) + sum(own[0].weight for own in options) - 1e-9:
        used, chosen = [(way, 1) for way in now], [0] * len(options)
    return _stacked(first.stack, used, [own[n] for own, n in zip(options, chosen, strict=True)], kinds), chosen


def _counted(option: Option, kinds: Kinds) -> Mapping[int, int]:
    return Counter(kinds.number(blank) for blank in option.blanks)


def _narrowed(task: _Task, now: Sequence[Way]) -> _Task:
    """The task with the ways of the least reduced cost, and those of the plan as it stands."""
    if len(task.ways) <= MOST_WAYS:
        return task
    highs: Any = solver()
    for _ in range(len(task.kinds)):
        highs.addRow(0.0, highs.inf, 0, [], [])
    for _ in task.wanted:
        highs.addRow(1.0, 1.0, 0, [], [])
    for way in task.ways:
        numbers = [float(n) for n in way.counts.values()]
        highs.addCol(way.size.cost, 0.0, highs.inf, len(numbers), list(way.counts), numbers)
    for row, counted in enumerate(task.wanted, len(task.kinds)):
        for counts, weight in zip(counted, task.weights[row - len(task.kinds)], strict=False):
            numbers = [-float(n) for n in counts.values()]
            highs.addCol(weight, 0.0, highs.inf, len(numbers) + 1, [*counts, row], [*numbers, 1.0])
    highs.run()
    dear = np.array(highs.getSolution().col_dual)[: len(task.ways)]
    standing = {tuple(way.counts.items()) for way in now}
    best = np.argsort(np.round(dear, 9), kind="stable")[:MOST_WAYS].tolist()
    kept = {*best, *(n for n, way in enumerate(task.ways) if tuple(way.counts.items()) in standing)}
    return replace(task, ways=[task.ways[n] for n in sorted(kept)])


def _picked(task: _Task) -> tuple[list[tuple[Way, int]], list[int]]:
    """The ways used, each with how often, and the option of each surface; nothing where none was found in time."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    yields: list[list[Any]] = [[] for _ in range(len(task.kinds))]
    step = COST_STEP_M2 * task.spec.cost_per_m2
    costs = []
    total = sum(max(counts.values()) for counted in task.wanted for counts in counted if counts)
    often = [model.new_int_var(0, total, "") for _ in task.ways]
    for way, times in zip(task.ways, often, strict=True):
        costs.append(times * round(way.size.cost / step))
        for kind, n in way.counts.items():
            yields[kind].append(times * n)
    takes = [[model.new_bool_var("") for _ in counted] for counted in task.wanted]
    for counted, weights, own in zip(task.wanted, task.weights, takes, strict=True):
        model.add_exactly_one(own)
        for counts, weight, take in zip(counted, weights, own, strict=False):
            costs.append(take * round(weight / step))
            for kind, n in counts.items():
                yields[kind].append(take * -n)
    for row in yields:
        model.add(sum(row) >= 0)
    model.minimize(sum(costs))
    found = search(EFFORT)
    found.parameters.linearization_level = 2
    if found.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return [], [0] * len(task.wanted)
    used = [(way, found.value(times)) for way, times in zip(task.ways, often, strict=True)]
    chosen = [next(n for n, take in enumerate(own) if found.value(take)) for own in takes]
    return [(way, n) for way, n in used if n], chosen


def _stacked(before: Stack, used: Sequence[tuple[Way, int]], options: Sequence[Option], kinds: Kinds) -> Stack:
    """The sheets of the ways used, each piece given to a name: of the same room on one sheet where there is one."""
    out = Stack(before.spec, before.worth)
    left: dict[int, deque[Blank]] = defaultdict(deque)
    for option in options:
        for blank in option.blanks:
            left[kinds.number(blank)].append(blank)
    for way, number in used:
        for _ in range(number):
            cuts: list[Cut] = []
            room = ""
            for cut in way.cuts:
                taken = _take(left[int(cut.blank)], room)
                if taken is not None:
                    room = room or taken.room
                    cuts.append(replace(cut, blank=taken.ref, sheet=len(out.sheets)))
            if cuts:
                out.sheets.append(way.size)
                out.cuts.extend(cuts)
    return out


def _take(blanks: deque[Blank], room: str) -> Blank | None:
    """The first blank of `room`, else the first; None where all are cut already."""
    if not blanks:
        return None
    blank = next((b for b in blanks if b.room == room), blanks[0])
    blanks.remove(blank)
    return blank
