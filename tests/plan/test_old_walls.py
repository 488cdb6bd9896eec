"""Thick old walls, splayed and rebated jambs: rooms, openings and their sizes are exact by construction."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from shapely.geometry import Polygon, box

from takeoff.job import Job
from takeoff.pipeline import take_off
from takeoff.plan.model import Plan

Point = tuple[float, float]

JAMBS: dict[str, list[Point]] = {
    "square": [(0.0, 0.0), (0.0, 1.0)],
    "splayed": [(0.0, 0.0), (0.2, 1.0)],
    "splayed behind a nib": [(0.0, 0.0), (0.0, 0.15), (0.2, 1.0)],
    "rebated": [(0.0, 0.0), (0.0, 0.15), (0.06, 0.15), (0.06, 1.0)],
    "rebated and splayed": [(0.0, 0.0), (0.0, 0.15), (0.05, 0.15), (0.22, 1.0)],
}
"""Half of an opening's outline: how far it widens, and how deep: metres up to 0.15, then 1.0 is the inner face."""
LENGTH, DEPTH = 9.0, 7.0


def outline(kind: str, thick: float, start: float, width: float) -> list[Point]:
    """An opening in a wall along x whose outer face is y = 0, from `start`."""
    half = [(wider, thick if deep == 1.0 else deep) for wider, deep in JAMBS[kind]]
    right = [(start + width + wider, y) for wider, y in half]
    left = [(start - wider, y) for wider, y in reversed(half)]
    return [(right[0][0], -0.01), *right, (right[-1][0], thick + 0.001), (left[0][0], thick + 0.001), *left,
            (left[-1][0], -0.01)]  # fmt: skip


def side(points: list[Point], which: str, thick: float) -> list[Point]:
    """What is drawn for the south wall, in another wall of the house."""
    across, up = LENGTH + 2 * thick, DEPTH + 2 * thick
    turned = {
        "south": lambda x, y: (x, y), "north": lambda x, y: (x, up - y),
        "east": lambda x, y: (across - y, x), "west": lambda x, y: (y, x),
    }[which]  # fmt: skip
    return [turned(x, y) for x, y in points]


def house(path: Path, kind: str, thick: float, spine: float, window_layer: str = "WINDOW") -> dict[str, float]:
    """Three rooms with four windows a metre wide and three doors; the names and floors of the rooms."""
    middle = thick + 5 + spine
    rooms = {
        "Lounge": box(thick, thick, thick + 5, thick + DEPTH),
        "Kitchen": box(middle, thick, thick + LENGTH, thick + 3),
        "Bedroom": box(middle, thick + 3.12, thick + LENGTH, thick + DEPTH),
    }
    windows = [(1.0, "south"), (3.0, "north"), (7.2, "south"), (4.5, "east")]
    holes = [Polygon(side(outline(kind, thick, thick + at, 1.0), wall, thick)) for at, wall in windows]
    holes.append(Polygon(side(outline(kind, thick, thick + 3, 0.9), "west", thick)))
    doors = [(thick + 1.0, 0.8), (thick + 4.0, 0.8)]
    holes += [box(thick + 4.99, at, middle + 0.01, at + width) for at, width in doors]
    whole = box(0, 0, LENGTH + 2 * thick, DEPTH + 2 * thick)
    walls = whole.difference(shapely.union_all([*rooms.values(), *holes]))

    document: Any = ezdxf.new(units=6)
    space = document.modelspace()
    for part in shapely.get_parts(walls):
        for ring in (part.exterior, *part.interiors):
            for a, b in zip(ring.coords, ring.coords[1:], strict=False):
                space.add_line(a, b, dxfattribs={"layer": "WALL"})
    for at, wall in windows:
        for depth in (0.05, 0.1):
            ends = side([(thick + at, depth), (thick + at + 1, depth)], wall, thick)
            space.add_line(*ends, dxfattribs={"layer": window_layer})
    hung(space, (0.1, thick + 3), 0.9)
    for at, width in doors:
        hung(space, (thick + 5, at), width)
    for name, room in rooms.items():
        space.add_text(name, height=0.2, dxfattribs={"layer": "TEXT"}).set_placement(room.centroid.coords[0])
    document.saveas(path)
    return {name: room.area for name, room in rooms.items()}


def hung(space: Any, hinge: Point, width: float) -> None:
    """A door in a wall along y: its leaf open to the east, its swing."""
    layer = {"layer": "DOOR"}
    space.add_line(hinge, (hinge[0] + width, hinge[1]), dxfattribs=layer)
    space.add_arc(hinge, width, 0, 90, dxfattribs=layer)


def plan_of(path: Path) -> Plan:
    return take_off(path, Job()).plan


@pytest.mark.parametrize("kind", JAMBS)
@pytest.mark.parametrize(("thick", "spine"), [(0.5, 0.3), (0.6, 0.6), (0.8, 0.7)])
@pytest.mark.parametrize("window_layer", ["WINDOW", "WALL"])
def test_rooms_and_openings(kind: str, thick: float, spine: float, window_layer: str, tmp_path: Path) -> None:
    truth = house(tmp_path / "house.dxf", kind, thick, spine, window_layer)
    plan = plan_of(tmp_path / "house.dxf")
    assert {r.name: pytest.approx(r.floor_area_m2, abs=0.005) for r in plan.rooms} == truth
    assert sorted(o.kind for o in plan.openings) == ["door"] * 3 + ["window"] * 4
    near = 0.07 if kind == "splayed" else 0.03  # its jambs have begun to splay where the glass is
    assert all(o.width_m == pytest.approx(1.0, abs=near) for o in plan.openings if o.kind == "window")
    for o in plan.openings:
        assert o.wall_thickness_m == pytest.approx(spine if len(o.rooms) == 2 else thick, abs=0.005), o.ref
    assert sorted(len(o.rooms) for o in plan.openings) == [1] * 5 + [2] * 2


def test_splayed_reveals_are_measured_along_their_slope(tmp_path: Path) -> None:
    """By hand: 1.00 m at the frame, 1.40 m in the face; 0.60 m of wall less a frame of 0.07 m that stands back 0.065 m
    leave 0.465 m, on the slope sqrt(0.465^2 + 0.20^2) = 0.506 m."""
    house(tmp_path / "house.dxf", "splayed", 0.6, 0.3)
    measured = take_off(tmp_path / "house.dxf", Job()).measured
    window = {s.part: s for s in measured.surfaces if s.opening == "W1"}
    assert window["left"].height_m == window["right"].height_m == pytest.approx(0.5062, abs=5e-4)
    assert (window["head"].length_m, window["head"].height_m) == pytest.approx((1.2, 0.465), abs=1e-3)
    wall = next(s for s in measured.surfaces if s.kind == "wall" and any(d.opening == "W1" for d in s.deductions))
    assert next(d for d in wall.deductions if d.opening == "W1").width_m == pytest.approx(1.4, abs=1e-3)
