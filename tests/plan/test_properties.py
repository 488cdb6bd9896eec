"""Properties of the whole plan stage: what a drawing says does not depend on where, how turned, in which unit or in
what order it was drawn. Checked on generated plans by hypothesis (seeds derandomised, so every run is the same)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise
from random import Random

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from takeoff.plan.model import Plan
from tests.draughtsman.cases import Case, make
from tests.draughtsman.run import read_case, understood
from tests.draughtsman.strokes import Line, Poly, Stroke, ring_lines
from tests.draughtsman.write import METRES

KINDS = ("house", "skew house", "two wings", "bays", "bow", "corridor")
quick = settings(
    max_examples=12, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck),
    phases=[Phase.explicit, Phase.generate])  # the cases are named by kind and seed: shrinking adds nothing
plans = st.tuples(st.sampled_from(KINDS), st.integers(0, 7))
TIDY_AREA = 1e-4
"""Square metres: far below the 0.01 m2 that anything is shown to."""


def case_of(plan: tuple[str, int]) -> Case:
    """A tidy plan drawn in millimetres."""
    case = make(*plan)
    return replace(case, page=replace(case.page, unit="mm"))


@cache
def as_drawn(plan: tuple[str, int]) -> Plan:
    return understood(read_case(case_of(plan)))


def same(a: Plan, b: Plan, share: float = 1e-5) -> None:
    """Rooms, their areas, perimeters and names, openings and their widths agree, wherever they lie."""
    assert len(a.rooms) == len(b.rooms) > 0
    assert len(a.openings) == len(b.openings)
    for kind in ("door", "window", "opening", "rooflight"):
        mine, yours = (sorted(o.width_m for o in p.openings if o.kind == kind) for p in (a, b))
        assert mine == pytest.approx(yours, abs=1e-3), kind
    for what in ("floor_area_m2", "perimeter_m"):
        mine, yours = (sorted(getattr(r, what) for r in p.rooms) for p in (a, b))
        assert mine == pytest.approx(yours, abs=TIDY_AREA, rel=share), what
    by_area = [sorted((round(r.floor_area_m2, 2), r.name) for r in p.rooms) for p in (a, b)]
    assert [n for _, n in by_area[0]] == [n for _, n in by_area[1]]


@quick
@given(plans, st.floats(-2e6, 2e6), st.floats(-2e6, 2e6))
def test_moving(plan: tuple[str, int], dx: float, dy: float) -> None:
    case = case_of(plan)
    moved = replace(case, page=replace(case.page, shift=(dx, dy)))
    same(as_drawn(plan), understood(read_case(moved)))


@quick
@given(plans, st.floats(0, 360))
def test_turning(plan: tuple[str, int], degrees: float) -> None:
    case = case_of(plan)
    turned = replace(case, page=replace(case.page, turn=degrees))
    same(as_drawn(plan), understood(read_case(turned)))


@quick
@example(("skew house", 0))  # beside a door that stands open against it lies a window
@example(("skew house", 6))
@given(plans)
def test_mirroring(plan: tuple[str, int]) -> None:
    case = case_of(plan)
    mirrored = replace(case, page=replace(case.page, mirrored=True))
    same(as_drawn(plan), understood(read_case(mirrored)))


@quick
@given(plans, st.sampled_from(sorted(METRES)))
def test_changing_the_unit(plan: tuple[str, int], unit: str) -> None:
    case = case_of(plan)
    other = replace(case, page=replace(case.page, unit=unit))
    same(as_drawn(plan), understood(read_case(other)))


@quick
@example(("house", 0), 0)
@given(plans, st.integers(0, 2**16))
def test_splitting_lines(plan: tuple[str, int], seed: int) -> None:
    """Cut anywhere, splinters beside corners included."""
    rng = Random(seed)
    cut = split(case_of(plan), lambda length: [rng.uniform(0, length) for _ in range(rng.randrange(4))])
    same(as_drawn(plan), understood(read_case(cut)))


def test_a_line_in_pieces_is_traced_to_each_piece_along_a_side() -> None:
    """Every wall line cut in two: a side that both halves run along names both."""
    plan = ("house", 0)
    halves = understood(read_case(split(case_of(plan), lambda length: [length / 2])))
    whole = as_drawn(plan)
    count = [sorted(len(side.handles) for room in p.rooms for side in room.sides) for p in (whole, halves)]
    assert sum(count[1]) > sum(count[0])


def split(case: Case, cuts: Callable[[float], list[float]]) -> Case:
    """Every wall line in pieces, cut at the distances from its start that `cuts` gives for its length."""
    pieces: list[Stroke] = []
    for stroke in case.strokes:
        if isinstance(stroke, Poly) and stroke.role == "wall":
            lines = ring_lines("wall", (*stroke.points, stroke.points[0]))
        else:
            lines = [stroke] if isinstance(stroke, Line) and stroke.role == "wall" else []
        if not lines:
            pieces.append(stroke)
        for line in lines:
            at = sorted([0.0, line.length, *cuts(line.length)])
            pieces += [Line("wall", line.at(p), line.at(q)) for p, q in pairwise(at) if q > p]
    return replace(case, strokes=tuple(pieces))


@quick
@given(plans, st.integers(0, 2**16))
def test_reordering(plan: tuple[str, int], seed: int) -> None:
    case = case_of(plan)
    strokes = list(case.strokes)
    Random(seed).shuffle(strokes)
    same(as_drawn(plan), understood(read_case(replace(case, strokes=tuple(strokes)))))
