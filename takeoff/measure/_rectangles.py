"""A square-cornered shape as a few rectangles, so that a working can be checked with pencil and paper."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import dist

__all__ = ["rectangles"]

Point = tuple[float, float]

SQUARE_M = 1e-4
"""An edge that runs off square by less than this over its length is square."""


def rectangles(ring: Sequence[Point]) -> list[tuple[float, float]]:
    """Sides (width, depth) in metres of rectangles that make up `ring`, or [] when it is not square-cornered.

    >>> rectangles([(0, 0), (6, 0), (6, 5), (4, 5), (4, 3), (0, 3)])
    [(6.0, 3.0), (2.0, 2.0)]
    """
    level = _squared(ring)
    if not level:
        return []
    upright = [(y, x) for x, y in level]
    rows, columns = _slabs(level), [(b, a) for a, b in _slabs(upright)]
    return rows if len(rows) <= len(columns) else columns


def _squared(ring: Sequence[Point]) -> list[Point]:
    """The ring turned so that its longest edge is level, or [] when an edge is then neither level nor upright."""
    edges = list(pairwise([*ring, ring[0]]))
    p, q = max(edges, key=lambda e: dist(*e))
    length = dist(p, q)
    if length == 0:
        return []
    ux, uy = (q[0] - p[0]) / length, (q[1] - p[1]) / length
    turned = [((x - p[0]) * ux + (y - p[1]) * uy, (y - p[1]) * ux - (x - p[0]) * uy) for x, y in ring]
    square = all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) <= SQUARE_M for a, b in pairwise([*turned, turned[0]]))
    return turned if square else []


def _slabs(ring: list[Point]) -> list[tuple[float, float]]:
    """Rectangles between neighbouring levels of the ring, those above each other with the same sides joined."""
    levels = _distinct(y for _, y in ring)
    uprights = [(a, b) for a, b in pairwise([*ring, ring[0]]) if abs(a[1] - b[1]) > SQUARE_M]
    done: list[tuple[float, float]] = []
    growing: dict[tuple[float, float], tuple[float, float]] = {}
    for low, high in pairwise(levels):
        middle = (low + high) / 2
        xs = sorted((a[0] + b[0]) / 2 for a, b in uprights if min(a[1], b[1]) < middle < max(a[1], b[1]))
        here = {(round(x0, 3), round(x1, 3)): x1 - x0 for x0, x1 in zip(xs[::2], xs[1::2], strict=False)}
        done += [box for span, box in growing.items() if span not in here]
        growing = {span: (width, growing.get(span, (0.0, 0.0))[1] + high - low) for span, width in here.items()}
    return done + list(growing.values())


def _distinct(values: Iterable[float]) -> list[float]:
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > SQUARE_M:
            kept.append(value)
    return kept
