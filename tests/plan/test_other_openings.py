"""Openings that fewer drawings have: shop fronts, hatches, bows, cased openings, lift doors, doors in curved walls.

The plan is invented and its truth known by construction: two rooms of 4 x 3 m with a wall of 0.1 m between them, outer
walls of 0.3 m; or a round house. How the openings are drawn is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest

from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.plan.model import Plan
from takeoff.plan.understand import understand
from tests.plan.sheets import sheet, write

Xy = tuple[float, float]
Span = tuple[float, float]
DOOR, GLASS, WALL = "A-DOOR", "A-GLAZ", "A-WALL"
ENTRANCE = (5.5, 6.4)


def line(space: Any, a: Xy, b: Xy, layer: str = DOOR, **how: Any) -> None:
    space.add_line(a, b, dxfattribs={"layer": layer, **how})


def rectangle(space: Any, x0: float, y0: float, x1: float, y1: float, layer: str = DOOR, **how: Any) -> None:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer, **how})


def leaf(space: Any, hinge: Xy, radius: float, start: float, end: float, open_at: float, layer: str = DOOR) -> None:
    space.add_arc(hinge, radius, start, end, dxfattribs={"layer": layer})
    line(space, hinge, on_circle(hinge, radius, open_at), layer)


def on_circle(centre: Xy, radius: float, degrees: float) -> Xy:
    return centre[0] + radius * math.cos(math.radians(degrees)), centre[1] + radius * math.sin(math.radians(degrees))


def face(space: Any, at: Callable[[float], Xy], low: float, high: float, gaps: list[Span]) -> None:
    """A wall's face from `low` to `high`, less the `gaps` within."""
    cuts = [low, *(v for gap in sorted(gaps) if low < gap[0] < high for v in gap), high]
    for a, b in zip(cuts[::2], cuts[1::2], strict=True):
        line(space, at(a), at(b), WALL)


def house(space: Any, inner: list[Span], outer: list[Span]) -> None:
    """The two rooms; `inner` gaps (y) in the wall between them, `outer` gaps (x) in the wall below, besides the door
    of the right one."""
    outer = [*outer, ENTRANCE]
    face(space, lambda x: (x, -0.3), -0.3, 8.4, outer)
    face(space, lambda x: (x, 0.0), 0.0, 4.0, outer)
    face(space, lambda x: (x, 0.0), 4.1, 8.1, outer)
    for x in (v for gap in outer for v in gap):
        line(space, (x, -0.3), (x, 0), WALL)
    for a, b in (((-0.3, -0.3), (-0.3, 3.3)), ((-0.3, 3.3), (8.4, 3.3)), ((8.4, 3.3), (8.4, -0.3)), ((0, 0), (0, 3)),
                 ((0, 3), (4, 3)), ((4.1, 3), (8.1, 3)), ((8.1, 3), (8.1, 0))):
        line(space, a, b, WALL)
    for x in (4.0, 4.1):
        face(space, lambda y, x=x: (x, y), 0.0, 3.0, inner)  # type: ignore[misc]
    for y in (v for gap in inner for v in gap):
        line(space, (4.0, y), (4.1, y), WALL)
    leaf(space, (ENTRANCE[0], 0), 0.9, 0, 90, 90)
    write(space, "Living", 2, 1.7)
    write(space, "Kitchen", 6.2, 1.7)


def plan_of(draw: Callable[[Any], None]) -> Plan:
    return understand(sheet(draw), UnitFinding("m", 1.0, ()), Job())


def found(draw: Callable[[Any], None], inner: list[Span], outer: list[Span]) -> list[tuple[str, str, float]]:
    """(kind, style, width) of the openings but for the entrance, each in the right rooms; the rooms as built."""

    def both(space: Any) -> None:
        house(space, inner, outer)
        draw(space)

    plan = plan_of(both)
    assert [round(r.floor_area_m2, 2) for r in plan.rooms] == [12.0, 12.0]
    assert not [q for q in plan.queries if q.concerns == "outline"]
    assert [(o.kind, round(o.width_m, 3)) for o in plan.openings if o.rooms == ("R2",)] == [("door", 0.9)]
    own = [o for o in plan.openings if o.rooms != ("R2",)]
    assert {o.rooms for o in own} == {("R1", "R2") if inner else ("R1",)}
    return [(o.kind, o.style, round(o.width_m, 3)) for o in sorted(own, key=lambda o: o.at)]


