"""Openings closed along both faces of their wall. Figures follow from the shapes alone."""

from __future__ import annotations

import numpy as np
import pytest

from takeoff.plan.heal import meet_bridges
from takeoff.plan.openings import Candidate
from takeoff.plan.reveals import with_both_faces

DOOR = Candidate((), (1.0, 0.0, 1.9, 0.0), 0.9, 0.0, np.array([[1.0, 0.0, 1.9, 0.0]]), "door", "swing")
WALL = [[0.0, 0.0, 1.0, 0.0], [0.0, 0.1, 1.0, 0.1], [1.9, 0.0, 3.0, 0.0], [1.9, 0.1, 3.0, 0.1]]


def found(*reveals: list[float]) -> Candidate:
    return with_both_faces([DOOR], np.array([*WALL, *reveals]))[0]


def test_two_reveals_give_the_other_face() -> None:
    door = found([1.0, 0.0, 1.0, 0.1], [1.9, 0.1, 1.9, 0.0])
    assert door.bridges.tolist() == [[1.0, 0.0, 1.9, 0.0], [1.0, 0.1, 1.9, 0.1]]
    assert door.thick == pytest.approx(0.1)
    assert door.axis == pytest.approx((1.0, 0.05, 1.9, 0.05))


def test_a_reveal_that_misses_its_corner_or_comes_in_pieces_is_one() -> None:
    assert found([1.0, 0.006, 1.0, 0.1], [1.9, 0.1, 1.9, 0.04], [1.9, 0.04, 1.9, 0.0]).thick == pytest.approx(0.1)


@pytest.mark.parametrize("reveals", [
    ([1.0, 0.0, 1.0, 0.1],),
    ([1.0, 0.0, 1.0, 0.1], [1.9, 0.0, 1.9, -0.1]),
    ([1.0, 0.0, 1.0, 0.1], [1.9, 0.0, 1.9, 0.1], [1.0, 0.1, 1.9, 0.1]),
])
def test_one_reveal_or_two_on_either_side_or_a_niche_leave_it_as_it_is(reveals: tuple[list[float], ...]) -> None:
    assert found(*reveals) is DOOR


def test_a_bridge_that_misses_a_corner_by_little_meets_it() -> None:
    lines = np.array([[0.0, 0.0, 1.0, 0.0], [2.0, 0.0, 3.0, 0.0]])
    bridges = np.array([[1.006, 0.004, 2.0, 0.0], [1.05, 0.0, 2.0, 0.0]])
    assert meet_bridges(bridges, lines).tolist() == [[1.0, 0.0, 2.0, 0.0], [1.05, 0.0, 2.0, 0.0]]
