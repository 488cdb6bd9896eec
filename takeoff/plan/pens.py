"""One layer for everything, told apart by pens: a drawing without layers still has colours and symbols.

Terms:
  pen     what is drawn in one colour on one layer; the parts of small symbols count as a pen of their own.
  penned  said of a drawing in which each pen of the layers in question is a layer.
  figure  a closed outline of the size of furniture, drawn in one go: a bed, a table, a wardrobe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Index, Mask
from takeoff.plan.figures import ring_sizes

__all__ = ["figured", "penned"]

_SYMBOL = 4.0
"""Longest side of a symbol, metres: a bed, a flight of stairs, a pair of doors. What is longer may be a whole plan."""
_IN_SYMBOLS = -1
"""Pen of the parts of small symbols, whatever their colour."""
_FIGURES = -2
"""Pen of the figures, whatever their colour."""
_NO_PEN = -3
"""Of what stays on its layer."""
_FIGURE = (0.55, 4.0)
"""Metres: a figure's shorter side is at least so long, as a wardrobe is deep, its longer one at most (common practice).
Pieces of wall and columns are thinner."""
_OUTLINES = frozenset({"LWPOLYLINE", "POLYLINE", "CIRCLE", "ELLIPSE", "SPLINE"})
_NAMES = {_IN_SYMBOLS: "symbols", _FIGURES: "figures"}
_LEAST = 3
"""Fewer entities of one pen stay where they are."""


def penned(drawing: Drawing, layers: Sequence[int]) -> Drawing | None:
    """The drawing (metres) with the pens of each of the `layers` (numbers) on layers of their own, named by the layer
    and the pen; None where each of them is drawn with one pen.

    The layers of before keep their numbers, whether or not anything is left on them.
    """
    return _apart(drawing, layers, _pens(drawing))


def figured(drawing: Drawing, layers: Sequence[int]) -> Drawing | None:
    """The drawing (metres) with the figures of each of the `layers` (numbers) on a layer of their own; None where they
    have no more than a few."""
    return _apart(drawing, layers, np.where(_figures(drawing), _FIGURES, _NO_PEN))


def _apart(drawing: Drawing, layers: Sequence[int], pen: Index) -> Drawing | None:
    """The drawing with the pens of each of the `layers` apart; None where none has two."""
    layer = drawing.layer_numbers
    new, numbers = list(drawing.layers), layer.copy()
    for n in layers:
        old, own = drawing.layers[n], np.flatnonzero(layer == n)
        values, count = np.unique(pen[own], return_counts=True)
        values = values[count >= _LEAST]
        if len(values) < 2:
            continue
        for value in values[values != _NO_PEN].tolist():
            numbers[own[pen[own] == value]] = len(new)
            new.append(replace(old, name=_name(old.name, value), pen_of=old.name, walls=False))
    if len(new) == len(drawing.layers):
        return None
    entities = tuple(
        e if e.layer == n else e.on_layer(n) for e, n in zip(drawing.entities, numbers.tolist(), strict=True)
    )
    return replace(drawing, layers=tuple(new), entities=entities)


def _pens(drawing: Drawing) -> Index:
    """The pen of each entity."""
    small = np.append(drawing.symbol_sizes.max(axis=1, initial=0.0) <= _SYMBOL, False)
    inner = np.array([e.inner for e in drawing.entities], dtype=np.int64)
    outer = np.array([e.symbol for e in drawing.entities], dtype=np.int64)
    colour = np.array([e.colour for e in drawing.entities], dtype=np.int64)
    return np.asarray(np.where(small[inner] | small[outer], _IN_SYMBOLS, colour))


def _figures(drawing: Drawing) -> Mask:
    """Which entities are figures."""
    drawn = drawing.entities
    outlines = [r for r in drawing.regions if drawn[r.entity].closed and drawn[r.entity].kind in _OUTLINES]
    size = ring_sizes([r.ring for r in outlines])
    fits = (size.min(axis=1, initial=np.inf) >= _FIGURE[0]) & (size.max(axis=1, initial=0.0) <= _FIGURE[1])
    found = np.zeros(len(drawn), dtype=bool)
    found[np.array([r.entity for r in outlines], dtype=np.int64)[fits]] = True
    return found


def _name(layer: str, pen: int) -> str:
    return f"{layer} ({_NAMES.get(pen) or f'colour {pen}'})"
