"""Bounds: how little board could do, proven, so that the waste of a layout can be judged. Millimetres.

Terms:
  scale   a length for each piece length, such that whatever fits in a sheet end to end, with the saw cuts between, has
          scaled lengths that add up to no more than the sheet's length. The same across the sheet.
  box     the rectangle round a piece. A notched piece counts with its whole box.
  host    a place that a piece leaves free in its box, such as that of a door; a guest is a piece that may lie there.

For the pieces as laid (`bound_of_pieces`): each piece counts its scaled length times its scaled width. Boxes packed in
a sheet stay packed when they are scaled so (Fekete and Schepers, Mathematical Methods of Operations Research 60, 2004),
so no cutting of these pieces takes less board than the sum, less the most that guests could save. The best scales come
from linear programmes over the ways to fill a sheet along its length, then across, in turn.

For every layout under the rules: see `board_strips`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor, gcd
from typing import Any

import numpy as np

from takeoff.materials.board_offcuts import Blank
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_tolerances import SAME_PLACE_MM
from takeoff.materials.length_patterns import WorthMost, solver

__all__ = ["Host", "Scale", "best_scale", "bound_of_pieces", "in_sheets", "whole"]

TURNS = 3
NO_GAIN_M2 = 0.01
MANY = 10**6
TRIFLE = 1e-3
"""Wanted of lengths that are none of the pieces', so that they get a scaled length as well."""
NOISE = 1e-7
STEP_M2 = 1e-4
MOST_SUMS = 10**6
"""Sums of sheets looked at; of more board than that a sheet is no share worth the search."""
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


Guest = tuple[float, float, int]
"""Width, length, and how many factory edges it needs."""


@dataclass(frozen=True, slots=True)
class Host:
    width: float
    length: float
    edges: int
    """Factory edges that it can offer: 0 or 1."""
    beyond: float = 0.0
    """How far a guest may reach out of it along the sheet; what lies there is no free place."""
    beside: float = 0.0
    """The same across the sheet."""
    far: float = 0.0
    """How far from it the factory edge is that it offers."""

    def takes(self, guest: Guest) -> bool:
        """Whether a guest can lie here, if only in part."""
        width, length, edges = guest
        fits = length <= self.length + self.beyond + SAME_PLACE_MM and edges <= self.edges
        return fits and width <= self.width + self.beside + SAME_PLACE_MM and (not edges or width > self.far)

    def outside(self, guest: Guest) -> tuple[float, float]:
        """How much of a guest's width, and of its length, must lie out of the free place."""
        width, length, edges = guest
        return max(0.0, width - self.width, self.far if edges else 0.0), max(0.0, length - self.length)


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


def in_sheets(least_m2: float, spec: BoardSpec) -> float:
    """The least square metres, not below `least_m2`, that whole sheets of the sizes on sale add up to.

    Areas are rounded down to `STEP_M2`; what that takes from a sum is allowed for, so the bound is
    never raised too far.
    """
    exact = [size.length * size.width / 1e6 / STEP_M2 for size in spec.sizes]
    areas = sorted({floor(area + 1e-6) for area in exact})
    lost = max(0.0, max(area - floor(area + 1e-6) for area in exact))
    apart = gcd(*areas)
    least = max(0, ceil((least_m2 / STEP_M2 - 1e-6 - lost * (least_m2 / STEP_M2 / areas[0] + 1)) / apart))
    reached, most = 1, least + areas[-1] // apart
    if most > MOST_SUMS:
        return least_m2
    for area in areas:
        step = area // apart
        while step <= most:
            reached |= reached << step
            step *= 2
    above = reached >> least
    return max(least_m2, (least + (above & -above).bit_length() - 1) * apart * STEP_M2)


def bound_of_pieces(blanks: Sequence[Blank], spec: BoardSpec) -> float:
    """Square metres that no cutting of `blanks` goes below. Pieces that may lie either way count nothing."""
    upright = [blank for blank in blanks if not blank.either_way]
    if not upright:
        return 0.0
    lengths = sorted({size.length for size in spec.sizes})
    widths = sorted({size.width for size in spec.sizes})
    hosts = list(_hosts(upright, spec))
    narrow, short = _outside(upright, hosts)
    across = Scale({whole(b.width): float(whole(b.width)) for b in upright}, 1.0, int(spec.kerf))
    best = 0.0
    for _ in range(TURNS):
        demand = _demand((b.length, across.at(b.width)) for b in upright)
        along = best_scale({**short, **demand}, lengths, spec.kerf, spec.length_tolerance)
        best = max(best, _total(upright, along, across, hosts))
        demand = _demand((b.width, along.at(b.length)) for b in upright)
        across = best_scale({**narrow, **demand}, widths, spec.kerf, spec.width_tolerance)
        better = _total(upright, along, across, hosts)
        if better < best + NO_GAIN_M2:
            return best
        best = better
    return best


