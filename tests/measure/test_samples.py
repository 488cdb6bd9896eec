"""The samples' rooms against the hand arithmetic in tests/samples/truth, which knows nothing of this project's code.

Plans are built from the truth's outlines and openings here; that the drawings are read right is another test's work.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from takeoff.job import job_from
from takeoff.measure.model import Measured
from takeoff.measure.rooms import measure
from takeoff.plan.model import Plan
from tests.measure.plans import Arc, RoomSpec, Xy, opening, plan
from tests.samples.hand import SAMPLES, truth

JOBS: dict[str, dict[str, Any]] = {
    "new_house": {"measure": {"frame_setback": 0.07}},
    "rear_extension": {"measure": {"frame_setback": 0.07}},
    "upstairs_flat": {"measure": {"window_reveal": 0.20}},
    "terraced_house": {"measure": {"frame_setback": 0.07}},
}
CASES = [(sample, name) for sample in SAMPLES for name in truth(sample)["rooms"]]


def entries(outline: list[list[Any]], dx: float, dy: float) -> list[Xy | Arc]:
    found: list[Xy | Arc] = []
    for entry in outline:
        if entry[0] != "arc":
            found.append((entry[0] + dx, entry[1] + dy))
            continue
        _, cx, cy, r, start, end = entry
        angles = (math.radians(start), math.radians(end))
        ends = [(cx + dx + r * math.cos(a), cy + dy + r * math.sin(a)) for a in angles]
        # Counter-clockwise about its centre, the arc bulges out of a room that lies on its left.
        found += [ends[0], Arc(r if end > start else -r), ends[1]]
    return found


def plan_of(sample: str) -> Plan:
    told = truth(sample)
    specs = []
    for room in told["rooms"].values():
        specs.append(RoomSpec(entries(room["outline"], *told["storeys"][room["storey"]]), room["height"]))
    openings = [
        replace(
            opening(ref, o["at"], o["width"], o["height"], o.get("sill", 0.0), o["thick"]),
            style="overhead" if o["width"] > 2 and "reveal" not in o else "",
        )
        for ref, o in told["openings"].items()
    ]
    sheet = plan(*specs, openings=openings)
    outer = {ref for ref, o in told["openings"].items() if o.get("reveal") and o["kind"] == "door"}
    rooms = tuple(
        replace(r, sides=tuple(replace(s, external=True) if outer & set(s.openings) else s for s in r.sides))
        for r in sheet.rooms
    )
    return replace(sheet, rooms=rooms)


@pytest.fixture(scope="module")
def measures() -> dict[str, Measured]:
    found = {}
    for sample in SAMPLES:
        sheet, data = plan_of(sample), dict(JOBS[sample])
        if sample == "upstairs_flat":
            number = list(truth(sample)["rooms"]).index("Bedroom 2")
            back = next(s for s in sheet.rooms[number].sides if s.start[1] == s.end[1] == 8.4)
            slope = {"low_side": back.ref, "low_height": 1.5, "high_height": 2.5, "run": 1.2}
            data["rooms"] = {sheet.rooms[number].ref: {"slope": slope}}
        found[sample] = measure(sheet, job_from(data))
    return found


@pytest.mark.parametrize(("sample", "name"), CASES)
def test_room_by_hand(measures: dict[str, Measured], sample: str, name: str) -> None:
    told = truth(sample)["rooms"][name]
    number = list(truth(sample)["rooms"]).index(name)
    room = measures[sample].rooms[number]
    assert room.wall_gross_m2 == pytest.approx(told["wall_gross"], abs=1e-5)
    assert room.wall_net_m2 == pytest.approx(told["wall_net"], abs=1e-5)
    assert (room.internal_corners, room.external_corners) == (told["internal"], told["external"])
    # The truth's sum for bedroom 2 of the flat, 8.712212 + 5.592139, is printed 0.000012 too great.
    # These plans are built without rooflights, which tests/samples measures through the whole pipeline: their voids go
    # back into the ceiling and their shafts (0.30 m deep, samples/rear_extension.toml) out of the reveals.
    above = [r for r in truth(sample).get("rooflights", {}).values() if r["room"] == name]
    voids = sum(r["width"] * r["height"] for r in above)
    shafts = sum(2 * (r["width"] + r["height"]) * 0.30 for r in above)
    assert room.ceiling_m2 == pytest.approx(told.get("ceiling", told["floor_area"]) + voids, abs=2e-5)
    shared = told.get("reveals_shared", 0.0)
    assert room.reveal_m2 == pytest.approx(told.get("reveals", 0.0) + shared - shafts, abs=1e-5)
    surfaces = [s for s in measures[sample].surfaces if s.room == room.room]
    assert sum(s.length_m for s in surfaces if s.curved) == pytest.approx(told.get("curved", 0.0), abs=1e-5)
    assert {d.opening for s in surfaces for d in s.deductions} == set(told["openings"])
