"""Rooms made by hand, measured, and checked by pencil arithmetic written beside each check."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import pytest

from takeoff.errors import JobError
from takeoff.job import Job, job_from
from takeoff.measure.model import Edge, Measured, Surface
from takeoff.measure.rooms import measure
from tests.measure.plans import Arc, RoomSpec, opening, plan, rectangle

NO_JOB = job_from({})
L_SHAPE = [(0.0, 0.0), (6.0, 0.0), (6.0, 5.0), (4.0, 5.0), (4.0, 3.0), (0.0, 3.0)]
BREAST = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.8, 3.0), (2.8, 2.6), (1.2, 2.6), (1.2, 3.0), (0.0, 3.0)]


def surface(measured: Measured, ref: str) -> Surface:
    return next(s for s in measured.surfaces if s.ref == ref)


def total(edges: Iterable[Edge], kind: str, room: str = "R1") -> float:
    return sum(e.length_m for e in edges if e.kind == kind and e.room == room)


def row_sum(measured: Measured, item: str) -> tuple[float, str]:
    rows = [q for q in measured.quantities if q.item == item]
    return sum(q.net for q in rows), rows[0].unit if rows else ""


def test_rectangle() -> None:
    measured = measure(plan(rectangle(4.2, 3.0)), NO_JOB)
    room = measured.rooms[0]
    assert room.wall_gross_m2 == pytest.approx(2 * (4.2 + 3.0) * 2.4)
    assert room.ceiling_m2 == pytest.approx(4.2 * 3.0)
    assert (room.internal_corners, room.external_corners) == (4, 0)
    assert [s.ref for s in measured.surfaces] == ["R1-W1", "R1-W2", "R1-W3", "R1-W4", "R1-C1"]
    assert surface(measured, "R1-W1").how == "4.20 x 2.40"
    assert surface(measured, "R1-C1").how == "4.20 x 3.00"
    assert total(measured.edges, "internal angle") == pytest.approx(4 * 2.4)
    assert total(measured.edges, "wall to ceiling") == pytest.approx(14.4)
    assert measured.queries == ()


def test_opening_in_the_middle_of_a_wall_leaves_one_surface() -> None:
    """The wall is one surface with its window, whether the outline breaks at the window or not."""
    window = opening("W1", (1.5, -0.15), 1.2, 1.2, 0.9, 0.3)
    for broken in (True, False):
        measured = measure(plan(rectangle(4.2, 3.0), openings=[window], broken=broken), NO_JOB)
        wall = surface(measured, "R1-W1")
        assert wall.gross_m2 == pytest.approx(4.2 * 2.4)
        assert wall.net_m2 == pytest.approx(10.08 - 1.44)
        assert wall.how == "4.20 x 2.40 - 1.20 x 1.20 (W1)"
        # Seen from inside, the wall's left end is the plan's right one: 4.20 - 2.10 to 4.20 - 0.90.
        assert [c for p in wall.holes[0] for c in p] == pytest.approx([2.1, 0.9, 3.3, 0.9, 3.3, 2.1, 2.1, 2.1])


def test_window_reveals_and_their_edges() -> None:
    """Wall 0.30, frame 0.07 in the middle of the outer third: set back (0.10 - 0.07) / 2 = 0.015, reveal 0.215."""
    window = opening("W1", (1.5, -0.15), 1.2, 1.0, 0.9, 0.3)
    measured = measure(plan(rectangle(4.2, 3.0), openings=[window]), NO_JOB)
    assert measured.rooms[0].reveal_m2 == pytest.approx((1.2 + 2 * 1.0) * 0.215)
    assert {s.part for s in measured.surfaces if s.kind == "reveal"} == {"left", "right", "head"}
    assert total(measured.edges, "opening angle") == pytest.approx(3.2)
    assert total(measured.edges, "stop") == pytest.approx(3.2)
    left = next(e for e in measured.edges if e.kind == "opening angle" and e.how.startswith("left"))
    assert left.at == pytest.approx((2.1, 0.0))


def test_frame_set_back_by_the_job_file() -> None:
    window = opening("W1", (1.5, -0.15), 1.2, 1.0, 0.9, 0.3)
    job = job_from({"measure": {"frame_setback": 0.10, "frame_depth": 0.06}})
    measured = measure(plan(rectangle(4.2, 3.0), openings=[window]), job)
    assert measured.rooms[0].reveal_m2 == pytest.approx(3.2 * (0.30 - 0.10 - 0.06))


def test_what_the_job_file_says_of_an_opening_goes_before_what_it_says_of_its_kind() -> None:
    windows = [opening("W1", (1.0, -0.15), 1.0, 1.0, 0.9, 0.3), opening("W2", (3.0, -0.15), 1.0, 1.0, 0.9, 0.3)]
    job = job_from(
        {
            "opening_kinds": {"window": {"reveal_depth": 0.1, "cill_plastered": True}},
            "openings": {"W2": {"reveal_depth": 0.2, "head_plastered": False}},
        }
    )
    measured = measure(plan(rectangle(4.2, 3.0), openings=windows), job)
    reveals = [s for s in measured.surfaces if s.kind == "reveal"]
    assert sum(s.net_m2 for s in reveals if s.opening == "W1") == pytest.approx(4.0 * 0.1)
    assert sum(s.net_m2 for s in reveals if s.opening == "W2") == pytest.approx(3.0 * 0.2)


def test_lined_door_has_no_reveal_but_stops() -> None:
    door = opening("D1", (2.0, -0.05), 0.9, 2.1)
    measured = measure(plan(rectangle(4.2, 3.0), openings=[door]), NO_JOB)
    assert measured.rooms[0].reveal_m2 == 0
    assert total(measured.edges, "stop") == pytest.approx(0.9 + 2 * 2.1)
    assert total(measured.edges, "opening angle") == 0


def test_door_without_lining_by_the_job_file() -> None:
    """Wall 0.10, frame 0.07: (0.10 - 0.07) / 2 on each side of an inner wall."""
    door = opening("D1", (2.0, -0.05), 0.9, 2.1)
    job = job_from({"opening_kinds": {"door": {"lining": False}}})
    assert measure(plan(rectangle(4.2, 3.0), openings=[door]), job).rooms[0].reveal_m2 == pytest.approx(5.1 * 0.015)


@pytest.mark.parametrize(
    ("thickness", "style", "reveal"), [(0.3, "", 5.1 * 0.215), (0.1, "", 0.0), (0.3, "overhead", 0.0)]
)
def test_door_in_an_outer_wall_has_a_reveal_inside(thickness: float, style: str, reveal: float) -> None:
    """As a window's: 0.30 - 0.07 - 0.015. Not in a partition to some space that is no room, nor at a garage door."""
    door = replace(opening("D1", (2.0, -0.05), 0.9, 2.1, 0.0, thickness), style=style)
    sheet = plan(rectangle(4.2, 3.0), openings=[door])
    room = sheet.rooms[0]
    outer = tuple(replace(s, external=True) for s in room.sides)
    sheet = replace(sheet, rooms=(replace(room, sides=outer),))
    assert measure(sheet, NO_JOB).rooms[0].reveal_m2 == pytest.approx(reveal)


