"""One state of the job worked out whole: what every view is made from. It is replaced, never changed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from takeoff.drawing.told import IGNORED
from takeoff.job import Job
from takeoff.plan.model import Opening
from takeoff.record import Takeoff
from takeoff.review.figures import rough_figures
from takeoff.review.reading import Reading
from takeoff.review.views.drawn import drawn_lines, plan_mark
from takeoff.review.views.traces import Traces
from takeoff.review.views.values import Json

__all__ = ["Shown", "shown_of"]


@dataclass(frozen=True)
class Shown:
    version: int
    text: str
    """Of the job file."""
    takeoff: Takeoff
    """With its price; boards, beads and days by estimate."""
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
        drawing = self.takeoff.drawing
        ignored = frozenset(row.what for row in drawing.left_out if row.reason == IGNORED)
        return drawn_lines(drawing, self.takeoff.plan, ignored)

    @cached_property
    def traces(self) -> Traces:
        return Traces(self.takeoff)


def shown_of(reading: Reading, job: Job, text: str, version: int) -> Shown:
    """`job`, which is what `text` says, worked out. Raises `JobError` where it asks for what is not there."""
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
