"""Polylines drawn with a width: bands. A wall may be drawn so, as one thick line.

While the unit is not known a band is a `Region` of pattern `WIDE` around its centre line's segments. Once the
drawing is in metres, `with_faces` makes the two faces of a band as thick as a wall into segments.
"""

from __future__ import annotations

from collections.abc import Sequence
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
    chord_row = sheet.piece_row[chords.piece]
    rows = np.flatnonzero(seen & (sheet.width > 0))
    rows = rows[np.isin(rows, chord_row)]
    if not len(rows):
        return []
    import shapely

    order = np.argsort(chord_row, kind="stable")
    first = np.searchsorted(chord_row[order], rows, "left")
    last = np.searchsorted(chord_row[order], rows, "right")
    # Each centre line: where its chords begin, and where the last one ends.
    ends = chords.ends[np.concatenate([order[a:b] for a, b in zip(first, last, strict=True)])]
    count = last - first
    line = np.repeat(np.arange(len(rows)), count + 1)
    points = np.insert(ends[:, :2], np.cumsum(count), ends[np.cumsum(count) - 1, 2:], axis=0)
    lines = shapely.linestrings(points, indices=line)
    bands = shapely.buffer(lines, sheet.width[rows] / 2, cap_style="flat", join_style="mitre")
    parts, of_line = shapely.get_parts(bands, return_index=True)
    rings, of_part = shapely.get_rings(parts, return_index=True)
    hole = np.append(False, of_part[1:] == of_part[:-1])  # a part's first ring is its outline
    corners, of_ring = shapely.get_coordinates(rings, return_index=True)
    outlines = np.split(corners, np.flatnonzero(np.diff(of_ring)) + 1)
    return [
        Region(outline[:-1], entity, True, WIDE, inner)
        for outline, entity, inner in zip(
            outlines, new_row[rows[of_line[of_part]]].tolist(), hole.tolist(), strict=True
        )
    ]


def with_faces(drawing: Drawing) -> Drawing:
    """`drawing` (in metres) whose bands at least as thick as a wall show their faces instead of their centre line."""
    bands = [region for region in drawing.regions if region.pattern == WIDE]
    walls = [r for r, t in zip(bands, _thickness(bands), strict=True) if t >= THINNEST_WALL_M]
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


def _thickness(bands: Sequence[Region]) -> list[float]:
    """Thickness of long thin rings: twice the area over the perimeter, less the two short ends."""
    if not bands:
        return []
    import shapely

    from takeoff.geometry.shapes import closed_shapes

    outlines = closed_shapes([band.ring for band in bands])
    half = shapely.length(outlines) / 2
    # For a band of length l and thickness t: area = l t and half the perimeter = l + t.
    thickness: list[float] = ((half - np.sqrt(np.maximum(half**2 - 4 * shapely.area(outlines), 0.0))) / 2).tolist()
    return thickness
