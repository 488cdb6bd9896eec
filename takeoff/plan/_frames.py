"""Page frames: rectangles drawn round a whole sheet, which would otherwise close as one giant room.

Terms:
  rectangle  four long segments, level and upright, whose ends meet.
  twin       a rectangle just inside or outside another: frames are often drawn double.
  touching   other line work that reaches the rectangle. A wall is touched all round, by partitions and openings;
             a frame only where the title block stands.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from takeoff.drawing.model import Drawing, Floats
from takeoff.geometry.vectors import lengths
from takeoff.plan.layers import Role

__all__ = ["Frame", "page_frames"]

_MIN_SIDE = 0.2
"""Least side as a share of the sheet's extent: smaller rectangles are no page frames."""
_CORNER_MISS = 0.002
"""Ends meet when closer than this share of the extent."""
_NEAR = 0.012
"""Line work closer to a side than this share of the extent touches it."""
_TWIN = 0.06
"""A frame's twin lies within this share of its own size."""
_MOST_TOUCHED = 0.35
"""A title block may touch this share of the frame, at most."""
_STRETCHES = 40
"""Each side is looked at in so many stretches."""
_LEAST_INSIDE = 30
"""Segments that a frame without a telling layer name must hold."""
_PAPER_RATIOS = np.array([1.414, 1.294, 1.545, 1.5, 1.333])
"""Long over short side of ISO A, ANSI and architectural sheets (ISO 216; the others from memory)."""
_RATIO_SLACK = 0.06

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Frame:
    """A page frame: `bounds` xmin ymin xmax ymax, and which segments draw it."""

    bounds: tuple[float, float, float, float]
    segments: tuple[int, ...]


def page_frames(drawing: Drawing, roles: tuple[Role, ...]) -> tuple[Frame, ...]:
    """The page frames of `drawing`, largest first."""
    ends = drawing.segments.ends
    if not len(ends):
        return ()
    extent = float(max(np.ptp(ends[:, [0, 2]]), np.ptp(ends[:, [1, 3]]))) or 1.0
    rectangles = _rectangles(np.where(_on_layer(drawing, roles, "wall")[:, None], 0.0, ends), extent)
    if not rectangles:
        return ()
    on_sheet_layer = _on_layer(drawing, roles, "sheet")
    drawn = {i for rectangle in rectangles for i in rectangle.segments}
    others = np.ones(len(ends), dtype=bool)
    others[list(drawn)] = False
    others &= ~on_sheet_layer
    middle = (ends[others, :2] + ends[others, 2:]) / 2
    sheet = _Others(np.ascontiguousarray(middle.T), ends[others], rectangles, on_sheet_layer, extent)
    return tuple(r for r in rectangles if _is_frame(r, sheet))


@dataclass(frozen=True, slots=True)
class _Others:
    """What a rectangle is looked at beside: the middles (2, n) and ends (n, 4) of the other lines, the rectangles."""

    middle: Floats
    ends: Floats
    rectangles: Sequence[Frame]
    on_sheet_layer: Mask
    """Over all segments."""
    extent: float


def _on_layer(drawing: Drawing, roles: tuple[Role, ...], role: str) -> Mask:
    """Segments (mask) on layers whose name says `role` plainly: no page frame stands on a layer for walls."""
    layer = drawing.layer_numbers[drawing.segments.entity]
    told = np.array([r.name == role and r.confidence >= 0.6 for r in roles], dtype=bool)
    return np.asarray(told[layer], dtype=bool)


