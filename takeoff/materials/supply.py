"""From needs to what is bought and what it costs in hours to bring it in: the order, and the work with its carrying."""

from __future__ import annotations

from takeoff.job import Job
from takeoff.materials.model import Order
from takeoff.materials.order import make_order
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.work.carrying import with_carrying
from takeoff.work.model import Work

__all__ = ["supply"]


def supply(plan: Plan, measured: Measured, work: Work, job: Job) -> tuple[Work, Order]:
    """The work with carrying and clearing, and the order. Raises `JobError` as `make_order` does."""
    order = make_order(plan, measured, work, job)
    loads = {load.room: load.weight_kg for load in order.rooms}
    return with_carrying(plan, measured, work, loads, job), order
