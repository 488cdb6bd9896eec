"""Rooms of two plans matched, on houses of the draughtsman (`tests/draughtsman`), whose truth is known exactly.

The plan after is made from the plan before by a move, a new name, a cut or a removal that this file makes: so what
became of each room is known without any matching.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.plan.matching import Matching, match_rooms
from takeoff.plan.model import Plan, Room
from takeoff.plan.moves import STILL, Move, laid_on, overlap
from tests.draughtsman.cases import make
from tests.draughtsman.run import read_case, understood

KINDS = ("house", "two wings", "corridor", "flats", "three storeys")


@cache
def planned(kind: str, seed: int = 3) -> Plan:
    return understood(read_case(make(kind, seed)))


def with_rooms(plan: Plan, rooms: list[Room]) -> Plan:
    """The plan with other rooms, numbered afresh from the last to the first, so that no ref gives anything away."""
    count = len(rooms)
    numbered = {r.ref: f"R{count - n}" for n, r in enumerate(rooms)}
    openings = tuple(replace(o, rooms=tuple(numbered[r] for r in o.rooms if r in numbered)) for o in plan.openings)
    return replace(plan, rooms=tuple(replace(r, ref=numbered[r.ref]) for r in rooms), openings=openings)


def moved(room: Room, move: Move, plan: Plan) -> Room:
    """A room drawn elsewhere: `move` is in sheet metres."""
    origin = np.array(plan.origin_m)

    def ring(points: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        to = [(float(x), float(y)) for x, y in move.apply(np.array(points) + origin) - origin]
        return tuple(reversed(to)) if move.mirrored else tuple(to)

    return replace(room, outline=ring(room.outline), holes=tuple(ring(h) for h in room.holes))


def where(plan: Plan, after: Plan) -> dict[str, str]:
    """Ref before to ref after of a plan renumbered by `with_rooms`."""
    return {b.ref: a.ref for b, a in zip(plan.rooms, after.rooms, strict=True)}


def found(matching: Matching) -> dict[str, str]:
    return {p.before: p.after for p in matching.pairs}


MOVES = {
    "still": STILL,
    "shifted": Move(0.0, False, (123.4, -56.7)),
    "shifted by a room": Move(0.0, False, (4.0, 0.0)),
    "turned": Move(math.radians(37.0), False, (10.0, 5.0)),
    "turned about": Move(math.pi, False, (0.0, 0.0)),
    "mirrored": Move(math.radians(90.0), True, (60.0, 20.0)),
}


@pytest.mark.parametrize("name", MOVES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_plan_moved_as_a_whole(kind: str, name: str) -> None:
    before = planned(kind)
    after = with_rooms(before, [moved(r, MOVES[name], before) for r in before.rooms])
    matching = match_rooms(before, after)
    assert found(matching) == where(before, after)
    assert matching.gone == matching.new == () and matching.parts == ()
    for pair in matching.pairs:
        assert pair.overlap > 0.99
        assert pair.how == ("place" if name == "still" else "move")
    turned = matching.moves[0].turned_degrees
    assert math.remainder(turned - math.degrees(MOVES[name].turn), 360.0) == pytest.approx(0.0, abs=0.1)
    assert matching.moves[0].mirrored == MOVES[name].mirrored


@pytest.mark.parametrize("kind", KINDS)
def test_a_plan_drawn_and_read_again_elsewhere(kind: str) -> None:
    """The whole way: the same building drawn turned by 12 degrees and read afresh."""
    case = make(kind, 3)
    before = planned(kind)
    page = replace(case.page, turn=case.page.turn + 12.0, shift=(case.page.shift[0] + 40.0, case.page.shift[1] + 7.0))
    after = understood(read_case(replace(case, page=page)))
    matching = match_rooms(before, after)
    assert len(matching.pairs) == len(before.rooms) == len(after.rooms)
    assert min(p.overlap for p in matching.pairs) > 0.95
    names = {r.ref: r.name for r in (*after.rooms,)}
    assert all(names[p.after] == r.name for p, r in zip(matching.pairs, before.rooms, strict=True))


def test_renamed_rooms_stay_what_they_are() -> None:
    before = planned("house")
    after = with_rooms(before, [replace(r, name=f"Area {n}") for n, r in enumerate(before.rooms)])
    assert found(match_rooms(before, after)) == where(before, after)


@pytest.mark.parametrize("name", ["still", "turned", "mirrored"])
def test_one_room_split_and_one_removed(name: str) -> None:
    before = planned("house")
    order = sorted(before.rooms, key=lambda r: -r.floor_area_m2)
    cut, gone = order[0], order[-1]
    rooms: list[Room] = []
    for room in before.rooms:
        if room is gone:
            continue
        if room is not cut:
            rooms.append(room)
            continue
        for n, half in enumerate(halves(room)):
            rooms.append(
                replace(room, ref=f"{room.ref}{'ab'[n]}", outline=half, floor_area_m2=shapely.Polygon(half).area)
            )
    after = with_rooms(before, [moved(r, MOVES[name], before) for r in rooms])
    matching = match_rooms(before, after)
    refs = {room.ref: a.ref for room, a in zip(rooms, after.rooms, strict=True)}
    assert set(matching.after(cut.ref)) == {refs[f"{cut.ref}a"], refs[f"{cut.ref}b"]}
    assert matching.gone == (gone.ref,) and matching.new == ()
    others = {r.ref: refs[r.ref] for r in before.rooms if r is not cut and r is not gone}
    assert {k: v for k, v in found(matching).items() if k != cut.ref} == others
    shares = [p.of_before for p in matching.parts]
    assert all(p.of_after == pytest.approx(1.0, abs=0.01) for p in matching.parts) and sum(shares) <= 1.001


def halves(room: Room) -> list[tuple[tuple[float, float], ...]]:
    """Two parts of a room, 2 to 3 across its longer side."""
    x0, y0, x1, y1 = shapely.Polygon(room.outline).bounds
    at = x0 + 0.4 * (x1 - x0)
    shape = shapely.Polygon(room.outline)
    parts = (shape & shapely.box(x0, y0, at, y1), shape & shapely.box(at, y0, x1, y1))
    return [tuple(p.exterior.coords[:-1]) for p in parts]


def test_two_rooms_joined_are_parts_of_one() -> None:
    before = planned("house")
    one, two = touching(before)
    whole = shapely.union_all([shapely.Polygon(r.outline).buffer(0.1, join_style="mitre") for r in (one, two)]).buffer(
        -0.1, join_style="mitre"
    )
    assert whole.geom_type == "Polygon"
    joined = replace(one, outline=tuple(whole.exterior.coords[:-1]), floor_area_m2=whole.area)
    after = with_rooms(before, [joined if r is one else r for r in before.rooms if r is not two])
    matching = match_rooms(before, after)
    home = after.rooms[[r for r in before.rooms if r is not two].index(one)].ref
    assert matching.after(one.ref) == (home,) and matching.after(two.ref) == (home,)
    assert matching.gone == matching.new == ()


def touching(plan: Plan) -> tuple[Room, Room]:
    shapes = [shapely.Polygon(r.outline) for r in plan.rooms]
    return next(
        (a, b)
        for n, a in enumerate(plan.rooms)
        for m, b in enumerate(plan.rooms)
        if n < m
        and shapes[n].buffer(0.1, join_style="mitre").intersection(shapes[m].buffer(0.1, join_style="mitre")).length
        > 4.0
    )


def test_storeys_moved_each_its_own_way() -> None:
    before = planned("three storeys")
    ways = dict(
        zip(
            sorted({r.plan for r in before.rooms}),
            (STILL, Move(0.0, False, (0.0, 40.0)), Move(math.pi / 2, False, (200.0, 0.0))),
            strict=True,
        )
    )
    after = with_rooms(before, [moved(r, ways[r.plan], before) for r in before.rooms])
    matching = match_rooms(before, after)
    assert found(matching) == where(before, after)
    assert len(matching.moves) == 3


def test_a_room_moved_by_itself_is_known_by_its_shape() -> None:
    before = planned("two wings")
    lone = max(before.rooms, key=lambda r: len(r.outline) + r.floor_area_m2 / 1000)
    after = with_rooms(
        before, [moved(r, Move(1.0, False, (50.0, 0.0)), before) if r is lone else r for r in before.rooms]
    )
    matching = match_rooms(before, after)
    assert found(matching) == where(before, after)
    assert next(p.how for p in matching.pairs if p.before == lone.ref) in ("shape", "move")


def test_a_room_rebuilt_elsewhere_is_known_by_its_name() -> None:
    before = planned("house")
    lone = next(r for r in before.rooms if [x.name for x in before.rooms].count(r.name) == 1)
    x, y = before.rooms[0].outline[0]
    side = math.sqrt(lone.floor_area_m2 * 1.1 / 3)
    square = ((x + 90, y), (x + 90 + 3 * side, y), (x + 90 + 3 * side, y + side), (x + 90, y + side))
    after = with_rooms(
        before,
        [replace(r, outline=square, holes=(), floor_area_m2=3 * side**2) if r is lone else r for r in before.rooms],
    )
    matching = match_rooms(before, after)
    assert found(matching) == where(before, after)
    assert next(p.how for p in matching.pairs if p.before == lone.ref) == "name"


def test_the_same_place_only_where_nothing_may_have_moved() -> None:
    before = planned("house")
    after = with_rooms(before, [moved(r, MOVES["shifted"], before) for r in before.rooms])
    matching = match_rooms(before, after, moved=False)
    assert matching.pairs == () and len(matching.gone) == len(before.rooms) == len(matching.new)


def test_a_plan_read_under_another_unit() -> None:
    before = planned("house")

    def grown(room: Room) -> Room:
        origin = np.array(before.origin_m)
        return replace(room, outline=tuple(map(tuple, ((np.array(room.outline) + origin) * 2.54 - origin).tolist())))

    after = with_rooms(before, [grown(r) for r in before.rooms])
    assert found(match_rooms(before, after, moved=False, scale=2.54)) == where(before, after)


def test_a_long_row_of_rooms_alike_shifted_by_one_bay() -> None:
    """Cells of one size, told apart by their names and by the two ends of the row: the row as a whole was shifted."""
    template = planned("house").rooms[0]
    plan = replace(planned("house"), openings=(), origin_m=(0.0, 0.0))

    def cell(n: int, x: float, wide: float = 3.0) -> Room:
        ring = ((x, 0.0), (x + wide, 0.0), (x + wide, 4.0), (x, 4.0))
        return replace(template, ref=f"R{n}", name=f"Cell {n}", outline=ring, holes=(), floor_area_m2=wide * 4.0)

    before = replace(plan, rooms=(*(cell(n, 3.1 * n) for n in range(150)), cell(150, 3.1 * 150, 5.0)))
    after = with_rooms(before, [moved(r, Move(0.0, False, (3.1, 0.0)), before) for r in before.rooms])
    matching = match_rooms(before, after)
    assert found(matching) == where(before, after)
    assert matching.moves[0].shift == pytest.approx((3.1, 0.0), abs=0.01)


def test_nothing_against_something() -> None:
    full = planned("house")
    empty = replace(full, rooms=(), openings=())
    assert match_rooms(empty, full).new == tuple(r.ref for r in full.rooms)
    assert match_rooms(full, empty).gone == tuple(r.ref for r in full.rooms)
    assert match_rooms(empty, empty).pairs == ()


_ell = shapely.Polygon([(0, 0), (5, 0), (5, 2), (3, 2), (3, 4.2), (0, 4.2)])


@settings(max_examples=60, deadline=None)
@given(st.floats(-3.1, 3.1), st.booleans(), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_the_move_of_a_shape_without_symmetry_is_found(turn: float, mirrored: bool, x: float, y: float) -> None:
    move = Move(turn, mirrored, (x, y))
    other = move(np.array([_ell], dtype=object))[0]
    (share, back), *_ = laid_on(_ell, other)
    assert share > 0.999
    corners = np.array(_ell.exterior.coords)
    assert back.apply(corners) == pytest.approx(move.apply(corners), abs=0.01)


def test_overlap_is_of_the_union() -> None:
    one, two = np.array([shapely.box(0, 0, 2, 1)], dtype=object), np.array([shapely.box(1, 0, 3, 1)], dtype=object)
    assert overlap(one, two).tolist() == pytest.approx([1 / 3])
