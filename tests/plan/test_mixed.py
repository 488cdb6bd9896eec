"""What is asked where walls share their layer with everything else. The generator's truth is exact by construction."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from takeoff.plan.model import Plan
from tests.draughtsman import clutter
from tests.draughtsman.cases import Case, make
from tests.draughtsman.run import read_case, understood
from tests.draughtsman.score import score
from tests.draughtsman.vices import VICES
from tests.draughtsman.write import LAYERS


def asked(plan: Plan) -> list[str]:
    return [q.says for q in plan.queries if q.kind == "outline-uncertain" and "share the walls' layer" in q.says]


def on_one_layer(kind: str, worktops: slice) -> Case:
    case = make(kind, 3, ((VICES["layers scrambled"], 2),))
    more = tuple(clutter.worktops(case, 1, Random(0)))[worktops]
    return replace(case, strokes=(*case.strokes, *more))


def test_a_worktop_taken_for_a_wall_is_asked_about() -> None:
    """One alone: of many, the whole storey is asked about."""
    taken = 0
    for n in range(8):
        case = on_one_layer("corridor", slice(n, n + 1))
        plan = understood(read_case(case))
        found = score(case.truth("x"), plan)
        assert found.silent == 0, found.places
        if found.right < found.rooms:
            taken += 1
            assert len(asked(plan)) == 1
    assert taken, "no worktop was taken for a wall: the test shows nothing"


@pytest.mark.parametrize("kind", ["house", "corridor", "flats"])
def test_walls_alone_on_one_layer_are_not_asked_about(kind: str) -> None:
    assert not asked(understood(read_case(on_one_layer(kind, slice(0)))))


def test_nor_are_walls_on_a_layer_of_their_own() -> None:
    case = make("house", 3)
    walls_apart = {role: "W" if role == "wall" else f"L{n}" for n, role in enumerate(LAYERS)}
    case = replace(case, strokes=(*case.strokes, *clutter.worktops(case, 1, Random(0))))
    assert not asked(understood(read_case(replace(case, page=replace(case.page, layers=walls_apart)))))