def test_plain_opening_between_two_rooms_is_counted_once() -> None:
    """Jambs and head through the 0.10 wall: (0.90 + 2 x 2.10) x 0.10, in one room; arrises on both faces."""
    between = opening("O1", (4.25, 1.5), 0.9, 2.1)
    rooms = (rectangle(4.2, 3.0), rectangle(2.0, 3.0, x=4.3))
    measured = measure(plan(*rooms, openings=[between]), NO_JOB)
    assert [r.reveal_m2 for r in measured.rooms] == pytest.approx([5.1 * 0.1, 0.0])
    for room in ("R1", "R2"):
        assert total(measured.edges, "opening angle", room) == pytest.approx(5.1)
        assert total(measured.edges, "stop", room) == 0
    # The same jamb, seen from the other room, is its other one.
    other = next(e for e in measured.edges if e.room == "R2" and e.how.startswith("left of O1"))
    assert other.surfaces == ("R2-W4", "R1-W2-O1-right")


def test_plain_opening_is_counted_where_more_of_it_shows() -> None:
    """R1 is 2.00 high and hides the head; R2 shows it all."""
    between = opening("O1", (4.25, 1.5), 0.9, 2.1)
    measured = measure(plan(rectangle(4.2, 3.0, 2.0), rectangle(2.0, 3.0, x=4.3), openings=[between]), NO_JOB)
    assert [r.reveal_m2 for r in measured.rooms] == pytest.approx([0.0, 5.1 * 0.1])


