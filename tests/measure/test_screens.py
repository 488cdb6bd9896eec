"""Glazed screens, checked by pencil arithmetic: glass takes the wall away and nothing is plastered round it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from takeoff.job import job_from
from takeoff.measure.rooms import measure
from tests.measure.plans import opening, plan, rectangle

NO_JOB = job_from({})


@pytest.mark.parametrize(("height", "off"), [(None, 2.4), (2.1, 2.1)])
def test_a_glazed_screen_goes_up_to_the_ceiling_where_nothing_tells_and_has_no_reveal(
    height: float | None, off: float
) -> None:
    """Room 4.0 x 3.0 x 2.4, glass 3.0 wide in an outer wall of 0.3."""
    screen = replace(opening("W1", (2.0, -0.15), 3.0, height, 0.0, 0.3), style="screen")
    measured = measure(plan(rectangle(4.0, 3.0), openings=[screen]), NO_JOB)
    assert measured.rooms[0].wall_net_m2 == pytest.approx(14 * 2.4 - 3.0 * off)
    assert measured.rooms[0].reveal_m2 == 0
    assert [q.about for q in measured.queries] == ([("W1",)] if height is None else [])
