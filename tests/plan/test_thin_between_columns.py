"""Walls thinner than the columns they stand between, as in framed buildings: exact by construction."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from shapely.geometry import box

from takeoff.job import Job
from takeoff.pipeline import take_off

ACROSS, UP = (0.0, 3.6, 7.2, 11.4), (0.0, 4.5, 6.3, 10.5)
"""Axes, metres."""


def framed(path: Path, wall: float, column: float) -> list[float]:
    """A corridor between two rows of rooms, columns on every axis, axis lines drawn through; the floors, sorted."""
    half = wall / 2

    def room(a: int, b: int, c: int, d: int) -> Any:
        return box(ACROSS[a] + half, UP[c] + half, ACROSS[b] - half, UP[d] - half)

    rooms = [room(n, n + 1, row, row + 1) for row in (0, 2) for n in range(3)]
    rooms.append(room(0, 3, 1, 2))
    columns = [box(x - column / 2, y - column / 2, x + column / 2, y + column / 2) for x in ACROSS for y in UP]
    whole = box(ACROSS[0] - half, UP[0] - half, ACROSS[-1] + half, UP[-1] + half)
    doors = [(x + 1.0, y) for x in ACROSS[:3] for y in UP[1:3]]
    windows = [(x + 1.2, y) for x in ACROSS[:3] for y in (UP[0], UP[-1])]
    holes = [box(x, y - half - 0.01, x + 0.9, y + half + 0.01) for x, y in doors]
    holes += [box(x, y - half - 0.01, x + 1.5, y + half + 0.01) for x, y in windows]
    walls = whole.difference(shapely.union_all([*rooms, *columns, *holes]))

    document: Any = ezdxf.new(units=6)
    space = document.modelspace()
    for part in shapely.get_parts(walls):
        for a, b in pairwise(part.exterior.coords):
            space.add_line(a, b, dxfattribs={"layer": "WALL"})
    for shape in columns:
        space.add_lwpolyline(list(shape.exterior.coords)[:-1], close=True, dxfattribs={"layer": "COLUMN"})
    for x in ACROSS:
        space.add_line((x, -2), (x, 12), dxfattribs={"layer": "DOTE"})
    for y in UP:
        space.add_line((-2, y), (13, y), dxfattribs={"layer": "DOTE"})
    for x, y in windows:
        for off in (-half, -half / 3, half / 3, half):
            space.add_line((x, y + off), (x + 1.5, y + off), dxfattribs={"layer": "WINDOW"})
    for x, y in doors:
        up = 1 if y == UP[2] else -1
        space.add_line((x, y), (x, y + up * 0.9), dxfattribs={"layer": "DOOR"})
        space.add_arc((x, y), 0.9, 0 if up > 0 else -90, 90 if up > 0 else 0, dxfattribs={"layer": "DOOR"})
    document.saveas(path)
    return sorted(shapely.difference(r, shapely.union_all(columns)).area for r in rooms)


@pytest.mark.parametrize(("wall", "column"), [(0.2, 0.4), (0.2, 0.5), (0.24, 0.5), (0.1, 0.24)])
def test_a_thinner_wall_between_columns_is_no_window(wall: float, column: float, tmp_path: Path) -> None:
    floors = framed(tmp_path / "framed.dxf", wall, column)
    plan = take_off(tmp_path / "framed.dxf", Job()).plan
    assert sorted(r.floor_area_m2 for r in plan.rooms) == pytest.approx(floors, abs=0.01)
    assert sorted(o.kind for o in plan.openings) == ["door"] * 6 + ["window"] * 6