def test_opening_of_full_width_and_height_leaves_no_wall_and_no_angle() -> None:
    """A floor-to-ceiling opening as wide as the wall: nothing to plaster there, only its two jambs."""
    between = opening("O1", (4.25, 1.5), 3.0, 2.4)
    measured = measure(plan(rectangle(4.2, 3.0), rectangle(2.0, 3.0, x=4.3), openings=[between]), NO_JOB)
    wall = surface(measured, "R1-W2")
    assert (wall.gross_m2, wall.net_m2) == (pytest.approx(7.2), pytest.approx(0.0))
    assert measured.rooms[0].reveal_m2 == pytest.approx(2 * 2.4 * 0.1)
    assert total(measured.edges, "internal angle") == pytest.approx(2 * 2.4)
    # The jambs run on from the walls beside them: no arris.
    assert total(measured.edges, "opening angle") == 0
    assert total(measured.edges, "wall to ceiling") == pytest.approx(4.2 + 4.2 + 3.0)


def test_opening_of_full_width_leaves_the_wall_over_it() -> None:
    between = opening("O1", (4.25, 1.5), 3.0, 2.1)
    measured = measure(plan(rectangle(4.2, 3.0), rectangle(2.0, 3.0, x=4.3), openings=[between]), NO_JOB)
    assert surface(measured, "R1-W2").net_m2 == pytest.approx(3.0 * 0.3)
    # Two corners in full, two only over the opening.
    assert total(measured.edges, "internal angle") == pytest.approx(2 * 2.4 + 2 * 0.3)
    assert total(measured.edges, "opening angle") == pytest.approx(3.0)


def test_l_shaped_room() -> None:
    measured = measure(plan(RoomSpec(L_SHAPE)), NO_JOB)
    room = measured.rooms[0]
    assert (room.internal_corners, room.external_corners) == (5, 1)
    assert room.ceiling_m2 == pytest.approx(22.0)
    assert surface(measured, "R1-C1").how == "6.00 x 3.00 + 2.00 x 2.00"
    assert total(measured.edges, "external angle") == pytest.approx(2.4)


def test_chimney_breast() -> None:
    """Cheeks 0.40 are wider than 0.30: walls; two external angles where the breast stands out."""
    measured = measure(plan(RoomSpec(BREAST)), NO_JOB)
    room = measured.rooms[0]
    assert (room.internal_corners, room.external_corners) == (6, 2)
    assert room.wall_gross_m2 == pytest.approx((2 * (4.0 + 3.0) + 2 * 0.4) * 2.4)
    assert room.ceiling_m2 == pytest.approx(12.0 - 1.6 * 0.4)


def test_narrow_cheeks_are_billed_by_the_metre() -> None:
    shallow = [(x, 2.8 if y == 2.6 else y) for x, y in BREAST]
    measured = measure(plan(RoomSpec(shallow)), NO_JOB)
    narrow = [s for s in measured.surfaces if s.narrow]
    assert [s.length_m for s in narrow] == pytest.approx([0.2, 0.2])
    assert row_sum(measured, "narrow widths") == (pytest.approx(2 * 2.4), "m")
    # Billed once: the walls' square metres are without them.
    assert row_sum(measured, "walls")[0] == pytest.approx(measured.rooms[0].wall_net_m2 - 2 * 0.2 * 2.4)


def test_free_standing_pier() -> None:
    hole = [(2.0, 1.0), (2.0, 1.6), (2.4, 1.6), (2.4, 1.0)]
    measured = measure(plan(RoomSpec(rectangle(5.0, 4.0).outline, holes=[hole])), NO_JOB)
    piers = [s for s in measured.surfaces if s.kind == "pier"]
    assert sum(s.net_m2 for s in piers) == pytest.approx(2 * (0.6 + 0.4) * 2.4)
    room = measured.rooms[0]
    assert (room.internal_corners, room.external_corners) == (4, 4)
    assert total(measured.edges, "external angle") == pytest.approx(4 * 2.4)
    assert room.ceiling_m2 == pytest.approx(20.0 - 0.24)
    assert row_sum(measured, "piers")[0] == pytest.approx(2.0 * 2.4)


def test_core_in_the_middle_of_a_room_is_wall() -> None:
    hole = [(2.0, 1.0), (2.0, 3.0), (3.5, 3.0), (3.5, 1.0)]
    measured = measure(plan(RoomSpec(rectangle(6.0, 5.0).outline, holes=[hole])), NO_JOB)
    assert not [s for s in measured.surfaces if s.kind == "pier"]
    assert measured.rooms[0].wall_gross_m2 == pytest.approx((22.0 + 7.0) * 2.4)


