"""A reader sees on paper whether boards were laid or counted by area, and the bound beside what is bought."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeoff.documents.buying import buying_blocks
from takeoff.documents.paper import Para
from takeoff.documents.stock_words import BY_AREA, counted_as, laid_words
from takeoff.documents.workbook_assumptions import assumptions
from takeoff.job import Job
from takeoff.pipeline import price_up, take_off
from takeoff.record import Takeoff

SAMPLE = Path(__file__).parents[2] / "samples" / "rear_extension.dxf"


@pytest.fixture(scope="module")
def laid() -> Takeoff:
    return price_up(take_off(SAMPLE, Job(), laid=True))


def test_a_takeoff_by_area_says_so() -> None:
    done = take_off(SAMPLE, Job())
    assert counted_as(done) == BY_AREA
    assert ("Order", BY_AREA, "takeoff quote lays them") in assumptions(done)


def test_the_bound_stands_beside_what_is_bought(laid: Takeoff) -> None:
    layout = laid.boards[0]
    told = [what for kind, what, _ in assumptions(laid) if kind == "Boards"]
    assert any(f"{layout.bought_m2:.2f} m2" in what and f"{layout.bound_m2:.2f} m2" in what for what in told)
    assert counted_as(laid) != BY_AREA
    printed = [block.text for block in buying_blocks(laid) if isinstance(block, Para)]
    assert all(f"{words}." in printed for _, words in laid_words(laid))
