"""Several drawings as one sheet: every room of each is found as it is found alone."""

from __future__ import annotations

import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from takeoff.documents.json_document import as_document
from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.drawing.together import side_by_side
from takeoff.drawing.told import without_layers
from takeoff.errors import DrawingError
from takeoff.job import Job, job_from
from takeoff.job_tables import DrawingTable
from takeoff.pipeline import plan_of, read_plan, take_off, together
from takeoff.plan.model import Plan
from tests.draughtsman.cases import make
from tests.draughtsman.run import read_case
from tests.draughtsman.vices import VICES

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ("new_house", "rear_extension", "upstairs_flat")


@cache
def raw(name: str) -> Drawing:
    return read_drawing(SAMPLES / f"{name}.dxf")


@cache
def alone(name: str) -> Plan:
    return plan_of(raw(name), Job())[1]


def sizes(plan: Plan) -> list[tuple[str, float, float]]:
    return sorted((r.name, round(r.floor_area_m2, 3), round(r.perimeter_m, 3)) for r in plan.rooms)


@pytest.mark.parametrize("names", [NAMES[:2], (NAMES[0], NAMES[2]), (NAMES[2], NAMES[1]), NAMES])
def test_every_room_is_found_as_it_is_found_alone(names: tuple[str, ...]) -> None:
    drawing, plan = plan_of(together([raw(n) for n in names], Job()), Job())
    assert sizes(plan) == sorted(row for n in names for row in sizes(alone(n)))
    assert [s.title for s in plan.storeys] == [s.title for n in names for s in alone(n).storeys]
    assert len(plan.openings) == sum(len(alone(n).openings) for n in names)
    assert drawing.file == " + ".join(f"{n}.dxf" for n in names)


def test_the_first_stays_where_it_is() -> None:
    drawing, plan = plan_of(together([raw("new_house"), raw("upstairs_flat")], Job()), Job())
    first = [r for r in plan.rooms if not any(handle.startswith("2:") for handle in r.handles)]
    assert len(first) == len(alone("new_house").rooms) < len(plan.rooms)
    for room in alone("new_house").rooms:
        shape = shapely.Polygon(room.outline)
        same = next(r for r in first if shapely.Polygon(r.outline).symmetric_difference(shape).area < 1e-6)
        assert (same.name, same.plan) == (room.name, room.plan)
        assert set(same.handles) == set(room.handles)
    handles = [{e.handle for e in raw(name).entities} for name in ("new_house", "upstairs_flat")]
    assert len({e.handle for e in drawing.entities}) == sum(map(len, handles))


def test_the_samples_are_not_all_in_one_unit() -> None:
    """So that rooms found as alone are rooms brought to the first drawing's unit."""
    assert {alone(name).unit for name in NAMES} == {"mm", "m"}


def test_drawings_do_not_touch() -> None:
    first, second = raw("new_house"), raw("rear_extension")
    whole = side_by_side([first, second], [1.0, 1.0])
    own = whole.segments.entity < len(first.entities)
    assert np.array_equal(whole.segments.ends[own], first.segments.ends)
    right = first.segments.ends[:, ::2].max()
    assert whole.segments.ends[~own][:, ::2].min() > right + 0.4 * np.ptp(first.segments.ends[:, ::2])
    ends = whole.segments.ends[~own] - second.segments.ends
    assert np.ptp(ends[:, 0]) < 1e-6 and np.allclose(ends[:, 0], ends[:, 2])


def test_everything_still_belongs_together() -> None:
    """Layers, blocks and arcs of the second are those that it has alone."""
    first, second = raw("new_house"), raw("rear_extension")
    whole = side_by_side([first, second], [1.0, 1.0])
    at, symbols = len(first.entities), len(first.symbols)
    for n, entity in enumerate(second.entities):
        moved = whole.entities[at + n]
        assert whole.layer_of(at + n) == second.layer_of(n)
        assert (moved.symbol < 0) == (entity.symbol < 0)
        if entity.symbol >= 0:
            assert whole.symbols[moved.symbol].name == second.symbols[entity.symbol].name
            assert moved.symbol >= symbols
    chords = whole.segments.arc[len(first.segments.arc) :]
    assert np.array_equal(chords >= 0, second.segments.arc >= 0)
    assert np.array_equal(
        whole.arcs.shape[chords[chords >= 0]][:, 2],
        second.arcs.shape[second.segments.arc[second.segments.arc >= 0]][:, 2],
    )
    names = [layer.name.casefold() for layer in whole.layers]
    assert len(names) == len(set(names))


