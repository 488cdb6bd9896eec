"""Boards round openings that are no rectangles: arched heads, round windows, openings under a slope. All cut again."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from takeoff.job import job_from
from takeoff.materials.boards import BoardLayout, board_spec, lay_boards
from takeoff.measure.model import Surface
from takeoff.measure.rooms import measure
from tests.measure.plans import opening, plan, rectangle

from .recutting import recut
from .rooms import surface

WHOLE = ((2400.0, 1200.0),)
Ring = tuple[tuple[float, float], ...]


def laid(surfaces: list[Surface], sizes: tuple[tuple[float, float], ...] = ()) -> BoardLayout:
    layout = lay_boards(surfaces, board_spec("board-12-5", 12.5, "dabs", job_from({}), sizes))
    recut(layout, surfaces)
    return layout


def arched(x: float, sill: float, width: float, springing: float, steps: int = 24) -> Ring:
    """An opening with a half round head that springs at a height over the floor."""
    r = width / 2
    head = [(x + r + r * cos(pi * n / steps), springing + r * sin(pi * n / steps)) for n in range(steps + 1)]
    return ((x, sill), (x + width, sill), *head)


def round_window(x: float, y: float, radius: float, steps: int = 32) -> Ring:
    return tuple((x + radius * cos(2 * pi * n / steps), y + radius * sin(2 * pi * n / steps)) for n in range(steps))


def wall_with(hole: Ring, length: float = 4.2, top: Ring = ((4.2, 2.4), (0.0, 2.4))) -> Surface:
    outline = ((0.0, 0.0), (length, 0.0), *top)
    return replace(surface("R1-W1", outline), holes=(hole,), net_m2=Polygon(outline, [hole]).area)


def test_an_arch_is_cut_to_its_curve_not_to_its_box() -> None:
    """A half round head of 1.2 m: a half disc of 0.565 m2 (pi r2 / 2), its box 0.72 m2."""
    layout = laid([wall_with(arched(1.5, 0.0, 1.2, 1.5))], WHOLE)
    assert layout.net_m2 == pytest.approx(4.2 * 2.4 - 1.2 * 1.5 - pi * 0.36 / 2, abs=0.003)
    assert not layout.left_out


def test_a_round_window_is_cut_round() -> None:
    layout = laid([wall_with(round_window(2.1, 1.5, 0.45))], WHOLE)
    assert layout.net_m2 == pytest.approx(4.2 * 2.4 - pi * 0.45**2, abs=0.006)


def test_no_joint_in_line_with_the_side_of_an_arch() -> None:
    own = laid([wall_with(arched(1.2, 0.9, 1.2, 1.5))]).surfaces["R1-W1"]
    assert all(min(abs(x - 1200.0), abs(x - 2400.0)) >= 149.5 for x in own.lines_mm)


@given(st.floats(0.3, 2.6), st.floats(0.4, 1.4), st.floats(0.6, 1.5), st.floats(0.0, 0.9))
@settings(max_examples=15, deadline=None)
def test_any_arch_can_be_cut_as_planned(x: float, width: float, springing: float, sill: float) -> None:
    hole = arched(round(x, 3), round(min(sill, springing - 0.2), 3), round(width, 3), round(springing, 3), 12)
    layout = laid([wall_with(hole)])
    assert layout.bound_m2 <= layout.bought_m2 + 1e-9


@given(st.floats(0.2, 1.5), st.floats(0.5, 1.1))
@settings(max_examples=10, deadline=None)
def test_an_opening_cut_off_by_a_slope_can_be_cut_as_planned(at: float, width: float) -> None:
    """A wall 1.0 m high at its left, 3.1 m at its right; the door's head follows the slope where that is lower."""
    x0, x1 = round(at, 3), round(at + width, 3)
    heights = [min(2.04, 1.0 + 0.5 * x) - 0.05 for x in (x0, x1)]
    hole = ((x0, 0.0), (x1, 0.0), (x1, round(heights[1], 4)), (x0, round(heights[0], 4)))
    layout = laid([wall_with(hole, 4.2, ((4.2, 3.1), (0.0, 1.0)))])
    assert layout.bound_m2 <= layout.bought_m2 + 1e-9


def test_an_arch_of_the_job_file_is_cut_out_of_the_boards() -> None:
    """From the job file through measuring to the sheets: 1.2 wide, 2.1 to the crown, half round."""
    job = job_from({"openings": {"O1": {"arch_rise": 0.6}}})
    arch = opening("O1", (1.5, -0.05), 1.2, 2.1, 0.0)
    wall = measure(plan(rectangle(4.2, 3.0), openings=[arch]), job).surfaces[0]
    layout = laid([wall], WHOLE)
    assert layout.net_m2 == pytest.approx(4.2 * 2.4 - 1.2 * 1.5 - pi * 0.36 / 2, abs=0.002)
    assert any(not piece.shape.startswith("rect") for piece in layout.surfaces["R1-W1"].pieces)