def shop_front(s: Any) -> None:
    for y in (-0.18, -0.12):
        line(s, (0.3, y), (1.5, y), GLASS)
        line(s, (2.4, y), (3.7, y), GLASS)
    for x in (0.3, 0.9, 1.45, 2.4, 3.0, 3.65):
        rectangle(s, x, -0.2, x + 0.05, -0.1, GLASS)
    leaf(s, (1.5, -0.15), 0.9, 0, 90, 90)


def shop_front_with_two_leaves(s: Any) -> None:
    for x0, x1 in ((0.3, 1.2), (2.8, 3.7)):
        for y in (-0.18, -0.12):
            line(s, (x0, y), (x1, y), GLASS)
    leaf(s, (1.2, -0.12), 0.8, 0, 90, 90)
    leaf(s, (2.8, -0.12), 0.8, 90, 180, 90)


def bow(s: Any, layer: str = GLASS) -> None:
    """Two arcs from jamb to jamb, 0.4 m in front of the wall."""
    centre = (2.0, -0.15 + 1.6)
    for radius in (2.0, 2.1):
        low, high = (math.degrees(math.atan2(-1.6, x)) % 360 for x in (-1.2, 1.2))
        s.add_arc(centre, radius, low, high, dxfattribs={"layer": layer})


def bow_on_a_layer_that_says_nothing(s: Any) -> None:
    bow(s, "L7")


def french_window(s: Any) -> None:
    for hinge, start in (((1.0, 0.0), 0), ((2.4, 0.0), 90)):
        leaf(s, hinge, 0.7, start, start + 90, 90, GLASS)
    line(s, (1.0, -0.3), (2.4, -0.3), GLASS)


def folding_on_a_layer_that_says_nothing(s: Any) -> None:
    zigzag = [(0.8, 0.0), (1.0, -0.5), (1.2, 0.0), (1.4, -0.5), (1.6, 0.0)]
    s.add_lwpolyline(zigzag, dxfattribs={"layer": "L7"})
    line(s, (0.8, -0.3), (3.2, -0.3), "L7")
    line(s, (1.6, -0.1), (3.2, -0.1), "L7")


def garage_door(s: Any) -> None:
    line(s, (0.8, -0.15), (3.2, -0.15), "0", linetype="DASHED")
    write(s, "GARAGE DOOR", 2, -0.6, 0.12)


def high_window(s: Any) -> None:
    for y in (-0.3, -0.15, 0.0):
        line(s, (1.0, y), (2.2, y), "0", linetype="DASHED")


OUTER: list[tuple[Callable[[Any], None], Span, list[tuple[str, str, float]]]] = [
    (shop_front, (0.3, 3.7), [("window", "", 1.2), ("door", "single", 0.9), ("window", "", 1.3)]),
    (shop_front_with_two_leaves, (0.3, 3.7), [("window", "", 0.9), ("door", "double", 1.6), ("window", "", 0.9)]),
    (bow, (0.8, 3.2), [("window", "", 2.4)]),
    (bow_on_a_layer_that_says_nothing, (0.8, 3.2), [("window", "", 2.4)]),
    (french_window, (1.0, 2.4), [("door", "double", 1.4)]),
    (folding_on_a_layer_that_says_nothing, (0.8, 3.2), [("door", "folding", 2.4)]),
    (garage_door, (0.8, 3.2), [("door", "overhead", 2.4)]),
    (high_window, (1.0, 2.2), [("window", "", 1.2)]),
]


@pytest.mark.parametrize(("draw", "gap", "openings"), OUTER, ids=lambda v: getattr(v, "__name__", ""))
def test_openings_in_an_outer_wall(draw: Callable[[Any], None], gap: Span, openings: list[Any]) -> None:
    assert found(draw, [], [gap]) == openings