def test_round_column() -> None:
    """Diameter 0.50: girth pi x 0.50, no angles."""
    column = [(2.0, 2.0), Arc(-0.25), (2.5, 2.0), Arc(-0.25)]
    measured = measure(plan(RoomSpec(rectangle(5.0, 4.0).outline, holes=[column])), NO_JOB)
    piers = [s for s in measured.surfaces if s.kind == "pier"]
    assert [(s.curved, s.radius_m) for s in piers] == [(True, 0.25)]
    assert piers[0].net_m2 == pytest.approx(math.pi * 0.5 * 2.4)
    assert measured.rooms[0].external_corners == 0
    assert measured.rooms[0].ceiling_m2 == pytest.approx(20.0 - math.pi * 0.25**2)


def test_bay_window() -> None:
    """Bay 2.40 wide at the wall, 1.20 at the front, 0.80 deep: cheeks 1.00 by the 3-4-5 triangle 0.60, 0.80."""
    outline = [(0.0, 0.0), (1.2, 0.0), (1.8, -0.8), (3.0, -0.8), (3.6, 0.0), (4.8, 0.0), (4.8, 4.0), (0.0, 4.0)]
    measured = measure(plan(RoomSpec(outline)), NO_JOB)
    room = measured.rooms[0]
    assert room.wall_gross_m2 == pytest.approx((17.6 - 2.4 + 1.0 + 1.2 + 1.0) * 2.4)
    assert (room.internal_corners, room.external_corners) == (6, 2)
    assert room.ceiling_m2 == pytest.approx(4.8 * 4.0 + (2.4 + 1.2) / 2 * 0.8)


def test_curved_wall_stands_apart() -> None:
    """A quarter circle of radius 1.00 in the corner: pi / 2 long, tangent to both walls, so no angle there."""
    outline = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), Arc(1.0), (3.0, 3.0), (0.0, 3.0)]
    measured = measure(plan(RoomSpec(outline)), NO_JOB)
    curved = [s for s in measured.surfaces if s.curved]
    assert [(s.net_m2, s.radius_m) for s in curved] == [(pytest.approx(math.pi / 2 * 2.4), 1.0)]
    assert row_sum(measured, "curved walls") == (pytest.approx(math.pi / 2 * 2.4), "m2")
    assert measured.rooms[0].internal_corners == 3
    assert measured.rooms[0].ceiling_m2 == pytest.approx(12.0 - 1.0 + math.pi / 4)


def test_window_in_a_curved_wall_leaves_one_curved_wall() -> None:
    outline = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.0), Arc(1.0), (3.0, 3.0), (0.0, 3.0)]
    at = (3 + math.cos(math.pi / 4) * 1.05, 2 + math.sin(math.pi / 4) * 1.05)
    window = opening("W1", at, 0.6, 1.0, 0.9, 0.1)
    wall = next(s for s in measure(plan(RoomSpec(outline), openings=[window]), NO_JOB).surfaces if s.curved)
    assert wall.net_m2 == pytest.approx(math.pi / 2 * 2.4 - 0.6)
    middle = (wall.holes[0][0][0] + wall.holes[0][1][0]) / 2
    assert middle == pytest.approx(math.pi / 4, abs=1e-3)


def test_tight_rounding_is_an_angle_by_the_metre() -> None:
    """Radius 0.08, not over 100 mm: a rounded angle, linear (lecture deck after SMM7, see data/rules.toml)."""
    outline = [(0.0, 0.0), (4.0, 0.0), (4.0, 2.92), Arc(0.08), (3.92, 3.0), (0.0, 3.0)]
    measured = measure(plan(RoomSpec(outline)), NO_JOB)
    assert measured.rooms[0].internal_corners == 4
    rounded = [e for e in measured.edges if e.curved and e.kind == "internal angle"]
    assert [e.length_m for e in rounded] == pytest.approx([2.4])


SLOPE = {"rooms": {"R1": {"slope": {"low_side": "W1", "low_height": 1.2, "high_height": 2.4, "run": 1.6}}}}


