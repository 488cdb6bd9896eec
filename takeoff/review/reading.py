"""A drawing read once, in a child with limits, and the plans made of it kept by the part of the job they hang on.

Only the first plan is made in the child: a drawing that came through it within the limits may be understood again
here, where an edit can be followed at once.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.errors import DrawingError, JobError
from takeoff.job import Job
from takeoff.limited import run_limited
from takeoff.pipeline import plan_of
from takeoff.plan.model import Plan
from takeoff.review.plan_part import plan_key, plan_part

__all__ = ["Reading", "Step", "read_file", "stamp_of"]

KEPT = 12
"""Plans kept: a step back and forth, and the stages between, are then at once."""
READ_S = 180.0
READ_MB = 3000
"""Limits of reading and understanding one drawing: some ten times what the largest drawings in the trade take."""

Step = Callable[[str, float], None]
"""Hears what is being done, and how much of all is done, 0-1."""
Understood = tuple[Drawing, Plan]
Stamp = tuple[str, int, int]
"""Path, time of the last change and size of a file: it is read again when one of them is another."""


class Reading:
    """One drawing as read, in its own units, and its plans under the job files that it was seen with."""

    def __init__(self, stamp: Stamp, raw: Drawing) -> None:
        self.stamp = stamp
        self._raw = raw
        self._plans: OrderedDict[str, Understood] = OrderedDict()

    def understood(self, job: Job) -> Understood:
        """The drawing in metres and its plan under `job`. Raises `JobError` where the job names what is not there."""
        key = plan_key(job)
        found = self._plans.get(key)
        return self.keep(key, found or plan_of(self._raw, plan_part(job)))

    def keep(self, key: str, found: Understood) -> Understood:
        self._plans[key] = found
        self._plans.move_to_end(key)
        while len(self._plans) > KEPT:
            self._plans.popitem(last=False)
        return found

    def moved_to(self, path: Path) -> Reading:
        """The same, its file having been given another name."""
        self.stamp = stamp_of(path)
        return self


def stamp_of(path: Path) -> Stamp:
    """Raises `DrawingError` when there is no such file."""
    try:
        found = path.stat()
    except OSError as fault:
        raise DrawingError(f"Cannot read the drawing {path}: {fault.strerror}. Check [drawing] file.") from fault
    return str(path), found.st_mtime_ns, found.st_size


def read_file(path: Path, job: Job, step: Step) -> Reading:
    """The drawing at `path`, read and, where `job` allows, understood.

    Raises `DrawingError` when there is nothing to measure, `LimitError` when the drawing takes too much.
    """
    stamp = stamp_of(path)
    raw, found = run_limited(_read, path, plan_part(job), seconds=READ_S, megabytes=READ_MB, say=step)
    reading = Reading(stamp, raw)
    if found is not None:
        reading.keep(plan_key(job), found)
    return reading


def _read(path: Path, part: Job, say: Step) -> tuple[Drawing, Understood | None]:
    """In the child. A job file that does not fit the drawing is no reason not to have read it."""
    say(f"Reading {path.name}", 0.1)
    raw = read_drawing(path)
    say("Finding walls, openings and rooms", 0.5)
    try:
        return raw, plan_of(raw, part)
    except JobError:
        return raw, None
