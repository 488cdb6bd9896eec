"""Curves to chords, once the drawing is flat and the size of everything is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from takeoff.drawing.sheet import Sheet
from takeoff.geometry.conics import chord_counts, points_on

__all__ = ["Chords", "chords_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_SAG = 2e-5
"""How far a chord may stray from its curve, as a share of the drawing's span: 0.2 mm on a 10 m house, so that
the wiggles of insulation and sanitary symbols do not outweigh the walls."""


@dataclass(frozen=True, slots=True)
class Chords:
    """Straight lines seen from above: `ends` (n, 4), the `piece` (n,) of the sheet each stems from, in order of
    the pieces; `first_of` (pieces + 1,) the first chord of each piece. Nothing has length 0."""

    ends: Floats
    piece: Ints
    first_of: Ints


def chords_of(sheet: Sheet) -> Chords:
    """The pieces of `sheet` from above, curves cut into chords."""
    flat = sheet.pieces[:, (0, 1, 3, 4)]
    curved = np.flatnonzero(sheet.piece_conic >= 0)
    count = np.ones(len(flat), np.int64)
    conics = sheet.conics[sheet.piece_conic[curved]]
    count[curved] = chord_counts(conics, _SAG * span_of(flat))
    piece = np.repeat(np.arange(len(flat)), count)
    begins = np.cumsum(count) - count
    ends = flat[piece]
    if len(curved):
        points, conic = points_on(conics, count[curved])
        step = np.arange(len(points)) - np.searchsorted(conic, conic)
        inside = np.flatnonzero((step > 0) & (step < count[curved][conic]))
        chord = begins[curved][conic[inside]] + step[inside]
        ends[chord, :2] = points[inside, :2]
        ends[chord - 1, 2:] = points[inside, :2]
    some = (ends[:, 0] != ends[:, 2]) | (ends[:, 1] != ends[:, 3])
    kept = np.concatenate([[0], np.cumsum(some)])
    return Chords(ends[some], piece[some], kept[np.append(begins, len(piece))])


def span_of(flat: Floats) -> float:
    """Size of the drawing without its strays: the larger side of the box that holds the middle 90 % of the ends."""
    if not len(flat):
        return 0.0
    low, high = np.quantile(flat[:, :2], [0.05, 0.95], axis=0)
    return float(np.max(high - low))
