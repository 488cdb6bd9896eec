"""Which delivery each room's materials come with: the whole job, a storey, a plot or a stage."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.job import Job
from takeoff.plan.model import Plan, Room

__all__ = ["WHOLE_JOB", "Load", "loads"]

WHOLE_JOB = "whole job"
_NOT_ASSIGNED = "not assigned"


@dataclass(frozen=True, slots=True)
class Load:
    ref: str
    """L1, L2 ... in the order of the rooms."""
    title: str
    rooms: tuple[str, ...]


def loads(plan: Plan, job: Job) -> tuple[Load, ...]:
    """The deliveries in the order in which the rooms call for them; every room is in one.

    Raises `JobError` where the order is to go by plot or stage and no room has one.
    """
    by = job.order.by
    if by in ("plot", "stage") and not any(getattr(row, by) for row in job.rooms.values()):
        right = f'{by} = "..." in the rooms\' tables, such as [rooms.R1]'
        raise job.error(("order", "by"), f"the order goes by {by}, but no room has one", right)
    titles = {storey.ref: storey.title or storey.ref for storey in plan.storeys}
    grouped: dict[str, list[str]] = {}
    for room in plan.rooms:
        grouped.setdefault(_title(room, by, titles, job), []).append(room.ref)
    return tuple(Load(f"L{n}", title, tuple(rooms)) for n, (title, rooms) in enumerate(grouped.items(), 1))


def _title(room: Room, by: str, storeys: dict[str, str], job: Job) -> str:
    if by == "job":
        return WHOLE_JOB
    if by == "storey":
        return storeys.get(room.plan, room.plan)
    row = job.rooms.get(room.ref)
    return (getattr(row, by) if row else None) or _NOT_ASSIGNED
