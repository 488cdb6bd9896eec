"""Dimensions taken apart: which lines are theirs. Every drawing is a handful of lines; the truth is what was drawn."""

from __future__ import annotations

import numpy as np
import pytest

from takeoff.plan.ticked import dimension_lines

Line = tuple[float, float, float, float]
DIMENSION: Line = (0.0, 0.0, 3.0, 0.0)
WALLS: list[Line] = [(0.0, -1.0, 3.0, -1.0), (0.0, -1.3, 3.0, -1.3), (0.0, -1.0, 0.0, 2.0)]


def tick(x: float, y: float, half: float = 0.08, turn: float = 45.0) -> Line:
    a = np.radians(turn)
    dx, dy = half * np.cos(a), half * np.sin(a)
    return (x - dx, y - dy, x + dx, y + dy)


def barbs(x: float, y: float, towards: float, lean: float = 15.0, length: float = 0.12) -> list[Line]:
    """An arrowhead at x, y whose barbs lean back along the line, which runs `towards` +1 or -1."""
    a = np.radians(lean)
    return [(x, y, x + towards * length * np.cos(a), y + s * length * np.sin(a)) for s in (1, -1)]


def told(*lines: Line) -> list[bool]:
    return [bool(v) for v in dimension_lines(np.array(lines, dtype=float).reshape(-1, 4))]


@pytest.mark.parametrize("turn", [30.0, 45.0, 60.0, 135.0])
def test_a_line_ticked_at_both_ends_is_a_dimension_and_so_are_its_ticks(turn: float) -> None:
    lines = [DIMENSION, tick(0, 0, turn=turn), tick(3, 0, turn=turn), *WALLS]
    assert told(*lines) == [True, True, True, False, False, False]


def test_arrowheads_at_both_ends_tell_as_well() -> None:
    lines = [DIMENSION, *barbs(0, 0, 1), *barbs(3, 0, -1), *WALLS]
    assert told(*lines) == [True] * 5 + [False] * 3


def test_one_tick_is_not_enough() -> None:
    assert not any(told(DIMENSION, tick(0, 0), *WALLS))


def test_one_barb_at_an_end_is_a_wall_that_turns_not_an_arrow() -> None:
    assert not any(told(DIMENSION, barbs(0, 0, 1)[0], barbs(3, 0, -1)[0]))


def test_barbs_that_lean_forward_are_a_fork_not_an_arrow() -> None:
    assert not any(told(DIMENSION, *barbs(0, 0, -1), *barbs(3, 0, 1)))


@pytest.mark.parametrize("turn", [0.0, 8.0, 90.0])
def test_strokes_square_to_the_line_or_along_it_are_ends_of_walls(turn: float) -> None:
    assert not any(told(DIMENSION, tick(0, 0, turn=turn), tick(3, 0, turn=turn)))


def test_a_stroke_that_begins_at_the_end_instead_of_crossing_it_is_no_tick() -> None:
    off = [(x, 0.0, x + 0.11, 0.11) for x in (0.0, 3.0)]
    assert not any(told(DIMENSION, *off))


def test_longer_strokes_than_any_pen_draws_are_no_ticks() -> None:
    assert not any(told(DIMENSION, tick(0, 0, half=0.3), tick(3, 0, half=0.3)))


def test_a_chain_of_dimensions_shares_its_ticks() -> None:
    chain = [(0.0, 0.0, 1.2, 0.0), (1.2, 0.0, 3.0, 0.0)]
    assert told(*chain, *(tick(x, 0) for x in (0.0, 1.2, 3.0))) == [True] * 5


def test_nothing_in_nothing_out() -> None:
    assert told() == []
    assert told(DIMENSION) == [False]
