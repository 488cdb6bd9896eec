"""A drawing read once, and the plans made of it kept by the part of the job that they hang on."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.job import Job
from takeoff.pipeline import plan_of
from takeoff.plan.model import Plan
from takeoff.review.plan_part import plan_key, plan_part

__all__ = ["Reading", "read_file"]

KEPT = 6
"""Plans kept: a step back and forth is then at once."""

Understood = tuple[Drawing, Plan]


class Reading:
    """One drawing as read, in its own units, and its plans under the job files that it was seen with."""

    def __init__(self, path: Path, raw: Drawing) -> None:
        self.path = path
        self._raw = raw
        self._plans: OrderedDict[str, Understood] = OrderedDict()

    def understood(self, job: Job) -> Understood:
        """The drawing in metres and its plan under `job`. Raises `JobError` where the job names what is not there."""
        key = plan_key(job)
        found = self._plans.get(key) or plan_of(self._raw, plan_part(job))
        self._plans[key] = found
        self._plans.move_to_end(key)
        while len(self._plans) > KEPT:
            self._plans.popitem(last=False)
        return found


def read_file(path: Path, job: Job, progress: Callable[[str], None]) -> Reading:
    """The drawing at `path`, read and understood. Raises `DrawingError` when there is nothing to measure."""
    progress(f"Reading {path.name}")
    reading = Reading(path, read_drawing(path))
    progress("Finding walls, openings and rooms")
    reading.understood(job)
    return reading
