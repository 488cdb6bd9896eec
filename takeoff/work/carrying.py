"""Carrying materials in and clearing up: hours that follow from the order rather than from a surface."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from takeoff.job import Job
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.work.labour import operation, room_factors, tasks
from takeoff.work.model import Work

__all__ = ["with_carrying"]


def with_carrying(plan: Plan, measured: Measured, work: Work, loads_kg: Mapping[str, float], job: Job) -> Work:
    """`work` with an operation to carry each room's load in and one to clear the room.

    `loads_kg`: weight of the materials that go to each room, by room ref.
    """
    known = tasks(job)
    more = []
    for room in plan.rooms:
        if loads_kg.get(room.ref, 0.0) > 0:
            for slug, quantity in (("carry", loads_kg[room.ref] / 1000), ("clear", 1.0)):
                factors = room_factors(room, known[slug], measured, job)
                more.append(operation(known[slug], room.ref, quantity, factors))
    return replace(work, operations=(*work.operations, *more))
