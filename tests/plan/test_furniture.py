"""Furniture drawn on the walls' layer: which lines go, and which boxes are piers, shafts and columns and stay.

One room of 6 x 4 m with walls of 0.3 m; everything on one layer. The truth is what was drawn, by the sizes of common
furniture (common practice).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from takeoff.plan.furniture import furniture_boxes, furniture_lines
from takeoff.plan.layers import layer_roles
from takeoff.plan.symbols import find_swings
from tests.plan.sheets import Draw, sheet

Box = tuple[float, float, float, float]


def ring(space: Any, x: float, y: float, wide: float, deep: float) -> None:
    corners = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
    space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "A-WALL"})


def line(space: Any, a: tuple[float, float], b: tuple[float, float]) -> None:
    space.add_line(a, b, dxfattribs={"layer": "A-WALL"})


def taken(draw: Draw, name: tuple[float, float] | None = None) -> list[Box]:
    """Extents of the lines taken for furniture, x0 y0 x1 y1 each, in the sheet's own coordinates."""
    def drawn(space: Any) -> None:
        ring(space, -0.3, -0.3, 6.6, 4.6)
        ring(space, 0, 0, 6, 4)
        draw(space)

    drawing = sheet(drawn)
    roles = layer_roles(drawing)
    names = np.array([name], dtype=float) - drawing.origin if name else np.zeros((0, 2))
    picked = np.arange(len(drawing.segments.ends))
    fabric = np.array([layer.name == "A-WALL" for layer in drawing.layers])
    boxes = furniture_boxes(drawing)
    boxes = boxes.take(fabric[drawing.layer_numbers[boxes.entity]])
    mask = furniture_lines(drawing, picked, boxes, find_swings(drawing, roles), names)
    ends = drawing.segments.ends[mask] + np.tile(drawing.origin, 2)
    return [(min(a, c), min(b, d), max(a, c), max(b, d)) for a, b, c, d in ends.round(3).tolist()]


def bed(space: Any) -> None:
    """Against the left wall, a pillow drawn in it."""
    ring(space, 0, 1, 2.0, 1.4)
    ring(space, 0.1, 1.1, 0.4, 1.2)


def crossed(space: Any, x: float, y: float, size: float) -> None:
    ring(space, x, y, size, size)
    line(space, (x, y), (x + size, y + size))
    line(space, (x, y + size), (x + size, y))


def test_a_bed_goes_with_its_pillow_and_the_walls_stay() -> None:
    found = taken(bed)
    assert len(found) == 8
    assert max(x1 for _, _, x1, _ in found) == 2.0


def test_a_box_with_a_diagonal_goes() -> None:
    def cupboard(space: Any) -> None:
        ring(space, 3, 0, 1.2, 0.6)
        line(space, (3, 0), (4.2, 0.6))

    assert len(taken(cupboard)) == 5


def test_a_box_with_nothing_in_it_may_be_a_pier_and_stays() -> None:
    assert taken(lambda s: ring(s, 3, 0, 1.2, 0.6)) == []


def test_a_crossed_box_as_small_as_a_column_stays() -> None:
    assert taken(lambda s: crossed(s, 3, 2, 0.4)) == []


def test_a_crossed_box_larger_than_any_column_goes() -> None:
    assert len(taken(lambda s: crossed(s, 3, 2, 1.0))) == 6


def test_a_shaft_walled_all_round_stays_though_it_is_crossed() -> None:
    def shaft(space: Any) -> None:
        ring(space, 2.9, 1.9, 1.2, 1.2)
        crossed(space, 3, 2, 1.0)

    assert taken(shaft) == []


@pytest.mark.parametrize("size", [(0.3, 0.3), (4.0, 2.0)])
def test_what_is_smaller_than_a_stool_or_larger_than_a_bed_stays(size: tuple[float, float]) -> None:
    def thing(space: Any) -> None:
        ring(space, 1, 1, *size)
        line(space, (1, 1), (1 + size[0], 1 + size[1]))

    assert taken(thing) == []


def test_a_long_thin_box_is_a_length_of_wall() -> None:
    def nib(space: Any) -> None:
        ring(space, 2, 0, 0.45, 2.5)
        line(space, (2.2, 0), (2.2, 2.5))

    assert taken(nib) == []
