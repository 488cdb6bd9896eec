"""How openings work and what they are: two rooms side by side, one opening drawn in one of their walls in many ways.

The plan is invented and its truth known by construction: rooms of 4 x 3 m, a wall 0.1 m thick between them, outer
walls of 0.3 m. The symbols are those of BS EN ISO 7519 and common practice.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import Any

import pytest

from takeoff.documents.found import found_text
from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.plan.model import Opening, Plan
from takeoff.plan.understand import understand
from tests.plan.sheets import sheet, write

W = 0.9
Symbol = Callable[[Any], None]
LOW, HIGH, T = 1.0, 1.0 + W, 0.1
"""The opening in the wall between the rooms: x from 4.0 to 4.1, y from `LOW` to `HIGH`."""


def line(space: Any, a: tuple[float, float], b: tuple[float, float], layer: str = "A-DOOR", **how: Any) -> None:
    space.add_line(a, b, dxfattribs={"layer": layer, **how})


def rectangle(space: Any, x0: float, y0: float, x1: float, y1: float, layer: str = "A-DOOR", **how: Any) -> None:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer, **how})


def rooms(space: Any, low: float = LOW, high: float = HIGH, names: tuple[str, str] = ("Living", "Kitchen")) -> None:
    """Two rooms; the wall between them is open from `low` to `high`."""
    rectangle(space, -0.3, -0.3, 8.4, 3.3, "A-WALL")
    left = [(4, low), (4, 0), (0, 0), (0, 3), (4, 3), (4, high), (4.1, high), (4.1, 3), (8.1, 3), (8.1, 0), (4.1, 0)]
    space.add_lwpolyline([*left, (4.1, low)], close=True, dxfattribs={"layer": "A-WALL"})
    write(space, names[0], 2, 1.5)
    write(space, names[1], 6, 1.5)


def plan_of(draw: Symbol) -> Plan:
    return understand(sheet(draw), UnitFinding("m", 1.0, ()), Job())


def between(symbol: Symbol, high: float = HIGH) -> Opening:
    """The one opening of the plan with `symbol` in the wall between its rooms."""
    def draw(space: Any) -> None:
        rooms(space, LOW, high)
        symbol(space)

    found = plan_of(draw).openings
    assert len(found) == 1
    assert found[0].width_m == pytest.approx(high - LOW, abs=0.001)
    assert set(found[0].rooms) == {"R1", "R2"}
    return found[0]


def swing(space: Any, hinge: tuple[float, float], radius: float, start: float, end: float, open_at: float) -> None:
    space.add_arc(hinge, radius, start, end, dxfattribs={"layer": "A-DOOR"})
    line(space, hinge, _tip(hinge, radius, open_at))


def _tip(hinge: tuple[float, float], radius: float, degrees: float) -> tuple[float, float]:
    return hinge[0] + radius * cos(radians(degrees)), hinge[1] + radius * sin(radians(degrees))


def single(s: Any) -> None:
    swing(s, (4.1, LOW), W, 0, 90, 0)


def half_open(s: Any) -> None:
    swing(s, (4.1, LOW), W, 45, 90, 45)


def leaf_alone(s: Any) -> None:
    line(s, (4.1, LOW), (4.1 + W, LOW), "0")


def leaf_half_open(s: Any) -> None:
    line(s, (4.1, LOW), _tip((4.1, LOW), W, 45), "0")


def leaf_at_thirty(s: Any) -> None:
    line(s, (4.0, HIGH), _tip((4.0, HIGH), W, 240), "0")


def two_leaves(s: Any) -> None:
    swing(s, (4.1, LOW), W / 2, 0, 90, 0)
    swing(s, (4.1, HIGH), W / 2, 270, 360, 0)


def two_leaves_alone(s: Any) -> None:
    for y in (LOW, HIGH):
        line(s, (4.1, y), (4.1 + W / 2, y), "0")


def both_ways(s: Any) -> None:
    swing(s, (4.05, LOW), W, 0, 90, 0)
    swing(s, (4.05, LOW), W, 90, 180, 180)


def both_ways_in_one_arc(s: Any) -> None:
    s.add_arc((4.05, LOW), W, 0, 180, dxfattribs={"layer": "A-DOOR"})


def sliding(s: Any) -> None:
    rectangle(s, 4.01, LOW, 4.045, LOW + 0.55 * W)
    rectangle(s, 4.055, HIGH - 0.55 * W, 4.09, HIGH)


def in_front(s: Any) -> None:
    rectangle(s, 4.12, LOW + 0.5, 4.16, HIGH + 0.5)


def pocket(s: Any) -> None:
    rectangle(s, 4.03, LOW + 0.4, 4.07, HIGH + 0.4)


def folding(s: Any) -> None:
    for n in range(4):
        a, b = ((4.1 + (0.2 if k % 2 else 0.0), LOW + 0.2 * k) for k in (n, n + 1))
        line(s, a, b)


WAYS: list[tuple[Symbol, str]] = [
    (single, "single"), (half_open, "single"), (leaf_alone, "single"), (leaf_half_open, "single"),
    (leaf_at_thirty, "single"), (two_leaves, "double"), (two_leaves_alone, "double"), (both_ways, "both ways"),
    (both_ways_in_one_arc, "both ways"), (sliding, "sliding"), (in_front, "sliding"), (pocket, "pocket"),
    (folding, "folding"),
]


@pytest.mark.parametrize(("symbol", "style"), WAYS, ids=lambda v: v.__name__ if callable(v) else "")
def test_a_door_works_as_its_symbol_shows(symbol: Symbol, style: str) -> None:
    found = between(symbol)
    assert (found.kind, found.style) == ("door", style)


def test_a_bare_gap_is_no_door() -> None:
    found = between(lambda _space: None)
    assert (found.kind, found.style) == ("opening", "")


@pytest.mark.parametrize(
    ("name", "kind", "style"),
    [
        ("Schiebetür 90", "door", "sliding"), ("SlidingDoor", "door", "sliding"), ("porte pliante", "door", "folding"),
        ("BIFOLD", "door", "folding"), ("pocket door", "door", "pocket"), ("pendeltür", "door", "both ways"),
        ("glass partition", "window", "screen"), ("推拉门", "door", "sliding"), ("M-1", "door", ""),
    ],
)
def test_words_tell_what_lines_do_not(name: str, kind: str, style: str) -> None:
    """One line across the gap, in a symbol of that name: words are the trade's own, common practice."""
    def draw(space: Any) -> None:
        block = space.doc.blocks.new(name)
        block.add_line((0.05, 0), (0.05, W), dxfattribs={"layer": "0"})
        layer = "A-GLAZ" if kind == "window" else "A-DOOR"
        space.add_blockref(name, (4.0, LOW), dxfattribs={"layer": layer})

    found = between(draw)
    assert (found.kind, found.style) == (kind, style)