def faces_across(layer: str, low: float, high: float, note: str = "", **how: Any) -> Callable[[Any], None]:
    """Lines that carry both faces of the inner wall across, and a note beside."""

    def draw(s: Any) -> None:
        for x in (4.0, 4.1):
            line(s, (x, low), (x, high), layer, **how)
        if note:
            write(s, note, 4.9, (low + high) / 2 - 0.3, 0.12)

    return draw


def crossed_out(s: Any) -> None:
    for a, b in (((4.0, 0.6), (4.1, 2.1)), ((4.1, 0.6), (4.0, 2.1))):
        line(s, a, b, "0", linetype="DASHED")


def lift_doors(s: Any) -> None:
    rectangle(s, 4.02, 1.0, 4.05, 1.45)
    rectangle(s, 4.02, 1.45, 4.05, 1.9)


def lift_doors_past_each_other(s: Any) -> None:
    rectangle(s, 4.02, 1.0, 4.04, 1.5, "LIFT")
    rectangle(s, 4.05, 1.4, 4.07, 1.9, "LIFT")


def glass(s: Any) -> None:
    for x in (4.0, 4.05, 4.1):
        line(s, (x, 0.8), (x, 2.0), GLASS)


def pocket_door_wide_open(s: Any) -> None:
    rectangle(s, 4.03, 1.6, 4.07, 2.5)


def pocket_door_in_broken_line(s: Any) -> None:
    rectangle(s, 4.03, 1.3, 4.07, 2.4, "L7", linetype="DASHED")


def swing_at_thirty(s: Any) -> None:
    leaf(s, (4.1, 1.0), 0.9, 60, 90, 60)


def swing_of_a_half_circle(s: Any) -> None:
    leaf(s, (4.1, 1.0), 0.9, -90, 90, -90)


def swing_alone(s: Any) -> None:
    s.add_arc((4.1, 1.0), 0.9, 0, 90, dxfattribs={"layer": "0"})


def swing_as_a_triangle(s: Any) -> None:
    line(s, (4.1, 1.0), (5.0, 1.0), "0")
    line(s, (5.0, 1.0), (4.1, 1.9), "0")


def under_a_fanlight(s: Any) -> None:
    leaf(s, (4.1, 1.0), 0.9, 0, 90, 0)
    write(s, "FIXED LIGHT OVER", 5.1, 0.6, 0.12)


INNER: list[tuple[Callable[[Any], None], Span, tuple[str, str]]] = [
    (faces_across("0", 1.0, 2.2, "HATCH"), (1.0, 2.2), ("window", "")),
    (faces_across("0", 1.0, 2.2, "Durchreiche"), (1.0, 2.2), ("window", "")),
    (faces_across("0", 0.8, 2.0, "borrowed light"), (0.8, 2.0), ("window", "")),
    (glass, (0.8, 2.0), ("window", "")),
    (faces_across("0", 1.0, 1.9), (1.0, 1.9), ("door", "")),
    (faces_across("0", 1.0, 1.9, "LOFT HATCH OVER"), (1.0, 1.9), ("door", "")),
    (faces_across("A-WALL", 0.6, 2.4, linetype="DASHED"), (0.6, 2.4), ("opening", "")),
    (faces_across("A-HEADER", 0.6, 2.4, linetype="DASHED"), (0.6, 2.4), ("opening", "")),
    (faces_across("A-CLNG", 0.6, 2.4, "CASED OPNG", linetype="HIDDEN"), (0.6, 2.4), ("opening", "")),
    (faces_across("0", 0.6, 2.1, "ARCH OVER", linetype="DASHED"), (0.6, 2.1), ("opening", "")),
    (crossed_out, (0.6, 2.1), ("opening", "")),
    (lift_doors, (1.0, 1.9), ("door", "")),
    (lift_doors_past_each_other, (1.0, 1.9), ("door", "sliding")),
    (pocket_door_wide_open, (1.0, 1.8), ("door", "pocket")),
    (pocket_door_in_broken_line, (1.0, 1.8), ("door", "pocket")),
    (swing_at_thirty, (1.0, 1.9), ("door", "single")),
    (swing_of_a_half_circle, (1.0, 1.9), ("door", "single")),
    (swing_alone, (1.0, 1.9), ("door", "single")),
    (swing_as_a_triangle, (1.0, 1.9), ("door", "single")),
    (under_a_fanlight, (1.0, 1.9), ("door", "single")),
]


