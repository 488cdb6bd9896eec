"""Several drawings of one job laid side by side as on one sheet: each storey often comes as a file of its own.

Terms:
  first   the drawing whose unit, origin and place stay; places in it are told in its own coordinates.
  scale   units of the first drawing to one unit of another.

Each further drawing is moved to the right of those before, by a gap wide enough that no plan reaches into the next.
Layers of one name are one layer, but for one that holds walls in one drawing only. Handles of the second drawing begin
with ``2:``, of the third with ``3:``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np

from takeoff.drawing.model import (
    Arcs,
    Drawing,
    Floats,
    Ints,
    Layer,
    Part,
    Point,
    Region,
    Segments,
    Symbol,
    Text,
    scaled,
)

__all__ = ["side_by_side"]

T = TypeVar("T", Region, Text)

GAP = 0.5
"""Between two drawings, as a share of the wider one."""


def side_by_side(drawings: Sequence[Drawing], scales: Sequence[float]) -> Drawing:
    """One drawing of all, in the units and the frame of the first. `scales`: of each, the first's being 1."""
    whole = drawings[0]
    if len(drawings) == 1:
        return whole
    parts = [Part(whole.file, whole.sha256, 1.0, (0.0, 0.0), _bounds(whole)[:2])]
    for number, (other, scale) in enumerate(zip(drawings[1:], scales[1:], strict=True), 2):
        own = _marked(scaled(other, scale), number)
        by = _way(own, whole)
        parts.append(_part(other, scale, by, whole, own))
        whole = _beside(whole, _shifted(own, by))
    sums = "".join(d.sha256 for d in drawings)
    return replace(
        whole,
        file=" + ".join(d.file for d in drawings),
        sha256=hashlib.sha256(sums.encode()).hexdigest(),
        queries=tuple(q for d in drawings for q in d.queries),
        left_out=tuple(row for d in drawings for row in d.left_out),
        parts=tuple(parts),
    )


def _part(other: Drawing, scale: float, by: Point, whole: Drawing, own: Drawing) -> Part:
    """What is told of `other`, which is `own` once scaled, and goes `by` so far beside `whole`."""
    left, right, _ = _bounds(own)
    shift = (by[0] + whole.origin[0] - other.origin[0] * scale, by[1] + whole.origin[1] - other.origin[1] * scale)
    return Part(other.file, other.sha256, scale, shift, (left + by[0], right + by[0]))


def _marked(drawing: Drawing, number: int) -> Drawing:
    """`drawing` with its handles told apart from those of the others."""
    mark = f"{number}:"
    return replace(
        drawing,
        entities=tuple(replace(e, handle=mark + e.handle) for e in drawing.entities),
        symbols=tuple(replace(s, handle=mark + s.handle) for s in drawing.symbols),
        dimensions=tuple(replace(d, handle=mark + d.handle) for d in drawing.dimensions),
    )


def _bounds(drawing: Drawing) -> tuple[float, float, float]:
    """Least x, greatest x and least y of the lines and texts."""
    points = [drawing.segments.ends.reshape(-1, 2), np.array([t.at for t in drawing.texts], dtype=float).reshape(-1, 2)]
    all_points = np.concatenate(points)
    (x0, y0), (x1, _) = all_points.min(axis=0), all_points.max(axis=0)
    return float(x0), float(x1), float(y0)


def _way(drawing: Drawing, before: Drawing) -> Point:
    """How far `drawing` goes to lie to the right of `before`, their lowest points level."""
    left, right, low = _bounds(before)
    own_left, own_right, own_low = _bounds(drawing)
    gap = GAP * max(right - left, own_right - own_left)
    return (right + gap - own_left, low - own_low)


def _shifted(drawing: Drawing, by: Point) -> Drawing:
    x, y = by

    def moved(at: Point) -> Point:
        return (at[0] + x, at[1] + y)

    return replace(
        drawing,
        segments=replace(drawing.segments, ends=drawing.segments.ends + np.array([x, y, x, y])),
        arcs=replace(drawing.arcs, shape=drawing.arcs.shape + np.array([x, y, 0.0, 0.0, 0.0])),
        regions=tuple(replace(r, ring=r.ring + np.array([x, y])) for r in drawing.regions),
        texts=tuple(replace(t, at=moved(t.at)) for t in drawing.texts),
        symbols=tuple(_symbol_moved(s, by) for s in drawing.symbols),
        dimensions=tuple(replace(d, start=moved(d.start), end=moved(d.end)) for d in drawing.dimensions),
    )


def _symbol_moved(symbol: Symbol, by: Point) -> Symbol:
    a, b, c, d, e, f = symbol.matrix
    x0, y0, x1, y1 = symbol.bounds
    x, y = by
    return replace(
        symbol,
        at=(symbol.at[0] + x, symbol.at[1] + y),
        matrix=(a, b, c, d, e + x, f + y),
        bounds=(x0 + x, y0 + y, x1 + x, y1 + y),
    )


def _beside(first: Drawing, other: Drawing) -> Drawing:
    """Both as one; everything of `other` is numbered on from `first`."""
    layers, layer_of = _layers(first.layers, other.layers)
    entity, arc, symbol = len(first.entities), len(first.arcs.shape), len(first.symbols)

    def further(number: int) -> int:
        return number + symbol if number >= 0 else -1

    return replace(
        first,
        layers=layers,
        entities=first.entities
        + tuple(
            replace(e, layer=layer_of[e.layer], symbol=further(e.symbol), inner=further(e.inner))
            for e in other.entities
        ),
        segments=_segments(first.segments, other.segments, entity, arc),
        arcs=Arcs(
            _stacked(first.arcs.shape, other.arcs.shape), _numbered_on(first.arcs.entity, other.arcs.entity, entity)
        ),
        regions=(*first.regions, *(_on(r, entity) for r in other.regions)),
        texts=(*first.texts, *(_on(t, entity) for t in other.texts)),
        symbols=first.symbols
        + tuple(replace(s, layer=layer_of[s.layer], parent=further(s.parent)) for s in other.symbols),
        dimensions=first.dimensions + tuple(replace(d, layer=layer_of[d.layer]) for d in other.dimensions),
    )


def _layers(first: Sequence[Layer], other: Sequence[Layer]) -> tuple[tuple[Layer, ...], list[int]]:
    """All layers, and the number of each of the `other` among them. Layers are one when their names differ by no more
    than capitals and both hold walls, or neither does.
    """
    layers = list(first)
    number = {(layer.name.casefold(), layer.walls): n for n, layer in enumerate(layers)}
    for layer in other:
        if (layer.name.casefold(), layer.walls) not in number:
            number[layer.name.casefold(), layer.walls] = len(layers)
            layers.append(layer)
    return tuple(layers), [number[layer.name.casefold(), layer.walls] for layer in other]


def _segments(first: Segments, other: Segments, entity: int, arc: int) -> Segments:
    arcs = np.where(other.arc >= 0, other.arc + arc, -1).astype(np.int32)
    return Segments(
        _stacked(first.ends, other.ends),
        _numbered_on(first.entity, other.entity, entity),
        np.concatenate([first.arc, arcs]),
    )


def _stacked(first: Floats, other: Floats) -> Floats:
    return np.concatenate([first, other])


def _numbered_on(first: Ints, other: Ints, by: int) -> Ints:
    return np.concatenate([first, (other + by).astype(np.int32)])


def _on(row: T, by: int) -> T:
    return replace(row, entity=row.entity + by)
