"""Raw gathered numbers to a sheet's arrays: base subtracted, bulges to conics, closed ones to rings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from takeoff.drawing.gather import Gathered
from takeoff.drawing.sheet import OUTLINE, RingNote, Sheet
from takeoff.geometry.conics import bulge_arcs

__all__ = ["middle_of", "sheet_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_CLOSES_WITHIN = 1e-6
"""A polyline whose ends lie closer than this share of its size is closed without the flag."""

_STRAIGHT = 1e-5
"""A bulge under this strays from its chord by less than 5 millionths of the chord: 0.05 mm on 10 m."""


@dataclass
class _Lines:
    """Pieces, conics and rings of one family of entities; numbers are of that family."""

    pieces: Floats
    piece_row: Ints
    piece_conic: Ints
    conics: Floats
    conic_row: Ints
    ring_start: Ints
    ring_count: Ints
    ring_row: Ints
    notes: list[RingNote]


def sheet_of(raw: Gathered, base: Floats | None) -> tuple[Sheet, Floats]:
    """The sheet of `raw` without its block references, and the base subtracted.

    `base` None: the drawing's origin is found here, see `middle_of`.
    """
    frames = np.array(raw.frames)
    lines = np.array(raw.lines).reshape(-1, 2, 3)
    vertices = _vertices(raw, frames)
    conics = _turned(np.array(raw.conics).reshape(-1, 11), np.array([c[1] for c in raw.conic], np.int64), frames, 9)
    texts = _turned(np.array(raw.texts).reshape(-1, 9), np.array(raw.text_frame, np.int64), frames, 9)
    dimensions = np.array(raw.dimensions).reshape(-1, 9)
    if base is None:
        places = np.array([i.place[9:12] for i in raw.insertions]).reshape(-1, 3)
        base = middle_of([lines.reshape(-1, 3), vertices, conics[:, :3], places])
    conics[:, :3] -= base
    texts[:, :3] -= base
    dimensions[:, :6] -= np.tile(base, 2)
    straight = _Lines((lines - base).reshape(-1, 6), np.array(raw.line_row, np.int64), *_nothing(len(lines)))
    m = len(raw.handles)
    sheet = Sheet(
        handles=raw.handles,
        kinds=raw.kinds,
        layer=np.array(raw.layer, np.int64),
        dash=np.array(raw.dash, np.int64),
        colour=np.array(raw.colour, np.int64),
        closed=np.array(raw.closed, np.bool_),
        outer=np.full(m, -1, np.int64),
        inner=np.full(m, -1, np.int64),
        width=np.zeros(m),
        texts=texts,
        text_row=np.array(raw.text_row, np.int64),
        text_notes=raw.text_notes,
        dimensions=dimensions,
        dimension_row=np.array(raw.dimension_row, np.int64),
        dimension_notes=raw.dimension_notes,
    )
    for wide in raw.poly:
        sheet.width[wide[0]] = wide[5]
    return _with_lines(sheet, [straight, _polylines(raw, vertices - base, frames), _curves(raw, conics)]), base


def _with_lines(sheet: Sheet, families: list[_Lines]) -> Sheet:
    """`sheet` with the pieces, conics and rings of all families."""
    pieces = np.cumsum([0, *(len(f.pieces) for f in families)])
    conics = np.cumsum([0, *(len(f.conics) for f in families)])
    sheet.pieces = np.concatenate([f.pieces for f in families])
    sheet.piece_row = np.concatenate([f.piece_row for f in families])
    sheet.piece_conic = np.concatenate(
        [np.where(f.piece_conic < 0, -1, f.piece_conic + by) for f, by in zip(families, conics[:-1], strict=True)]
    )
    sheet.conics = np.concatenate([f.conics for f in families])
    sheet.conic_row = np.concatenate([f.conic_row for f in families])
    sheet.ring_start = np.concatenate([f.ring_start + by for f, by in zip(families, pieces[:-1], strict=True)])
    sheet.ring_count = np.concatenate([f.ring_count for f in families])
    sheet.ring_row = np.concatenate([f.ring_row for f in families])
    sheet.ring_notes = [note for f in families for note in f.notes]
    sheet.closed[sheet.ring_row] = True
    return sheet


def middle_of(points: list[Floats]) -> Floats:
    """The drawing's origin: for each axis the lower median of all `points`, rounded to whole units.

    A median does not mind strays far away nor the order of the entities; a real point's coordinate rounded to a
    whole number is subtracted without loss. Height is kept as drawn: areas are seen from above.
    """
    every = np.concatenate(points)
    every = every[np.isfinite(every).all(axis=1)]
    if not len(every):
        return np.zeros(3)
    half = (len(every) - 1) // 2
    return np.array([*(float(np.round(np.partition(every[:, axis], half)[half])) for axis in (0, 1)), 0.0])


def _turned(rows: Floats, frame: Ints, frames: Floats, width: int) -> Floats:
    """`rows` whose first `width` columns are vectors, from their object frames to the world."""
    other = np.flatnonzero(frame)
    if len(other):
        vectors = rows[other, :width].reshape(len(other), -1, 3)
        rows[other, :width] = np.einsum("nij,nkj->nki", frames[frame[other]], vectors).reshape(len(other), -1)
    return rows


def _vertices(raw: Gathered, frames: Floats) -> Floats:
    """Every polyline vertex in the world (n, 3)."""
    if not raw.polys:
        return np.zeros((0, 3))
    lengths = [len(p) for p in raw.polys]
    flat = np.concatenate(raw.polys)
    elevation = np.repeat(np.array([p[1] for p in raw.poly]), lengths)
    frame = np.repeat(np.array([p[2] for p in raw.poly], np.int64), lengths)
    return _turned(np.column_stack([flat[:, :2], elevation]), frame, frames, 3)


def _polylines(raw: Gathered, world: Floats, frames: Floats) -> _Lines:
    """Pieces of all polylines at once; `world` holds their vertices, base subtracted."""
    if not raw.polys:
        return _Lines(np.zeros((0, 6)), np.zeros(0, np.int64), *_nothing())
    lengths = np.array([len(p) for p in raw.polys])
    last = np.cumsum(lengths) - 1
    first = last - lengths + 1
    meets = _meets(world, first, last)
    closed = np.array([p[3] for p in raw.poly]) & (lengths > 1)
    # A piece starts at every vertex but the last one of a polyline that ends there.
    has_piece = np.ones(len(world), np.bool_)
    has_piece[last[~closed | meets]] = False
    start = np.flatnonzero(has_piece)
    poly = np.repeat(np.arange(len(lengths)), lengths)[start]
    end = np.where(start == last[poly], first[poly], start + 1)
    flat = np.concatenate(raw.polys)
    bulged = np.abs(flat[start, 2]) > _STRAIGHT
    same = np.hypot(*(flat[end, :2] - flat[start, :2]).T) == 0
    bulged &= ~same
    conics = _bulges(flat, first[poly[bulged]], start[bulged], end[bulged])
    frame = np.array([p[2] for p in raw.poly], np.int64)[poly[bulged]]
    conics = _turned(conics, frame, frames, 9)
    conics[:, :3] += world[first[poly[bulged]]]
    row = np.array([p[0] for p in raw.poly], np.int64)
    conic_of = np.full(len(start), -1, np.int64)
    conic_of[bulged] = np.arange(len(conics))
    count = np.bincount(poly, minlength=len(lengths))
    wanted = np.array([p[4] is not None for p in raw.poly]) & (closed | meets) & (count > 0)
    rings = np.flatnonzero(wanted)
    return _Lines(
        np.concatenate([world[start], world[end]], axis=1), row[poly], conic_of, conics, row[poly[bulged]],
        (np.cumsum(count) - count)[rings], count[rings], row[rings],
        [raw.poly[n][4] or OUTLINE for n in rings.tolist()],
    )  # fmt: skip


def _meets(world: Floats, first: Ints, last: Ints) -> npt.NDArray[np.bool_]:
    """Which polylines of more than three vertices end where they began."""
    low = np.minimum.reduceat(world, first, axis=0)
    high = np.maximum.reduceat(world, first, axis=0)
    size = np.linalg.norm(high - low, axis=1)
    gap = np.linalg.norm(world[last] - world[first], axis=1)
    meets: npt.NDArray[np.bool_] = (gap <= _CLOSES_WITHIN * size) & (last - first >= 2)
    return meets


def _bulges(flat: Floats, anchor: Ints, start: Ints, end: Ints) -> Floats:
    """Conics of bulged pieces in object coordinates relative to their polyline's first vertex."""
    return bulge_arcs(flat[start, :2] - flat[anchor, :2], flat[end, :2] - flat[anchor, :2], flat[start, 2])


def _curves(raw: Gathered, conics: Floats) -> _Lines:
    """Arcs, circles and ellipses: one piece each; rings of the closed ones."""
    row = np.array([c[0] for c in raw.conic], np.int64)
    closed = np.flatnonzero(np.array([c[2] for c in raw.conic], np.bool_))
    ends = conics[:, None, 9] + conics[:, None, 10] * np.array([0.0, 1.0])
    points = (
        conics[:, None, :3]
        + conics[:, None, 3:6] * np.cos(ends)[:, :, None]
        + conics[:, None, 6:9] * np.sin(ends)[:, :, None]
    )
    return _Lines(
        points.reshape(-1, 6), row, np.arange(len(row)), conics, row,
        closed, np.ones(len(closed), np.int64), row[closed], [OUTLINE] * len(closed),
    )  # fmt: skip


def _nothing(
    pieces: int = 0,
) -> tuple[Ints, Floats, Ints, Ints, Ints, Ints, list[RingNote]]:
    """What comes after the rows of `pieces` straight lines: no conics, no rings."""
    none = np.zeros(0, np.int64)
    return np.full(pieces, -1, np.int64), np.zeros((0, 11)), none, none, none, none, []
