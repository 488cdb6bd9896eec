"""Walls drawn as multilines: with and without caps, joints, fills, a third line, from their middle or one face.

The house is invented: rooms of 4 x 3 m, a wall of 0.1 m between them, outer walls of 0.3 m. Flags of the style are
those of the DXF reference, MLINESTYLE group 70.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest

from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.plan.understand import understand
from tests.plan.sheets import sheet, write

FILL, JOINTS = 1, 2
SQUARE, INNER_ARCS, ROUND = 16 | 256, 32 | 512, 64 | 1024
TOP, MIDDLE, BOTTOM = 0, 1, 2
Xy = tuple[float, float]


def house(space: Any, flags: int, elements: tuple[float, ...], justified: int) -> None:
    style = space.doc.mline_styles.new("WALLS")
    style.dxf.flags = flags
    for offset in elements:
        style.elements.append(offset)
    shift = {TOP: -0.5, MIDDLE: 0.0, BOTTOM: 0.5}[justified]

    def wall(points: list[Xy], thick: float, away: float) -> None:
        """Along `points` in the middle of a wall; `away` moves it onto the face that it is drawn from."""
        x, y = away * thick, away * thick
        moved = [(px + x * dx, py + y * dy) for (px, py), (dx, dy) in zip(points, _outward(points), strict=True)]
        how = {"style_name": "WALLS", "scale_factor": thick, "justification": justified, "layer": "A-WALL"}
        space.add_mline(moved, dxfattribs=how)

    wall([(6.4, -0.15), (8.25, -0.15), (8.25, 3.15), (-0.15, 3.15), (-0.15, -0.15), (5.5, -0.15)], 0.3, -shift)
    wall([(4.05, 0.0), (4.05, 1.0)], 0.1, -shift)
    wall([(4.05, 1.9), (4.05, 3.0)], 0.1, -shift)
    for hinge, tip in (((5.5, 0.0), (5.5, 0.9)), ((4.1, 1.0), (5.0, 1.0))):
        space.add_arc(hinge, 0.9, 0, 90, dxfattribs={"layer": "A-DOOR"})
        space.add_line(hinge, tip, dxfattribs={"layer": "A-DOOR"})
    write(space, "Living", 2, 1.5)
    write(space, "Dining", 6.5, 2.2)


def _outward(points: list[Xy]) -> list[Xy]:
    """At each point the sum of the normals to the left of the pieces that meet there: where a face's corner lies."""
    ways = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
    size = [max(abs(x), abs(y)) for x, y in ways]
    left = [(-y / s, x / s) for (x, y), s in zip(ways, size, strict=True)]
    return [left[0], *((p[0] + q[0], p[1] + q[1]) for p, q in pairwise(left)), left[-1]]


@pytest.mark.parametrize("justified", [TOP, MIDDLE, BOTTOM])
@pytest.mark.parametrize("elements", [(0.5, -0.5), (0.5, 0.0, -0.5)], ids=["two lines", "three lines"])
@pytest.mark.parametrize(
    "flags",
    [0, JOINTS, SQUARE, SQUARE | JOINTS, SQUARE | FILL, ROUND, ROUND | JOINTS, SQUARE | INNER_ARCS],
    ids=["bare", "joints", "capped", "capped, joints", "filled", "round", "round, joints", "inner arcs"],
)
def test_walls_as_multilines(flags: int, elements: tuple[float, ...], justified: int) -> None:
    plan = understand(sheet(lambda space: house(space, flags, elements, justified)), UnitFinding("m", 1.0, ()), Job())
    assert [round(r.floor_area_m2, 3) for r in plan.rooms] == [12.0, 12.0]
    assert sorted((o.kind, round(o.width_m, 3), o.rooms) for o in plan.openings) == [
        ("door", 0.9, ("R1", "R2")), ("door", 0.9, ("R2",)),
    ]
    assert not [q for q in plan.queries if q.concerns == "outline"]
