"""One job under review: its file is the only truth, and what is shown follows from it.

Terms:
  shown   the job at one version, worked out whole: what every view is made from. It is replaced, never changed.
  mark    changes with anything the page should hear of: a version, a step of the reading, a document made.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from takeoff.errors import TakeoffError
from takeoff.job import Job, read_job
from takeoff.plan.model import Opening
from takeoff.record import Takeoff
from takeoff.review.bell import Bell
from takeoff.review.figures import rough_figures
from takeoff.review.reading import Reading, read_file
from takeoff.review.views.drawn import drawn_lines, plan_mark
from takeoff.review.views.values import Json

__all__ = ["Session", "Shown"]


@dataclass(frozen=True)
class Shown:
    version: int
    text: str
    takeoff: Takeoff
    ignored: tuple[Opening, ...]
    """Openings that the job file says are none."""

    @property
    def job(self) -> Job:
        return self.takeoff.job

    @cached_property
    def mark(self) -> str:
        return plan_mark(self.takeoff.drawing, self.takeoff.plan)

    @cached_property
    def drawn(self) -> Json:
        return drawn_lines(self.takeoff.drawing, self.takeoff.plan)


class Session:
    """A job file in a working folder, its drawing read, its figures worked out."""

    def __init__(self, job_file: Path) -> None:
        self.job_file = job_file
        self.bell = Bell()
        self.shown: Shown | None = None
        self.fault: str | None = None
        self.step: str | None = None
        """What is being read, while it is."""
        self._lock = threading.Lock()

    def open(self) -> None:
        """Begin to read in the background."""
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        try:
            job = read_job(self.job_file)
            reading = read_file(self.job_file.parent / job.drawing.file, job, self._say)
            text = self.job_file.read_text(encoding="utf-8")
            self.shown = shown_of(reading, job, 1, text)
        except TakeoffError as fault:
            self.fault = str(fault)
        finally:
            self._say(None)

    def _say(self, step: str | None) -> None:
        self.step = step
        self.bell.ring()


def shown_of(reading: Reading, job: Job, version: int, text: str) -> Shown:
    """`job` worked out on `reading`. Raises `JobError` where it asks for what is not there."""
    drawing, plan = reading.understood(job)
    return Shown(version, text, rough_figures(drawing, plan, job), _ignored(reading, job))


def _ignored(reading: Reading, job: Job) -> tuple[Opening, ...]:
    """The openings that `job` takes out, as they are without its word."""
    refs = {ref for ref, row in job.openings.items() if row.ignore}
    if not refs:
        return ()
    kept = {ref: row.model_copy(update={"ignore": False}) for ref, row in job.openings.items()}
    _, plan = reading.understood(job.model_copy(update={"openings": kept}))
    return tuple(opening for opening in plan.openings if opening.ref in refs)
