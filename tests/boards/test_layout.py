"""Boards as laid: every sheet cut again, the rules kept, counts against published and derived examples."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon

from takeoff.job import Job, job_from
from takeoff.materials.boards import BoardLayout, BoardSpec, board_spec, jointing_m, lay_boards
from takeoff.measure.model import Edge, Surface

from .recutting import recut
from .rooms import ceiling, gable, house, reveal, room, surface, wall

FOOT = 304.8
FOUR_BY_EIGHT = ((8 * FOOT, 4 * FOOT),)
WHOLE = ((2400.0, 1200.0),)


def spec(
    fixed: str = "dabs", sizes: tuple[tuple[float, float], ...] = (), job: Job | None = None, **table: Any
) -> BoardSpec:
    return board_spec("board-12-5", 12.5, fixed, job or job_from({"boards": table}), sizes)


def laid(surfaces: list[Surface], rules: BoardSpec | None = None) -> BoardLayout:
    layout = lay_boards(surfaces, rules or spec())
    recut(layout, surfaces)
    return layout


# --- Every sheet cut again -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("fixed", ["timber", "metal", "dabs"])
def test_a_whole_house_can_be_cut_as_planned(fixed: str) -> None:
    layout = laid(house(), spec(fixed))
    assert not layout.left_out
    assert layout.bound_m2 <= layout.bought_m2 <= 1.03 * layout.bound_m2


@pytest.mark.parametrize(
    "table",
    [
        {"stock": [{"length": 2.4, "width": 1.2}]},
        {"stock": [{"length": 3.0, "width": 0.9}, {"length": 1.8, "width": 0.9}]},
        {"wall_direction": "along", "ceiling_direction": "short"},
        {"wall_direction": "best", "ceiling_direction": "best"},
        {"cut_edge_joints": True, "kerf_mm": 6},
        {"smallest_width_mm": 300, "smallest_length_mm": 600, "stagger_mm": 600, "jamb_clear_mm": 50},
    ],
)
def test_other_stock_and_other_rules_can_be_cut_as_planned(table: dict[str, Any]) -> None:
    layout = laid(house(), spec("timber", **table))
    assert not layout.left_out
    assert layout.bound_m2 <= layout.bought_m2


lengths = st.floats(0.35, 9.0).map(lambda n: round(n, 3))
heights = st.sampled_from([2.05, 2.3, 2.4, 2.55, 2.7, 3.0, 3.4, 5.2])


@st.composite
def walls(draw: st.DrawFn) -> Surface:
    """A wall with up to three openings anywhere, at floor level or above it, that do not touch."""
    length, height = draw(lengths), draw(heights)
    holes, at = [], 0.0
    for _ in range(draw(st.integers(0, 3))):
        x0 = at + draw(st.floats(0.0, 1.5))
        x1 = x0 + draw(st.floats(0.3, 2.5))
        sill = draw(st.sampled_from([0.0, 0.0, 0.9, 1.2]))
        if x1 >= length:
            break
        holes.append((round(x0, 3), sill, round(x1, 3), min(height, sill + draw(st.sampled_from([0.6, 1.05, 2.04])))))
        at = round(x1, 3) + 0.1
    return wall(f"R1-W{draw(st.integers(1, 10**6))}", length, height, *holes)


@given(st.lists(walls(), min_size=1, max_size=5, unique_by=lambda s: s.ref), st.sampled_from(["timber", "dabs"]))
@settings(max_examples=25, deadline=None)
def test_any_walls_can_be_cut_as_planned(surfaces: list[Surface], fixed: str) -> None:
    layout = laid(surfaces, spec(fixed))
    assert layout.bound_m2 <= layout.bought_m2 + 1e-9
    assert not layout.left_out


corner = st.floats(0.5, 6.0).map(lambda n: round(n, 3))


@given(corner, corner, st.floats(0.2, 0.8), st.floats(0.2, 0.8), st.booleans())
@settings(max_examples=25, deadline=None)
def test_any_l_shaped_ceiling_can_be_cut_as_planned(a: float, b: float, u: float, v: float, hole: bool) -> None:
    c, d = round(a * u, 3), round(b * v, 3)
    outline = ((0, 0), (a, 0), (a, d), (c, d), (c, b), (0, b))
    holes = [(round(c * 0.2, 3), round(d * 0.2, 3), round(c * 0.6, 3), round(d * 0.7, 3))] if hole else []
    laid([surface("R1-C1", outline, holes, kind="ceiling")])


@given(st.floats(0.3, 3.0), st.floats(0.1, 2.5), st.floats(1.0, 8.0))
@settings(max_examples=25, deadline=None)
def test_any_gable_can_be_cut_as_planned(eaves: float, rise: float, length: float) -> None:
    sides = (round(length, 3), round(eaves, 3), round(eaves + rise, 3))
    laid([gable("R1-W1", *sides), gable("R2-W1", *sides)], spec("timber"))


def test_a_turned_room_is_laid_along_its_own_walls() -> None:
    """A ceiling 4.8 x 2.4 m turned by 17 degrees takes four whole sheets, as it does straight."""
    from math import cos, radians, sin

    c, s = cos(radians(17)), sin(radians(17))
    corners = [(0.0, 0.0), (4.8, 0.0), (4.8, 2.4), (0.0, 2.4)]
    turned = surface("R1-C1", [(50 + c * x - s * y, 9 + s * x + c * y) for x, y in corners], kind="ceiling")
    layout = laid([turned], spec(sizes=WHOLE))
    assert layout.buy == ((2400.0, 1200.0, 4),)


def test_the_same_input_gives_the_same_layout() -> None:
    surfaces = house()[:16]
    assert repr(lay_boards(surfaces, spec())) == repr(lay_boards(surfaces, spec()))


# --- Off-cuts -----------------------------------------------------------------------------------------------------


def test_an_off_cut_serves_the_next_room() -> None:
    """Two walls 1.79 m long: 1.2 m and 0.59 m each. Both narrow strips come from one sheet: 590 + 3 + 590 < 1196."""
    layout = laid([wall("R1-W1", 1.79, 2.4), wall("R2-W1", 1.79, 2.4)], spec(sizes=WHOLE))
    assert layout.buy == ((2400.0, 1200.0, 3),)
    assert sum(p.off_cut for own in layout.surfaces.values() for p in own.pieces) == 1


def test_a_strip_that_only_a_full_size_sheet_would_yield_is_not_counted_on() -> None:
    """Strips of 598.5 mm: two and a saw cut make 1200 mm, but a sheet may be 4 mm narrower (data sheet to EN 520)."""
    layout = laid([wall("R1-W1", 1.7985, 2.4), wall("R2-W1", 1.7985, 2.4)], spec(sizes=WHOLE))
    assert layout.buy == ((2400.0, 1200.0, 4),)


def test_a_cut_edge_is_no_factory_edge() -> None:
    """Three strips of 396 mm fit one sheet, but it has two factory edges, and each strip needs one at its joint.
    Where cut edges may meet a joint, one sheet serves all three."""
    surfaces = [wall(f"R{n}-W1", 1.596, 2.4) for n in range(3)]
    assert laid(surfaces, spec(sizes=WHOLE)).buy == ((2400.0, 1200.0, 5),)
    assert laid(surfaces, spec(sizes=WHOLE, cut_edge_joints=True)).buy == ((2400.0, 1200.0, 4),)


def test_reveals_come_out_of_what_a_door_leaves() -> None:
    """Reveal strips 2.0 x 0.10 m take no sheet of their own beside a wall with a door."""
    door = wall("R1-W1", 2.4, 2.4, (0.5, 0.0, 1.34, 2.04))
    strips = [reveal(f"R1-W1-D1-{part}", 2.0, 0.1) for part in ("left", "right")]
    assert laid([door], spec(sizes=WHOLE)).buy == laid([door, *strips], spec(sizes=WHOLE)).buy


def test_slopes_are_nested_along_their_slope() -> None:
    """Two strips 1.2 m wide, 0.6 m high at one side and 1.7 m at the other, come from one 2.4 m sheet end for end."""
    low = surface("R1-W1", ((0, 0), (1.2, 0), (1.2, 1.7), (0, 0.6)))
    same = surface("R2-W1", ((0, 0), (1.2, 0), (1.2, 1.7), (0, 0.6)))
    assert laid([low, same], spec(sizes=WHOLE)).buy == ((2400.0, 1200.0, 1),)


# --- Rules --------------------------------------------------------------------------------------------------------


def test_no_joint_in_line_with_a_jamb() -> None:
    """Whole sheets from the left would put joints at 1.2 and 2.4 m, in line with both jambs of this window."""
    window = wall("R1-W1", 4.0, 2.4, (1.2, 0.9, 2.4, 2.1))
    layout = laid([window], spec())
    own = layout.surfaces["R1-W1"]
    assert not own.notes
    for joint in own.joints:
        assert min(abs(joint.start[0] - jamb) for jamb in (1.2, 2.4)) >= 0.149


def test_inner_columns_are_whole_sheets_and_joints_are_factory_edges() -> None:
    layout = laid(house(), spec("timber"))
    widths = {sheet.number: sheet.width_mm for sheet in layout.sheets}
    places = {p.piece: p.outline for sheet in layout.sheets for p in sheet.pieces}
    for own in layout.surfaces.values():
        assert {j.kind for j in own.joints} <= {"tapered", "end"}
        lines = [LineString([j.start, j.end]) for j in own.joints if j.kind == "tapered"]
        for piece in own.pieces:
            shape = Polygon(piece.outline)
            sides = {round(x, 3) for line in lines if shape.distance(line) < 1e-6 for x in line.coords[0]}
            touching = [line for line in lines if shape.exterior.intersection(line.buffer(1e-6)).length > 0.01]
            if not touching or not sides:
                continue
            xs = [x for x, _ in places[piece.ref]]
            at_edges = (min(xs) < 0.5) + (max(xs) > widths[piece.sheet] - 4.5)
            across = {(round(line.coords[0][0], 3), round(line.coords[0][1], 3)) for line in touching}
            assert at_edges >= min(2, len(_distinct_lines(touching, own.direction))), (piece.ref, across)


def _distinct_lines(lines: list[LineString], direction: str) -> set[float]:
    """Places of joints across the sheets: x of upright joints, y of level ones."""
    upright = [abs(line.coords[0][0] - line.coords[1][0]) < 1e-6 for line in lines]
    return {round(line.coords[0][0 if up else 1], 3) for line, up in zip(lines, upright, strict=True)}


def test_end_joints_are_few_staggered_and_none_where_a_sheet_spans() -> None:
    """4.2 m takes two pieces in each row; joints of neighbouring rows lie at least a joist (400 mm) apart."""
    own = laid([ceiling("R1-C1", 4.2, 3.5)], spec("timber")).surfaces["R1-C1"]
    ends = sorted((min(j.start[1], j.end[1]), j.start[0]) for j in own.joints if j.kind == "end")
    assert len(ends) == len(own.lines_mm) + 1
    assert len(own.pieces) == 2 * len(ends)
    assert all(abs(a[1] - b[1]) >= 0.3995 for a, b in pairwise(ends))
    short = laid([ceiling("R1-C1", 2.9, 2.4), wall("R1-W1", 3.3, 2.9)], spec("timber"))
    assert short.joint_m("end") == 0


def test_a_tall_wall_staggers_its_end_joints() -> None:
    own = laid([wall("R1-W1", 3.6, 5.0)], spec("timber")).surfaces["R1-W1"]
    assert not own.notes
    heights = [j.start[1] for j in own.joints if j.kind == "end"]
    assert len(heights) >= 3
    assert own.fixings.noggings_m == pytest.approx(sum(j.length_m for j in own.joints if j.kind == "end"))


def test_the_second_layer_keeps_clear_of_the_first() -> None:
    surfaces = [wall("R1-W1", 5.3, 2.4), ceiling("R1-C1", 4.1, 3.3)]
    first = laid(surfaces)
    second = lay_boards(surfaces, spec(), under=[first])
    recut(second, surfaces)
    for ref in ("R1-W1", "R1-C1"):
        below = first.surfaces[ref].lines_mm
        assert all(abs(a - b) >= 199.5 for a in second.surfaces[ref].lines_mm for b in below)


def test_framing_given_by_the_job_decides_where_joints_go() -> None:
    own = laid([wall("R1-W1", 4.0, 2.4)], spec("timber", framing_from={"R1-W1": 0.25})).surfaces["R1-W1"]
    assert all((x - 250.0) % 600.0 == pytest.approx(0.0, abs=0.2) for x in own.lines_mm)


def test_a_tight_curve_is_cautioned() -> None:
    bent = surface("R1-W1", ((0, 0), (3, 0), (3, 2.4), (0, 2.4)), curved=True, radius_m=1.5)
    slack = surface("R1-W2", ((0, 0), (3, 0), (3, 2.4), (0, 2.4)), curved=True, radius_m=9.0)
    layout = laid([bent, slack])
    assert "tighter" in " ".join(layout.surfaces["R1-W1"].notes)
    assert not layout.surfaces["R1-W2"].notes


def test_prices_decide_when_all_are_known() -> None:
    """Three 2.4 m sheets or four cheap 1.8 m ones for a wall 1.8 m high: the price says which."""
    low = [wall("R1-W1", 3.6, 1.8)]
    stock = [{"length": 2.4, "width": 1.2, "price": "5"}, {"length": 1.8, "width": 1.2, "price": "9"}]
    assert laid(low, spec(stock=stock)).buy == ((2400.0, 1200.0, 3),)
    stock[1]["price"] = "4"
    assert laid(low, spec(stock=stock)).buy == ((1800.0, 1200.0, 3),)


# --- Published and derived examples -------------------------------------------------------------------------------


@pytest.mark.parametrize(("length", "height", "sheets"), [(3.1, 2.4, 3), (3.7, 2.4, 4)])
def test_sheets_of_a_wall_as_derived(length: float, height: float, sheets: int) -> None:
    """DX07: by area and by layout 3.1 m takes 3, 3.7 m takes 4 sheets of 1.2 x 2.4."""
    assert len(laid([wall("R1-W1", length, height)], spec(sizes=WHOLE)).sheets) == sheets


def test_a_wall_a_little_higher_than_a_sheet_takes_longer_sheets() -> None:
    """DX07: at 2.5 m a 2.4 m sheet leaves a strip of 100 mm, so 2.7 or 3.0 m sheets are used."""
    layout = laid([wall("R1-W1", 3.1, 2.5)])
    assert {sheet.length_mm for sheet in layout.sheets} == {2700.0}
    assert layout.joint_m("end") == 0


@pytest.mark.parametrize(("centres", "screws"), [(600, 27), (400, 36)])
def test_screws_of_a_sheet_on_a_wall_as_derived(centres: int, screws: int) -> None:
    """DX06: one 1.2 x 2.4 sheet at 300 mm: 3 studs x 9 at 600 centres, 4 x 9 at 400."""
    rules = spec("timber", WHOLE, job_from({"framing": {"wall_centres": centres}}))
    assert laid([wall("R1-W1", 1.2, 2.4)], rules).surfaces["R1-W1"].fixings.screws == screws


def test_screws_of_a_sheet_on_a_ceiling_as_derived() -> None:
    """DX06: 230 mm on joists at 400: 7 per joist x 7 joists = 49."""
    rules = spec("timber", WHOLE, job_from({"framing": {"ceiling_centres": 400}}))
    assert laid([ceiling("R1-C1", 2.4, 1.2)], rules).surfaces["R1-C1"].fixings.screws == 49


def test_screws_go_closer_at_an_external_angle() -> None:
    """K10 cl. 610: 200 mm instead of 300 at the external angle: 13 instead of 9 on that stud of 2.4 m."""
    one, other = wall("R1-W1", 1.2, 2.4), wall("R1-W2", 1.2, 2.4)
    edge = Edge("R1-E1", "R1", "external angle", 2.4, "", ("R1-W1", "R1-W2"))
    layout = lay_boards([one, other], spec("timber", WHOLE), [edge])
    assert [layout.surfaces[r].fixings.screws for r in ("R1-W1", "R1-W2")] == [31, 31]


def test_adhesive_by_dab_rows() -> None:
    """The published 5.4 kg/m2 (25 kg to 4.6 m2, a data sheet to EN 14496) stands for a whole 12.5 x 1200 sheet."""
    layout = laid([wall("R1-W1", 1.2, 2.4)], spec("dabs", WHOLE))
    assert layout.surfaces["R1-W1"].fixings.adhesive_kg == pytest.approx(5.4 * 2.88)
    assert layout.surfaces["R1-W1"].fixings.screws == 0


def test_twenty_rooms_take_as_many_sheets_as_published() -> None:
    """WE20 (Elementary Technical Mathematics 1.3 ex. 16): 20 rooms 12 x 16 x 8 ft with ceilings, 400 sheets of
    32 sq ft, no waste. One room: 20 sheets."""
    twelve, sixteen, eight = 12 * FOOT / 1000, 16 * FOOT / 1000, 8 * FOOT / 1000
    one = room("R1", sixteen, twelve, eight)
    layout = laid(one, spec(sizes=FOUR_BY_EIGHT))
    assert len(layout.sheets) == 20
    assert layout.bound_m2 == pytest.approx(640 * FOOT**2 / 1e6, rel=1e-3)


def test_a_small_room_takes_as_many_sheets_as_published() -> None:
    """WE21 (carpentry practice question): 12 x 8 x 8 ft with ceiling, 416 sq ft: 13 sheets of 32. The ceiling takes
    three whole sheets the short way; the long way a sheet would have to make two whole halves, saw cut and all."""
    one = room("R1", 12 * FOOT / 1000, 8 * FOOT / 1000, 8 * FOOT / 1000)
    assert len(laid(one, spec(sizes=FOUR_BY_EIGHT, ceiling_direction="best")).sheets) == 13
    assert len(laid(one, spec(sizes=FOUR_BY_EIGHT)).sheets) == 14


def test_a_long_wall_takes_as_many_sheets_as_published() -> None:
    """WE23 (howtobuildplans.com): 135 ft of wall 8 ft high: 33.75, so 34 sheets."""
    assert len(laid([wall("R1-W1", 135 * FOOT / 1000, 8 * FOOT / 1000)], spec(sizes=FOUR_BY_EIGHT)).sheets) == 34


@pytest.mark.parametrize(
    ("surfaces", "by_area", "with_waste"),
    [
        ([wall("R1-W1", 148 * FOOT / 1000, 8 * FOOT / 1000)], 37, 39),
        ([wall(f"R{n}-W1", 149 * FOOT / 1000, 8 * FOOT / 1000) for n in (1, 2)], 75, 79),
        ([ceiling("R1-C1", 50 * FOOT / 1000, 24 * FOOT / 1000)], 38, 40),
    ],
)
def test_sheets_lie_between_the_textbook_s_count_and_its_order(
    surfaces: list[Surface], by_area: int, with_waste: int
) -> None:
    """WE16 (Estimating in Building Construction, Example 16-3): sheets by area, and ordered with 5 % waste."""
    assert by_area <= len(laid(surfaces, spec(sizes=FOUR_BY_EIGHT)).sheets) <= with_waste


def test_commercial_walls_against_the_textbook() -> None:
    """WE17 (Estimating in Building Construction, Example 16-2): 346 ft of wall 10 ft high, both sides, 10 ft sheets
    upright: 183 with 5 % waste; tape 380 ft to 1000 sq ft with all angles, so the joints alone take less; 1000 screws
    to 1000 sq ft (10.8 per m2, another source 12.1): at the 300 mm of K10 cl. 610 some more."""
    sides = [wall(f"R{n}-W1", 346 * FOOT / 1000, 10 * FOOT / 1000) for n in (1, 2)]
    rules = spec("timber", ((10 * FOOT, 4 * FOOT),), job_from({"framing": {"wall_centres": 600}}))
    layout = laid(sides, rules)
    assert 173 <= len(layout.sheets) <= 183
    tape_m_per_m2 = 380 * FOOT / 1000 / (1000 * FOOT**2 / 1e6)
    assert 0.5 * tape_m_per_m2 < layout.joint_m() / layout.net_m2 < tape_m_per_m2
    screws = sum(own.fixings.screws for own in layout.surfaces.values())
    assert 9.0 <= screws / layout.net_m2 <= 13.5


def test_scrim_runs_on_joints_and_angles_but_not_under_beads() -> None:
    surfaces = [wall("R1-W1", 2.4, 2.4), wall("R1-W2", 2.4, 2.4)]
    layout = laid(surfaces, spec(sizes=WHOLE))
    edges = [
        Edge("R1-E1", "R1", "internal angle", 2.4, "", ("R1-W1", "R1-W2")),
        Edge("R1-E2", "R1", "external angle", 2.4, "", ("R1-W2", "R1-W3")),
        Edge("R1-E3", "R1", "wall to ceiling", 2.4, "", ("R1-W1", "R1-C1")),
        Edge("R2-E1", "R2", "internal angle", 2.4, "", ("R2-W1", "R2-W2")),
    ]
    assert jointing_m(layout, edges) == {"R1": pytest.approx(2 * 2.4 + 2.4 + 2.4)}


def test_plots_that_are_alike_are_laid_alike_and_cut_together() -> None:
    """Three plots of one room: every sheet cut again, pieces alike plot by plot, and no more than three times one."""
    own = room("R1", 4.2, 3.6, 2.4, (0.3, 0.0, 1.14, 2.04))
    plots = [replace(s, ref=f"{n}/{s.ref}", room=f"{n}/{s.room}") for n in (1, 2, 3) for s in own]
    rules = board_spec("board-12-5", 12.5, "timber", job_from({}))
    alone, together = lay_boards(own, rules), lay_boards(plots, rules)
    recut(together, plots)
    assert together.bought_m2 <= 3 * alone.bought_m2 + 1e-9
    assert together.bound_m2 <= together.bought_m2 + 1e-9
    for s in own:
        pieces = [together.surfaces[f"{n}/{s.ref}"].pieces for n in (1, 2, 3)]
        sizes = [[(p.width_mm, p.length_mm) for p in own] for own in pieces]
        assert sizes[0] == sizes[1] == sizes[2]
        assert [own[0].ref for own in pieces] == [f"{n}/{s.ref}-1" for n in (1, 2, 3)]


def test_two_small_ceilings_from_four_sheets() -> None:
    """2.5 x 2.1 m and 2.1 x 1.6 m from 2400 x 1200. A sheet whose piece is 2.1 long leaves 292 mm of its end: 2.5 m are
    2208 + 292, twice, the ends staggered. So four sheets do; three would be 8.64 m2 for 8.61 m2 of ceiling.
    """
    both = [ceiling("R1-C1", 2.5, 2.1), ceiling("R2-C1", 2.1, 1.6)]
    layout = lay_boards(both, board_spec("board-12-5", 12.5, "timber", job_from({}), WHOLE))
    recut(layout, both)
    assert [(length, width, number) for length, width, number in layout.buy] == [(2400.0, 1200.0, 4)]


@pytest.mark.parametrize(("centres", "metres"), [(400, 2 * 3.6), (600, 2 * 3.6 + 3.6)])
def test_noggings_where_edges_lack_support(centres: int, metres: float) -> None:
    """A ceiling of 3.6 x 2.4 m, its joists the shorter way, sheets across them. Both long sides lie at the ends of the
    joists, between two of them: perimeter noggings (NHBC 9.2.4, 2022). The joint between the two rows of sheets needs
    them only where 12.5 mm board spans more than 450 mm (its Table 5). End joints lie on joists and need none."""
    job = job_from({"framing": {"ceiling_centres": centres}})
    own = laid([ceiling("R1-C1", 3.6, 2.4)], spec("timber", job=job)).surfaces["R1-C1"]
    assert own.fixings.noggings_m == pytest.approx(metres)
    assert len({j.kind for j in own.joints}) == 2
