"""What proves a bare gap an opening: a tag of its width beside it, dashed beams over both faces of the wall.

A wall 0.2 m thick along x, open from x = 1.0 to 1.0 + width; all invented, the truth is what was drawn.
"""

from __future__ import annotations

import numpy as np
import pytest

from takeoff.plan.evidence import pool_of
from takeoff.plan.gaps import Gaps, find_gaps
from takeoff.plan.jambs import find_jambs
from takeoff.plan.proofs import beamed, told_of

Tag = tuple[float, float, float]


def gap(width: float) -> Gaps:
    right = 1.0 + width
    runs = [(-3, 0, 1, 0), (-3, 0.2, 1, 0.2), (1, 0, 1, 0.2)]
    runs += [(right, 0, right + 3, 0), (right, 0.2, right + 3, 0.2), (right, 0, right, 0.2)]
    table = np.array(runs, dtype=float)
    found = find_gaps(find_jambs(table), table)
    one = found.take(np.abs(found.width - width) < 1e-6)
    assert len(one) == 1
    return one


def told(width: float, *tags: Tag) -> bool:
    return bool(told_of(gap(width), np.array(tags, dtype=float).reshape(-1, 3))[0])


def under(width: float, *dashed: tuple[float, float, float, float]) -> bool:
    ends = np.array(dashed, dtype=float).reshape(-1, 4)
    return bool(beamed(gap(width), pool_of(ends, np.ones(len(ends), dtype=bool)))[0])


def test_a_tag_beside_the_gap_that_tells_its_width_proves_it() -> None:
    assert told(2.4, (2.0, 1.0, 2.4))
    assert told(2.4, (2.0, 1.0, 2.35))  # a lining's thickness less


@pytest.mark.parametrize(
    "tag",
    [
        (2.0, 1.0, 2.2),  # another width
        (2.0, 2.5, 2.4),  # 2.4 m off the middle of the wall: somebody else's
        (6.0, 0.1, 2.4),
    ],
)
def test_a_tag_of_another_width_or_far_off_proves_nothing(tag: Tag) -> None:
    assert not told(2.4, tag)


def test_of_several_tags_one_that_agrees_is_enough() -> None:
    assert told(2.4, (2.0, 1.0, 0.9), (2.2, -0.6, 2.4))
    assert not told(2.4)


def test_dashed_lines_along_both_faces_are_a_wall_carried_on_overhead() -> None:
    assert under(2.4, (1, 0, 3.4, 0), (1, 0.2, 3.4, 0.2))
    assert under(2.4, (-2, 0.01, 5, 0.01), (1, 0.19, 2.2, 0.19), (2.2, 0.19, 3.4, 0.19))


@pytest.mark.parametrize(
    "dashed",
    [
        [(1, 0, 3.4, 0)],  # one face only
        [(1, 0, 3.4, 0), (1, 0.2, 2.6, 0.2)],  # the other stops short
        [(1, 0.6, 3.4, 0.6), (1, 0.8, 3.4, 0.8)],  # a beam beside the wall
        [(2.2, -1, 2.2, 1), (2.3, -1, 2.3, 1)],  # across it
    ],
)
def test_other_dashed_lines_are_not(dashed: list[tuple[float, float, float, float]]) -> None:
    assert not under(2.4, *dashed)


def test_gaps_wider_than_four_metres_under_beams_are_open_plan() -> None:
    assert not under(4.5, (1, 0, 5.5, 0), (1, 0.2, 5.5, 0.2))
