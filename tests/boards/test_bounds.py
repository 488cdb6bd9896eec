"""The bounds against small cases worked out by hand and against an independent exact packing (OR-Tools CP-SAT)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.job import job_from
from takeoff.materials.board_bound import bound_of_pieces, in_sheets
from takeoff.materials.board_offcuts import Blank, Stack, Worth
from takeoff.materials.board_scales import best_scale
from takeoff.materials.board_together import Option, Standing, cut_together, recut
from takeoff.materials.boards import board_spec, lay_boards

from .rooms import ceiling, wall

WHOLE = ((2400.0, 1200.0),)


def exact(sizes: list[tuple[int, int]], sheet: tuple[int, int], kerf: int, edged: Sequence[int] = ()) -> int:
    """The fewest sheets (width, length) that rectangles can be cut from, in any way at all, a saw cut between two.

    Those `edged`, by number, lie along a long edge of their sheet.
    """
    from ortools.sat.python import cp_model

    for sheets in range(1, len(sizes) + 1):
        model = cp_model.CpModel()
        across, along = [], []
        for n, (width, length) in enumerate(sizes):
            number = model.new_int_var(0, sheets - 1, f"s{n}")
            x = model.new_int_var(0, sheet[0] - width, f"x{n}")
            y = model.new_int_var(0, sheet[1] - length, f"y{n}")
            if n in edged:
                model.add_allowed_assignments([x], [(0,), (sheet[0] - width,)])
            place = model.new_int_var(0, sheets * (sheet[0] + kerf), f"p{n}")
            model.add(place == x + number * (sheet[0] + kerf))
            across.append(model.new_fixed_size_interval_var(place, width + kerf, f"i{n}"))
            along.append(model.new_fixed_size_interval_var(y, length + kerf, f"j{n}"))
        model.add_no_overlap_2d(across, along)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        if solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return sheets
    raise AssertionError("one sheet each is always enough")


pieces = st.lists(st.tuples(st.integers(160, 1200), st.integers(160, 2400)), min_size=1, max_size=6)


narrow = st.lists(st.tuples(st.integers(160, 700), st.integers(900, 2400)), min_size=1, max_size=6)


@given(narrow, st.lists(st.integers(0, 5), unique=True))
@settings(max_examples=40, deadline=None)
def test_no_cutting_of_edged_pieces_goes_below_the_bound(sizes: list[tuple[int, int]], edged: list[int]) -> None:
    """Narrow ones above all, so that many would fit a sheet but for its having two factory edges only."""
    rules = board_spec("board", 12.5, "dabs", job_from({"boards": {"kerf_mm": 3}}), WHOLE)
    rules = replace(rules, width_tolerance=0.0, length_tolerance=0.0)
    blanks = [Blank(str(n), "R1", float(w), float(h), n in edged, False) for n, (w, h) in enumerate(sizes)]
    assert bound_of_pieces(blanks, rules) <= exact(sizes, (1200, 2400), 3, edged) * 2.88 + 1e-6


def test_three_strips_that_need_a_factory_edge_take_two_sheets() -> None:
    """Three of 300 x 2400 are 900 wide together, but a sheet has two such edges."""
    rules = board_spec("board", 12.5, "dabs", job_from({}), WHOLE)
    blanks = [Blank(str(n), "R1", 300.0, 2400.0, False, True) for n in range(3)]
    assert bound_of_pieces(blanks, rules) == pytest.approx(2 * 2.88)
    assert bound_of_pieces([replace(b, right=False) for b in blanks], rules) == pytest.approx(2.88)


def test_pieces_of_which_no_two_fit_one_sheet_take_one_each() -> None:
    """700 x 1300, 620 x 2000 and 1100 x 1150 are 3.41 m2, less than two sheets of 1200 x 2400; but 700 + 620 and 700 +
    1100 are over 1200, 1300 + 1150 over 2400. The first and the third go nowhere together, nor any other two."""
    rules = board_spec("board", 12.5, "dabs", job_from({}), WHOLE)
    sizes = [(700.0, 1300.0), (620.0, 2000.0), (1100.0, 1150.0)]
    blanks = [Blank(str(n), "R1", w, h, False, False) for n, (w, h) in enumerate(sizes)]
    assert bound_of_pieces(blanks, rules) == pytest.approx(3 * 2.88)


@given(pieces, st.sampled_from([0, 3]))
@settings(max_examples=40, deadline=None)
def test_no_cutting_goes_below_the_bound_nor_ours_below_the_exact_one(sizes: list[tuple[int, int]], kerf: int) -> None:
    """Sheets without tolerance, pieces without factory edges, so that the exact packing has the same task."""
    rules = board_spec("board", 12.5, "dabs", job_from({"boards": {"kerf_mm": kerf}}), WHOLE)
    rules = replace(rules, width_tolerance=0.0, length_tolerance=0.0)
    blanks = [Blank(str(n), "R1", float(w), float(h), False, False) for n, (w, h) in enumerate(sizes)]
    least = exact(sizes, (1200, 2400), kerf) * 2.88
    assert bound_of_pieces(blanks, rules) <= least + 1e-6
    stack = Stack(rules, Worth(rules, 1800.0))
    for blank in sorted(blanks, key=lambda b: -b.width * b.length):
        stack.place(blank)
    assert recut(stack, blanks).cost >= least - 1e-6


@given(
    st.dictionaries(st.integers(200, 2900), st.integers(1, 9).map(float), min_size=1, max_size=4),
    st.sampled_from([0.0, 500.0]),
)
@settings(max_examples=40, deadline=None)
def test_a_scale_holds_for_every_filling(wanted: Mapping[int, float], loose: float) -> None:
    """Every set of lengths that fits a sheet, listed one by one, counts no more than the sheet."""
    sheets, kerf, tolerance = (2400.0, 3000.0), 3, 5
    scale = best_scale(wanted, sheets, kerf, tolerance, loose * 1000, 150.0)
    lengths = sorted(wanted)
    for sheet in sheets:
        room = int(sheet) - tolerance + kerf
        for counts in product(*(range(room // (n + kerf) + 1) for n in lengths)):
            used = sum(c * (n + kerf) for c, n in zip(counts, lengths, strict=True))
            if used > room:
                continue
            rest = room - kerf - used
            value = sum(c * scale.at(n) for c, n in zip(counts, lengths, strict=True))
            value += scale.rate * rest if rest >= 150 else 0.0
            assert value <= sheet * (1 + 1e-6)
    assert all(scale.at(n) <= min(s for s in sheets if s >= n) + 1e-6 for n in lengths)


@given(
    st.lists(st.tuples(st.integers(900, 3100), st.integers(600, 1300)), min_size=1, max_size=3),
    st.floats(0.0, 30.0),
)
@settings(max_examples=60, deadline=None)
def test_whole_sheets_add_up_to_no_less_than_the_bound_says(sizes: list[tuple[int, int]], least: float) -> None:
    """Against every set of sheets, listed one by one."""
    rules = board_spec("board", 12.5, "dabs", job_from({}), [(float(n), float(w)) for n, w in sizes])
    areas = [n * w / 1e6 for n, w in sizes]
    sums = [
        sum(k * a for k, a in zip(counts, areas, strict=True))
        for counts in product(*(range(int(least / a) + 2) for a in areas))
    ]
    truth = min(total for total in sums if total >= least - 1e-9)
    assert least - 1e-9 <= in_sheets(least, rules) <= truth + 1e-9
    nearly = min(total for total in sums if total >= least - 1e-3)  # less is no piece of board
    assert in_sheets(least, rules) >= nearly - 0.1 or nearly - least < 0.1 or len(areas) > 1


def test_two_pieces_over_half_a_sheet_wide_take_two_sheets() -> None:
    """By area 700 x 2400 twice is 3.36 m2; no sheet 1200 wide yields both."""
    rules = board_spec("board", 12.5, "dabs", job_from({}), WHOLE)
    blanks = [Blank(str(n), "R1", 700.0, 2400.0, False, True) for n in range(2)]
    assert bound_of_pieces(blanks, rules) == pytest.approx(5.76)


def test_a_low_wall_counts_the_sheet_that_spans_it() -> None:
    """2.35 m high from 2.4 m sheets: 4.8 m of wall take 4.8 x 2.4, whatever the joints."""
    layout = lay_boards([wall("R1-W1", 4.8, 2.35)], board_spec("board", 12.5, "dabs", job_from({}), WHOLE))
    assert layout.strips_m2 == pytest.approx(4.8 * 2.4)
    assert layout.bought_m2 == pytest.approx(4 * 2.88)


def test_a_door_counts_as_board_because_no_joint_goes_beside_it() -> None:
    """3.6 m of wall with a door of 0.84 m in it: pieces over the door reach beside it, so 3.6 x 2.4 m are taken."""
    door = wall("R1-W1", 3.6, 2.4, (1.5, 0.0, 2.34, 2.04))
    layout = lay_boards([door], board_spec("board", 12.5, "dabs", job_from({}), WHOLE))
    assert layout.strips_m2 == pytest.approx(3.6 * 2.4)
    assert layout.net_m2 == pytest.approx(3.6 * 2.4 - 0.84 * 2.04)


def test_a_run_longer_than_any_sheet_counts_its_own_length() -> None:
    layout = lay_boards([ceiling("R1-C1", 5.1, 2.4)], board_spec("board", 12.5, "dabs", job_from({}), WHOLE))
    assert layout.strips_m2 == pytest.approx(5 * 2.88)  # 12.24 m2, in whole sheets
    assert layout.strips_m2 <= layout.bought_m2


def test_options_and_sheets_are_chosen_together() -> None:
    """Two walls, each to be cut as 700 + 700 or as 700 + 500 wide, 2400 long, one edge a factory's. A sheet of 1200, at
    least 1196, yields two of 500 but no two of which one is 700. So four sheets, but three where both take 700 + 500.
    """
    rules = board_spec("board", 12.5, "dabs", job_from({}), WHOLE)

    def option(wall: int, *widths: float) -> Option:
        return Option(tuple(Blank(f"{wall}-{n}", "R1", w, 2400.0, False, True) for n, w in enumerate(widths)), 0.0)

    options = [[option(wall, 700.0, 700.0), option(wall, 700.0, 500.0)] for wall in (1, 2)]
    first = [blank for own in options for blank in own[0].blanks]
    stack = Stack(rules, Worth(rules, 1800.0))
    for blank in first:
        assert stack.begin(blank, rules.sizes[0])
    cut, chosen = cut_together(options, [Standing(stack, {blank.ref: blank for blank in first})])
    assert chosen == [1, 1]
    assert len(cut.sheets) == 3
    assert sorted(c.blank for c in cut.cuts) == ["1-0", "1-1", "2-0", "2-1"]


def test_much_board_is_rounded_up_to_whole_sheets_at_once() -> None:
    """A hundred thousand square metres: no list of all sums is made."""
    odd = board_spec("board", 12.5, "dabs", job_from({}), [(2411.0, 1203.0), (2999.0, 1207.0)])
    assert 1e5 <= in_sheets(1e5, odd) <= 1e5 + 2.411 * 1.203
    usual = board_spec("board", 12.5, "dabs", job_from({}), WHOLE)
    assert in_sheets(1e4, usual) == pytest.approx(3473 * 2.88)
