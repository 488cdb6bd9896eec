"""Plan metres onto paper: the view of one storey at a standard scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from takeoff.documents.page import MM, Rect

__all__ = ["View", "fitted"]

Floats = npt.NDArray[np.float64]

# Scales a scale rule carries (ISO 5455 series and their halves).
SCALES = (5, 10, 20, 25, 50, 75, 100, 125, 150, 200, 250, 500, 1000, 2000, 5000)


@dataclass(frozen=True, slots=True)
class View:
    """Where plan metres land on the page: point = (metres - centre) x `points_per_m` + middle."""

    centre: tuple[float, float]
    middle: tuple[float, float]
    points_per_m: float
    scale: int
    """1 : scale on paper of the size asked for."""
    rect: Rect
    """The part of the page that the view fills."""

    def points(self, metres: Floats) -> Floats:
        """(n, 2) plan metres as (n, 2) page points."""
        return (np.asarray(metres, dtype=float).reshape(-1, 2) - self.centre) * self.points_per_m + self.middle

    def point(self, at: tuple[float, float]) -> tuple[float, float]:
        """One plan point on the page."""
        (x0, y0), (x1, y1), k = self.centre, self.middle, self.points_per_m
        return (float(at[0]) - x0) * k + x1, (float(at[1]) - y0) * k + y1

    def ends(self, metres: Floats) -> Floats:
        """(n, 4) segments in plan metres as page points, those outside the view left out."""
        ends = self.points(metres).reshape(-1, 4)
        x0, y0, x1, y1 = self.rect
        low, high = np.minimum(ends[:, :2], ends[:, 2:]), np.maximum(ends[:, :2], ends[:, 2:])
        inside = (high[:, 0] >= x0) & (low[:, 0] <= x1) & (high[:, 1] >= y0) & (low[:, 1] <= y1)
        return ends[inside]


def fitted(bounds: tuple[float, float, float, float], rect: Rect, to_scale: bool = True) -> View:
    """The view of `bounds` (plan metres) that fills `rect` (page points): at the largest standard scale, or, with
    `to_scale` false, as large as it goes."""
    x0, y0, x1, y1 = bounds
    wide, high = max(x1 - x0, 0.1), max(y1 - y0, 0.1)
    room = min((rect[2] - rect[0]) / wide, (rect[3] - rect[1]) / high)
    scale = next((s for s in SCALES if 1000 * MM / s <= room), None) or round(1000 * MM / room) + 1
    return View(
        centre=((x0 + x1) / 2, (y0 + y1) / 2),
        middle=((rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2),
        points_per_m=1000 * MM / scale if to_scale else room,
        scale=scale,
        rect=rect,
    )
