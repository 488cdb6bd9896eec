"""Polylines drawn with a width: bands. A wall may be drawn so, as one thick line.

While the unit is not known a band is a `Region` of pattern `WIDE` around its centre line's segments. Once the
drawing is in metres, `with_faces` makes the two faces of a band as thick as a wall into segments.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from takeoff.drawing.chords import Chords
from takeoff.drawing.model import Drawing, Region, Segments
from takeoff.drawing.sheet import Sheet

__all__ = ["WIDE", "band_regions", "with_faces"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

WIDE = "WIDE"
THINNEST_WALL_M = 0.04
"""A band thinner than this is a bold line, not a wall: partitions are 50 mm and more (common practice)."""


def band_regions(sheet: Sheet, seen: Bools, new_row: Ints, chords: Chords) -> list[Region]:
    """Outlines of polylines drawn with a width, holes of closed ones as regions of their own."""
    rows = np.flatnonzero(seen & (sheet.width > 0))
    if not len(rows):
        return []
    import shapely

    chord_row = sheet.piece_row[chords.piece]
    order = np.argsort(chord_row, kind="stable")
    first = np.searchsorted(chord_row[order], rows, "left")
    last = np.searchsorted(chord_row[order], rows, "right")
    found = []
    for row, a, b in zip(rows.tolist(), first.tolist(), last.tolist(), strict=True):
        ends = chords.ends[order[a:b]]
        line = shapely.LineString(np.concatenate([ends[:, :2], ends[-1:, 2:]]))
        band = line.buffer(sheet.width[row] / 2, cap_style="flat", join_style="mitre")
        for part in shapely.get_parts(band):
            rings = [part.exterior, *part.interiors]
            for n, ring in enumerate(rings):
                found.append(Region(np.array(ring.coords)[:-1, :2], int(new_row[row]), True, WIDE, n > 0))
    return found


def with_faces(drawing: Drawing) -> Drawing:
    """`drawing` (in metres) whose bands at least as thick as a wall show their faces instead of their centre line."""
    walls = [r for r in drawing.regions if r.pattern == WIDE and _thickness(r) >= THINNEST_WALL_M]
    if not walls:
        return drawing
    owners = np.unique([region.entity for region in walls])
    stay = ~np.isin(drawing.segments.entity, owners)
    faces = [np.concatenate([r.ring, np.roll(r.ring, -1, axis=0)], axis=1) for r in walls]
    entity = np.repeat([r.entity for r in walls], [len(f) for f in faces])
    segments = Segments(
        np.concatenate([drawing.segments.ends[stay], *faces]),
        np.concatenate([drawing.segments.entity[stay], entity]).astype(np.int32),
        np.concatenate([drawing.segments.arc[stay], np.full(len(entity), -1)]).astype(np.int32),
    )
    return replace(drawing, segments=segments)


def _thickness(region: Region) -> float:
    """Thickness of a long thin ring: twice its area over its perimeter, less its two short ends."""
    import shapely

    outline = shapely.Polygon(region.ring)
    half = outline.length / 2
    # For a band of length l and thickness t: area = l t and half the perimeter = l + t.
    return float((half - np.sqrt(max(half**2 - 4 * outline.area, 0.0))) / 2)