def _outside(blanks: Sequence[Blank], hosts: Sequence[Host]) -> tuple[dict[int, float], dict[int, float]]:
    """Widths and lengths of what guests may leave out of the free places: a trifle of each is wanted."""
    guests = {_guest(blank) for blank in blanks}
    parts = [host.outside(guest) for host in set(hosts) for guest in guests if host.takes(guest)]
    narrow = {whole(width): TRIFLE for width, _ in parts if width >= 1.0}
    short = {whole(length): TRIFLE for _, length in parts if length >= 1.0}
    return narrow, short


def _guest(blank: Blank) -> Guest:
    return blank.width, blank.length, blank.left + blank.right


def _demand(pairs: Iterable[tuple[float, float]]) -> dict[int, float]:
    wanted: dict[int, float] = defaultdict(float)
    for length, amount in pairs:
        wanted[whole(length)] += amount
    return {length: amount for length, amount in wanted.items() if amount > 0}


def _total(blanks: Sequence[Blank], along: Scale, across: Scale, hosts: Sequence[Host]) -> float:
    """What all blanks count, in square metres, less what guests could save."""
    guests: dict[Guest, float] = defaultdict(float)
    total = 0.0
    for blank in blanks:
        count = along.at(blank.length) * across.at(blank.width)
        guests[_guest(blank)] += count
        total += count
    return (total - _most_saved(guests, hosts, along, across)) / 1e6


def _most_saved(guests: Mapping[Guest, float], hosts: Sequence[Host], along: Scale, across: Scale) -> float:
    """The most that guests (with what they count) can save in `hosts`: a flow between them."""
    places = sorted(_counted(hosts).items(), key=lambda item: (item[0].width, item[0].length, repr(item[0])))
    pairs = [(g, h) for g in sorted(guests) for h, _ in places if h.takes(g)]
    if not pairs:
        return 0.0
    highs: Any = solver()
    came = sorted({g for g, _ in pairs})
    for guest in came:
        highs.addRow(-highs.inf, guests[guest], 0, [], [])
    guests_of: dict[Host, list[Guest]] = defaultdict(list)
    for guest, host in pairs:
        guests_of[host].append(guest)
    most = lru_cache(None)(lambda scale, lengths, room: scale.only(lengths).most_in(room))
    for host, number in places:
        own = guests_of[host]
        long = most(along, frozenset(whole(g[1]) for g in own), host.length + host.beyond)
        wide = most(across, frozenset(whole(g[0]) for g in own), host.width + host.beside)
        highs.addRow(-highs.inf, number * long * wide, 0, [], [])
    row = {guest: n for n, guest in enumerate(came)}
    column = {host: len(came) + n for n, (host, _) in enumerate(places)}
    facing = sum(n for h, n in places if h.beside > 0) > 1
    for guest, host in pairs:
        saved = 1.0 - _kept(guest, host, along, across, facing)
        if saved > 0:
            highs.addCol(-saved, 0.0, highs.inf, 2, [row[guest], column[host]], [1.0, 1.0])
    highs.run()
    return -float(highs.getInfo().objective_function_value)


def _kept(guest: Guest, host: Host, along: Scale, across: Scale, facing: bool) -> float:
    """Share of what a guest counts that it still needs outside of the free place.

    Where two hosts can face each other a guest may lie in both, and nothing is kept of what reaches out sideways.
    """
    width, length = host.outside(guest)
    counts_across, counts_along = across.at(guest[0]), along.at(guest[1])
    kept_across = across.at(width) / counts_across if width >= 1.0 and counts_across > 0 and not facing else 0.0
    kept_along = along.at(length) / counts_along if length >= 1.0 and counts_along > 0 else 0.0
    return max(kept_across, kept_along)


def _counted(hosts: Sequence[Host]) -> dict[Host, int]:
    counted: dict[Host, int] = defaultdict(int)
    for host in hosts:
        counted[host] += 1
    return counted


def _hosts(blanks: Sequence[Blank], spec: BoardSpec) -> Iterator[Host]:
    """What the blanks leave free: notches, and the rectangle over the lower corner of a slope."""
    for blank in blanks:
        shortest = spec.shortest(blank.width, blank.length, blank.left and blank.right)
        aside = 0.0 if blank.left and blank.right else spec.widest - blank.width
        if blank.slope is not None:
            height = blank.length - min(blank.slope)
            yield Host(blank.width, height, 1, spec.longest - blank.length, aside)
        for x0, y0, x1, y1 in blank.free:
            open_ended = y0 <= SAME_PLACE_MM or y1 >= blank.length - SAME_PLACE_MM
            beyond = shortest - blank.length if open_ended else 0.0
            at_left, at_right = x0 <= SAME_PLACE_MM, x1 >= blank.width - SAME_PLACE_MM
            if not (at_left or at_right):
                yield Host(x1 - x0, y1 - y0, int(spec.cut_edge_joints), beyond)
            elif (at_left and blank.left) or (at_right and blank.right) or not (blank.left or blank.right):
                yield Host(x1 - x0, y1 - y0, 1, beyond, 0.0 if blank.left or blank.right else aside)
            else:
                narrowest = min(s.width for s in spec.sizes if s.width >= blank.width - SAME_PLACE_MM)
                far = 0.0 if spec.cut_edge_joints else narrowest - blank.width
                yield Host(x1 - x0, y1 - y0, 1, beyond, aside, far)
