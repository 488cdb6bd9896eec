"""Which rooms stand already: the job's own word, unless the room's row says otherwise."""

from __future__ import annotations

from takeoff.job import Job
from takeoff.plan.model import Plan, Room

__all__ = ["existing_rooms"]


def existing_rooms(plan: Plan, job: Job) -> tuple[str, ...]:
    """Refs of the rooms that stand already."""

    def stands(room: Room) -> bool:
        own = job.rooms[room.ref].existing if room.ref in job.rooms else None
        return job.job.existing if own is None else own

    return tuple(room.ref for room in plan.rooms if stands(room))