def test_sloping_ceiling() -> None:
    """4.00 x 3.00; from 1.20 over the front wall up to 2.40 in 1.60, level beyond.

    Up the slope: root(1.60^2 + 1.20^2) = 2.00.
    """
    measured = measure(plan(rectangle(4.0, 3.0)), job_from(SLOPE))
    assert surface(measured, "R1-W1").net_m2 == pytest.approx(4.0 * 1.2)
    assert surface(measured, "R1-W3").net_m2 == pytest.approx(4.0 * 2.4)
    for side in ("R1-W2", "R1-W4"):
        wall = surface(measured, side)
        assert wall.net_m2 == pytest.approx(1.6 * (1.2 + 2.4) / 2 + 1.4 * 2.4)
        assert len(wall.outline) == 5
    slope, flat = surface(measured, "R1-C1"), surface(measured, "R1-C2")
    assert (slope.part, slope.net_m2) == ("slope", pytest.approx(4.0 * 2.0))
    assert (flat.part, flat.net_m2) == ("flat", pytest.approx(4.0 * 1.4))
    assert slope.how == "4.00 x 1.60 / cos 36.9 deg"
    # Along the rakes 2.00 + 1.40 on each side; corners 2 x 1.20 and 2 x 2.40; where the slope meets the flat 4.00.
    assert total(measured.edges, "wall to ceiling") == pytest.approx(4.0 + 4.0 + 2 * 3.4)
    assert total(measured.edges, "internal angle") == pytest.approx(2 * 1.2 + 2 * 2.4 + 4.0, abs=1e-3)
    assert measured.rooms[0].height_m == 2.4


def test_sloping_ceiling_over_the_whole_depth() -> None:
    job = job_from({"rooms": {"R1": {"slope": {"low_side": "R1-S3", "low_height": 1.0, "high_height": 3.0}}}})
    measured = measure(plan(rectangle(4.0, 3.0)), job)
    assert [s.ref for s in measured.surfaces if s.kind == "ceiling"] == ["R1-C1"]
    assert measured.rooms[0].ceiling_m2 == pytest.approx(4.0 * math.hypot(3.0, 2.0))
    assert surface(measured, "R1-W2").how == "3.00 x (1.00 + 3.00) / 2"


def test_slope_over_an_l_shape_is_level_behind_the_low_side() -> None:
    """The low side is the wall y = 3 of the L: its leg 4.00 < x < 6.00 goes on behind it, at the low height."""
    job = job_from({"rooms": {"R1": {"slope": {"low_side": "W5", "low_height": 2.0, "high_height": 2.6}}}})
    measured = measure(plan(RoomSpec(L_SHAPE)), job)
    parts = {s.part: s.net_m2 for s in measured.surfaces if s.kind == "ceiling"}
    assert parts == {"slope": pytest.approx(6.0 * math.hypot(3.0, 0.6)), "flat": pytest.approx(2.0 * 2.0)}
    assert surface(measured, "R1-W2").net_m2 == pytest.approx(3.0 * (2.6 + 2.0) / 2 + 2.0 * 2.0)
    # The ceiling bends away upwards along 2.00 m over the mouth of the leg: an external angle.
    bends = [e.length_m for e in measured.edges if e.kind == "external angle" and e.at is None]
    assert bends == pytest.approx([2.0], abs=1e-3)


def test_opening_clipped_by_a_slope() -> None:
    """A door 0.80 wide whose right half runs under the rake; by integration of min(2.10, top)."""
    door = opening("D1", (4.05, 1.0), 0.8, 2.1)
    measured = measure(plan(rectangle(4.0, 3.0), openings=[door]), job_from(SLOPE))
    wall = surface(measured, "R1-W2")
    # Along the plan from y = 0.60 to 1.40 the top is 1.20 + 0.75 y: it passes 2.10 at y = 1.20.
    area = 0.6 * (1.65 + 2.10) / 2 + 0.2 * 2.10
    assert wall.gross_m2 - wall.net_m2 == pytest.approx(area)
    assert total(measured.edges, "wall to ceiling") == pytest.approx(4.0 + 4.0 + 2 * 3.4 - 0.6 * 1.25, abs=0.01)


def test_opening_higher_than_its_wall_is_cut_off_and_asked() -> None:
    window = opening("W1", (1.5, -0.15), 1.2, 2.0, 0.9, 0.3)
    measured = measure(plan(rectangle(4.2, 3.0), openings=[window]), NO_JOB)
    assert surface(measured, "R1-W1").net_m2 == pytest.approx(4.2 * 2.4 - 1.2 * 1.5)
    assert [(q.kind, q.about) for q in measured.queries] == [("opening-above-wall", ("W1", "R1"))]
    assert "head" not in {s.part for s in measured.surfaces}


