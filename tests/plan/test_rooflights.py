"""Rooflights: frames that a word calls so. A room of 6 x 4 m with things drawn in it; the truth is what was drawn.

Words: RLIT is the code of the US National CAD Standard, the others common practice in their languages.
"""

from __future__ import annotations

from typing import Any

import pytest

from takeoff.drawing.model import Drawing, UnitFinding
from takeoff.job import Job
from takeoff.plan.model import Opening
from takeoff.plan.rooflights import find_rooflights, without_rooflights
from takeoff.plan.understand import understand
from tests.plan.sheets import Draw, box, sheet, write


def frame(space: Any, x: float, y: float, wide: float, deep: float, layer: str, **how: Any) -> None:
    corners = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer, **how})


def room(draw: Draw) -> Drawing:
    def drawn(space: Any) -> None:
        box(space, -0.3, -0.3, 6.6, 4.6)
        box(space, 0, 0, 6, 4)
        write(space, "Studio", 1.2, 3.3)
        draw(space)

    return sheet(drawn)


def lights(draw: Draw) -> list[Opening]:
    plan = understand(room(draw), UnitFinding("m", 1.0, ()), Job())
    assert [round(r.floor_area_m2, 2) for r in plan.rooms] == [24.0]
    return [o for o in plan.openings if o.kind == "rooflight"]


@pytest.mark.parametrize("layer", ["A-ROOF-RLIT", "Rooflights", "Dachfenster", "claraboya", "A_Lucernario", "天窗"])
def test_the_layers_word_is_enough(layer: str) -> None:
    found = lights(lambda s: frame(s, 2.5, 1.5, 1.2, 0.8, layer))
    assert [(o.ref, round(o.width_m, 3), round(o.height_m or 0, 3), o.rooms) for o in found] == [
        ("L1", 1.2, 0.8, ("R1",))
    ]


def test_a_word_inside_a_dashed_rectangle_tells() -> None:
    def draw(space: Any) -> None:
        frame(space, 2.5, 1.5, 1.2, 0.8, "A-ANNO-OVHD", linetype="DASHED")
        write(space, "rooflight", 3.1, 1.9, 0.1)

    assert len(lights(draw)) == 1


def test_a_word_in_the_room_does_not_make_the_table_under_it_one() -> None:
    def draw(space: Any) -> None:
        frame(space, 2.5, 1.5, 1.2, 0.8, "A-FURN")
        write(space, "rooflight", 3.1, 1.9, 0.1)

    assert lights(draw) == []


def test_a_frame_within_a_frame_is_one_rooflight_as_large_as_the_outer() -> None:
    def draw(space: Any) -> None:
        frame(space, 2.5, 1.5, 1.2, 0.8, "A-ROOF-RLIT")
        frame(space, 2.56, 1.56, 1.08, 0.68, "A-ROOF-RLIT")

    assert [round(o.width_m, 2) for o in lights(draw)] == [1.2]


@pytest.mark.parametrize(
    "size",
    [
        (0.2, 0.8),  # narrower than any frame
        (9.0, 8.5),  # larger than any lantern
    ],
)
def test_what_is_too_small_or_too_large_is_none(size: tuple[float, float]) -> None:
    drawing = sheet(lambda s: frame(s, 0, 0, *size, "A-ROOF-RLIT"))
    assert find_rooflights(drawing) == ()


def test_a_many_sided_or_round_frame_is_measured_by_the_least_rectangle_round_it() -> None:
    def lantern(space: Any) -> None:  # a square of 1.2 with its corners cut
        corners = [(2.3, 1), (2.9, 1), (3.2, 1.3), (3.2, 1.9), (2.9, 2.2), (2.3, 2.2), (2.0, 1.9), (2.0, 1.3)]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "A-ROOF-RLIT"})

    def pipe(space: Any) -> None:
        space.add_circle((3, 2), 0.25, dxfattribs={"layer": "sun pipe"})

    assert [(round(o.width_m, 2), round(o.height_m or 0, 2)) for o in lights(lantern)] == [(1.2, 1.2)]
    assert [round(o.width_m, 2) for o in lights(pipe)] == [pytest.approx(0.5, abs=0.01)]


def test_a_turned_rectangle_is_measured_along_its_own_sides() -> None:
    def draw(space: Any) -> None:  # 1.0 x 0.5, turned by the 3-4-5 triangle
        corners = [(3, 1), (3.8, 1.6), (3.5, 2.0), (2.7, 1.4)]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "A-ROOF-RLIT"})

    assert [(round(o.width_m, 3), round(o.height_m or 0, 3)) for o in lights(draw)] == [(1.0, 0.5)]


def test_one_outside_every_room_lights_nothing() -> None:
    assert lights(lambda s: frame(s, 12, 1, 1.2, 0.8, "A-ROOF-RLIT")) == []


def test_the_lines_of_a_rooflight_are_no_walls_and_the_others_stay() -> None:
    drawing = room(lambda s: frame(s, 2.5, 1.5, 1.2, 0.8, "A-ROOF-RLIT"))
    found = find_rooflights(drawing)
    usable = drawing.segments.arc < 0
    left = without_rooflights(drawing, found, usable)
    gone = {drawing.layer_of(int(e)) for e in drawing.segments.entity[usable & ~left]}
    assert len(found) == 1
    assert gone == {"A-ROOF-RLIT"}
    assert (usable & ~left).sum() == 4
