"""A plan that stands in one block, as a drawing bound into another does, against the same plan on the sheet itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ezdxf
import pytest

from takeoff.job import Job
from takeoff.pipeline import take_off
from takeoff.plan.model import Plan

OUTER = [(0, 0), (8600, 0), (8600, 4600), (0, 4600)]
INNER = [(300, 300), (4200, 300), (4200, 1500), (4300, 1500), (4300, 300), (8300, 300), (8300, 4300), (4300, 4300),
         (4300, 2400), (4200, 2400), (4200, 4300), (300, 4300)]  # fmt: skip


def draw(document: Any, space: Any) -> None:
    """Two rooms with a door between them, a symbol that says how wide and high it is; a table stands in one."""
    for ring in (OUTER, INNER):
        for start, end in zip(ring, ring[1:] + ring[:1], strict=True):
            space.add_line(start, end, dxfattribs={"layer": "WALLS"})
    door = document.blocks.new("DOOR")
    door.add_line((0, 0), (0, 900))
    door.add_arc((0, 0), 900, 0, 90)
    symbol = space.add_blockref("DOOR", (4250, 1500), dxfattribs={"layer": "DOORS", "rotation": 90, "yscale": -1})
    symbol.add_attrib("WIDTH", "900", (4500, 1600), dxfattribs={"height": 80})
    symbol.add_attrib("HEIGHT", "2040", (4500, 1700), dxfattribs={"height": 80})
    space.add_lwpolyline([(4400, 3500), (6800, 3500), (6800, 4250), (4400, 4250)], close=True,
                         dxfattribs={"layer": "0-THINGS"})
    for name, x in (("KITCHEN", 2000), ("BEDROOM", 6000)):
        space.add_text(name, height=200, dxfattribs={"layer": "TEXT"}).set_placement((x, 2600))


def plan_of(path: Path, **placed: Any) -> Plan:
    document = ezdxf.new("R2010")
    if placed:
        block = document.blocks.new("bound$0$plan", base_point=(100, 50))
        draw(document, block)
        document.modelspace().add_blockref(block.name, (5000, 7000), dxfattribs=placed)
    else:
        draw(document, document.modelspace())
    document.saveas(path)
    return take_off(path, Job()).plan


@pytest.mark.parametrize(
    "placed",
    [{"rotation": 0}, {"rotation": 33}, {"xscale": -1}, {"rotation": 120, "yscale": -1}, {"extrusion": (0, 0, -1)},
     {"xscale": 0.1, "yscale": 0.1, "zscale": 0.1}],
    ids=str,
)  # fmt: skip
def test_a_bound_plan_is_the_same_plan(tmp_path: Path, placed: dict[str, Any]) -> None:
    alone, bound = plan_of(tmp_path / "alone.dxf"), plan_of(tmp_path / "bound.dxf", **placed)
    rooms = [sorted((r.name, round(r.floor_area_m2, 4)) for r in plan.rooms) for plan in (alone, bound)]
    assert rooms[0] == rooms[1] == [("BEDROOM", 16.0), ("KITCHEN", 15.6)]
    (mine,), (other,) = alone.openings, bound.openings
    assert mine.kind == other.kind == "door"
    assert (other.width_m, other.height_m) == pytest.approx((mine.width_m, mine.height_m)) == (0.9, 2.04)
    assert (other.size_from, other.height_from) == (mine.size_from, mine.height_from) == ("attribute", "attribute")
