"""Cutting pieces out of sheets: a new sheet or an off-cut, whichever loses less. Millimetres.

Terms:
  blank    what must be cut for one piece: its box, which long edges must be the factory's, and what of the box is free.
  off-cut  a rectangle of a sheet that is still free, with the edges of it that are the factory's.
  worth    what an off-cut is likely to save later, as a cost: the more of it a later piece can use, the more.
  loss     what a piece costs: a new sheet less the worth of its off-cuts, or the worth of an off-cut used up.

A sheet that is cut in two is reckoned at the least size that its tolerance allows, so that the second piece can really
be had from any sheet delivered. Saw cuts take the kerf. Pieces lie in the sheet as they are fixed or end for end, never
face down. Where the rules ask for a factory edge at a joint, the blank lies with that edge on the sheet's own. Notched
pieces come from the shortest sheet that serves: nobody buys longer ones for the sake of what falls out of a door.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from math import hypot, inf
from typing import NamedTuple

from takeoff.materials.board_rules import BoardSpec, Size
from takeoff.materials.board_tolerances import FITS_MM

__all__ = ["Blank", "Cut", "OffCut", "Rect", "Stack", "Worth"]

MOST_OFF_CUTS = 150
"""No site keeps more at hand; the least useful are thrown away."""
SAME_ROOM_M2 = 0.005
"""In favour of an off-cut that need not be carried to another room, in m2 of board."""
Rect = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Blank:
    ref: str
    room: str
    width: float
    length: float
    left: bool
    """The left edge meets another board: it must be a factory edge."""
    right: bool
    notches: tuple[Rect, ...] = ()
    """Free rectangles of the box (x0, y0, x1, y1), cut out for openings."""
    free: tuple[Rect, ...] = ()
    """Boxes round all that is free of the box: no more than these can serve other pieces."""
    slope: tuple[float, float] | None = None
    """Heights of the sloping end at left and right with that end up; None for a square end."""
    hanging: bool = False
    """The sloping end is the lower one as the piece is fixed: `slope` shows it end for end."""
    either_way: bool = False
    """It may also be cut across the sheet: narrow pieces without joints, such as reveals."""

    def named(self, ref: str, room: str) -> Blank:
        """The same for the piece `ref` of `room`."""
        size, edges = (self.width, self.length), (self.left, self.right)
        return Blank(ref, room, *size, *edges, self.notches, self.free, self.slope, self.hanging, self.either_way)


class OffCut(NamedTuple):
    """What is left of a sheet beside a piece. A tuple, because very many are made and looked at."""

    sheet: int
    x0: float
    y0: float
    x1: float
    y1: float
    """Reckoned at the least size that the sheet's tolerance allows."""
    left: bool
    """Its left edge is the factory's."""
    right: bool
    worth: float
    room: str
    """Room of the piece that it was left by."""
    wide: float
    long: float
    widest: float
    """Of a piece that takes all its width: wider by the tolerance where the off-cut is as wide as the sheet."""
    longest: float
    """Of a piece that takes all its length."""
    floor: tuple[float, float] | None = None
    """A sloping lower end: height at x0 of the piece below, and its rise per millimetre; y0 is above it all."""

    @property
    def low(self) -> float:
        """Its lowest point."""
        if self.floor is None:
            return self.y0
        return self.floor[0] + min(0.0, self.floor[1] * self.wide)


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a blank lies in its sheet."""

    blank: str
    sheet: int
    x: float
    y: float
    turned: bool
    across: bool


@dataclass(frozen=True)
class Worth:
    """How much of an off-cut is likely to be used, by what it is. Shares of its area; own judgement, tried in turn."""

    spec: BoardSpec
    tall: float
    """Shortest piece that a full-height strip can serve, mm."""
    known: dict[tuple[float, float, bool, bool, bool | None, float], tuple[_New, ...]] = field(
        default_factory=dict, compare=False, repr=False
    )
    """Ways to cut rectangles from new sheets, worked out once."""
    tall_strip: float = 0.9
    """A strip with a factory edge, long enough for a wall."""
    short_strip: float = 0.35
    whole_width: float = 0.55
    cut_round: float = 0.15
    """No factory edge left."""

    @cached_property
    def smallest(self) -> tuple[float, float]:
        """Width and length below which an off-cut is worth nothing: what a person would fix."""
        return self.spec.smallest_width, self.spec.smallest_length

    @cached_property
    def cost_per_mm2(self) -> float:
        return self.spec.cost_per_mm2

    def of(self, width: float, length: float, left: bool, right: bool) -> float:
        """As a cost. Nothing for what is smaller than a person would fix."""
        narrowest, shortest = self.smallest
        if width < narrowest or length < shortest:
            return 0.0
        if left and right:
            share = self.whole_width
        elif left or right:
            share = self.tall_strip if length >= self.tall else self.short_strip
        else:
            share = self.cut_round
        return share * width * length * self.cost_per_mm2


class _Way(NamedTuple):
    """A way to cut a rectangle from the lower end of an off-cut."""

    loss: float
    turned: bool
    at_left: bool
    ripped: bool
    """The strip beside it keeps the whole length; else the end keeps the whole width."""


_New = tuple[Size, _Way]
"""A new sheet and the way to cut a rectangle from it."""


class _Place(NamedTuple):
    """Somewhere a blank can be cut from: an off-cut (by number) or a new sheet of a size (number -1)."""

    loss: float
    number: int
    size: Size | None
    way: _Way
    across: bool
    against: Cut | None = None
    """Set where it lies along the slope of another piece."""


@dataclass
class Stack:
    """Sheets begun so far and the off-cuts that are still free."""

    spec: BoardSpec
    worth: Worth
    sheets: list[Size] = field(default_factory=list)
    off_cuts: list[OffCut] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    given_up: frozenset[int] = frozenset()
    """Sheets begun but not bought after all."""
    quick: dict[tuple[float, float, bool, bool], float] = field(default_factory=dict)
    """Losses of plain rectangles while nothing is cut."""

    def copy(self) -> Stack:
        return Stack(self.spec, self.worth, self.sheets[:], self.off_cuts[:], self.cuts[:], self.given_up)

    def valued(self, worth: Worth) -> Stack:
        """A copy whose off-cuts are valued by another idea of their worth."""
        other = self.copy()
        other.worth = worth
        other.off_cuts = [
            off._replace(worth=worth.of(off.wide, off.y1 - off.low, off.left, off.right)) for off in self.off_cuts
        ]
        return other

    @property
    def cost(self) -> float:
        return sum(size.cost for n, size in enumerate(self.sheets) if n not in self.given_up)

    @property
    def kept(self) -> float:
        """Worth of all off-cuts."""
        return sum(off.worth for off in self.off_cuts)

    def quick_loss(self, width: float, length: float, left: bool, right: bool) -> float:
        """What a plain rectangle would lose, off-cuts and new sheets alike; infinite where nothing fits it."""
        key = (round(width, 1), round(length, 1), left, right)
        if key not in self.quick:
            self.quick[key] = self._quick_loss(width, length, left, right)
        return self.quick[key]

    def _quick_loss(self, width: float, length: float, left: bool, right: bool) -> float:
        least = self._new_loss(width, length, left, right)
        wide, long, edged = width - FITS_MM, length - FITS_MM, left or right
        for off in self.off_cuts:
            if off.widest >= wide and off.longest >= long and (not edged or off.left or off.right):
                way = self._way(off, width, length, left, right, None)
                if way is not None and way.loss < least:
                    least = way.loss
        return least

    def least_loss(self, blank: Blank) -> float:
        """Below nought: what `place` gives back at most, for a cut in the same room and for what notches yield."""
        free = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in blank.notches)
        best = max(self.worth.tall_strip, self.worth.whole_width, self.worth.cut_round, self.worth.short_strip)
        return -(best * free + SAME_ROOM_M2 * 1e6) * self.spec.cost_per_mm2

    def place(self, blank: Blank) -> float:
        """Cut `blank` where it loses least and return the loss. Raises `ValueError` where no sheet is large enough."""
        best = min((*self._in_off_cuts(blank), *self._in_new(blank)), key=lambda p: p.loss, default=None)
        if best is None:
            raise ValueError(f"{blank.ref}: no sheet is as large as {blank.width:.0f} x {blank.length:.0f}")
        return self._cut(blank, best)

    def fitted(self, blank: Blank) -> Stack | None:
        """A copy in which `blank` is cut from an off-cut where it loses least. None where it fits none."""
        best = min(self._in_off_cuts(blank), key=lambda p: p.loss, default=None)
        if best is None:
            return None
        more = self.copy()
        more._cut(blank, best)
        return more

    def begin(self, blank: Blank, size: Size) -> bool:
        """Cut `blank` from a new sheet of this size. False where it does not fit."""
        best = min((p for p in self._in_new(blank) if p.size == size), key=lambda p: p.loss, default=None)
        if best is not None:
            self._cut(blank, best)
        return best is not None

    def _in_off_cuts(self, blank: Blank) -> Iterator[_Place]:
        near = SAME_ROOM_M2 * 1e6 * self.spec.cost_per_mm2
        prefer = blank.hanging if blank.slope else None
        longest, edged = self._longest_for(blank), blank.left or blank.right
        for across in (False, True) if blank.either_way else (False,):
            width, length = (blank.length, blank.width) if across else (blank.width, blank.length)
            wide, long = width - FITS_MM, length - FITS_MM
            for index, off in enumerate(self.off_cuts):
                if off.widest < wide or off.longest < long or self.sheets[off.sheet].length > longest:
                    continue
                if edged and not (off.left or off.right):
                    continue
                way = self._way(off, width, length, blank.left, blank.right, prefer)
                if way is not None:
                    loss = way.loss - (near if off.room == blank.room else 0.0)
                    yield _Place(loss, index, None, way, across)
        if blank.slope is not None:
            yield from self._against_slopes(blank)

    def _in_new(self, blank: Blank) -> Iterator[_Place]:
        prefer = blank.hanging if blank.slope else None
        longest = self._longest_for(blank)
        for across in (False, True) if blank.either_way else (False,):
            width, length = (blank.length, blank.width) if across else (blank.width, blank.length)
            for size, way in self._new_ways(width, length, blank.left, blank.right, prefer, longest):
                yield _Place(way.loss, -1, size, way, across)

    def _new_ways(
        self, width: float, length: float, left: bool, right: bool, prefer: bool | None, longest: float
    ) -> tuple[_New, ...]:
        key, known = (width, length, left, right, prefer, longest), self.worth.known
        if key not in known:
            fit = [s for s in self.spec.sizes if width <= s.width + FITS_MM and length <= s.length + FITS_MM]
            fit = [s for s in fit if s.length <= longest]
            ways = ((s, self._way(self._sheet(s), width, length, left, right, prefer)) for s in fit)
            known[key] = tuple((size, way) for size, way in ways if way is not None)
        return known[key]

    def _longest_for(self, blank: Blank) -> float:
        """A notched piece is not cut from a longer sheet than it needs."""
        if not blank.notches:
            return inf
        return self.spec.shortest(blank.width, blank.length, blank.left and blank.right)

    def _new_loss(self, width: float, length: float, left: bool, right: bool) -> float:
        """Loss of a plain rectangle cut from the best new sheet; infinite where none is large enough."""
        return min((way.loss for _, way in self._new_ways(width, length, left, right, None, inf)), default=inf)

    def _sheet(self, size: Size) -> OffCut:
        """A new sheet."""
        wide, long = self.spec.width_tolerance, self.spec.length_tolerance
        far = (size.width - wide, size.length - long)
        return OffCut(len(self.sheets), 0.0, 0.0, *far, True, True, size.cost, "", *far, far[0] + wide, far[1] + long)

    def _way(
        self, off: OffCut, width: float, length: float, left: bool, right: bool, slope_turned: bool | None
    ) -> _Way | None:
        """The best way to cut a rectangle from `off`; None where its edges do not serve.

        `slope_turned`: how the piece must lie for its sloping end to point up, kept to where its edges allow.
        """
        fills = width >= off.wide - FITS_MM
        if left and right:
            if not (fills and off.left and off.right):
                return None
            turned, at_left = slope_turned or False, True
        elif left or right:
            if not (off.left or off.right):
                return None
            turned = (left != off.left) if not (off.left and off.right) else (slope_turned or False)
            at_left = left != turned
        else:
            turned, at_left = slope_turned or False, not off.left or off.right
        kerf, of = self.spec.kerf, self.worth.of
        beside, beyond = off.wide - width - kerf, off.long - length - kerf
        narrowest, shortest = self.worth.smallest
        rip = across = 0.0
        if beside >= narrowest:
            strip_edge = off.right if at_left else off.left
            rip, across = of(beside, off.long, strip_edge, False), of(beside, length, strip_edge, False)
        if beyond >= shortest:
            rip += of(width, beyond, off.left and (at_left or fills), off.right and (not at_left or fills))
            across += of(off.wide, beyond, off.left, off.right)
        return _Way(off.worth - max(rip, across), turned, at_left, rip >= across)

    def _cut(self, blank: Blank, place: _Place) -> float:
        """Take the blank out of the off-cut or new sheet, keep what is left, and return the loss."""
        self.quick.clear()
        way, across = place.way, place.across
        width, length = (blank.length, blank.width) if across else (blank.width, blank.length)
        if place.size is not None:
            off = self._sheet(place.size)
            self.sheets.append(place.size)
        else:
            off = self.off_cuts.pop(place.number)
        if place.against is not None:
            return self._cut_against(blank, place.against, off, place.loss)
        x = off.x0 if way.at_left or width >= off.wide - FITS_MM else off.x1 - width
        cut = Cut(blank.ref, off.sheet, x, off.y0, way.turned, across)
        self.cuts.append(cut)
        floor = None
        if blank.slope is not None and way.turned == blank.hanging:
            floor = (off.y0 + blank.slope[0], (blank.slope[1] - blank.slope[0]) / blank.width)
        self._keep_rest(off, blank.room, x, width, length, way, floor)
        if across:
            return place.loss
        return place.loss - sum(self._keep(*notch) for notch in self._notches(off, blank, cut))

    def _keep_rest(
        self,
        off: OffCut,
        room: str,
        x: float,
        width: float,
        length: float,
        way: _Way,
        floor: tuple[float, float] | None,
    ) -> None:
        kerf, x1, top = self.spec.kerf, x + width, off.y0 + length
        ripped = way.ripped or floor is not None
        strip_top = off.y1 if ripped else min(top, off.y1)
        if way.at_left:
            self._keep(off.sheet, room, x1 + kerf, off.y0, off.x1, strip_top, False, off.right)
        else:
            self._keep(off.sheet, room, off.x0, off.y0, x - kerf, strip_top, off.left, False)
        if ripped:
            left, right = off.left and x <= off.x0 + FITS_MM, off.right and x1 >= off.x1 - FITS_MM
            self._keep(off.sheet, room, x, top + kerf, min(x1, off.x1), off.y1, left, right, floor)
        else:
            self._keep(off.sheet, room, off.x0, top + kerf, off.x1, off.y1, off.left, off.right)

    def _keep(
        self,
        sheet: int,
        room: str,
        x0: float,
        y0: float,
        x1: float,
        y1: float,
        left: bool,
        right: bool,
        floor: tuple[float, float] | None = None,
    ) -> float:
        """Keep an off-cut that is worth anything, and return its worth."""
        low = y0 if floor is None else floor[0] + min(0.0, floor[1] * (x1 - x0))
        worth = self.worth.of(x1 - x0, y1 - low, left, right)
        if worth > 0:
            spec, size = self.spec, self.sheets[sheet]
            as_wide = x0 <= FITS_MM and x1 >= size.width - spec.width_tolerance - FITS_MM
            as_long = y0 <= FITS_MM and y1 >= size.length - spec.length_tolerance - FITS_MM
            wide, long = x1 - x0, y1 - y0
            widest = wide + spec.width_tolerance if as_wide else wide
            longest = long + spec.length_tolerance if as_long else long
            self.off_cuts.append(
                OffCut(sheet, x0, y0, x1, y1, left, right, worth, room, wide, long, widest, longest, floor)
            )
            if len(self.off_cuts) > MOST_OFF_CUTS:
                self.off_cuts.remove(min(self.off_cuts, key=lambda off: off.worth))
        return worth

    def _notches(
        self, off: OffCut, blank: Blank, cut: Cut
    ) -> Iterator[tuple[int, str, float, float, float, float, bool, bool]]:
        """What the piece leaves free inside its own box, a saw cut off its edges."""
        kerf = self.spec.kerf
        for x0, y0, x1, y1 in blank.notches:
            if cut.turned:
                x0, y0, x1, y1 = blank.width - x1, blank.length - y1, blank.width - x0, blank.length - y0
            at_left, at_right = x0 <= FITS_MM, x1 >= blank.width - FITS_MM
            yield (
                off.sheet,
                blank.room,
                cut.x + x0 + (0.0 if at_left else kerf),
                cut.y + y0 + (0.0 if y0 <= FITS_MM else kerf),
                min(cut.x + x1, off.x1) if at_right else cut.x + x1 - kerf,
                min(cut.y + y1, off.y1) if y1 >= blank.length - FITS_MM else cut.y + y1 - kerf,
                at_left and off.left and cut.x <= off.x0 + FITS_MM,
                at_right and off.right and cut.x + blank.width >= off.x1 - FITS_MM,
            )

    def _against_slopes(self, blank: Blank) -> Iterator[_Place]:
        """Places for the blank with its slope along the slope of a piece below."""
        for index, off in enumerate(self.off_cuts):
            cut = self._against(off, blank)
            if cut is not None:
                rest = self.worth.of(blank.width, off.y1 - cut.y - blank.length - self.spec.kerf, False, False)
                way = _Way(off.worth - rest, cut.turned, True, True)
                yield _Place(way.loss, index, None, way, False, cut)

    def _against(self, off: OffCut, blank: Blank) -> Cut | None:
        """Where the blank lies, its sloping end down, above the slope of `off`; None where it does not fit."""
        if blank.slope is None or off.floor is None or off.widest < blank.width - FITS_MM:
            return None
        turned = not blank.hanging
        left, right = (blank.right, blank.left) if turned else (blank.left, blank.right)
        if (
            (left and not off.left)
            or (right and not off.right)
            or (left and right and blank.width < off.wide - FITS_MM)
        ):
            return None
        x = off.x1 - blank.width if right and blank.width < off.wide - FITS_MM else off.x0
        rise = off.floor[1]
        steepest = max(abs(rise), abs(blank.slope[1] - blank.slope[0]) / blank.width)
        kerf = self.spec.kerf * hypot(1.0, steepest)
        below = [off.floor[0] + rise * (at - off.x0) for at in (x, x + blank.width)]
        lower_end = (blank.length - blank.slope[1], blank.length - blank.slope[0])
        y = max(f + kerf - b for f, b in zip(below, lower_end, strict=True))
        if y + blank.length > off.y1 + FITS_MM:
            return None
        return Cut(blank.ref, off.sheet, x, y, turned, False)

    def _cut_against(self, blank: Blank, cut: Cut, off: OffCut, loss: float) -> float:
        self.cuts.append(cut)
        top = cut.y + blank.length + self.spec.kerf
        self._keep(off.sheet, blank.room, cut.x, top, cut.x + blank.width, off.y1, False, False)
        return loss
