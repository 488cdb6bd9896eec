"""The least board for any layout under the rules, if nothing that falls out of an opening is used again. Millimetres.

Cut every face into thin strips along its sheets. A strip that one sheet can span is in one piece; a longer one is
jointed somewhere and counts by its length. A strip over or under an opening near a jamb belongs to the piece beside the
jamb, because no joint goes there: it takes as much of its sheet as that piece. So do all strips over an opening no
wider than a sheet, because at most one joint goes over it. What strips of these lengths take at least follows from the
ways to fill a sheet's length with them. The joints chosen, and the widths of pieces, do not come into it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import floor

from takeoff.materials.board_faces import Face, Trapezoid
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_scales import best_scale, whole
from takeoff.materials.board_tolerances import FITS_MM, SAME_PLACE_MM, SPECK_MM

__all__ = ["bound_of_layouts"]

SLOPE_STEPS = 8
"""A sloping strip is taken as so many level ones, each at its least length."""
SLOPE_MM = 20.0
"""That length is rounded down to a multiple of this, so that a curve has not a hundred lengths."""


@dataclass(frozen=True, slots=True)
class _Boxed:
    """Strips from x0 to x1 that belong to a piece beside an opening, and that piece's length."""

    x0: float
    x1: float
    box: float


def bound_of_layouts(faces: Sequence[Sequence[Face]], spec: BoardSpec) -> float:
    """Square metres below which no layout goes that keeps the rules; `faces` has each surface's directions.

    A surface that may be laid either way counts only its own area, and so does a reveal.
    """
    single = [own[0] for own in faces if len(own) == 1 and own[0].surface.kind != "reveal"]
    settled = {face.surface.ref for face in single}
    either = float(sum(own[0].shape.area for own in faces if own and own[0].surface.ref not in settled)) / 1e6
    boxed = {id(face): tuple(_boxed(face, spec)) for face in single}
    fixed: dict[int, float] = defaultdict(float)
    loose = 0.0
    for face in single:
        for length, width in _strips(face, boxed[id(face)]):
            if length > spec.longest + FITS_MM:
                loose += length * width
            elif length >= SPECK_MM:
                fixed[whole(length)] += width
    sheets = sorted({size.length for size in spec.sizes})
    scale = best_scale(fixed, sheets, spec.kerf, spec.length_tolerance, loose, spec.smallest_length)
    counted = sum(width * scale.at(length) for length, width in fixed.items()) + loose * scale.rate
    return either + counted / 1e6


def _boxed(face: Face, spec: BoardSpec) -> Iterator[_Boxed]:
    if spec.cut_edge_joints:
        return
    for gap in face.gaps:
        left, right = _beside(face, gap.x0 - SPECK_MM, spec), _beside(face, gap.x1 + SPECK_MM, spec)
        width = gap.x1 - gap.x0
        if left and right and width <= spec.widest:
            yield _Boxed(gap.x0, gap.x1, min(left, right))
            continue
        if left:
            yield _Boxed(gap.x0, min(gap.x1, gap.x0 + spec.jamb_clear), left)
        if right and (not left or width > 2 * spec.jamb_clear):
            yield _Boxed(max(gap.x0, gap.x1 - spec.jamb_clear), gap.x1, right)


def _beside(face: Face, x: float, spec: BoardSpec) -> float:
    """Length of the strip beside a jamb, where it is in one piece; else 0."""
    solid = face.solid_at(x) if 0 < x < face.width else []
    if len(solid) != 1 or solid[0][1] - solid[0][0] > spec.longest + FITS_MM:
        return 0.0
    return solid[0][1] - solid[0][0]


def _strips(face: Face, boxed: Sequence[_Boxed]) -> Iterator[tuple[float, float]]:
    """(length, width) of all strips; a boxed one once, with its box."""
    for slab in face.slabs:
        for x0, x1, box in _cut_by(slab, boxed):
            if box is not None:
                yield box.box, x1 - x0
                continue
            for t in slab:
                cut = t.cut(x0, x1)
                if cut is not None:
                    yield from _level(cut)


def _cut_by(slab: Sequence[Trapezoid], boxed: Sequence[_Boxed]) -> Iterator[tuple[float, float, _Boxed | None]]:
    """The slab from left to right, in stretches that are boxed or not. One with nothing solid in it yields none."""
    if not slab:
        return
    places = {slab[0].x0, slab[0].x1}
    places |= {x for b in boxed for x in (b.x0, b.x1) if slab[0].x0 < x < slab[0].x1}
    ordered = sorted(places)
    for x0, x1 in pairwise(ordered):
        middle = (x0 + x1) / 2
        yield x0, x1, next((b for b in boxed if b.x0 < middle < b.x1), None)


def _level(t: Trapezoid) -> Iterator[tuple[float, float]]:
    """(length, width) of level strips inside a trapezoid."""
    at0, at1 = t.high0 - t.low0, t.high1 - t.low1
    steps = 1 if abs(at0 - at1) < SAME_PLACE_MM else SLOPE_STEPS
    for n in range(steps):
        a, b = n / steps, (n + 1) / steps
        least = min(at0 + (at1 - at0) * a, at0 + (at1 - at0) * b)
        yield (least if steps == 1 else floor(least / SLOPE_MM) * SLOPE_MM), (t.x1 - t.x0) / steps