def test_two_doors_hung_on_one_walls_end_are_two_doors_and_none_in_the_wall() -> None:
    """Their swings make one half circle, their open leaves lie along the wall between the rooms."""
    def draw(space: Any) -> None:
        rectangle(space, -0.3, -1.8, 8.4, 3.3, "A-WALL")
        corridor = [(0, -1.5), (8.1, -1.5), (8.1, -0.1), (4.95, -0.1), (4.95, 0), (8.1, 0), (8.1, 3), (4.1, 3)]
        corridor += [(4.1, -0.1), (4.0, -0.1), (4.0, 3), (0, 3), (0, 0), (3.15, 0), (3.15, -0.1), (0, -0.1)]
        space.add_lwpolyline(corridor, close=True, dxfattribs={"layer": "A-WALL"})
        for start in (0, 90):
            space.add_arc((4.05, 0), 0.9, start, start + 90, dxfattribs={"layer": "A-DOOR"})
        for x in (4.01, 4.09):
            line(space, (x, 0), (x, 0.9))
        for name, x, y in (("Bed", 2, 1.5), ("Study", 6, 1.5), ("Hall", 2, -0.8)):
            write(space, name, x, y)

    found = plan_of(draw).openings
    assert [o.kind for o in found] == ["door", "door"]
    assert {frozenset(o.rooms) for o in found} == {frozenset({"R1", "R3"}), frozenset({"R2", "R3"})}
    assert all(abs(o.at[1] - found[0].at[1]) < 0.01 for o in found)


