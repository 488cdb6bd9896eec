"""Figures that follow an edit at once: everything after the plan worked out again, boards and days by estimate.

Boards and beads are counted by area and length, and the days are the hours shared among the gang; laid boards and the
full programme come with the documents. What is estimated so is called rough.
"""

from __future__ import annotations

from dataclasses import replace

from takeoff.drawing.model import Drawing
from takeoff.job import Job
from takeoff.pipeline import measured_up
from takeoff.plan.model import Plan
from takeoff.price.build import make_price
from takeoff.record import Takeoff

__all__ = ["hours_of", "rough_days", "rough_figures"]


def rough_figures(drawing: Drawing, plan: Plan, job: Job) -> Takeoff:
    """The takeoff with its price, without a programme. Raises `JobError` where the job asks for what is not there."""
    takeoff = measured_up(drawing, plan, job)
    if not takeoff.measured.surfaces:
        return takeoff
    price = make_price(takeoff.measured, takeoff.work, takeoff.order, job, rough_days(takeoff))
    return replace(takeoff, price=price)


def hours_of(takeoff: Takeoff) -> float:
    """Hours of all the work."""
    return sum(operation.hours for operation in takeoff.work.operations)


def rough_days(takeoff: Takeoff) -> float:
    """The hours shared among the gang, without the waits between coats."""
    gang = takeoff.job.gang
    return hours_of(takeoff) / (gang.people * gang.hours_per_day)
