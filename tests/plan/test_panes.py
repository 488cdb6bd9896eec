"""Windows drawn with the pen of the walls. A wall 0.3 m thick along x, drawn line by line; the truth is what was drawn.

`wall` draws pieces of wall and what stands between them: the faces of each piece, a jamb at each of its ends.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.plan.panes import panes
from takeoff.plan.understand import understand
from tests.plan.sheets import sheet, write

Line = tuple[float, float, float, float]
T = 0.3


def faces(x0: float, x1: float) -> list[Line]:
    return [(x0, 0.0, x1, 0.0), (x0, T, x1, T)]


def jambs(*xs: float) -> list[Line]:
    return [(x, 0.0, x, T) for x in xs]


def told(lines: list[Line], arc: list[int] | None = None) -> tuple[set[int], set[int]]:
    """Numbers of the lines that are windows', and of those guessed."""
    ends = np.array(lines, dtype=float).reshape(-1, 4)
    found, guessed = panes(ends, np.array(arc if arc is not None else [-1] * len(ends), dtype=np.int64))
    return set(np.flatnonzero(found).tolist()), set(np.flatnonzero(guessed).tolist())


def window(x0: float, x1: float, *inner: float) -> list[Line]:
    return [*faces(x0, x1), *((x0, y, x1, y) for y in inner)]


@pytest.mark.parametrize("inner", [(0.15,), (0.12, 0.18), (0.1, 0.15, 0.2)], ids=["3 lines", "4 lines", "5 lines"])
def test_lines_between_the_faces_from_jamb_to_jamb_are_glass(inner: tuple[float, ...]) -> None:
    lines = [*window(2.0, 3.2, *inner), *faces(-5, 2), *faces(3.2, 9), *jambs(2.0, 3.2)]
    assert told(lines) == (set(range(2 + len(inner))), set())


def test_glass_alone_between_the_jambs_is_a_window() -> None:
    lines = [(2.0, 0.15, 3.2, 0.15), *faces(-5, 2), *faces(3.2, 9), *jambs(2.0, 3.2)]
    assert told(lines) == ({0}, set())


def test_two_lines_between_two_lengths_of_wall_are_guessed_a_window() -> None:
    lines = [*window(2.0, 3.2), *faces(-5, 2), *faces(3.2, 9), *jambs(2.0, 3.2)]
    assert told(lines) == ({0, 1}, {0, 1})


def test_windows_and_piers_take_turns() -> None:
    """Wall, window, pier, window, wall: the pier, no longer than the windows, stays wall."""
    lines = [*window(2.0, 3.2), *faces(3.2, 4.2), *window(4.2, 5.4), *faces(-5, 2), *faces(5.4, 11)]
    found, guessed = told([*lines, *jambs(2.0, 3.2, 4.2, 5.4)])
    assert found == guessed == {0, 1, 4, 5}


def test_the_pier_that_a_door_hangs_on_is_wall() -> None:
    """A gap, pier, window, wall: the window is the second."""
    lines = [*faces(2.0, 2.9), *window(2.9, 4.1), *faces(4.1, 9), *faces(-5, 1.1)]
    assert told([*lines, *jambs(1.1, 2.0, 2.9, 4.1)]) == ({2, 3}, {2, 3})


def test_where_both_ends_do_not_agree_nothing_is_taken() -> None:
    """Wall, ladder, ladder, wall: which of the two would be the window?"""
    lines = [*faces(2.0, 3.2), *faces(3.2, 4.4), *faces(-5, 2), *faces(4.4, 9), *jambs(2.0, 3.2, 4.4)]
    assert told(lines) == (set(), set())


def test_a_pier_beside_a_window_of_three_lines_is_wall() -> None:
    lines = [*window(2.0, 3.2, 0.15), *faces(3.2, 4.0), *window(4.0, 5.2, 0.15), *faces(-5, 2), *faces(5.2, 9)]
    assert told([*lines, *jambs(2.0, 3.2, 4.0, 5.2)]) == ({0, 1, 2, 5, 6, 7}, set())


@pytest.mark.parametrize("width", [0.38, 4.0])
def test_what_is_as_short_as_a_column_or_longer_than_a_window_is_not_guessed(width: float) -> None:
    lines = [*window(2.0, 2.0 + width), *faces(-5, 2), *faces(2.0 + width, 12), *jambs(2.0, 2.0 + width)]
    assert told(lines) == (set(), set())


def test_faces_that_run_through_are_a_wall_whatever_crosses_it() -> None:
    assert told([*faces(-5, 9), *jambs(2.0, 3.2)]) == (set(), set())


def test_the_leaf_of_a_cavity_wall_between_two_openings_is_wall() -> None:
    """Four faces; the inner ones go on beyond the openings in the same straight lines."""
    lines = [(x0, y, x1, y) for x0, x1 in ((-5.0, 0.0), (0.9, 3.0), (3.9, 9.0)) for y in (0.0, 0.1, 0.2, 0.3)]
    assert told([*lines, *jambs(0.0, 0.9, 3.0, 3.9)]) == (set(), set())


def test_chords_of_curves_are_never_panes() -> None:
    lines = [*window(2.0, 3.2, 0.15), *faces(-5, 2), *faces(3.2, 9), *jambs(2.0, 3.2)]
    assert 2 not in told(lines, [-1, -1, 0, *[-1] * 6])[0]


def test_nothing_in_nothing_out() -> None:
    assert told([]) == (set(), set())


def test_guessed_windows_are_asked_about_once_but_not_those_that_a_tag_tells() -> None:
    def draw(space: Any) -> None:
        def pen(a: tuple[float, float], b: tuple[float, float]) -> None:
            space.add_line(a, b, dxfattribs={"layer": "A-WALL"})

        spans = [(1.0, 2.2), (3.4, 4.6), (5.8, 7.0)]
        ends = [-T, *(x for span in spans for x in span), 8.0 + T]
        for k in range(0, len(ends), 2):
            inner = (max(ends[k], 0.0), min(ends[k + 1], 8.0))
            pen((ends[k], -T), (ends[k + 1], -T))
            pen((inner[0], 0.0), (inner[1], 0.0))
        for x0, x1 in spans:
            for y in (-T, 0.0):
                pen((x0, y), (x1, y))
            for x in (x0, x1):
                pen((x, -T), (x, 0.0))
        for x, y0, y1 in ((-T, -T, 4 + T), (8 + T, -T, 4 + T), (0.0, 0.0, 4.0), (8.0, 0.0, 4.0)):
            pen((x, y0), (x, y1))
        for y, x0, x1 in ((4.0, 0.0, 8.0), (4 + T, -T, 8 + T)):
            pen((x0, y), (x1, y))
        write(space, "Living", 4, 2)
        write(space, "W07", 4.0, -0.7, 0.12)

    plan = understand(sheet(draw), UnitFinding("m", 1.0, ()), Job())
    asked = [q for q in plan.queries if q.kind == "window-or-pier"]
    assert [(o.kind, round(o.width_m, 2), o.tag) for o in plan.openings] == [
        ("window", 1.2, ""), ("window", 1.2, "W07"), ("window", 1.2, ""),
    ]
    assert [q.about for q in asked] == [("W1", "W3")]
