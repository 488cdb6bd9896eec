"""Bounds: how little board could do, proven, so that the waste of a layout can be judged. Millimetres.

For the pieces as laid (`bound_of_pieces`): each piece counts its scaled length times its scaled width (see
`board_scales`), so no cutting of these pieces takes less board than the sum, less the most that guests could save (see
`board_hosts`). The best scales are sought along, then across, in turn. Where pieces are few, those that no sheet yields
together say more (see `board_conflicts`).

For every layout under the rules: see `board_strips`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from math import ceil, floor, gcd
from typing import Any

from takeoff.materials.board_conflicts import fewest_sheets
from takeoff.materials.board_hosts import Guest, Host, guest_of, hosts_of, kept_share
from takeoff.materials.board_offcuts import Blank
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_scales import Scale, best_scale, whole
from takeoff.materials.board_tolerances import SPECK_MM
from takeoff.materials.length_patterns import solver

__all__ = ["bound_of_pieces", "in_sheets"]

TURNS = 3
NO_GAIN_M2 = 0.01
TRIFLE = 1e-3
"""Wanted of lengths that are none of the pieces', so that they get a scaled length as well."""
STEP_M2 = 1e-4
MOST_SUMS = 10**6
"""Sums of sheets looked at; of more board than that a sheet is no share worth the search."""


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
    """Square metres that no cutting of `blanks` goes below. Pieces that may lie either way have no scaled size."""
    upright = [blank for blank in blanks if not blank.either_way]
    hosts = list(hosts_of(upright, spec))
    scales = list(_scales(upright, hosts, spec))
    counted = max((_total(upright, *pair, hosts) for pair in scales), default=0.0)
    return max(counted, fewest_sheets(blanks, scales, spec))


def _scales(blanks: Sequence[Blank], hosts: Sequence[Host], spec: BoardSpec) -> Iterator[tuple[Scale, Scale]]:
    """Pairs of scales along and across, each better than the one before, as long as that gains anything."""
    if not blanks:
        return
    lengths = sorted({size.length for size in spec.sizes})
    widths = sorted({size.width for size in spec.sizes})
    narrow, short = _outside(blanks, hosts)
    across = Scale({whole(b.width): float(whole(b.width)) for b in blanks}, 1.0, int(spec.kerf))
    best = 0.0
    for _ in range(TURNS):
        demand = _demand((b.length, across.at(b.width)) for b in blanks)
        along = best_scale({**short, **demand}, lengths, spec.kerf, spec.length_tolerance)
        yield along, across
        best = max(best, _total(blanks, along, across, hosts))
        demand = _demand((b.width, along.at(b.length)) for b in blanks)
        across = best_scale({**narrow, **demand}, widths, spec.kerf, spec.width_tolerance)
        yield along, across
        better = _total(blanks, along, across, hosts)
        if better < best + NO_GAIN_M2:
            return
        best = better


def _outside(blanks: Sequence[Blank], hosts: Sequence[Host]) -> tuple[dict[int, float], dict[int, float]]:
    """Widths and lengths of what guests may leave out of the free places: a trifle of each is wanted."""
    guests = {guest_of(blank) for blank in blanks}
    parts = [host.outside(guest) for host in set(hosts) for guest in guests if host.takes(guest)]
    narrow = {whole(width): TRIFLE for width, _ in parts if width >= SPECK_MM}
    short = {whole(length): TRIFLE for _, length in parts if length >= SPECK_MM}
    return narrow, short


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
        guests[guest_of(blank)] += count
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
        saved = 1.0 - kept_share(guest, host, along, across, facing)
        if saved > 0:
            highs.addCol(-saved, 0.0, highs.inf, 2, [row[guest], column[host]], [1.0, 1.0])
    highs.run()
    return -float(highs.getInfo().objective_function_value)


def _counted(hosts: Sequence[Host]) -> dict[Host, int]:
    counted: dict[Host, int] = defaultdict(int)
    for host in hosts:
        counted[host] += 1
    return counted
