"""The drawings of a job read once, in a child with limits; their plans kept by the part of the job they hang on.

Only the first plan is made in the child: a drawing that came through it within the limits may be understood again
here, where an edit can be followed at once.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.errors import DrawingError, JobError
from takeoff.job import Job
from takeoff.limited import run_limited
from takeoff.pipeline import Ground, ground_of, plan_on, together
from takeoff.plan.model import Plan
from takeoff.plan.overrides import named_rooms
from takeoff.review.plan_part import ground_key, plan_key, plan_part, unnamed

__all__ = ["Reading", "Step", "read_files", "stamp_of"]

KEPT = 12
"""Plans kept: a step back and forth, and the stages between, are then at once."""
GROUNDS_KEPT = 3
READ_S = 180.0
READ_MB = 3000
"""Limits of reading and understanding one drawing: some ten times what the largest drawings in the trade take."""

T = TypeVar("T")
Step = Callable[[str, float], None]
"""Hears what is being done, and how much of all is done, 0-1."""
Understood = tuple[Drawing, Plan]
Stamp = tuple[tuple[str, int, int], ...]
"""Path, time of the last change and size of each file: they are read again when one of these is another."""


class Reading:
    """The drawings of a job as read, in their own units, and their plans under the job files they were seen with."""

    def __init__(self, stamp: Stamp, raw: Sequence[Drawing]) -> None:
        self.stamp = stamp
        self._raw = tuple(raw)
        self._plans: OrderedDict[str, Understood] = OrderedDict()
        self._grounds: OrderedDict[str, Ground] = OrderedDict()

    def understood(self, job: Job) -> Understood:
        """The drawing in metres and its plan under `job`. Raises `JobError` where the job names what is not there."""
        part = plan_part(job)
        key = plan_key(part)
        return self.keep(key, self._plans.get(key) or self._renamed(part) or plan_on(self._ground_for(part), part))

    def _ground_for(self, part: Job) -> Ground:
        """The survey of the line work, made anew only where the job file puts walls or openings in, or has the drawing
        read otherwise.
        """
        key = ground_key(part)
        return self.keep_ground(key, self._grounds.get(key) or ground_of(together(self._raw, part), part))

    def keep_ground(self, key: str, ground: Ground) -> Ground:
        return _kept(self._grounds, key, ground, GROUNDS_KEPT)

    def _renamed(self, part: Job) -> Understood | None:
        """The plan without the job file's names of rooms, given these names: a name on the plan changes nothing but
        itself, and the words of a question about its room. None where such a question is asked, or a room is not there.
        """
        if not part.rooms:
            return None
        drawing, plan = self.understood(unnamed(part))
        asked = {ref for query in plan.queries for ref in query.about}
        if not set(part.rooms) <= {room.ref for room in plan.rooms} - asked:
            return None
        return drawing, replace(plan, rooms=named_rooms(plan.rooms, part))

    def keep(self, key: str, found: Understood) -> Understood:
        return _kept(self._plans, key, found, KEPT)

    def moved_to(self, path: Path) -> Reading:
        """The same, its one file having been given another name."""
        self.stamp = stamp_of([path])
        return self


def _kept(store: OrderedDict[str, T], key: str, found: T, most: int) -> T:
    """`found`, put into `store` as its latest; the oldest of more than `most` go."""
    store[key] = found
    store.move_to_end(key)
    while len(store) > most:
        store.popitem(last=False)
    return found


def stamp_of(paths: Sequence[Path]) -> Stamp:
    """Raises `DrawingError` when one of the files is not there."""
    return tuple(_stamp(path) for path in paths)


def _stamp(path: Path) -> tuple[str, int, int]:
    try:
        found = path.stat()
    except OSError as fault:
        raise DrawingError(f"Cannot read the drawing {path}: {fault.strerror}. Check [drawing] file.") from fault
    return str(path), found.st_mtime_ns, found.st_size


def read_files(paths: Sequence[Path], job: Job, step: Step, stop: threading.Event | None = None) -> Reading:
    """The drawings at `paths`, read and, where `job` allows, understood.

    Raises `DrawingError` when there is nothing to measure, `LimitError` when the drawings take too much or `stop` is
    set.
    """
    stamp = stamp_of(paths)
    part = unnamed(plan_part(job))
    raw, found = run_limited(_read, paths, part, seconds=READ_S, megabytes=READ_MB, say=step, stop=stop)
    reading = Reading(stamp, raw)
    if found is not None:
        ground, plan = found
        reading.keep_ground(ground_key(part), ground)
        reading.keep(plan_key(part), plan)
    return reading


def _read(paths: Sequence[Path], part: Job, say: Step) -> tuple[list[Drawing], tuple[Ground, Understood] | None]:
    """In the child. A job file that does not fit the drawings is no reason not to have read them."""
    raw = []
    for number, path in enumerate(paths):
        say(f"Reading {path.name}", 0.1 + 0.4 * number / len(paths))
        raw.append(read_drawing(path))
    say("Finding walls, openings and rooms", 0.5)
    try:
        ground = ground_of(together(raw, part), part)
        return raw, (ground, plan_on(ground, part))
    except JobError:
        return raw, None
