"""Where the ends of sheets meet in columns longer than a sheet: staggered, clear of jambs, on framing. Millimetres.

A part that one sheet on sale can cover is never jointed; a longer one is made of as few pieces as will do. Joints in
neighbouring columns keep apart. Where framing runs across the sheets an end joint should lie on it: joints that differ
by whole centres can all do so. One that does not is carried by a nogging, which is weighed.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, floor, inf

from takeoff.materials.board_columns import Support
from takeoff.materials.board_faces import Face, Gap, Part
from takeoff.materials.board_offcuts import Stack
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_tolerances import FITS_MM, KEEPS_MM, SAME_PLACE_MM

__all__ = ["EndSearch", "Ends", "Row", "end_faults", "rows_of", "stagger_faults"]

MOST_WAYS = 12
"""Ways to joint one part that are weighed."""
MOST_CHOICES = 3
ON_FRAMING_MM = 10.0
"""An end within this of the middle of a joist has enough of it to be fixed to."""


@dataclass(frozen=True, slots=True)
class Row:
    """One part of a column, with the place of the column's joints and the longest sheet that serves it."""

    column: int
    lo: float
    hi: float
    part: Part
    longest: float

    @property
    def jointed(self) -> bool:
        return self.part.length > self.longest + FITS_MM


@dataclass(frozen=True, slots=True)
class Ends:
    """Places of the end joints of each row, in the order of the rows; () for a row without."""

    joints: tuple[tuple[float, ...], ...]
    weight: float
    framing: float | None
    """Place of one joist along the face, where framing runs across the sheets and joints decide or the job says."""

    def off_framing(self, y: float, centres: float) -> bool:
        """Whether a joint at `y` lies between two joists."""
        return self.framing is not None and bool(centres) and not _alike(y, self.framing, centres)


def rows_of(face: Face, joints: Sequence[float], spec: BoardSpec) -> tuple[Row, ...]:
    """The parts of all columns, left to right and from below."""
    known = face.known.rows
    if tuple(joints) not in known:
        known[tuple(joints)] = _rows(face, joints, spec)
    found: tuple[Row, ...] = known[tuple(joints)]
    return found


def _rows(face: Face, joints: Sequence[float], spec: BoardSpec) -> tuple[Row, ...]:
    places = (0.0, *joints, face.width)
    rows = []
    for column, (lo, hi) in enumerate(pairwise(places)):
        for part in sorted(face.parts(lo, hi), key=lambda p: (p.y0, p.x0)):
            inner = lo > 0 and hi < face.width and part.x0 <= lo + SAME_PLACE_MM and part.x1 >= hi - SAME_PLACE_MM
            fit = [
                s.length
                for s in spec.sizes
                if s.width >= part.width - SAME_PLACE_MM
                and (not inner or spec.cut_edge_joints or s.width <= part.width + SAME_PLACE_MM)
            ]
            rows.append(Row(column, lo, hi, part, max(fit, default=spec.longest)))
    return tuple(rows)


def _set_out(rows: Sequence[Row], chosen: Sequence[tuple[float, ...]], support: Support) -> float:
    """Place of a joist: as the job says, else where most of the joints' length can lie on joists."""
    if support.start is not None:
        return support.start
    ends = [(y, row.part.width) for row, joints in zip(rows, chosen, strict=True) for y in joints]
    carried = [(sum(w for other, w in ends if _alike(y, other, support.centres)), -y) for y, _ in ends]
    return ends[max(range(len(ends)), key=lambda n: carried[n])][0] % support.centres


def _alike(a: float, b: float, centres: float) -> bool:
    """Whether two places lie on the same set-out of framing."""
    apart = (a - b) % centres
    return min(apart, centres - apart) <= ON_FRAMING_MM


def _is_beside(gap: Gap, row: Row) -> bool:
    return gap.x0 <= row.hi + SAME_PLACE_MM and gap.x1 >= row.lo - SAME_PLACE_MM


def end_faults(face: Face, spec: BoardSpec, row: Row, y: float) -> int:
    """Sides of openings beside this column that an end joint at `y` runs in line with, or too near to."""
    beside = [gap for gap in face.gaps if _is_beside(gap, row)]
    return sum(abs(y - side) < spec.jamb_clear - KEEPS_MM for g in beside for side in (g.y0, g.y1))


