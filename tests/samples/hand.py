"""The hand-computed truths beside this file, read into shapes. Knows nothing of the scripts that draw the samples."""

from __future__ import annotations

import math
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from shapely import Polygon

ROOT = Path(__file__).parents[2]
SAMPLES = ("new_house", "rear_extension", "terraced_house", "upstairs_flat")
_ARC_STEPS = 256
"""Chords for a curved side: the area of a quarter circle is then right to 1 in 100,000."""


@cache
def truth(sample: str) -> dict[str, Any]:
    """The truth of one sample as written, with a `polygon` (sheet metres) added to every space."""
    told = tomllib.loads((Path(__file__).parent / "truth" / f"{sample}.toml").read_text(encoding="utf-8"))
    for spaces in ("rooms", "cupboards", "others"):
        for space in told.setdefault(spaces, {}).values():
            dx, dy = told["storeys"][space["storey"]]
            space["polygon"] = Polygon([(x + dx, y + dy) for x, y in points(space["outline"])])
    told.setdefault("rooflights", {})
    first = next(iter(told["storeys"]))
    for opening in told["openings"].values():
        dx, dy = told["storeys"][opening.get("storey", first)]
        opening["at"] = (opening["at"][0] + dx, opening["at"][1] + dy)
    return told


def points(outline: list[list[Any]]) -> list[tuple[float, float]]:
    """Outline points with every ["arc", cx, cy, r, from, to] cut into chords."""
    found: list[tuple[float, float]] = []
    for entry in outline:
        if entry[0] != "arc":
            found.append((entry[0], entry[1]))
            continue
        _, cx, cy, r, start, end = entry
        for n in range(_ARC_STEPS + 1):
            angle = math.radians(start + (end - start) * n / _ARC_STEPS)
            found.append((cx + r * math.cos(angle), cy + r * math.sin(angle)))
    return found
