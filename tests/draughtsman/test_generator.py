"""The generator: its truths hold, what it draws shows them, and the scorer can tell right from wrong."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, Polygon, union_all

from takeoff.drawing.read import read_drawing
from takeoff.plan.model import Plan, Room
from takeoff.query import Query
from tests.draughtsman.buildings import KINDS, reachable
from tests.draughtsman.cases import make
from tests.draughtsman.score import score
from tests.draughtsman.strokes import Arc
from tests.draughtsman.vices import VICES
from tests.draughtsman.write import METRES, document_of, read_in_memory

EVERY = (*KINDS, "three storeys")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("seed", range(4))
def test_rooms_are_apart_and_all_can_be_entered(kind: str, seed: int) -> None:
    building = KINDS[kind](seed)
    assert reachable(building)
    for a, b in combinations([r.polygon for r in building.rooms], 2):
        assert a.distance(b) == pytest.approx(building.inner_thick, abs=1e-6) or a.distance(b) > building.inner_thick
    rooms = [r.polygon for r in building.rooms if not r.optional]
    parts = [*rooms, *building.columns, building.body()]
    assert sum(p.area for p in parts) == pytest.approx(building.outline.area)


@pytest.mark.parametrize("kind", EVERY)
def test_a_tidy_drawing_shows_every_room_but_for_its_openings(kind: str) -> None:
    case = make(kind, 5)
    drawing = read_in_memory(document_of(case.strokes, case.page))
    walls = np.array([drawing.layer_of(int(e)) in ("A-WALL", "S-COLS") for e in drawing.segments.entity])
    ends = (drawing.segments.ends[walls] + np.tile(drawing.origin, 2)) * METRES[case.page.unit]
    drawn = MultiLineString([LineString(e) for e in ends.reshape(-1, 2, 2)]).buffer(0.003)
    truth = case.truth("")
    for room in truth["rooms"]:
        if room["optional"]:
            continue
        polygon = Polygon(room["polygons"][0][0], room["polygons"][0][1:])
        beside = [o["width_m"] for o in truth["openings"] if _touches(polygon, o)]
        assert polygon.boundary.difference(drawn).length == pytest.approx(sum(beside), abs=0.01 * (1 + len(beside)))


def _touches(polygon: Polygon, opening: dict[str, Any]) -> bool:
    return bool(abs(polygon.distance(Point(opening["at_m"])) - opening["wall_thickness_m"] / 2) < 0.01)


@pytest.mark.parametrize("seed", range(25))
def test_curved_walls_are_drawn_on_their_own_side(seed: int) -> None:
    case = make("bow", seed)
    arcs = [s for s in case.strokes if isinstance(s, Arc) and s.role == "wall"]
    edge = union_all([r.polygon.boundary for r in case.buildings[0].rooms])
    outer = case.buildings[0].outline.boundary
    assert len(arcs) == 2
    for arc in arcs:
        middle = Point(arc.points(2)[1])
        assert min(edge.distance(middle), outer.distance(middle)) < 0.002


@pytest.mark.parametrize("vice", ["tidy", "mirrored", "extrusion down", "multilines", "arcs to splines", "exploded"])
def test_memory_and_file_give_the_same_drawing(vice: str, tmp_path: Path) -> None:
    case = make("house", 3, ((VICES[vice], VICES[vice].strengths[0]),))
    document = document_of(case.strokes, case.page)
    in_memory = read_in_memory(document)
    document.saveas(tmp_path / "generated.dxf")
    on_file = read_drawing(tmp_path / "generated.dxf")
    assert np.allclose(_sorted(in_memory.segments.ends), _sorted(on_file.segments.ends), atol=1e-6)
    assert [t.value for t in in_memory.texts] == [t.value for t in on_file.texts]
    assert len(in_memory.symbols) == len(on_file.symbols)
    assert len(in_memory.regions) == len(on_file.regions)


def _sorted(ends: np.ndarray) -> np.ndarray:
    rounded = np.round(ends, 5)
    return ends[np.lexsort(rounded.T)]


def test_the_same_seed_gives_the_same_strokes() -> None:
    vices = ((VICES["ends missed"], 30), (VICES["furniture"], 5))
    assert make("flats", 2, vices).strokes == make("flats", 2, vices).strokes
    assert make("flats", 2, vices).strokes != make("flats", 3, vices).strokes


@pytest.mark.parametrize("kind", ["house", "skew house", "bow"])
@pytest.mark.parametrize("change", [{"turn": 31.0}, {"mirrored": True}, {"down": True}, {"unit": "in"},
                                    {"shift": (1e6, -2e6)}, {"turn": 45.0, "mirrored": True, "shift": (50.0, 7.0)}])
def test_the_truth_moves_with_the_drawing(kind: str, change: dict[str, object]) -> None:
    """Every corner of a true room is the end of a drawn line or arc, wherever the page puts it."""
    case = make(kind, 1)
    case = replace(case, page=replace(case.page, **change))  # type: ignore[arg-type]
    drawing = read_in_memory(document_of(case.strokes, case.page))
    k = METRES[case.page.unit]
    ends = ((drawing.segments.ends + np.tile(drawing.origin, 2)) * k).reshape(-1, 2)
    for room in case.truth("")["rooms"]:
        if room["optional"] or (kind == "bow" and len(room["polygons"][0][0]) > 20):
            continue
        for corner in room["polygons"][0][0]:
            assert np.min(np.hypot(*(ends - corner).T)) < 2e-6 * max(1.0, abs(corner[0]) / 1e3)


# The scorer ------------------------------------------------------------------------------------------------

SQUARE = [[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]]
TRUTH = {
    "rooms": [{"name": "A", "polygons": [[SQUARE]], "area_m2": 12.0, "undrawn_m": 0.0, "optional": False}],
    "openings": [{"kind": "door", "width_m": 0.9, "at_m": [2.0, -0.05], "wall_thickness_m": 0.1, "drawn": True}],
}


def plan_of(ring: list[list[float]], *queries: Query) -> Plan:
    outline = tuple((x - 100.0, y) for x, y in ring)  # a local frame
    area = Polygon(ring).area
    room = Room("R1", "A", "P1", outline, (), (), area, 14.0, None, "default", 1.0, outline[0])
    return Plan("mm", 0.001, (), (100.0, 0.0), (), (room,), (), (), queries)


def test_the_scorer_knows_right_silent_queried_alarm_and_false() -> None:
    small = [[0.0, 0.0], [3.8, 0.0], [3.8, 3.0], [0.0, 3.0]]  # IoU 0.95, area 5 % short
    away = [[20.0, 0.0], [24.0, 0.0], [24.0, 3.0], [20.0, 3.0]]
    asked = Query("gap", "outline", "?", ("R1",))
    near = Query("gap", "outline", "?", (), (-98.0, -0.2))
    height = Query("height", "height", "?", ("R1",))
    assert _counts(plan_of(SQUARE)) == (1, 0, 0, 0)
    assert _counts(plan_of(SQUARE, height)) == (1, 0, 0, 0)
    assert _counts(plan_of(SQUARE, asked)) == (1, 0, 1, 0)
    assert _counts(plan_of(small)) == (0, 1, 0, 0)
    assert _counts(plan_of(small, asked)) == (0, 0, 0, 0)
    assert _counts(plan_of(small, near)) == (0, 0, 0, 0)
    assert _counts(plan_of(away)) == (0, 1, 0, 1)
    assert _counts(plan_of(away, asked)) == (0, 1, 0, 0)


def _counts(plan: Plan) -> tuple[int, int, int, int]:
    s = score(TRUTH, plan)
    assert (s.openings, s.openings_found) == (1, 0)
    return (s.right, s.silent, s.alarms, s.false)


def test_vices_change_the_drawing() -> None:
    """No vice is a vice in name only: but for the tidy one each changes what is drawn or how."""
    for vice in VICES.values():
        if vice.name == "tidy":
            continue
        kind = "bow" if vice.name.startswith("arcs") else (vice.kinds or ("flats",))[0]
        for strength in vice.strengths:
            plain = [make(kind, s) for s in range(6)]
            bad = [make(kind, s, ((vice, strength),)) for s in range(6)]
            assert any((a.strokes, a.page, a.manner) != (b.strokes, b.page, b.manner) for a, b in zip(
                plain, bad, strict=True)), vice.name
