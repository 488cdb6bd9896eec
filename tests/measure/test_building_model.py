"""Net wall areas against those that a building model states for its own rooms (FZK-Haus, ground floor).

The model (IFC) gives each room's gross and net wall area; outlines and openings here are the model's too, so that this
tests measuring alone. Where the shared files are not there, the tests are skipped.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pytest
from shapely import LineString

from takeoff.job import job_from
from takeoff.measure.rooms import measure
from takeoff.pipeline import read_plan
from takeoff.plan.model import Plan
from tests.measure.plans import RoomSpec, Xy, opening, plan

TRUTH = Path(__file__).parents[2] / ".." / "shared" / "corpus" / "bim" / "FZK-Haus-Erdgeschoss.truth.json"

pytestmark = pytest.mark.skipif(not TRUTH.exists(), reason="the shared building model is not beside the project")


def told() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(TRUTH.read_text(encoding="utf-8"))
    return loaded


def plan_of(model: dict[str, Any]) -> Plan:
    """The model's rooms: outlines made counter-clockwise, and lines with another room straight behind them assumed."""
    rings = [_counter_clockwise(r["polygons"][0][:-1]) for r in model["rooms"]]
    specs = []
    for n, (ring, room) in enumerate(zip(rings, model["rooms"], strict=True)):
        others = [LineString([p, q]) for m, o in enumerate(rings) if m != n for p, q in _sides(o)]
        cut, assumed = _cut_where_open(ring, others)
        specs.append(RoomSpec(cut, room["height_m"], assumed=assumed))
    numbers = {"door": 0, "window": 0}
    openings = []
    for o in model["openings"]:
        numbers[o["kind"]] += 1
        ref = f"{o['kind'][0].upper()}{numbers[o['kind']]}"
        openings.append(opening(ref, tuple(o["at_m"]), o["width_m"], o["height_m"], o["sill_m"], o["wall_thickness_m"]))
    return plan(*specs, openings=openings)


def _counter_clockwise(ring: list[list[float]]) -> list[Xy]:
    points = [(float(x), float(y)) for x, y in ring]
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in _sides(points))
    return points if twice > 0 else points[::-1]


def _sides(ring: list[Xy]) -> list[tuple[Xy, Xy]]:
    return list(zip(ring, ring[1:] + ring[:1], strict=True))


def _cut_where_open(ring: list[Xy], others: list[LineString]) -> tuple[list[Xy], list[int]]:
    """The ring with a corner wherever another room's line begins or ends on it, and its sides that lie on one."""
    points: list[Xy] = []
    for p, q in _sides(ring):
        side = LineString([p, q])
        shared = [side.intersection(o) for o in others]
        ends = {side.project(e) for s in shared if s.length > 0.01 for e in s.boundary.geoms}
        places = sorted({0.0, *(round(e, 6) for e in ends if 0.001 < e < side.length - 0.001)})
        points += [side.interpolate(at).coords[0] for at in places]
    open_sides = [
        n
        for n, (p, q) in enumerate(_sides(points))
        if any(o.distance(LineString([p, q]).centroid) < 1e-6 for o in others)
    ]
    return points, open_sides


def test_net_wall_areas_of_the_building_model() -> None:
    model = told()
    measured = measure(plan_of(model), job_from({}))
    assert len(measured.rooms) == 6
    for room, figures in zip(measured.rooms, (r["model_quantities"] for r in model["rooms"]), strict=True):
        # The hall's own gross is 0.048 m2 under its perimeter times its height: 14.09 x 2.50 = 35.225, told 35.177.
        slack = 0.0481 if math.isclose(figures["gross_wall_area_ifc"], 35.177) else 1e-4
        assert room.wall_gross_m2 == pytest.approx(figures["gross_wall_area_ifc"], abs=slack)
        assert room.wall_net_m2 == pytest.approx(figures["net_wall_area_ifc"], abs=slack)


def test_net_wall_areas_from_the_drawing() -> None:
    """The whole way from the drawing (DXF) of the same storey: the three rooms that are closed on all sides.

    The drawing tells the doors' heights; the windows' 1.20 and the cills are told as the model has them.
    """
    model = told()
    assert {o["height_m"] for o in model["openings"] if o["kind"] == "window"} == {1.2}
    job = job_from({"heights": {"window": 1.2, "sill": 0.8}})
    _, found = read_plan(TRUTH.with_name("FZK-Haus-Erdgeschoss.dxf"), job)
    measured = {m.room: m for m in measure(found, job).rooms}
    figures = {r["number"]: r["model_quantities"] for r in model["rooms"] if r["undrawn_m"] == 0}
    rooms = {r.number: measured[r.ref] for r in found.rooms if r.number in figures}
    assert set(rooms) == {"2", "3", "4"}
    for number, room in rooms.items():
        assert room.wall_gross_m2 == pytest.approx(figures[number]["gross_wall_area_ifc"], abs=1e-3)
        assert room.wall_net_m2 == pytest.approx(figures[number]["net_wall_area_ifc"], abs=1e-3)
