"""Rooflights: rectangles over a room that a word inside them calls so; frames of any shape whose layer or symbol does.

Terms:
  frame    the outermost such rectangle: its sides are the size of the hole in the ceiling.
  words    of a rooflight, in ``takeoff/data/opening_words.toml``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from takeoff.data import load
from takeoff.drawing.model import Drawing, Text
from takeoff.geometry.cluster import Index, Mask
from takeoff.geometry.near import all_met
from takeoff.plan.layers import REMEMBERED, fold
from takeoff.plan.model import Opening, Room

__all__ = ["Rooflight", "find_rooflights", "rooflight_openings", "without_rooflights"]

_LEAST, _MOST = 0.3, 8.0
"""Sides of rooflights, metres: a sun pipe's frame to a lantern (common practice)."""
_FILL, _ODD_FILL = 0.98, 0.6
"""A rectangle fills its least rectangle to this share at least; what is named a rooflight may be a triangle with its
corners cut, a polygon, a circle (0.785).
"""


@dataclass(frozen=True, slots=True)
class Rooflight:
    """One frame, metres, the least rectangle round it, and the entity that draws it."""

    shape: shapely.Polygon
    box: shapely.Polygon
    entity: int


def find_rooflights(drawing: Drawing) -> tuple[Rooflight, ...]:
    """The rooflights of `drawing` (metres), in drawing order; a frame inside another is the same rooflight."""
    texts = [t for t in drawing.paragraphs if _says(t.value)]
    rings = [r for r in drawing.regions if not r.filled and not r.hole and len(r.ring) >= 4]
    if not texts:
        rings = [r for r in rings if _named(drawing, r.entity)]
    if not rings:
        return ()
    shapes = shapely.polygons([shapely.linearrings(r.ring) for r in rings])
    boxes = shapely.minimum_rotated_rectangle(shapes)
    area, full = shapely.area(shapes), shapely.area(boxes)
    good = shapely.is_valid(shapes) & (area >= _ODD_FILL * _LEAST**2) & (area <= _MOST**2)
    named = np.array([_named(drawing, r.entity) for r in rings], dtype=bool) & (area >= _ODD_FILL * full)
    called = _called(drawing, texts, shapes, np.array([r.entity for r in rings])) & (area >= _FILL * full)
    found = np.flatnonzero(good & (named | called))
    found = found[[min(_sides(boxes[n])) >= _LEAST for n in found.tolist()]]
    inner, outer = all_met(
        "rooflights", shapely.STRtree(shapely.buffer(shapes[found], 0.001)), shapes[found], predicate="within"
    )
    nested = {int(i) for i, o in zip(inner, outer, strict=True) if (area[found[o]], i) > (area[found[i]], o)}
    return tuple(
        Rooflight(shapes[n], boxes[n], rings[n].entity) for k, n in enumerate(found.tolist()) if k not in nested
    )


def _named(drawing: Drawing, entity: int) -> bool:
    symbol = drawing.entities[entity].symbol
    return _says(drawing.layer_of(entity)) or (symbol >= 0 and _says(drawing.symbols[symbol].name))


def _called(drawing: Drawing, texts: Sequence[Text], shapes: np.ndarray, entity: Index) -> Mask:
    """Which shapes hold one of the `texts`, and are on its layer or dashed: not what it lies over."""
    called = np.zeros(len(shapes), dtype=bool)
    if texts:
        points = shapely.points([t.at for t in texts])
        text, shape = all_met("texts in outlines", shapely.STRtree(shapes), points, predicate="within")
        for t, s in zip(text.tolist(), shape.tolist(), strict=True):
            drawn = drawing.entities[int(entity[s])]
            called[s] |= drawn.dashed or drawn.layer == drawing.entities[texts[t].entity].layer
    return called


@lru_cache(maxsize=REMEMBERED)
def _says(text: str) -> bool:
    """Whether a text, layer or symbol name holds a word for a rooflight."""
    plain = fold(text)
    padded = f" {' '.join(re.findall(r'[a-z]+', plain))} "
    words = load("opening_words")["rooflight"]["words"]
    return any((f" {w} " in padded or f" {w}s " in padded) if w.isascii() else w in plain for w in words)


def without_rooflights(drawing: Drawing, lights: Sequence[Rooflight], usable: Mask) -> Mask:
    """`usable` less the lines of rooflights: their frames, and what their layer draws inside them."""
    if not lights:
        return usable
    layer = drawing.layer_numbers
    middles = (drawing.segments.ends[:, :2] + drawing.segments.ends[:, 2:]) / 2
    held = np.array([lt.shape for lt in lights], dtype=object)
    segment, light = shapely.STRtree(held).query(shapely.points(middles), predicate="dwithin", distance=0.001)
    own = np.array([layer[lt.entity] for lt in lights])[light] == layer[drawing.segments.entity[segment]]
    left = usable.copy()
    left[segment[own]] = False
    return left


def rooflight_openings(
    drawing: Drawing, lights: Sequence[Rooflight], rooms: Sequence[Room], first: int = 1
) -> tuple[Opening, ...]:
    """The rooflights that lie over a room, refs L1, L2 ... from `first` on; width along the longer pair of sides."""
    if not lights or not rooms:
        return ()
    tree = shapely.STRtree([shapely.Polygon(r.outline, r.holes) for r in rooms])
    middles = shapely.centroid([lt.shape for lt in lights])
    home = dict(tree.query(middles, predicate="within").T.tolist())
    found: list[Opening] = []
    for n, light in enumerate(lights):
        if n not in home:
            continue
        room = rooms[home[n]]
        x, y = shapely.get_coordinates(middles[n])[0].tolist()
        corners = shapely.get_coordinates(light.box)
        sides = _sides(light.box)
        k = 0 if sides[0] >= sides[1] else 1
        half = (corners[k + 1] - corners[k]) / 2
        jambs = ((x - float(half[0]), y - float(half[1])), (x + float(half[0]), y + float(half[1])))
        found.append(
            Opening(
                ref=f"L{first + len(found)}",
                kind="rooflight",
                plan=room.plan,
                at=(x, y),
                width_m=sides[k],
                height_m=sides[1 - k],
                sill_m=None,
                wall_thickness_m=None,
                rooms=(room.ref,),
                jambs=jambs,
                size_from="symbol",
                height_from="symbol",
                handles=(drawing.entities[light.entity].handle,),
            )
        )
    return tuple(found)


def _sides(shape: shapely.Polygon) -> tuple[float, float]:
    corners = shapely.get_coordinates(shape)
    a, b = (float(np.hypot(*(corners[k + 1] - corners[k]))) for k in (0, 1))
    return a, b