def test_openings_above_the_ceiling_are_asked_once_for_a_room() -> None:
    windows = [opening("W1", (1.0, -0.15), 1.0, 2.0, 0.9, 0.3), opening("W2", (3.0, -0.15), 1.0, 2.2, 0.9, 0.3)]
    asked = measure(plan(rectangle(4.2, 3.0), openings=windows), NO_JOB).queries
    assert [(q.kind, q.about) for q in asked] == [("opening-above-wall", ("W1", "W2", "R1"))]
    assert asked[0].answer == "[rooms.R1]\nheight = 3.10"


def test_tall_window_without_a_told_cill_stands_lower_rather_than_being_cut_off() -> None:
    window = opening("W1", (1.5, -0.15), 1.2, 2.0, None, 0.3)
    measured = measure(plan(rectangle(4.2, 3.0), openings=[window]), NO_JOB)
    assert surface(measured, "R1-W1").net_m2 == pytest.approx(4.2 * 2.4 - 1.2 * 2.0)
    assert measured.queries == ()


def test_opening_wider_than_its_wall_is_cut_off_at_its_ends() -> None:
    window = opening("W1", (1.5, -0.15), 9.0, 1.0, 0.9, 0.3)
    wall = surface(measure(plan(rectangle(4.2, 3.0), openings=[window]), NO_JOB), "R1-W1")
    assert wall.net_m2 == pytest.approx(4.2 * 2.4 - 4.2)


def test_overlapping_openings_come_off_once() -> None:
    windows = [opening("W1", (1.5, -0.15), 1.0, 1.0, 0.9, 0.3), opening("W2", (2.0, -0.15), 1.0, 1.0, 0.9, 0.3)]
    wall = surface(measure(plan(rectangle(4.2, 3.0), openings=windows, broken=False), NO_JOB), "R1-W1")
    assert wall.gross_m2 - wall.net_m2 == pytest.approx(1.5)


def test_height_unknown_is_asked_once_for_the_drawing() -> None:
    rooms = [rectangle(4.0, 3.0, None), rectangle(2.0, 3.0, None, x=4.1)]
    measured = measure(plan(*rooms), NO_JOB)
    assert [(q.kind, q.about) for q in measured.queries] == [("height-default", ("R1", "R2"))]
    assert [(r.height_m, r.height_from) for r in measured.rooms] == [(2.4, "default")] * 2
    told = measure(plan(*rooms), job_from({"heights": {"default": 2.7}, "rooms": {"R2": {"height": 3.0}}}))
    assert [(r.height_m, r.height_from) for r in told.rooms] == [(2.7, "job"), (3.0, "job")]
    assert told.queries == ()


def test_opening_heights_unknown_are_asked_once_for_each_kind() -> None:
    doors = [opening("D1", (1.0, -0.05), 0.9), opening("D2", (3.0, -0.05), 0.9)]
    windows = [opening("W1", (1.0, 3.05), 1.0), opening("W2", (3.0, 3.05), 1.0)]
    sheet = plan(rectangle(4.0, 3.0), openings=[*doors, *windows])
    asked = measure(sheet, NO_JOB).queries
    assert [(q.kind, q.about) for q in asked] == [
        ("opening-height-default", ("D1", "D2")),
        ("opening-height-default", ("W1", "W2")),
    ]
    settled = measure(sheet, job_from({"heights": {"door": 2.1, "window": 1.2}}))
    assert settled.queries == ()
    assert settled.rooms[0].wall_net_m2 == pytest.approx(14 * 2.4 - 2 * 0.9 * 2.1 - 2 * 1.0 * 1.2)


def test_unknown_wall_thickness_is_asked_once() -> None:
    openings = [opening("W1", (1.0, 0.0), 1.0, 1.0, 0.9, None), opening("O1", (3.0, 0.0), 0.8, 2.0, 0.0, None)]
    measured = measure(plan(rectangle(4.0, 3.0), openings=openings), NO_JOB)
    assert [(q.kind, set(q.about)) for q in measured.queries] == [("reveal-depth-taken", {"W1", "O1"})]
    job = job_from({"opening_kinds": {"window": {"reveal_depth": 0.1}, "opening": {"reveal_depth": 0.12}}})
    assert measure(plan(rectangle(4.0, 3.0), openings=openings), job).queries == ()