def _rectangles(ends: Floats, extent: float) -> list[Frame]:
    """Every level rectangle of four long segments."""
    miss = _CORNER_MISS * extent
    long_enough = lengths(ends) >= _MIN_SIDE * extent
    level = long_enough & (np.abs(ends[:, 3] - ends[:, 1]) <= miss)
    upright = long_enough & (np.abs(ends[:, 2] - ends[:, 0]) <= miss)
    uprights: dict[tuple[int, int, int], int] = {}
    for i in np.flatnonzero(upright):
        x, low, high = ends[i, 0], min(ends[i, 1], ends[i, 3]), max(ends[i, 1], ends[i, 3])
        for key in _near_keys(miss, x, low, high):
            uprights.setdefault(key, int(i))
    by_span: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i in np.flatnonzero(level):
        left, right = min(ends[i, 0], ends[i, 2]), max(ends[i, 0], ends[i, 2])
        by_span[(round(left / miss / 2), round(right / miss / 2))].append(int(i))
    found = []
    for alike in by_span.values():
        alike.sort(key=lambda i: ends[i, 1])
        for low, high in ((a, b) for n, a in enumerate(alike) for b in alike[n + 1 : n + 9]):
            left, right = min(ends[low, 0], ends[low, 2]), max(ends[low, 0], ends[low, 2])
            bottom, top = ends[low, 1], ends[high, 1]
            sides = [uprights.get(_key(miss, x, bottom, top)) for x in (left, right)]
            if top - bottom >= _MIN_SIDE * extent and None not in sides:
                bounds = (float(left), float(bottom), float(right), float(top))
                found.append(Frame(bounds, (low, high, *(s for s in sides if s is not None))))
    return sorted(found, key=lambda f: -_area(f.bounds))


def _key(miss: float, *values: float) -> tuple[int, int, int]:
    a, b, c = (round(v / miss / 2) for v in values)
    return a, b, c


def _near_keys(miss: float, *values: float) -> set[tuple[int, int, int]]:
    return {_key(miss, *(v + d * miss for v in values)) for d in (-1, 0, 1)}


def _area(bounds: tuple[float, float, float, float]) -> float:
    return (bounds[2] - bounds[0]) * (bounds[3] - bounds[1])


def _is_frame(frame: Frame, sheet: _Others) -> bool:
    x0, y0, x1, y1 = frame.bounds
    named = sheet.on_sheet_layer[list(frame.segments)].all()
    if not named and not _paper_shaped(x1 - x0, y1 - y0):
        return False
    x, y = sheet.middle
    inside = (x > x0) & (x < x1) & (y > y0) & (y < y1)
    if named:
        return bool(inside.any())
    if inside.sum() < _LEAST_INSIDE:
        return False
    group = [r for r in sheet.rectangles if _twins(r.bounds, frame.bounds)]
    ends = sheet.ends[inside]
    return all(_stands_free(_touched(r.bounds, ends, _NEAR * sheet.extent)) for r in group)


def _paper_shaped(width: float, height: float) -> bool:
    ratio = max(width, height) / min(width, height)
    return bool((np.abs(_PAPER_RATIOS / ratio - 1) <= _RATIO_SLACK).any())


def _twins(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    size = max(b[2] - b[0], b[3] - b[1])
    return all(abs(p - q) <= _TWIN * size for p, q in zip(a, b, strict=True))


def _stands_free(touched: dict[str, int]) -> bool:
    """Whether line work comes near along a short part only and leaves two neighbouring sides alone."""
    free = [side for side, stretches in touched.items() if stretches == 0]
    neighbours = any(side in free for side in ("left", "right")) and any(side in free for side in ("bottom", "top"))
    return neighbours and sum(touched.values()) <= _MOST_TOUCHED * 4 * _STRETCHES


def _touched(bounds: tuple[float, float, float, float], ends: Floats, near: float) -> dict[str, int]:
    """Side -> how many of its `_STRETCHES` stretches line work comes near to."""
    x0, y0, x1, y1 = bounds
    touched: dict[str, set[int]] = {"left": set(), "right": set(), "bottom": set(), "top": set()}
    for x, y in (ends[:, :2].T, ends[:, 2:].T):
        for side, off, at, along, low, high in (
            ("left", x, x0, y, y0, y1), ("right", x, x1, y, y0, y1),
            ("bottom", y, y0, x, x0, x1), ("top", y, y1, x, x0, x1),
        ):
            beside = along[np.abs(off - at) <= near]
            close = beside[(beside >= low - near) & (beside <= high + near)]
            stretches = ((close - low) / (high - low) * _STRETCHES).astype(int)
            touched[side].update(np.unique(np.clip(stretches, 0, _STRETCHES - 1)).tolist())
    return {side: len(stretches) for side, stretches in touched.items()}