def glass_partition(space: Any) -> None:
    rectangle(space, -0.3, -0.3, 8.4, 3.3, "A-WALL")
    rectangle(space, 0, 0, 8.1, 3, "A-WALL")
    for x in (4.0, 4.06):
        line(space, (x, 0), (x, 1.9), "A-GLAZ")
    swing(space, (4.03, 1.9), W, 0, 90, 0)
    line(space, (4.0, 1.9), (4.06, 1.9), "A-GLAZ")
    for x in (4.0, 4.06):
        line(space, (x, 2.8), (x, 3.0), "A-GLAZ")
    line(space, (4.0, 2.8), (4.06, 2.8), "A-GLAZ")
    write(space, "Office", 2, 1.5)
    write(space, "Meeting", 6, 1.5)


def test_a_glass_partition_is_a_screen_of_both_rooms() -> None:
    plan = plan_of(glass_partition)
    screens = [o for o in plan.openings if o.style == "screen"]
    assert len(plan.rooms) == 2
    assert [(o.kind, round(o.width_m, 2), o.sill_m) for o in screens] == [("window", 1.9, 0.0)]
    assert set(screens[0].rooms) == {"R1", "R2"}
    held = [r.ref for r in plan.rooms for s in r.sides if screens[0].ref in s.openings]
    assert held == ["R1", "R2"]


def test_what_was_found_is_printed_with_its_style() -> None:
    drawing = sheet(glass_partition)
    printed = found_text(drawing, understand(drawing, UnitFinding("m", 1.0, ()), Job()))
    assert "  1 door: single D1\n" in printed
    assert ": screen W1" in printed


def outer_windows(space: Any, spans: list[tuple[float, float]]) -> None:
    """One room of 6 x 3 m, windows of three lines in its lower wall."""
    rectangle(space, -0.3, -0.3, 6.3, 3.3, "A-WALL")
    rectangle(space, 0, 0, 6, 3, "A-WALL")
    for x0, x1 in spans:
        for x in (x0, x1):
            line(space, (x, -0.3), (x, 0), "A-WALL")
        for y in (-0.2, -0.17):
            line(space, (x0, y), (x1, y), "A-GLAZ")
    write(space, "Living", 3, 1.5)


def test_glass_from_wall_to_wall_is_a_screen_and_a_window_is_not() -> None:
    wide = plan_of(lambda s: outer_windows(s, [(0.2, 5.8)])).openings
    some = plan_of(lambda s: outer_windows(s, [(1.0, 2.8), (3.5, 5.0)])).openings
    assert [(o.kind, o.style, round(o.width_m, 2)) for o in wide] == [("window", "screen", 5.6)]
    assert [(o.kind, o.style) for o in some] == [("window", ""), ("window", "")]