def test_the_job_file_names_them(tmp_path: Path) -> None:
    for name in NAMES[:2]:
        shutil.copy(SAMPLES / f"{name}.dxf", tmp_path)
    job = job_from({"drawing": {"file": "new_house.dxf", "more": ["rear_extension.dxf"]}})
    _, plan = read_plan(tmp_path / "new_house.dxf", job)
    assert sizes(plan) == sorted(sizes(alone("new_house")) + sizes(alone("rear_extension")))
    with pytest.raises(DrawingError, match=r"gone\.dxf"):
        read_plan(tmp_path / "new_house.dxf", job_from({"drawing": {"more": ["gone.dxf"]}}))


@pytest.mark.parametrize("strength", [1, 2, 3])
@pytest.mark.parametrize("other_first", [False, True])
def test_offices_that_draw_walls_on_different_layers(strength: int, other_first: bool) -> None:
    """A house on the usual layers beside one on layers that say nothing, all on layer 0, or on each other's."""
    usual = read_case(make("house", 1))
    other = read_case(make("house", 12, ((VICES["layers scrambled"], float(strength)),)))
    drawings = [other, usual] if other_first else [usual, other]
    plan = plan_of(together(drawings, Job()), Job())[1]
    assert sizes(plan) == sorted(row for d in drawings for row in sizes(plan_of(d, Job())[1]))
    assert not [q for q in plan.queries if q.concerns in ("outline", "plan")]


def test_what_is_asked_of_a_further_drawing_is_not_lost() -> None:
    """A drawing whose walls are gone gives no room, and nobody need find that out by counting."""
    house = raw("new_house")
    nothing = replace(raw("upstairs_flat"), file="roof.dxf")
    drawn = {nothing.layers[nothing.entities[int(e)].layer].name for e in nothing.segments.entity}
    texts = {nothing.layers[nothing.entities[t.entity].layer].name for t in nothing.texts}
    bare = without_layers(nothing, Job(drawing=DrawingTable(ignore_layers=tuple(sorted(drawn - texts)))))
    plan = plan_of(together([house, bare], Job()), Job())[1]
    asked = [q.says for q in plan.queries if q.concerns == "plan"]
    assert len(asked) == 1 and asked[0].startswith("roof.dxf: No walls were found")
    assert sizes(plan) == sizes(alone("new_house"))


def test_the_json_tells_where_each_drawing_went(tmp_path: Path) -> None:
    """Places in a further drawing are its own, plus the shift: read off an opening that both takeoffs name alike."""
    for name in NAMES[:2]:
        shutil.copy(SAMPLES / f"{name}.dxf", tmp_path)
    both = as_document(take_off(tmp_path / "new_house.dxf", Job(drawing=DrawingTable(more=("rear_extension.dxf",)))))
    single = as_document(take_off(tmp_path / "rear_extension.dxf", Job()))
    assert [d["file"] for d in both["drawings"]] == ["new_house.dxf", "rear_extension.dxf"]
    assert both["drawings"][0]["shift_m"] == [0, 0] and single["drawings"][0]["shift_m"] == [0, 0]
    second = both["drawings"][1]
    assert second["metres_per_unit"] == pytest.approx(single["drawing"]["metres_per_unit"])
    assert second["sha256"] == single["drawing"]["sha256"] == single["drawings"][0]["sha256"]
    assert second["plans"] == [p["ref"] for p in both["plans"] if p["drawing"] == "rear_extension.dxf"]
    assert len(second["plans"]) == len(single["plans"])
    here = {round(r["floor_area_m2"], 4): r["outline"] for r in both["rooms"] if r["plan"] in second["plans"]}
    for room in single["rooms"]:
        shifted = np.array(room["outline"]) + np.array(second["shift_m"])
        found = here[round(room["floor_area_m2"], 4)]
        assert np.abs(np.sort(shifted, axis=0) - np.sort(np.array(found), axis=0)).max() < 1e-4
