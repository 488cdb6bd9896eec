"""Drawings that no architect draws, or that a broken converter writes: they end in words within a bounded time.

Counts of pairs are checked against plain arithmetic on the figures drawn, not against the code under test.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import shapely

from takeoff.drawing.units import settle_unit
from takeoff.errors import DrawingError
from takeoff.geometry import near, noding
from takeoff.geometry.noding import check_crowding, crossings
from takeoff.geometry.planar import arrange
from takeoff.job import Job
from takeoff.plan.soften import dots
from takeoff.plan.understand import understand
from tests.plan.sheets import box, sheet, write

Floats = np.ndarray[Any, np.dtype[np.float64]]


def _fan(count: int, reach: float) -> Floats:
    """Lines that all start at one point."""
    turn = np.linspace(0, np.pi, count, endpoint=False)
    return np.column_stack([np.zeros((count, 2)), reach * np.cos(turn), reach * np.sin(turn)])


def _weave(count: int) -> Floats:
    """As many level lines as upright ones, each of which crosses all the others."""
    at, none = np.linspace(0, 10, count), np.zeros(count)
    return np.vstack([np.column_stack([none, at, none + 10, at]), np.column_stack([at, none, at, none + 10])])


def _heap(count: int) -> Floats:
    """One line drawn again and again."""
    return np.tile([[0.0, 0.0, 5.0, 0.0]], (count, 1))


def test_pairs_come_in_portions_and_all_of_them_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(near, "_PAIRS_AT_ONCE", 50)
    found = [(int(a), int(b)) for i, j in crossings(_weave(40), 0.0) for a, b in zip(i, j, strict=True)]
    across = {(a, b) for a in range(40) for b in range(40, 80)}
    assert len(found) == len(set(found))
    assert across <= set(found)


def test_more_pairs_than_allowed_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(noding, "MOST_PAIRS", 40 * 40 - 1)
    with pytest.raises(DrawingError, match="lie over one another"):
        list(crossings(_weave(40), 0.0))


@pytest.mark.parametrize("lines", [_fan(3000, 0.2), _heap(3000)], ids=["fan", "heap"])
def test_lines_that_all_touch_are_refused_at_once(lines: Floats) -> None:
    """9,000 lines that all touch are 40 million pairs; a line of a plan touches a handful of others."""
    with pytest.raises(DrawingError, match="lie over one another"):
        check_crowding(np.vstack([lines, lines, lines]), 0.01)


def test_a_weave_of_lines_is_refused_before_it_fills_the_memory() -> None:
    """1,000 lines each way cross in a million places, each of them cut in two lines."""
    with pytest.raises(DrawingError, match="lie over one another"):
        arrange(_weave(1000))


def test_ordinary_lines_close_together_are_not_refused() -> None:
    """A hatch of 3,000 lines 20 mm apart: none touches another."""
    at = np.arange(3000) * 0.02
    hatch = np.column_stack([at, np.zeros(3000), at, np.full(3000, 2.5)])
    check_crowding(hatch, 0.01)
    assert len(arrange(hatch).polygons) == 0


def test_closed_figures_smaller_than_walls_are_dots_and_dashes_are_not() -> None:
    ring = np.array([[0, 0, 0.02, 0], [0.02, 0, 0.02, 0.02], [0.02, 0.02, 0, 0.02], [0, 0.02, 0, 0]])
    dash = np.array([[1.0, 0, 1.03, 0]])
    tied = ring + 5.0
    wall = np.array([[5.0, 5.0, 9.0, 5.0]])
    column = ring * 20 + 10
    lines = np.vstack([ring, dash, tied, wall, column])
    assert dots(lines, np.full(len(lines), -1)).tolist() == [True] * 4 + [False] * 10


def test_details_too_crowded_for_a_pier_are_no_walls_but_round_and_hatched_columns_may_be() -> None:
    """A knot of 30 strokes 150 mm across; a round column of 48 chords, one curve; a square one of six lines."""
    turn = np.linspace(0, 2 * np.pi, 31)
    knot = 0.075 * np.column_stack([np.zeros((30, 2)), np.cos(turn[:-1]), np.sin(turn[:-1])])
    turn = np.linspace(0, 2 * np.pi, 49)
    rim = 0.075 * np.column_stack([np.cos(turn), np.sin(turn)]) + 3
    column = np.hstack([rim[:-1], rim[1:]])
    corners = np.array([[0, 0], [0.15, 0], [0.15, 0.15], [0, 0.15]]) + 6
    square = np.hstack([corners, np.roll(corners, -1, axis=0)])
    crossed = np.vstack([square, np.hstack([corners[:2], corners[2:]])])
    lines = np.vstack([knot, column, crossed])
    arc = np.concatenate([np.full(30, -1), np.zeros(48, dtype=np.int64), np.full(6, -1)])
    assert dots(lines, arc).tolist() == [True] * 30 + [False] * 54


def _room(more: Callable[[Any], None]) -> Any:
    def draw(space: Any) -> None:
        box(space, 0, 0, 5, 4)
        box(space, -0.1, -0.1, 5.2, 4.2)
        more(space)

    return sheet(draw)


def test_a_room_among_a_thousand_dots_and_notes_is_found() -> None:
    def litter(space: Any) -> None:
        for n in range(1000):
            space.add_circle((0.4 + 0.004 * n, 1.0 + 0.5 * (n % 5)), 0.004, dxfattribs={"layer": "A-WALL"})
            write(space, f"note {n}", -20 - n % 40, n // 40, 0.05)

    drawing = _room(litter)
    plan = understand(drawing, settle_unit(drawing, "m"), Job())
    assert [round(r.floor_area_m2, 2) for r in plan.rooms] == [20.0]


def test_things_in_a_heap_are_refused_by_name_and_others_found_in_portions(monkeypatch: pytest.MonkeyPatch) -> None:
    """40 points in 40 squares at one place are 1,600 pairs; 40 in a row of squares are 40."""
    heap, row = np.zeros((40, 2)), np.column_stack([np.arange(40) * 3.0, np.zeros(40)])
    monkeypatch.setattr(near, "MOST_MET", 1_599)
    for at, count in ((row, 40), (heap, 1_600)):
        tree, points = shapely.STRtree(shapely.box(*(at - 1).T, *(at + 1).T)), shapely.points(at)
        if count == 40:
            first, second = near.all_met("texts", tree, points, predicate="within")
            assert first.tolist() == second.tolist() == list(range(40))
        else:
            with pytest.raises(DrawingError, match="So many texts lie over one another"):
                near.all_met("texts", tree, points, predicate="within")
    assert near.all_met("texts", tree, points[:0])[0].size == 0


def test_a_hatch_whose_outlines_cannot_be_told_apart_is_left_out_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(near, "MOST_MET", 20)

    def hatch(space: Any) -> None:
        drawn = space.add_hatch()
        for n in range(10):
            drawn.paths.add_polyline_path([(n, n), (40 - n, n), (40 - n, 40 - n), (n, 40 - n)])

    drawing = _room(hatch)
    assert ("HATCH", "not drawable") in {(row.what, row.reason) for row in drawing.left_out}
    assert len(drawing.segments.ends) == 8