def stagger_faults(spec: BoardSpec, before: Sequence[float], after: Sequence[float]) -> int:
    """End joints of a column that are too near to one of the column before."""
    return sum(any(abs(y - other) < spec.stagger - KEEPS_MM for other in before) for y in after)


class EndSearch:
    """Finds end joints for the rows of a face, whatever its columns, with the off-cuts at hand."""

    def __init__(self, face: Face, spec: BoardSpec, stack: Stack, support: Support) -> None:
        self.face, self.spec, self.stack = face, spec, stack
        self.across = not support.lengthwise and support.centres > 0
        self.support = support if self.across else replace(support, centres=0.0)
        self.alike = 0
        """Rows that have end joints."""
        self.known: dict[tuple[float, float, bool, bool, int], float] = {}
        self.known_ways: dict[Hashable, list[tuple[tuple[float, ...], float]]] = {}
        self.lengths = sorted({size.length for size in spec.sizes}, reverse=True)

    def choices(self, rows: Sequence[Row]) -> tuple[Ends, ...]:
        """The best sets of end joints found, cheapest first; one without joints where none is needed."""
        jointed = [row for row in rows if row.jointed]
        if not jointed:
            return (Ends(tuple(() for _ in rows), 0.0, self.support.start if self.across else None),)
        self.alike = len(jointed)
        ways = [self.ways(row) for row in jointed]
        if not all(ways):
            return ()
        distinct: dict[tuple[tuple[float, ...], ...], Ends] = {}
        for chosen, weight in self.staggered(jointed, ways):
            supply = iter(chosen)
            joints = tuple(next(supply) if row.jointed else () for row in rows)
            framing = _set_out(jointed, chosen, self.support) if self.across else None
            distinct.setdefault(joints, Ends(joints, weight, framing))
        return tuple(distinct.values())[:MOST_CHOICES]

    def first_lengths(self, row: Row) -> list[float]:
        """Lengths to try for the piece at the start: whole sheets, halves, off-cuts at hand, and what they leave."""
        spec, total, centres = self.spec, row.part.length, self.support.centres
        whole = [n for n in self.lengths if n <= row.longest]
        halves = [(n - spec.length_tolerance - spec.kerf) / 2 for n in whole]
        rests = [n - spec.length_tolerance - spec.kerf - h for n in whole for h in whole if n > h]
        at_hand = {o.long for o in self.stack.off_cuts if o.left and o.right}
        firsts = {*whole, *halves, *rests, *at_hand}
        inner = max(0, ceil(total / row.longest) - 2) * row.longest
        firsts |= {total - inner - n for n in firsts} | {(total - inner) / 2}
        if centres:
            starts = {n % centres for n in whole} | {(total - n) % centres for n in whole}
            firsts |= {floor((f - at) / centres) * centres + at for f in whole for at in starts}
        return sorted({round(f, 2) for f in firsts if self._shortest() <= f <= row.longest})

    def _shortest(self) -> float:
        return self.spec.smallest_length

    def ways(self, row: Row) -> list[tuple[tuple[float, ...], float]]:
        """(end joints, cost) of the best ways to joint a row with the fewest pieces."""
        part, inside = row.part, (row.lo > 0, row.hi < self.face.width)
        beside = tuple((gap.y0, gap.y1) for gap in self.face.gaps if _is_beside(gap, row))
        key = (part.width, part.y0, part.y1, row.longest, inside, beside, self.alike)
        if key not in self.known_ways:
            self.known_ways[key] = self._ways(row)
        return self.known_ways[key]

    def _ways(self, row: Row) -> list[tuple[tuple[float, ...], float]]:
        fewest = ceil((row.part.length - FITS_MM) / row.longest)
        for pieces in range(fewest, fewest + 3):
            found = dict.fromkeys(self._split(row, pieces))
            if found:
                costs = sorted((self._cost(row, joints), joints) for joints in found)
                return [(joints, cost) for cost, joints in costs[:MOST_WAYS]]
        return []

    def _split(self, row: Row, pieces: int) -> Iterator[tuple[float, ...]]:
        """Joints of `pieces` pieces: a first, whole sheets of one length, a last."""
        for first in self.first_lengths(row):
            for inner in self.lengths if pieces > 2 else self.lengths[:1]:
                joints = [row.part.y0 + first + n * self._inner(inner) for n in range(pieces - 1)]
                ends = (row.part.y0, *joints, row.part.y1)
                lengths = [b - a for a, b in pairwise(ends)]
                if min(lengths) >= self._shortest() - KEEPS_MM and max(lengths) <= row.longest + FITS_MM:
                    yield tuple(round(j, 3) for j in joints)

    def _inner(self, length: float) -> float:
        """A sheet between two joists: cut back to whole centres."""
        centres = self.support.centres
        return floor(length / centres + 1e-6) * centres if centres else length

    def _cost(self, row: Row, joints: tuple[float, ...]) -> float:
        ends = (row.part.y0, *joints, row.part.y1)
        cost = sum(self._piece(row, round(b - a, 1)) for a, b in pairwise(ends))
        weights, scale = self.spec.weights, self.spec.cost_per_m2
        faults = sum(end_faults(self.face, self.spec, row, y) for y in joints)
        weight = len(joints) * (row.part.width / 1000.0 * weights["end_joint_m"] + weights["piece"])
        start = self.support.start if self.support.start is not None else joints[0]
        loose = sum(not self._carried(y, start) for y in joints)
        weight += loose * row.part.width / 1000.0 * weights["nogging_m"]
        return cost + (weight + faults * weights["joint_at_jamb"]) * scale

    def _carried(self, y: float, start: float) -> bool:
        return not self.support.centres or _alike(y, start, self.support.centres)

    def _piece(self, row: Row, length: float) -> float:
        """About what one piece loses: alone, or its share of a sheet that just holds two or more like it."""
        width, left, right = round(row.part.width, 1), row.lo > 0, row.hi < self.face.width
        key = (width, length, left, right, self.alike)
        if key not in self.known:
            alone = self.stack.quick_loss(width, length, left, right)
            shared = inf
            for size in self.spec.sizes:
                if abs(size.width - width) < SAME_PLACE_MM:
                    least = size.length - self.spec.length_tolerance
                    number = int((least + self.spec.kerf) // (length + self.spec.kerf))
                    if 2 <= number <= self.alike:
                        shared = min(shared, size.cost / number)
            self.known[key] = min(alone, shared)
        return self.known[key]

    def staggered(
        self, rows: Sequence[Row], ways: Sequence[list[tuple[tuple[float, ...], float]]]
    ) -> list[tuple[list[tuple[float, ...]], float]]:
        """The cheapest choices of one way for each row, neighbouring columns kept apart, by the last row's way."""
        costs = [cost for _, cost in ways[0]]
        chosen: list[list[int]] = [[n] for n in range(len(costs))]
        for n in range(1, len(rows)):
            beside = rows[n].column - rows[n - 1].column == 1
            now, came = [], []
            for m, (joints, cost) in enumerate(ways[n]):
                options = [
                    earlier + self._beside(rows[n], ways[n - 1][i][0], joints, beside)
                    for i, earlier in enumerate(costs)
                ]
                least = min(range(len(options)), key=options.__getitem__)
                now.append(options[least] + cost)
                came.append([*chosen[least], m])
            costs, chosen = now, came
        order = sorted(range(len(costs)), key=lambda n: (round(costs[n], 6), n))
        return [([ways[r][w][0] for r, w in enumerate(chosen[n])], costs[n]) for n in order[:MOST_CHOICES]]

    def _beside(self, row: Row, before: Sequence[float], after: Sequence[float], beside: bool) -> float:
        """What joints after those of the row before weigh: too near to them, or not on the same framing."""
        weights = self.spec.weights
        weight = weights["poor_stagger"] * stagger_faults(self.spec, before, after) if beside else 0.0
        if self.support.start is None and not self._carried(before[0], after[0]):
            weight += row.part.width / 1000.0 * weights["nogging_m"]
        return weight * self.spec.cost_per_m2
