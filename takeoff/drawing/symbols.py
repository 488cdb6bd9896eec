"""Block references of the flat sheet as `Symbol` objects, with the bounds of what they show."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from takeoff.drawing.chords import Chords
from takeoff.drawing.model import Symbol
from takeoff.drawing.sheet import Sheet
from takeoff.drawing.style import Styles
from takeoff.geometry.cluster import extents

__all__ = ["symbols_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def symbols_of(sheet: Sheet, seen: Bools, styles: Styles, chords: Chords) -> tuple[tuple[Symbol, ...], Ints]:
    """Block references that show something or stand on a layer that is on, and for each old number the new one or -1.

    `seen` (rows,) says which rows are visible.
    """
    low, high = _bounds(sheet, seen, chords)
    shows = np.isfinite(low[:, 0])
    on = np.array([not styles.hidden(layer) for layer in sheet.symbol_layer.tolist()], np.bool_)
    keep = shows | on
    parents = sheet.symbol_parent.tolist()
    for number, parent in enumerate(parents):  # parents come before their children
        keep[number] &= parent < 0 or keep[parent]
    new = np.where(keep, np.cumsum(keep) - 1, -1)
    at = sheet.symbols[:, 9:11]
    box = np.where(shows[:, None], np.concatenate([low, high], axis=1), np.concatenate([at, at], axis=1))
    kept = np.flatnonzero(keep).tolist()
    found = tuple(
        _symbol(sheet, number, box[number].tolist(), int(new[parents[number]]) if parents[number] >= 0 else -1)
        for number in kept
    )
    return found, new


def _symbol(sheet: Sheet, number: int, box: list[float], parent: int) -> Symbol:
    note = sheet.symbol_notes[number]
    a, c, _, b, d, _, _, _, _, e, f, _ = sheet.symbols[number].tolist()
    return Symbol(
        name=note.name,
        handle=note.handle,
        layer=int(sheet.symbol_layer[number]),
        at=(e, f),
        rotation=float(np.arctan2(b, a)),
        scale=(float(np.hypot(a, b)), float(np.hypot(c, d))),
        mirrored=a * d - b * c < 0,
        matrix=(a, b, c, d, e, f),
        bounds=(box[0], box[1], box[2], box[3]),
        attributes=note.attributes,
        parent=parent,
    )


def _bounds(sheet: Sheet, seen: Bools, chords: Chords) -> tuple[Floats, Floats]:
    """Lowest and highest corners (symbols, 2) of the visible line work of each, its inner symbols included."""
    count = len(sheet.symbols)
    row = sheet.piece_row[chords.piece]
    inner = sheet.inner[row]
    use = (inner >= 0) & seen[row]
    low, high = extents(chords.ends[use].reshape(-1, 2), np.repeat(inner[use], 2), count)
    for number in range(count - 1, -1, -1):
        parent = int(sheet.symbol_parent[number])
        if parent >= 0:
            low[parent] = np.minimum(low[parent], low[number])
            high[parent] = np.maximum(high[parent], high[number])
    return low, high