@pytest.mark.parametrize(("draw", "gap", "told"), INNER)
def test_openings_between_two_rooms(draw: Callable[[Any], None], gap: Span, told: tuple[str, str]) -> None:
    assert found(draw, [gap], []) == [(*told, round(gap[1] - gap[0], 3))]


def test_a_hatch_keeps_the_cill_that_is_printed_beside_it() -> None:
    def draw(space: Any) -> None:
        house(space, [(1.0, 2.2)], [])
        rectangle(space, 3.9, 1.0, 4.2, 2.2, "A-FURN")
        write(space, "hatch cill 1050", 4.9, 1.3, 0.12)

    (hatch,) = [o for o in plan_of(draw).openings if o.kind == "window"]
    assert (hatch.width_m, hatch.sill_m) == (pytest.approx(1.2), pytest.approx(1.05))


IN, OUT = 3.0, 3.3


def round_house(space: Any) -> None:
    """A round wall with a door, glass that follows the curve, straight glass, and a bare opening."""
    openings = [(0.0, 17.0), (80.0, 103.0), (200.0, 223.0), (300.0, 317.0)]
    for (_, start), (end, _) in zip(openings, [*openings[1:], openings[0]], strict=True):
        for radius in (IN, OUT):
            space.add_arc((0, 0), radius, start, end, dxfattribs={"layer": WALL})
    for angle in (v for span in openings for v in span):
        line(space, on_circle((0, 0), IN, angle), on_circle((0, 0), OUT, angle), WALL)
    hinge, tip = (on_circle((0, 0), IN, angle) for angle in openings[0])
    shut = math.degrees(math.atan2(tip[1] - hinge[1], tip[0] - hinge[0]))
    leaf(space, hinge, math.dist(hinge, tip), shut, shut + 90, shut + 90)
    for radius in (IN, (IN + OUT) / 2, OUT):
        space.add_arc((0, 0), radius, *openings[1], dxfattribs={"layer": GLASS})
        line(space, *(on_circle((0, 0), radius, angle) for angle in openings[2]), GLASS)
    write(space, "Hall", 0, 0)


def test_openings_in_a_curved_wall() -> None:
    """Chords of the middle of the wall; the floor is a circle less the four segments that straight lines cut off."""
    plan = plan_of(round_house)
    narrow, wide = (2 * (IN + OUT) / 2 * math.sin(math.radians(angle / 2)) for angle in (17, 23))
    x, y = plan.origin_m
    by_place = sorted(plan.openings, key=lambda o: math.atan2(o.at[1] + y, o.at[0] + x) % (2 * math.pi))
    assert [(o.kind, o.rooms) for o in by_place] == [
        ("door", ("R1",)), ("window", ("R1",)), ("window", ("R1",)), ("opening", ("R1",)),
    ]
    assert [o.width_m for o in by_place] == pytest.approx([narrow, wide, wide, narrow], abs=0.002)
    cut = sum(IN**2 / 2 * (t - math.sin(t)) for t in map(math.radians, (17, 23, 23, 17)))
    assert [r.floor_area_m2 for r in plan.rooms] == [pytest.approx(math.pi * IN**2 - cut, rel=0.001)]


def test_glass_without_a_closed_room_ends_in_a_sentence_not_an_error() -> None:
    def draw(space: Any) -> None:
        for radius in (IN, OUT):
            space.add_arc((0, 0), radius, 0, 180, dxfattribs={"layer": WALL})
        for y in (0.0, 0.06):
            line(space, (-2, y + 1), (2, y + 1), GLASS)

    plan = plan_of(draw)
    assert plan.rooms == ()
    assert "no-closed-room" in {q.kind for q in plan.queries}