def test_windows_of_a_bay_are_told() -> None:
    """A canted bay of three windows in a wall of 6 m; a fourth window in the straight wall is none of it."""
    def draw(space: Any) -> None:
        inner = [(0, 0), (1.5, 0), (2.1, -0.6), (3.9, -0.6), (4.5, 0), (6, 0), (6, 3), (0, 3)]
        outer = [(-0.3, -0.3), (1.376, -0.3), (1.976, -0.9), (4.024, -0.9), (4.624, -0.3), (6.3, -0.3), (6.3, 3.3)]
        for ring in (inner, [*outer, (-0.3, 3.3)]):
            space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "A-WALL"})
        for a, b in (((1.5, 0), (2.1, -0.6)), ((2.1, -0.6), (3.9, -0.6)), ((3.9, -0.6), (4.5, 0)), ((6, 3), (0, 3))):
            glass(space, a, b)
        write(space, "Living", 3, 1.5)

    def glass(space: Any, a: tuple[float, float], b: tuple[float, float]) -> None:
        length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        start, end = (0.12, length - 0.12) if length < 3 else (1.0, 2.2)
        for off in (0.0, 0.1, 0.15, 0.3):
            p, q = ((a[0] + ux * d + uy * off, a[1] + uy * d - ux * off) for d in (start, end))
            line(space, p, q, "A-GLAZ")
        for d in (start, end):
            p, q = ((a[0] + ux * d + uy * off, a[1] + uy * d - ux * off) for off in (0.0, 0.3))
            line(space, p, q, "A-GLAZ")

    found = plan_of(draw).openings
    assert sorted(o.style for o in found if o.kind == "window") == ["", "bay", "bay", "bay"]


@pytest.mark.parametrize(("name", "kind", "style"), [("Garage", "door", "overhead"), ("Store", "door", "")])
def test_a_wide_door_of_a_garage_is_an_overhead_one(name: str, kind: str, style: str) -> None:
    def draw(space: Any) -> None:
        ring = [(0, 0), (1.5, 0), (1.5, -0.3), (-0.3, -0.3), (-0.3, 3.3), (5.3, 3.3), (5.3, -0.3), (3.9, -0.3)]
        ring += [(3.9, 0), (5, 0), (5, 3), (0, 3)]
        space.add_lwpolyline(ring, close=True, dxfattribs={"layer": "A-WALL"})
        rectangle(space, 1.5, -0.2, 3.9, -0.15)
        write(space, name, 2.5, 1.5)

    found = plan_of(draw).openings
    assert [(o.kind, o.style, round(o.width_m, 2)) for o in found] == [(kind, style, 2.4)]


@pytest.mark.parametrize("tag", ["D02", "D-2", "D 02", "T1a"])
def test_a_tag_is_kept_as_printed(tag: str) -> None:
    def draw(space: Any) -> None:
        single(space)
        write(space, tag, 3.7, LOW + W / 2, 0.12)

    assert between(draw).tag == tag


@pytest.mark.parametrize(("printed", "listed"), [("D02", "D2"), ("D2", "D02"), ("d-02", "D 2")])
def test_tags_and_schedules_meet_whatever_their_zeros(printed: str, listed: str) -> None:
    def draw(space: Any) -> None:
        single(space)
        write(space, printed, 3.7, LOW + W / 2, 0.12)
        for row, texts in enumerate([("Mark", "Width", "Height"), (listed, "900", "1985")]):
            for column, text in enumerate(texts):
                write(space, text, 12 + 2 * column, 3 - 0.5 * row, 0.2)

    found = between(draw)
    assert (found.tag, found.height_m, found.height_from) == (printed, 1.985, "schedule")


def closed_rooms(space: Any) -> None:
    rectangle(space, -0.3, -0.3, 8.4, 3.3, "A-WALL")
    rectangle(space, 0, 0, 4, 3, "A-WALL")
    rectangle(space, 4.1, 0, 8.1, 3, "A-WALL")
    write(space, "Living", 2, 1.5)
    write(space, "Kitchen", 6, 1.5)


def test_a_storey_without_a_way_into_any_room_is_asked_about_once_and_less_sure() -> None:
    shut, entered = plan_of(closed_rooms), plan_of(lambda s: (rooms(s), single(s)))
    assert [q.about for q in shut.queries if q.kind == "doors-missing"] == [("R1", "R2")]
    assert not any(q.kind == "doors-missing" for q in entered.queries)
    assert max(r.confidence for r in shut.rooms) < 0.9 <= min(r.confidence for r in entered.rooms)
