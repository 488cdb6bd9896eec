"""Curves as arrays: elliptic arcs ("conics"), their chords, and arcs from polyline bulges.

Terms:
  conic   the curve c + u cos t + v sin t for t from t0 to t0 + sweep (radians); a circle where u and v are
          perpendicular and equally long. An affine map sends conics to conics, so blocks are flattened once.
  bulge   tangent of a quarter of the angle an arc spans, positive counter-clockwise (DXF reference, LWPOLYLINE).
  chord   a straight piece that stands in for a piece of a curve, both ends on the curve.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

__all__ = ["arc_from_points", "bulge_arcs", "chord_counts", "circles_of", "points_on"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

_FINEST, _COARSEST = math.radians(4.0), math.radians(30.0)
"""Angles of one chord: 90 chords a circle lose 0.08 % of its area, under the 0.2 % we aim at; 12 still look round."""

_ROUND_WITHIN = 0.01
"""An ellipse or spline is taken for a circular arc when it strays less than 1 % of the radius from it."""


def chord_counts(conics: Floats, sag: float) -> Ints:
    """Number of chords (n,), at least 2, so that none strays more than `sag` from its curve, within sane angles."""
    radius = np.maximum(np.linalg.norm(conics[:, 3:6], axis=1), np.linalg.norm(conics[:, 6:9], axis=1))
    share = np.clip(sag / np.maximum(radius, 1e-300), 0.0, 1.0)
    step = np.clip(2.0 * np.arccos(1.0 - share), _FINEST, _COARSEST)
    counts: Ints = np.maximum(2, np.ceil(np.abs(conics[:, 10]) / step - 1e-9)).astype(np.int64)
    return counts


def points_on(conics: Floats, counts: Ints) -> tuple[Floats, Ints]:
    """Points along `conics` (n, 11: centre 3, u 3, v 3, t0, sweep), `counts[i]` + 1 on the i-th, ends included.

    Returns points (sum of counts + n, 3) and for each the row it lies on.
    """
    row = np.repeat(np.arange(len(conics)), counts + 1)
    first = np.cumsum(counts + 1) - (counts + 1)
    step = np.arange(len(row)) - first[row]
    t = conics[row, 9] + conics[row, 10] * step / counts[row]
    points = conics[row, 0:3] + conics[row, 3:6] * np.cos(t)[:, None] + conics[row, 6:9] * np.sin(t)[:, None]
    return points, row


def bulge_arcs(start: Floats, end: Floats, bulge: Floats) -> Floats:
    """Conics (n, 11) in the plane z = 0 for polyline pieces `start` (n, 2) to `end` (n, 2) with `bulge` (n,) not 0."""
    sweep = 4.0 * np.arctan(bulge)
    chord = end - start
    # Distance from the chord's middle to the centre, as a fraction of the chord, to the left of it.
    offset = (1.0 - bulge**2) / (4.0 * bulge)
    centre = (start + end) / 2.0 + np.column_stack([-chord[:, 1], chord[:, 0]]) * offset[:, None]
    u = start - centre
    rows = np.zeros((len(start), 11))
    rows[:, 0:2] = centre
    rows[:, 3:5] = u
    rows[:, 6] = -u[:, 1]
    rows[:, 7] = u[:, 0]
    rows[:, 10] = sweep
    return rows


def circles_of(conics: Floats) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Circular arcs seen from above: (n, 5) centre x, y, radius, start angle, sweep > 0, and which rows are round."""
    u, v = conics[:, 3:5], conics[:, 6:8]
    ru, rv = np.hypot(u[:, 0], u[:, 1]), np.hypot(v[:, 0], v[:, 1])
    radius = np.sqrt(ru * rv)
    with np.errstate(divide="ignore", invalid="ignore"):
        skew = np.abs((u * v).sum(axis=1)) / radius**2
        round_ = (np.abs(ru / radius - 1) < _ROUND_WITHIN) & (skew < 2 * _ROUND_WITHIN) & (radius > 0)
    turn = np.where(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] < 0, -1.0, 1.0)
    base = np.arctan2(u[:, 1], u[:, 0])
    t0, sweep = conics[:, 9], conics[:, 10]
    # A clockwise traverse is the same arc told from its other end.
    signed = turn * sweep
    start = base + turn * t0 + np.where(signed < 0, signed, 0.0)
    shape = np.column_stack([conics[:, 0:2], radius, np.mod(start, 2 * np.pi), np.abs(sweep)])
    return shape, round_


def arc_from_points(points: Floats) -> tuple[float, float, float, float, float] | None:
    """The circular arc (cx, cy, radius, start angle, signed sweep) that `points` (n, 2) in order lie on, or None.

    Least-squares circle; every point must lie within 1 % of the radius, and the arc must sweep more than 5 degrees
    (less is as good as straight).
    """
    if len(points) < 5 or not (np.abs(points) < 1e100).all():  # squares must stay numbers
        return None
    middle = points.mean(axis=0)
    p = points - middle
    system = np.column_stack([2 * p, np.ones(len(p))])
    solution, _, rank, _ = np.linalg.lstsq(system, (p**2).sum(axis=1), rcond=None)
    if rank < 3:
        return None
    centre = solution[:2]
    radius = math.sqrt(max(0.0, solution[2] + float(centre @ centre)))
    away = p - centre
    if radius == 0 or np.abs(np.hypot(away[:, 0], away[:, 1]) - radius).max() > _ROUND_WITHIN * radius:
        return None
    angle = np.unwrap(np.arctan2(away[:, 1], away[:, 0]))
    turns = np.diff(angle)
    sweep = float(angle[-1] - angle[0])
    if abs(sweep) < math.radians(5) or abs(sweep) > 2 * math.pi + 1e-6 or (turns * np.sign(sweep) < -1e-9).any():
        return None
    return (float(centre[0] + middle[0]), float(centre[1] + middle[1]), radius, float(angle[0]), sweep)