def test_rooms_left_out() -> None:
    """Outdoors, and what the job file leaves out: sizes are told, nothing is measured; openings then have one face."""
    between = opening("O1", (4.25, 1.5), 0.9, 2.1)
    terrace = RoomSpec(rectangle(2.0, 3.0, x=4.3).outline, kind="outdoor")
    for rooms, job in (
        ((rectangle(4.2, 3.0), terrace), NO_JOB),
        ((rectangle(4.2, 3.0), rectangle(2.0, 3.0, x=4.3)), job_from({"rooms": {"R2": {"measured": False}}})),
    ):
        measured = measure(plan(*rooms, openings=[between]), job)
        assert {s.room for s in measured.surfaces} == {e.room for e in measured.edges} == {"R1"}
        assert {q.room for q in measured.quantities} == {"R1"}
        assert [r.measured for r in measured.rooms] == [True, False]
        assert measured.rooms[1].wall_gross_m2 == pytest.approx(24.0)
        assert measured.rooms[0].reveal_m2 == pytest.approx(5.1 * 0.1)


def test_the_job_file_can_have_an_outdoor_room_measured() -> None:
    porch = RoomSpec(rectangle(2.0, 3.0).outline, kind="outdoor")
    assert measure(plan(porch), job_from({"rooms": {"R1": {"measured": True}}})).surfaces


def test_line_that_splits_a_space_is_no_wall() -> None:
    """Two rooms that share an assumed line: neither has a wall there, nor angles."""
    left = RoomSpec(rectangle(3.0, 3.0).outline, assumed=[1])
    right = RoomSpec(rectangle(2.0, 3.0, x=3.0).outline, assumed=[3])
    measured = measure(plan(left, right), NO_JOB)
    assert [r.wall_gross_m2 for r in measured.rooms] == pytest.approx([9.0 * 2.4, 7.0 * 2.4])
    assert [r.internal_corners for r in measured.rooms] == [2, 2]
    assert "R1-W2" not in {s.ref for s in measured.surfaces}
    assert total(measured.edges, "wall to ceiling") == pytest.approx(9.0)


def test_assumed_line_without_a_room_behind_it_is_a_wall() -> None:
    measured = measure(plan(RoomSpec(rectangle(3.0, 3.0).outline, assumed=[1])), NO_JOB)
    assert measured.rooms[0].wall_gross_m2 == pytest.approx(12.0 * 2.4)


def test_walls_of_two_types_in_one_plane_are_two_surfaces() -> None:
    outline = [(0.0, 0.0), (2.0, 0.0), (5.0, 0.0), (5.0, 3.0), (0.0, 3.0)]
    types = {0: "masonry", 1: "partition", 2: "partition", 3: "masonry", 4: "masonry"}
    measured = measure(plan(RoomSpec(outline, wall_types=types)), NO_JOB)
    found = {(round(s.length_m, 2), s.wall_type) for s in measured.surfaces if s.kind == "wall"}
    assert {(2.0, "masonry"), (3.0, "partition")} <= found
    assert measured.rooms[0].internal_corners == 4


def test_height_of_one_wall() -> None:
    """Plaster to 1.20 only: its top is a free edge, and its corners are as high as it is."""
    measured = measure(plan(rectangle(4.0, 3.0)), job_from({"surfaces": {"R1-W1": {"height": 1.2}}}))
    assert surface(measured, "R1-W1").net_m2 == pytest.approx(4.8)
    assert total(measured.edges, "stop") == pytest.approx(4.0)
    assert total(measured.edges, "wall to ceiling") == pytest.approx(10.0)
    assert total(measured.edges, "internal angle") == pytest.approx(2 * 1.2 + 2 * 2.4)


def test_void_in_the_ceiling() -> None:
    spec = RoomSpec(rectangle(4.0, 3.0).outline, void_m2=2.0)
    ceiling = surface(measure(plan(spec), NO_JOB), "R1-C1")
    assert (ceiling.gross_m2, ceiling.net_m2) == (pytest.approx(12.0), pytest.approx(10.0))


