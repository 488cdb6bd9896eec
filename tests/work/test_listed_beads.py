"""Beads that the job file lists: free edges, abutments and movement joints that no drawing shows. Invented rooms."""

from __future__ import annotations

from typing import Any

import pytest

from takeoff.data import load
from takeoff.errors import JobError
from takeoff.materials.supply import supply
from takeoff.work.assign import plan_work
from takeoff.work.model import Work
from tests.work import by_hand as hand

PLAN = hand.plan("R1", "R2")
MEASURED = hand.measured([hand.wall("R1-W1", 4.0, 2.4), hand.wall("R2-W1", 3.0, 2.4)])
ROOMS = {"R1": {"wall_build_up": "skim-12-5"}, "R2": {"wall_build_up": "undercoat-brick"}}
BEADS: dict[str, Any] = {
    "stop": [{"room": "R1", "length": 2.4}, {"room": "R2", "length": 2.1, "number": 2}],
    "movement": [{"room": "R2", "length": 2.4}],
}


def work(**beads: Any) -> Work:
    return plan_work(PLAN, MEASURED, hand.job(rooms=ROOMS, beads=beads))


def test_each_is_a_piece_of_the_bead_that_the_room_s_plaster_calls_for() -> None:
    """Thin beside skimmed board, deep beside 13 mm of plaster: common practice."""
    listed = [n for n in work(**BEADS).needs if not n.layer]
    assert [(n.material, n.room, n.surface, n.amount) for n in listed] == [
        ("movement-bead", "R2", "movement 1", 2.4),
        ("stop-bead-thin", "R1", "stop 1", 2.4),
        ("stop-bead", "R2", "stop 2", 2.1),
        ("stop-bead", "R2", "stop 3", 2.1),
    ]


def test_a_bead_of_one_s_own_choice() -> None:
    needs = work(stop=[{"room": "R1", "length": 1.0, "bead": "stop-bead"}]).needs
    assert [n.material for n in needs if not n.layer] == ["stop-bead"]


def test_they_have_their_hours() -> None:
    """2 x 2.1 m of stop and 2.4 m of movement bead in R2, hours a metre as shipped."""
    (operation,) = [o for o in work(**BEADS).operations if o.room == "R2" and o.task == "bead"]
    assert operation.quantity == pytest.approx(2 * 2.1 + 2.4)
    assert operation.hours_likely == load("labour")["tasks"]["bead"]["hours"][1]
    assert not [o for o in work().operations if o.task == "bead"]


def test_they_are_cut_with_the_rest_and_stand_in_the_cutting_list_of_their_room() -> None:
    job = hand.job(rooms=ROOMS, beads=BEADS)
    supplied = supply(PLAN, MEASURED, plan_work(PLAN, MEASURED, job), job, laid=True)
    assert supplied.beads is not None
    rooms = supplied.beads.rooms()
    assert {(bead, cut.edge, cut.length_m) for bead, _, cut in rooms["R2"]} == {
        ("movement-bead", "movement 1", 2.4),
        ("stop-bead", "stop 2", 2.1),
        ("stop-bead", "stop 3", 2.1),
    }
    bought = {line.material.slug: line.packs for line in supplied.order.lines if line.material.kind == "bead"}
    assert bought == {"movement-bead-2.4 m": 1, "stop-bead-2.4 m": 2, "stop-bead-thin-2.4 m": 1}


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ({"room": "R9", "length": 1.0}, r"beads\.stop.*names nothing on the drawing.*R1, R2"),
        ({"room": "R1", "length": 1.0, "bead": "finish"}, r"'finish' is no bead.*stop-bead"),
    ],
)
def test_what_is_not_there_is_an_error(row: dict[str, Any], says: str) -> None:
    with pytest.raises(JobError, match=says):
        work(stop=[row])
