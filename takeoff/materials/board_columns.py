"""Where the long joints of a face go: the columns of sheets across it. Millimetres.

Terms:
  column   the sheets one above the other (or one after the other) between two long joints.
  inner    a column between two joints: a whole sheet wide, because both its edges must be the factory's.
  outer    the first or last column: as wide as is left; its cut edge lies in the corner.

For each place of the first joint the cheapest row of columns is found by going from joint to joint; the first joints
tried are those that start or end with a whole sheet, sit in the middle, fit an off-cut at hand, or lie on a raster.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, inf

from takeoff.materials.board_faces import Face, Part, Taken
from takeoff.materials.board_offcuts import Stack
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_tolerances import FITS_MM, KEEPS_MM, SAME_PLACE_MM

__all__ = ["Columns", "Support", "column_choices", "jamb_faults", "most_columns"]

RASTER_MM = 150.0
MOST_CHOICES = 5
MOST_FIRSTS = 14
"""First joints tried on a face with openings; on one without, `FEW_FIRSTS`."""
FEW_FIRSTS = 8
MOST_STRIPS = 10
MORE_COLUMNS = 2
"""Columns beyond the fewest that are tried on walls, so that off-cuts of any width can start one."""


@dataclass(frozen=True, slots=True)
class Support:
    """The framing behind a face."""

    centres: float
    """0 where there is none (dabs)."""
    lengthwise: bool
    """Studs or joists run along the sheets, so that long joints must lie on them; else they run across."""
    start: float | None
    """Place of one of them, where the job file says; None: set out to suit the boards."""
    nogging_at_joints: bool
    """Long joints between the joists need noggings."""


@dataclass(frozen=True, slots=True)
class Columns:
    joints: tuple[float, ...]
    weight: float
    """Estimated cost, with what joints and broken rules weigh."""


def column_choices(
    face: Face, spec: BoardSpec, stack: Stack, support: Support, avoid: Sequence[float] = ()
) -> tuple[Columns, ...]:
    """The best rows of columns found, cheapest first. `avoid`: joints of the layer underneath."""
    if face.width <= spec.widest + FITS_MM:
        whole = Columns((), 0.0)
        return (whole,)
    search = _Search(face, spec, stack, support, tuple(avoid))
    found = [c for first in search.first_joints() if (c := search.best_from(first)) is not None]
    found.sort(key=lambda c: (round(c.weight, 6), c.joints))
    return tuple(found[:MOST_CHOICES])


def most_columns(face: Face, spec: BoardSpec) -> int:
    """Rows of sheets allowed: on a ceiling the fewest that will do, each further joint being work overhead."""
    fewest = ceil((face.width - FITS_MM) / spec.widest)
    return fewest + MORE_COLUMNS


def jamb_faults(face: Face, spec: BoardSpec, x: float) -> int:
    """How many sides of openings the long joint at `x` runs in line with, or too near to."""
    return sum(abs(x - side) < spec.jamb_clear - KEEPS_MM for gap in face.gaps for side in (gap.x0, gap.x1))


class _Search:
    def __init__(self, face: Face, spec: BoardSpec, stack: Stack, support: Support, avoid: tuple[float, ...]) -> None:
        self.face, self.spec, self.stack, self.support, self.avoid = face, spec, stack, support, avoid
        self.widths = self._inner_widths()
        self.most_columns = most_columns(face, spec)
        self.column_known: dict[tuple[float, float], float] = {}
        self.joint_known: dict[float, float] = {}

    def _inner_widths(self) -> tuple[float, ...]:
        """Sheet widths that inner columns may have: multiples of the centres where joints must lie on framing."""
        widths = sorted({size.width for size in self.spec.sizes}, reverse=True)
        if not (self.support.lengthwise and self.support.centres):
            return tuple(widths)
        fit = [w for w in widths if abs(w / self.support.centres - round(w / self.support.centres)) < 1e-6]
        return tuple(fit or widths)

    def first_joints(self) -> list[float]:
        """Places to try for the first joint."""
        total, spec = self.face.width, self.spec
        if self.support.lengthwise and self.support.centres and self.support.start is not None:
            centres = self.support.centres
            at = self.support.start % centres
            places = [at + n * centres for n in range(ceil(spec.widest / centres) + 1)]
            return [p for p in places if 0 < p <= spec.widest + FITS_MM and p < total]
        strips = self._strips()
        low = min(spec.smallest_width, total / 2)
        found: dict[float, float] = {}
        for run in sorted(self._inner_runs()):
            rest = total - run
            firsts = {*self.widths, *strips, rest / 2, *(rest - w for w in self.widths), *(rest - s for s in strips)}
            for first in sorted(round(f, 1) for f in firsts):
                last = rest - first
                if low - KEEPS_MM <= min(first, last) and max(first, last) <= spec.widest + FITS_MM:
                    cost = self._outer(first) + self._outer(last) + run * self.face.length * spec.cost_per_mm2
                    found[first] = min(cost, found.get(first, inf))
        best = sorted(found, key=lambda f: (round(found[f], 6), f))[: MOST_FIRSTS if self.face.gaps else FEW_FIRSTS]
        count = int((spec.widest - spec.smallest_width) // RASTER_MM) + 1 if self.face.gaps else 0
        raster = (spec.smallest_width + n * RASTER_MM for n in range(count))
        return sorted({*best, *(f for f in raster if f < total - low)})

    def _strips(self) -> list[float]:
        """Widths of the off-cuts at hand that are worth most."""
        fit = [o for o in self.stack.off_cuts if o.left != o.right and o.long >= min(self.face.length, 1500.0)]
        fit.sort(key=lambda o: (-o.worth, o.wide))
        return list(dict.fromkeys(round(o.wide, 1) for o in fit))[:MOST_STRIPS]

    def _outer(self, width: float) -> float:
        """About what an outer column of this width loses, were it a plain rectangle."""
        longest = max(
            (s.length for s in self.spec.sizes if s.width >= width - SAME_PLACE_MM), default=self.spec.longest
        )
        length = min(self.face.length, longest)
        return self.stack.quick_loss(width, length, False, True) * self.face.length / length

    def _inner_runs(self) -> set[float]:
        """Widths that inner columns can add up to, leaving less than two sheets for the outer ones."""
        runs, frontier = {0.0}, {0.0}
        for _ in range(self.most_columns - 2):
            frontier = {r + w for r in frontier for w in self.widths if r + w < self.face.width} - runs
            runs |= frontier
        return {r for r in runs if self.face.width - r <= 2 * self.spec.widest}

    def best_from(self, first: float) -> Columns | None:
        """The cheapest columns whose first joint is at `first`, in no more rows than allowed."""
        total, most = self.face.width, self.most_columns
        start = (first, 2)
        cost: dict[tuple[float, int], float] = {start: self._column(0.0, first) + self._joint(first)}
        before: dict[tuple[float, int], tuple[float, int]] = {}
        best, last = inf, None
        waiting = [start]
        while waiting:
            node = min(waiting)
            waiting.remove(node)
            at, columns = node
            if total - at <= self.spec.widest + FITS_MM:
                end = cost[node] + self._column(at, total)
                if end < best:
                    best, last = end, node
            for width in self.widths if columns < most else ():
                to = (round(at + width, 1), columns + 1)
                if to[0] >= total - SAME_PLACE_MM:
                    continue
                reached = cost[node] + self._column(at, to[0]) + self._joint(to[0])
                if reached < cost.get(to, inf):
                    if to not in cost:
                        waiting.append(to)
                    cost[to], before[to] = reached, node
        if last is None or best == inf:
            return None
        nodes = [last]
        while nodes[-1] in before:
            nodes.append(before[nodes[-1]])
        return Columns(tuple(at for at, _ in reversed(nodes)), best)

    def _joint(self, x: float) -> float:
        if x not in self.joint_known:
            weights, scale = self.spec.weights, self.spec.cost_per_m2
            solid = sum(hi - lo for lo, hi in self.face.solid_at(x)) / 1000.0
            weight = solid * weights["joint_m"] + jamb_faults(self.face, self.spec, x) * weights["joint_at_jamb"]
            if self.support.nogging_at_joints:
                weight += solid * weights["nogging_m"]
            if any(abs(x - other) < self.spec.layer_clear - KEEPS_MM for other in self.avoid):
                weight += weights["poor_stagger"]
            self.joint_known[x] = weight * scale
        return self.joint_known[x]

    def _column(self, lo: float, hi: float) -> float:
        key = (lo, hi)
        if key not in self.column_known:
            weights, scale = self.spec.weights, self.spec.cost_per_m2
            known = self.face.known.columns
            if key not in known:
                known[key] = tuple(self._part(part, lo, hi) for part in self.face.parts(lo, hi))
            loss = sum(self._cost(part) for part in known[key])
            for gap in self.face.gaps:
                if lo > gap.x0 and hi < gap.x1 and gap.x1 - gap.x0 <= self.spec.widest:
                    loss += weights["joint_too_many"] * scale
            self.column_known[key] = loss
        return self.column_known[key]

    def _cost(self, part: Taken) -> float:
        """About what a part costs with the off-cuts at hand."""
        if not part.length:
            return inf
        loss = self.stack.quick_loss(part.width, part.length, part.left, part.right) * part.times
        return loss - self.stack.worth.cut_round * part.free + part.weight

    def _part(self, part: Part, lo: float, hi: float) -> Taken:
        spec, weights = self.spec, self.spec.weights
        left = lo > 0 and part.x0 <= lo + SAME_PLACE_MM and not spec.cut_edge_joints
        right = hi < self.face.width and part.x1 >= hi - SAME_PLACE_MM and not spec.cut_edge_joints
        longest = max((s.length for s in spec.sizes if self._serves(s.width, part.width, left and right)), default=0.0)
        if not longest or longest + FITS_MM < part.length <= spec.longest + FITS_MM:
            return Taken(part.width, 0.0, left, right, 0.0, 0.0, 0.0)
        length = min(part.length, longest)
        free = (part.width * part.length - part.area) * spec.cost_per_mm2
        weight = weights["piece"]
        if part.width < spec.smallest_width - KEEPS_MM or part.length < spec.smallest_length - KEEPS_MM:
            weight += weights["sliver"]
        return Taken(part.width, length, left, right, part.length / length, free, weight * spec.cost_per_m2)

    def _serves(self, sheet: float, width: float, both_edges: bool) -> bool:
        return abs(sheet - width) < SAME_PLACE_MM if both_edges else sheet >= width - SAME_PLACE_MM
