"""Every sheet cut again from the plan alone, with shapely: what a plan must stand up to, whoever made it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import atan2, cos, dist, sin

import shapely
from shapely import Polygon, box
from shapely.affinity import affine_transform

from takeoff.materials.boards_model import BoardLayout
from takeoff.measure.model import Surface

MM2 = 1e-6
SLACK_MM = 0.05
SLACK_M2 = 5e-6
"""Coordinates are kept to the micrometre: 5 mm2 in a whole wall."""


def solid(surface: Surface) -> shapely.Geometry:
    shape = Polygon(surface.outline)
    for hole in surface.holes:
        shape = shape.difference(Polygon(hole))
    return shape


def recut(layout: BoardLayout, surfaces: Sequence[Surface]) -> None:
    """Fails unless every piece lies inside its sheet, a saw cut from the next, and all cover each surface just once."""
    shapes = {p.ref: Polygon(p.outline, p.holes) for laid in layout.surfaces.values() for p in laid.pieces}
    cut: dict[str, int] = {}
    for sheet in layout.sheets:
        _check_sheet(layout, sheet.number)
        for placed in sheet.pieces:
            assert placed.piece not in cut, f"{placed.piece} is cut twice"
            cut[placed.piece] = sheet.number
            _check_same_shape(shapes[placed.piece], Polygon(placed.outline, placed.holes), layout, placed.piece)
    assert cut.keys() == shapes.keys()
    by_ref = {s.ref: s for s in surfaces}
    assert set(layout.surfaces) | set(layout.left_out) == set(by_ref)
    for ref, laid in layout.surfaces.items():
        pieces = [shapes[p.ref] for p in laid.pieces]
        whole = shapely.union_all(pieces)
        assert abs(sum(p.area for p in pieces) - whole.area) < SLACK_M2, f"pieces of {ref} overlap"
        assert whole.symmetric_difference(solid(by_ref[ref])).area < 4 * SLACK_M2, f"{ref} is not covered just once"
        assert all(cut[p.ref] == p.sheet for p in laid.pieces)
    bought = sum(s.width_mm * s.length_mm for s in layout.sheets) * MM2
    assert abs(bought - layout.bought_m2) < 1e-9
    assert sum(n for _, _, n in layout.buy) == len(layout.sheets)


def _check_sheet(layout: BoardLayout, number: int) -> None:
    """Inside the sheet, and inside the least sheet its tolerance allows in each direction that it is cut in."""
    spec, sheet = layout.spec, layout.sheets[number - 1]
    pieces = [Polygon(p.outline, p.holes) for p in sheet.pieces]
    assert (sheet.length_mm, sheet.width_mm) in {(s.length, s.width) for s in spec.sizes}
    outer = box(0, 0, sheet.width_mm, sheet.length_mm).buffer(SLACK_MM)
    assert all(p.is_valid and outer.covers(p) for p in pieces)
    for n, piece in enumerate(pieces):
        for other in pieces[n + 1 :]:
            assert piece.distance(other) >= spec.kerf - SLACK_MM, f"sheet {number}: no room for the saw"
    across = len({round(p.bounds[0]) for p in pieces}) > 1
    along = len({round(p.bounds[1]) for p in pieces}) > 1
    width = sheet.width_mm - (spec.width_tolerance if across else 0.0)
    length = sheet.length_mm - (spec.length_tolerance if along else 0.0)
    for piece in pieces:
        _, _, x1, y1 = piece.bounds
        whole_width = piece.bounds[2] - piece.bounds[0] > sheet.width_mm - spec.width_tolerance
        whole_length = piece.bounds[3] - piece.bounds[1] > sheet.length_mm - spec.length_tolerance
        assert x1 <= width + SLACK_MM or whole_width
        assert y1 <= length + SLACK_MM or whole_length


def _check_same_shape(fixed: Polygon, in_sheet: Polygon, layout: BoardLayout, ref: str) -> None:
    """What is cut is what is fixed: turned and moved, never mirrored. A ceiling's plan is seen from above: mirrored."""
    metres = affine_transform(in_sheet, [1e-3, 0, 0, 1e-3, 0, 0])
    assert abs(metres.area - fixed.area) < SLACK_M2
    kind = next(laid.kind for laid in layout.surfaces.values() if any(p.ref == ref for p in laid.pieces))
    if kind == "ceiling":
        fixed = affine_transform(fixed, [-1, 0, 0, 1, 0, 0])
    x, y = fixed.centroid.coords[0]
    u, v = metres.centroid.coords[0]
    angles = _directions(metres)
    own = _directions(fixed)
    for turn in [a - own[0] for a in angles]:
        c, s = cos(turn), sin(turn)
        turned = affine_transform(fixed, [c, -s, s, c, u - (c * x - s * y), v - (s * x + c * y)])
        if turned.symmetric_difference(metres).area < 10 * SLACK_M2:
            return
    raise AssertionError(f"{ref}: what is cut is not what is fixed")


def _directions(shape: Polygon) -> list[float]:
    """Directions of the longest sides."""
    sides = sorted(pairwise(shape.exterior.coords), key=lambda s: -round(dist(*s), 4))
    longest = dist(*sides[0])
    return [atan2(b[1] - a[1], b[0] - a[0]) for a, b in sides if dist(a, b) > longest - 2e-4]
