"""Ways to cut one sheet: found by cutting piece after piece, largest first. Millimetres.

Terms:
  kind   blanks that are cut alike: same size, edges and shape.
  way    one sheet with the kinds cut from it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice

from takeoff.materials.board_offcuts import Blank, Cut, Stack, Worth
from takeoff.materials.board_rules import BoardSpec, Size
from takeoff.materials.board_tolerances import FITS_MM

__all__ = ["Kinds", "Way", "cheapest_of_each", "standing_ways", "ways_to_cut"]

MOST_PIECES = 6
"""Pieces from one sheet."""
MOST_WAYS_OF_KIND = 12
"""Ways that begin with one kind in one size of sheet."""


@dataclass(frozen=True)
class Way:
    size: Size
    cuts: tuple[Cut, ...]
    """`Cut.blank` holds the number of the kind."""

    @cached_property
    def counts(self) -> dict[int, int]:
        """How many of each kind."""
        return dict(sorted(Counter(int(cut.blank) for cut in self.cuts).items()))


class Kinds:
    """Kinds by number, in the order in which they came."""

    def __init__(self) -> None:
        self.numbers: dict[Blank, int] = {}

    def number(self, blank: Blank) -> int:
        return self.numbers.setdefault(_kind(blank), len(self.numbers))

    def known(self, blank: Blank) -> int | None:
        return self.numbers.get(_kind(blank))

    def __len__(self) -> int:
        return len(self.numbers)


def _kind(blank: Blank) -> Blank:
    """The blank without its name, its size to the micrometre that coordinates are kept to."""
    return replace(blank, ref="", room="", width=round(blank.width, 3), length=round(blank.length, 3))


def standing_ways(stack: Stack, blanks: Mapping[str, Blank], kinds: Kinds) -> Iterator[Way]:
    """The sheets of `stack` as ways, those of known kinds alone. `blanks` by their names."""
    sheets: dict[int, list[Cut]] = {}
    for cut in stack.cuts:
        sheets.setdefault(cut.sheet, []).append(cut)
    for sheet, cuts in sorted(sheets.items()):
        numbers = [kinds.known(blanks[cut.blank]) for cut in cuts]
        if None not in numbers:
            named = zip(cuts, numbers, strict=True)
            yield Way(stack.sheets[sheet], tuple(replace(cut, blank=str(n), sheet=0) for cut, n in named))


def ways_to_cut(kinds: Kinds, most: Mapping[int, int], spec: BoardSpec) -> Iterator[Way]:
    """Ways to cut one sheet, beginning with each kind in turn and going on with smaller ones.

    `most`: how many of a kind are wanted at most.
    """
    ideas = (
        Worth(spec, 0.0, tall_strip=0.98, whole_width=0.95, cut_round=0.9),
        Worth(spec, 0.0, tall_strip=0.7, whole_width=0.98, cut_round=0.6),
    )
    ordered = sorted(kinds.numbers, key=lambda k: (-k.width * k.length, -k.length, k.left, k.right, kinds.numbers[k]))
    named = [replace(kind, ref=str(kinds.numbers[kind])) for kind in ordered]
    counts = [most[kinds.numbers[kind]] for kind in ordered]
    for first, blank in enumerate(named):
        for idea in ideas:
            for size in spec.sizes:
                stack = Stack(spec, idea)
                if stack.begin(blank, size):
                    yield from islice(_fuller(stack, size, first, named, counts), MOST_WAYS_OF_KIND)


def _fuller(stack: Stack, size: Size, last: int, kinds: Sequence[Blank], counts: Sequence[int]) -> Iterator[Way]:
    """The sheet as it is, then with one piece more, and so on; pieces come largest first."""
    yield Way(size, tuple(stack.cuts))
    if len(stack.cuts) >= MOST_PIECES or not stack.off_cuts:
        return
    rooms = [(off.widest + FITS_MM, off.longest + FITS_MM) for off in stack.off_cuts]
    for kind in range(last, len(kinds)):
        blank = kinds[kind]
        if blank.slope is None and not _may_fit(blank, rooms):
            continue
        if kind == last and sum(cut.blank == blank.ref for cut in stack.cuts) >= counts[kind]:
            continue
        more = stack.fitted(blank)
        if more is not None:
            yield from _fuller(more, size, kind, kinds, counts)


def _may_fit(blank: Blank, rooms: Sequence[tuple[float, float]]) -> bool:
    """Whether it is no larger than one of the `rooms` (width, length)."""
    for wide, long in rooms:
        if blank.width <= wide and blank.length <= long:
            return True
        if blank.either_way and blank.length <= wide and blank.width <= long:
            return True
    return False


def cheapest_of_each(ways: Iterable[Way]) -> list[Way]:
    """One way for each set of pieces, the cheapest."""
    best: dict[tuple[tuple[int, int], ...], Way] = {}
    for way in ways:
        key = tuple(way.counts.items())
        if key not in best or way.size.cost < best[key].size.cost - 1e-12:
            best[key] = way
    return list(best.values())
