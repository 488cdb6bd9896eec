"""One layer for everything, told apart by colours and symbols. The generator's truth is exact by construction."""

from __future__ import annotations

import re
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from shapely import get_parts, union_all
from shapely.geometry import box as area

from takeoff.drawing.model import Drawing, in_metres
from takeoff.job import Job
from takeoff.job_tables import DrawingTable
from takeoff.pipeline import plan_of
from takeoff.plan.pens import figured, penned
from tests.benchmarks.redrawn import SHARED, scored
from tests.draughtsman.cases import make
from tests.draughtsman.run import read_case, understood
from tests.draughtsman.vices import VICES
from tests.plan.sheets import sheet, write


def drawn(strength: float) -> Drawing:
    return in_metres(read_case(make("house", 1, ((VICES["one layer for all"], strength),))), 0.001)


def test_each_colour_is_a_layer_and_each_thing_keeps_its_number() -> None:
    before = drawn(1)
    after = penned(before, [e.layer for e in before.entities[:1]])
    assert after is not None
    assert [e.handle for e in after.entities] == [e.handle for e in before.entities]
    assert after.layers[: len(before.layers)] == before.layers
    for entity in after.entities:
        layer = after.layers[entity.layer]
        assert layer.name in ("0", "0 (symbols)", f"0 (colour {entity.colour})")
    assert len({e.layer for e in after.entities}) > 3


def test_one_pen_is_no_layer_more() -> None:
    case = make("house", 1, ((VICES["layer 0, exploded"], 1),))
    assert penned(in_metres(read_case(case), 0.001), [0]) is None


def test_the_layer_is_said_to_hold_the_walls_and_so_is_their_pen() -> None:
    case = make("house", 1, ((VICES["one layer for all"], 1),))
    use = understood(read_case(case)).layer_use
    assert use["0"] == "walls"
    assert "walls" in {said for name, said in use.items() if name.startswith("0 (")}
    assert any(said.startswith("ignored") for name, said in use.items() if name.startswith("0 ("))


FURNITURE = (0.3, 0.3, 2.0, 0.9), (4.3, 3.3, 2.6, 0.6), (0.6, 1.9, 1.8, 1.9)
"""Corner, width and depth: a sofa, a worktop 0.1 m off its wall, a bed 0.2 m off its wall."""


def _one_layer(space: Any) -> None:
    """Rooms of 4 x 4, 3 x 4 and 7.12 x 2 m, doors to and from the last, furniture: all on layer 0 in one colour."""
    rooms = area(0, 0, 4, 4), area(4.12, 0, 7.12, 4), area(0, 4.12, 7.12, 6.12)
    doors = area(2.8, 4, 3.6, 4.12), area(4.3, 4, 5.1, 4.12), area(-0.3, 4.7, 0, 5.6)
    for part in get_parts(area(-0.3, -0.3, 7.42, 6.42).difference(union_all([*rooms, *doors]))):
        for ring in (part.exterior, *part.interiors):
            for a, b in pairwise(ring.coords):
                space.add_line(a, b)
    for hinge, width in (((2.8, 4.12), 0.8), ((4.3, 4.12), 0.8), ((0, 4.7), 0.9)):
        space.add_arc(hinge, width, 0, 90)
    for x, y, width, depth in FURNITURE:
        corners = [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]
        space.add_lwpolyline(corners, close=True)
    for name, x, y in (("Bedroom", 3, 1.5), ("Kitchen", 5.5, 1.5), ("Hall", 3.5, 5.3)):
        write(space, name, x, y)


def test_furniture_on_the_walls_layer_is_told_by_its_closed_outlines() -> None:
    drawing = sheet(_one_layer)
    apart = figured(drawing, range(len(drawing.layers)))
    assert apart is not None
    figures = [e for e in apart.entities if apart.layers[e.layer].name == "0 (figures)"]
    assert len(figures) == len(FURNITURE) and {e.kind for e in figures} == {"LWPOLYLINE"}
    plan = plan_of(drawing, Job(drawing=DrawingTable(unit="m")))[1]
    assert {r.name: round(r.floor_area_m2, 3) for r in plan.rooms} == {
        "Bedroom": 16.0, "Kitchen": 12.0, "Hall": 14.24,
    }
    assert not [q for q in plan.queries if q.concerns == "outline"]


@pytest.mark.skipif(not (SHARED / "corpus").is_dir(), reason="the shared drawings are not beside the project")
@pytest.mark.parametrize(("kind", "least"), [("bim", 0.98), ("drawn", 0.9)])
def test_the_shared_drawings_on_one_layer_with_their_colours(kind: str, least: float, tmp_path: Path) -> None:
    """Truth: the corpus's own."""
    with ProcessPoolExecutor(1) as pool:
        lines, _ = scored("one layer, pens kept", kind, tmp_path, pool)
    right, of = (int(n) for n in re.findall(r"right (\d+)/(\d+)", lines[-1])[0])
    assert right >= least * of, "\n".join(lines)