def test_rooflight_and_its_shaft() -> None:
    light = opening("L1", (2.0, 1.5), 0.8, 1.0)
    bare = measure(plan(rectangle(4.0, 3.0), openings=[light]), NO_JOB)
    assert surface(bare, "R1-C1").net_m2 == pytest.approx(12.0 - 0.8)
    assert [q.kind for q in bare.queries] == ["rooflight-shaft"]
    told = measure(
        plan(rectangle(4.0, 3.0), openings=[light]), job_from({"opening_kinds": {"rooflight": {"reveal_depth": 0.4}}})
    )
    assert told.rooms[0].reveal_m2 == pytest.approx(2 * (0.8 + 1.0) * 0.4)
    assert total(told.edges, "opening angle") == pytest.approx(3.6)
    assert told.queries == ()
    assert len({e.ref for e in told.edges}) == len(told.edges)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"surfaces": {"R1-W9": {"height": 2.0}}}, ["surfaces.R1-W9", "no such surface", "R1-W1"]),
        ({"surfaces": {"R1-C1": {"height": 2.0}}}, ["surfaces.R1-C1.height", "a ceiling has no height"]),
        ({"measure": {"rule": "nett"}}, ["measure.rule", "'nett'", "void-0.50"]),
        (
            {"rooms": {"R1": {"slope": {"low_side": "W7", "low_height": 1.0, "high_height": 2.0}}}},
            ["rooms.R1.slope.low_side", "'W7' is no wall", "R1-W4"],
        ),
        (
            {"rooms": {"R1": {"measured": False}}, "surfaces": {"R1-W1": {"height": 2.0}}},
            ["surfaces.R1-W1", "R1 is not measured"],
        ),
    ],
)
def test_job_file_entry_that_matches_nothing_is_an_error(data: dict[str, object], words: list[str]) -> None:
    with pytest.raises(JobError) as fault:
        measure(plan(rectangle(4.0, 3.0)), job_from(data))
    assert all(word in str(fault.value) for word in words)


def test_same_plan_same_measure() -> None:
    sheet = plan(RoomSpec(BREAST), openings=[opening("W1", (1.5, -0.15), 1.2, 1.0, 0.9, 0.3)])
    assert measure(sheet, NO_JOB) == measure(sheet, NO_JOB)


def test_refs_are_unique_and_edges_name_surfaces() -> None:
    sheet = plan(
        RoomSpec(BREAST),
        rectangle(2.0, 3.0, x=4.1),
        openings=[opening("W1", (1.5, -0.15), 1.2, 1.0, 0.9, 0.3), opening("O1", (4.05, 1.5), 0.9, 2.1)],
    )
    measured = measure(sheet, NO_JOB)
    refs = {s.ref for s in measured.surfaces}
    assert len(refs) == len(measured.surfaces)
    assert all(ref in refs for e in measured.edges for ref in e.surfaces)


def _job(rule: str) -> Job:
    return job_from({"measure": {"rule": rule}})


def test_walls_over_the_height_band_are_apart() -> None:
    """4.00 m walls of a 5.00 x 4.00 room: 3.50 below, 0.50 above; the ceiling is over 3.50 too."""
    high = measure(plan(rectangle(5.0, 4.0, 4.0)), NO_JOB)
    assert row_sum(high, "walls")[0] == pytest.approx(18 * 3.5)
    assert row_sum(high, "walls over 3.50 m")[0] == pytest.approx(18 * 0.5)
    assert row_sum(high, "ceiling over 3.50 m")[0] == pytest.approx(20.0)
    assert sum(s.over_height_m2 for s in high.surfaces) == pytest.approx(18 * 0.5 + 20.0)


def test_height_stages() -> None:
    """5.60 m under the 0.50 rule (SMM7 M20, from memory): stages of 1.50 m over 3.50 m."""
    high = measure(plan(rectangle(5.0, 4.0, 5.6)), _job("void-0.50"))
    assert row_sum(high, "walls over 3.50 m, not exceeding 5.00 m")[0] == pytest.approx(18 * 1.5)
    assert row_sum(high, "walls over 5.00 m, not exceeding 6.50 m")[0] == pytest.approx(18 * 0.6)
    assert row_sum(high, "ceiling over 5.00 m, not exceeding 6.50 m")[0] == pytest.approx(20.0)


def test_window_across_the_height_band_comes_off_each_band() -> None:
    window = opening("W1", (2.0, -0.15), 1.0, 2.0, 2.5, 0.3)
    high = measure(plan(rectangle(5.0, 4.0, 5.0), openings=[window]), NO_JOB)
    assert row_sum(high, "walls")[0] == pytest.approx(18 * 3.5 - 1.0)
    assert row_sum(high, "walls over 3.50 m")[0] == pytest.approx(18 * 1.5 - 1.0)


def test_window_left_in_stays_in_the_high_work_too() -> None:
    """0.80 m2 over 3.50 m under the 1.00 rule: left in, so the high wall keeps it."""
    window = opening("W1", (2.0, -0.15), 1.0, 0.8, 3.8, 0.3)
    high = measure(plan(rectangle(5.0, 4.0, 5.0), openings=[window]), _job("void-1.00"))
    assert surface(high, "R1-W1").over_height_m2 == pytest.approx(5.0 * 1.5)
    assert row_sum(high, "walls over 3.50 m")[0] == pytest.approx(18 * 1.5)
