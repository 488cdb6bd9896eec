"""Block references that hold a whole plan, as a drawing bound into another does: what stands in one is read as if it
stood on the sheet itself.

Terms:
  symbol   a block reference that stands for one thing: a door, a chair, a title.
  sheet    a block reference that holds a plan: larger than any one thing and full of symbols and texts, or larger than
           any thing at all.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Mask

__all__ = ["out_of_sheets"]

_LARGE = 4.0
"""Metres, both ways: larger than what is one thing in a room, cars and tables for twelve included (common practice)."""
_LARGER = 8.0
"""Metres, both ways: larger than trees and stairs too."""


def out_of_sheets(drawing: Drawing) -> Drawing:
    """`drawing` (in metres) with each entity's symbol the outermost that is no sheet, -1 where all are."""
    sheet = _sheets(drawing)
    if not sheet.any():
        return drawing
    parent = np.array([s.parent for s in drawing.symbols], dtype=np.int64)
    outermost = np.full(len(sheet) + 1, -1, dtype=np.int64)  # the last one stands for no symbol
    for number in range(len(sheet)):  # parents come before their children
        above = int(outermost[parent[number]]) if parent[number] >= 0 else -1
        outermost[number] = above if above >= 0 else (-1 if sheet[number] else number)
    entities = tuple(
        e if outermost[e.inner] == e.symbol else replace(e, symbol=int(outermost[e.inner])) for e in drawing.entities
    )
    return replace(drawing, entities=entities)


def _sheets(drawing: Drawing) -> Mask:
    side = drawing.symbol_sizes.min(axis=1, initial=np.inf)
    full = np.zeros(len(side), dtype=bool)
    full[[s.parent for s in drawing.symbols if s.parent >= 0]] = True
    full[[n for t in drawing.texts if not t.tag and (n := drawing.entities[t.entity].inner) >= 0]] = True
    return np.asarray((side > _LARGER) | ((side > _LARGE) & full))
