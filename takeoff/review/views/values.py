"""Numbers, places and words as the page gets them."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import isfinite
from typing import Any

from takeoff.plan.model import Plan, Point

__all__ = ["Json", "Place", "maybe", "path_of", "place_in", "rounded"]

Json = dict[str, Any]
Place = Callable[[Point], list[float]]
DECIMALS = 4
"""A tenth of a millimetre, a square centimetre."""


def rounded(number: float) -> float:
    """Rounded to `DECIMALS`; minus nought is nought."""
    if not isfinite(number):
        raise ValueError(f"{number} is no quantity")
    return round(float(number), DECIMALS) + 0.0


def maybe(number: float | None) -> float | None:
    return None if number is None else rounded(number)


def place_in(plan: Plan) -> Place:
    """A function from a point of the plan's own frame to metres on the drawing's axes."""
    x, y = plan.origin_m
    return lambda point: [rounded(point[0] + x), rounded(point[1] + y)]


def path_of(points: Iterable[Point], place: Place) -> list[list[float]]:
    return [place(point) for point in points]
