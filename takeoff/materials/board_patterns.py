"""The pieces of a laid job cut from the cheapest sheets: ways to cut one sheet, and the best set of them. Millimetres.

Terms:
  kind   blanks that are cut alike: same size, edges and shape.
  way    one sheet with the kinds cut from it, found by cutting piece after piece, largest first.

All ways are listed up to a number; an integer programme picks the cheapest set that yields every piece. The sheets as
they stand are among the ways, so that the outcome is never dearer.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

import numpy as np

from takeoff.materials.board_offcuts import Blank, Cut, Stack, Worth
from takeoff.materials.board_rules import BoardSpec, Size
from takeoff.materials.length_patterns import solver

__all__ = ["recut"]

MOST_PIECES = 6
"""Pieces from one sheet."""
MOST_WAYS_OF_KIND = 12
"""Ways that begin with one kind in one size of sheet."""
MOST_KINDS = 160
"""Kinds settled at once; more are settled in lots."""
MOST_NODES = 300
GOOD_ENOUGH = 0.001
FEASIBLE = 2


@dataclass(frozen=True)
class _Way:
    size: Size
    cuts: tuple[Cut, ...]
    """`Cut.blank` holds the number of the kind."""

    @cached_property
    def counts(self) -> dict[int, int]:
        """How many of each kind."""
        return dict(sorted(Counter(int(cut.blank) for cut in self.cuts).items()))


def recut(stack: Stack, blanks: Sequence[Blank]) -> Stack:
    """The same pieces from the cheapest set of sheets found; off-cuts are not kept."""
    wanted = {blank.ref: blank for blank in blanks}
    sheets: dict[int, list[Cut]] = defaultdict(list)
    for cut in stack.cuts:
        sheets[cut.sheet].append(cut)
    out = Stack(stack.spec, stack.worth)
    for lot in _lots(sheets, wanted):
        _settle(out, stack, {number: sheets[number] for number in lot}, wanted)
    return out


def _lots(sheets: Mapping[int, Sequence[Cut]], wanted: Mapping[str, Blank]) -> Iterator[list[int]]:
    """Sheets in lots of so many kinds."""
    lot: list[int] = []
    kinds: set[Blank] = set()
    for number in sorted(sheets):
        own = {_kind(wanted[cut.blank]) for cut in sheets[number]}
        if lot and len(kinds | own) > MOST_KINDS:
            yield lot
            lot, kinds = [], set()
        lot.append(number)
        kinds |= own
    if lot:
        yield lot


def _kind(blank: Blank) -> Blank:
    """The blank without its name, its size to the micrometre that coordinates are kept to."""
    return replace(blank, ref="", room="", width=round(blank.width, 3), length=round(blank.length, 3))


def _settle(out: Stack, stack: Stack, sheets: Mapping[int, Sequence[Cut]], wanted: Mapping[str, Blank]) -> None:
    """Cut the pieces of some sheets anew and add the sheets to `out`."""
    names: dict[Blank, list[str]] = defaultdict(list)
    for number in sorted(sheets):
        for cut in sheets[number]:
            names[_kind(wanted[cut.blank])].append(cut.blank)
    kinds = sorted(names, key=lambda k: (-k.width * k.length, -k.length, k.left, k.right, names[k][0]))
    place = {kind: n for n, kind in enumerate(kinds)}
    standing = [
        _Way(stack.sheets[number], tuple(replace(c, blank=str(place[_kind(wanted[c.blank])]), sheet=0) for c in cuts))
        for number, cuts in sheets.items()
    ]
    counts = [len(names[kind]) for kind in kinds]
    ways = _cheapest_of_each([*standing, *_ways(kinds, counts, stack.spec)])
    used = _chosen(ways, counts)
    if used is None or _cost(ways, used) > sum(way.size.cost for way in standing) - 1e-9:
        ways, used = standing, [1] * len(standing)
    _add(out, ways, used, [names[kind] for kind in kinds], wanted)


def _cost(ways: Sequence[_Way], used: Sequence[int]) -> float:
    return sum(way.size.cost * n for way, n in zip(ways, used, strict=True))


def _ways(kinds: Sequence[Blank], counts: Sequence[int], spec: BoardSpec) -> Iterator[_Way]:
    """Ways to cut one sheet, beginning with each kind in turn and going on with smaller ones."""
    ideas = (
        Worth(spec, 0.0, tall_strip=0.98, whole_width=0.95, cut_round=0.9),
        Worth(spec, 0.0, tall_strip=0.7, whole_width=0.98, cut_round=0.6),
    )
    named = [replace(kind, ref=str(n)) for n, kind in enumerate(kinds)]
    for first, blank in enumerate(named):
        for idea in ideas:
            for size in spec.sizes:
                stack = Stack(spec, idea)
                if stack.begin(blank, size):
                    yield from islice(_fuller(stack, size, first, named, counts), MOST_WAYS_OF_KIND)


def _fuller(stack: Stack, size: Size, last: int, kinds: Sequence[Blank], counts: Sequence[int]) -> Iterator[_Way]:
    """The sheet as it is, then with one piece more, and so on; pieces come largest first."""
    yield _Way(size, tuple(stack.cuts))
    if len(stack.cuts) >= MOST_PIECES or not stack.off_cuts:
        return
    largest = max(off.wide * (off.y1 - off.low) for off in stack.off_cuts)
    for kind in range(last, len(kinds)):
        blank = kinds[kind]
        if blank.width * blank.length > largest + 1.0 and blank.slope is None:
            continue
        if kind == last and sum(cut.blank == blank.ref for cut in stack.cuts) >= counts[kind]:
            continue
        more = stack.fitted(blank)
        if more is not None:
            yield from _fuller(more, size, kind, kinds, counts)


def _cheapest_of_each(ways: Iterable[_Way]) -> list[_Way]:
    """One way for each set of pieces, the cheapest."""
    best: dict[tuple[tuple[int, int], ...], _Way] = {}
    for way in ways:
        key = tuple(way.counts.items())
        if key not in best or way.size.cost < best[key].size.cost - 1e-12:
            best[key] = way
    return list(best.values())


def _chosen(ways: Sequence[_Way], counts: Sequence[int]) -> list[int] | None:
    """How often each way is used in the cheapest set that yields all pieces; None where none was found."""
    highs = solver()
    highs.setOptionValue("mip_rel_gap", GOOD_ENOUGH)
    highs.setOptionValue("mip_max_nodes", MOST_NODES)
    for count in counts:
        highs.addRow(float(count), highs.inf, 0, [], [])
    for way in ways:
        rows, numbers = list(way.counts), [float(n) for n in way.counts.values()]
        highs.addCol(way.size.cost, 0.0, highs.inf, len(rows), rows, numbers)
    total = len(ways)
    highs.changeColsIntegrality(total, np.arange(total, dtype=np.int32), np.ones(total, dtype=np.uint8))
    highs.run()
    if highs.getInfo().primal_solution_status != FEASIBLE:
        return None
    return [round(value) for value in highs.getSolution().col_value]


def _add(
    out: Stack,
    ways: Sequence[_Way],
    used: Sequence[int],
    names: Sequence[Sequence[str]],
    wanted: Mapping[str, Blank],
) -> None:
    """Add the sheets of the ways used, each piece given to a name: of the same room on one sheet where there is one."""
    left = [deque(own) for own in names]
    for way, number in zip(ways, used, strict=True):
        for _ in range(number):
            cuts: list[Cut] = []
            for cut in way.cuts:
                room = wanted[cuts[0].blank].room if cuts else ""
                name = _take(left[int(cut.blank)], room, wanted)
                if name is not None:
                    cuts.append(replace(cut, blank=name, sheet=len(out.sheets)))
            if cuts:
                out.sheets.append(way.size)
                out.cuts.extend(cuts)


def _take(names: deque[str], room: str, wanted: Mapping[str, Blank]) -> str | None:
    """The first name of `room`, else the first; None where all are cut already."""
    if not names:
        return None
    name = next((n for n in names if wanted[n].room == room), names[0])
    names.remove(name)
    return name
