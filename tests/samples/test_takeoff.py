"""The whole takeoff of each sample under its job file, against the hand-computed truth beside this file."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from shapely import Point, Polygon

from takeoff.job import read_job
from takeoff.pipeline import take_off
from takeoff.plan.model import Opening, Room
from takeoff.record import Takeoff
from tests.samples.hand import ROOT, SAMPLES, truth

LENGTH, AREA = 0.002, 0.005
"""Drawn coordinates are whole millimetres; a curve as chords may differ by a little more in area."""


@cache
def done(sample: str) -> Takeoff:
    job = read_job(ROOT / "samples" / f"{sample}.toml")
    return take_off(ROOT / "samples" / job.drawing.file, job)


def every(group: str) -> list[Any]:
    return [pytest.param(s, name, id=f"{s}-{name}") for s in SAMPLES for name in truth(s)[group]]


def on_sheet(sample: str, points: Any) -> list[tuple[float, float]]:
    ox, oy = done(sample).plan.origin_m
    return [(x + ox, y + oy) for x, y in points]


def room_of(sample: str, true: dict[str, Any]) -> Room:
    """The room whose outline is the true one within a few millimetres all round."""
    for room in done(sample).plan.rooms:
        shape = Polygon(on_sheet(sample, room.outline), [on_sheet(sample, h) for h in room.holes])
        if shape.hausdorff_distance(true["polygon"]) < 0.01:
            return room
    raise AssertionError("no room has this outline")


def opening_of(sample: str, number: str) -> Opening:
    at = Point(truth(sample)["openings"][number]["at"])
    near = [o for o in done(sample).plan.openings if Point(on_sheet(sample, [o.at])[0]).distance(at) < 0.1]
    assert len(near) == 1, [o.ref for o in near]
    return near[0]


@pytest.mark.parametrize(("sample", "name"), every("rooms"))
def test_room(sample: str, name: str) -> None:
    true = truth(sample)["rooms"][name]
    room = room_of(sample, true)
    assert room.name == name
    assert room.floor_area_m2 == pytest.approx(true["floor_area"], abs=AREA)
    assert room.perimeter_m == pytest.approx(true["perimeter"], abs=LENGTH)
    assert room.height_m == pytest.approx(true["height"])


@pytest.mark.parametrize(("sample", "name"), every("rooms"))
def test_measures(sample: str, name: str) -> None:
    true = truth(sample)["rooms"][name]
    ref = room_of(sample, true).ref
    measured = done(sample).measured
    totals = next(r for r in measured.rooms if r.room == ref)
    assert totals.wall_gross_m2 == pytest.approx(true["wall_gross"], abs=0.01)
    assert totals.wall_net_m2 == pytest.approx(true["wall_net"], abs=0.01)
    assert totals.ceiling_m2 == pytest.approx(true.get("ceiling", true["floor_area"]), abs=0.01)
    assert (totals.internal_corners, totals.external_corners) == (true["internal"], true["external"])
    curved = sum(s.length_m for s in measured.surfaces if s.room == ref and s.curved and s.kind == "wall")
    assert curved == pytest.approx(true.get("curved", 0.0), abs=LENGTH)


@pytest.mark.parametrize(("sample", "name"), every("rooms"))
def test_reveals(sample: str, name: str) -> None:
    """A reveal that two rooms share is counted once, on either side."""
    told = truth(sample)
    true = told["rooms"][name]
    measured = done(sample).measured
    ref = room_of(sample, true).ref
    shared = {opening_of(sample, no).ref for no in true["openings"] if no.startswith("O")}
    own = sum(s.net_m2 for s in measured.surfaces if s.room == ref and s.kind == "reveal" and s.opening not in shared)
    assert own == pytest.approx(true.get("reveals", 0.0), abs=0.005)
    for opening in shared:
        both = sum(s.net_m2 for s in measured.surfaces if s.kind == "reveal" and s.opening == opening)
        assert both == pytest.approx(max(r.get("reveals_shared", 0.0) for r in told["rooms"].values()), abs=0.005)


@pytest.mark.parametrize(("sample", "number"), every("openings"))
def test_opening(sample: str, number: str) -> None:
    told = truth(sample)
    true = told["openings"][number]
    opening = opening_of(sample, number)
    assert opening.kind == true["kind"]
    assert opening.width_m == pytest.approx(true["width"], abs=LENGTH)
    assert opening.wall_thickness_m == pytest.approx(true["thick"], abs=LENGTH)
    height = opening.height_m if opening.height_m is not None else done(sample).job.heights.door
    assert height == pytest.approx(true["height"], abs=0.001)
    if "sill" in true:
        assert opening.sill_m == pytest.approx(true["sill"], abs=0.001)
    groups = (told["rooms"], told["cupboards"], told["others"])
    beside = [space for group in groups for space in group.values() if number in space["openings"]]
    assert sorted(opening.rooms) == sorted(room_of(sample, space).ref for space in beside)


@pytest.mark.parametrize(("sample", "which"), every("rooflights"))
def test_rooflight(sample: str, which: str) -> None:
    true = truth(sample)["rooflights"][which]
    light = next(o for o in done(sample).plan.openings if Point(on_sheet(sample, [o.at])[0]).distance(
        Point(true["at"])) < 0.05)
    assert light.kind == "rooflight"
    assert (light.width_m, light.height_m) == pytest.approx((true["width"], true["height"]), abs=LENGTH)
    assert light.rooms == (room_of(sample, truth(sample)["rooms"][true["room"]]).ref,)


@pytest.mark.parametrize("sample", SAMPLES)
def test_nothing_is_found_twice_or_out_of_the_air(sample: str) -> None:
    told = truth(sample)
    spaces = [*told["rooms"].values(), *told["cupboards"].values(), *told["others"].values()]
    assert len(done(sample).plan.rooms) <= len(spaces)
    assert len(done(sample).plan.openings) == len(told["openings"]) + len(told["rooflights"])
    for cupboard in told["cupboards"].values():
        at = cupboard["polygon"].representative_point()
        rooms = [Polygon(on_sheet(sample, r.outline)) for r in done(sample).plan.rooms]
        listed = [Point(on_sheet(sample, [s.at])[0]) for s in done(sample).plan.spaces]
        assert any(r.contains(at) for r in rooms) or any(cupboard["polygon"].contains(p) for p in listed)


@pytest.mark.parametrize("sample", SAMPLES)
def test_no_query_about_shape_or_unit_is_left(sample: str) -> None:
    assert [q.says for q in done(sample).queries if q.concerns in ("unit", "plan", "outline")] == []
