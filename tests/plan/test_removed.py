"""Walls drawn to be taken down. Truth by construction: two rooms and the wall between them, which goes for 1.2 m of its
length; dashed lines of what goes on a layer of its own, as is common practice in drawings of alterations."""

from __future__ import annotations

from typing import Any

import pytest
from shapely.geometry import box as area

from takeoff.errors import JobError
from takeoff.job import Job
from takeoff.job_tables import DrawingTable
from takeoff.pipeline import plan_of
from takeoff.plan.model import Plan
from takeoff.plan.removed import TO_GO
from tests.plan.sheets import sheet, write

OUTER = area(0, 0, 7.3, 4.6).difference(area(0.3, 0.3, 7.0, 4.3))
WALL = area(3.6, 0.3, 3.7, 4.3)
GOES = area(3.6, 1.3, 3.7, 2.5)


def outline(space: Any, shape: Any, layer: str) -> None:
    for part in getattr(shape, "geoms", [shape]):
        for ring in (part.exterior, *part.interiors):
            space.add_lwpolyline(list(ring.coords)[:-1], close=True, dxfattribs={"layer": layer})


def plan_with(layer: str, *, keep: tuple[str, ...] = (), most: bool = False, goes: Any = GOES) -> Plan:
    """`layer` holds the part of the wall that `goes`; all walls where `most` of what is drawn goes."""

    def draw(space: Any) -> None:
        outline(space, OUTER, layer if most else "WALLS")
        outline(space, WALL.difference(goes), layer if most else "WALLS")
        outline(space, goes, layer)
        write(space, "KITCHEN", 2, 2)
        write(space, "DINING", 5.4, 2)

    job = Job(drawing=DrawingTable(unit="m", keep_layers=keep))
    return plan_of(sheet(draw), job)[1]


@pytest.mark.parametrize("layer", ["WALLS-DEMOLITION", "A-WALL-DEMO", "Abbruch Wand", "MURS A DEPOSER demolition"])
def test_what_goes_leaves_an_opening(layer: str) -> None:
    plan = plan_with(layer)
    assert [round(r.floor_area_m2, 3) for r in plan.rooms] == [13.2, 13.2]
    (opening,) = plan.openings
    assert (opening.kind, round(opening.width_m, 3)) == ("opening", 1.2)
    assert plan.layer_use[layer] == f"ignored: {TO_GO}"
    (asked,) = [q for q in plan.queries if q.kind == "walls-to-go"]
    assert layer in asked.says and layer in asked.answer


def test_what_the_job_file_keeps_stays() -> None:
    assert len(plan_with("WALLS-DEMOLITION", goes=WALL).rooms) == 1
    plan = plan_with("WALLS-DEMOLITION", goes=WALL, keep=("walls-demolition",))
    assert len(plan.rooms) == 2 and not plan.openings
    assert "walls-to-go" not in {q.kind for q in plan.queries}
    with pytest.raises(JobError, match="no layer WALLS-DEMOLISHED"):
        plan_with("WALLS-DEMOLITION", keep=("WALLS-DEMOLISHED",))


def test_a_piece_of_wall_between_two_pieces_is_asked_about() -> None:
    """Kept, the piece in the middle of the wall looks like a window of two lines, or a door between two rooms."""
    plan = plan_with("WALLS-DEMOLITION", keep=("WALLS-DEMOLITION",))
    assert [q.about for q in plan.queries if q.kind == "window-or-pier"] == [tuple(o.ref for o in plan.openings)]


def test_a_drawing_of_the_demolition_itself_is_read_whole() -> None:
    plan = plan_with("WALLS-DEMOLITION", goes=WALL, most=True)
    assert len(plan.rooms) == 2 and not plan.openings
    assert plan.layer_use["WALLS-DEMOLITION"] == "walls"
