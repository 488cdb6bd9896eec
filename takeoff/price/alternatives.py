"""Alternatives side by side: the same rooms done another way, worked out in full, from build-ups to price."""

from __future__ import annotations

from takeoff.job import Job
from takeoff.job_tables import AlternativeRow, FindingRow, RoomRow
from takeoff.materials.supply import supply
from takeoff.measure.model import Measured, Surface
from takeoff.plan.model import Plan
from takeoff.price.build import make_price
from takeoff.price.model import Alternative, Price
from takeoff.programme.build import make_programme
from takeoff.programme.model import Programme
from takeoff.work.assign import plan_work
from takeoff.work.existing import existing_rooms
from takeoff.work.model import Work

__all__ = ["compare"]


def compare(
    plan: Plan, measured: Measured, job: Job, price: Price, programme: Programme, work: Work, laid: bool
) -> tuple[Alternative, ...]:
    """The job as it stands, then each of its [[alternatives]], `laid` out or counted alike. Empty when it names none.

    Raises `JobError` where an alternative names a build-up that is not there or cannot go where it is put.
    """
    if not job.alternatives:
        return ()
    stands = Alternative("as priced", _hours(work), programme.days, price.before_tax, price.complete)
    return (
        stands,
        *(_worked_out(plan, measured, _changed(plan, measured, job, row), row.name, laid) for row in job.alternatives),
    )


def _changed(plan: Plan, measured: Measured, job: Job, row: AlternativeRow) -> Job:
    """The job with every room done the alternative's way."""
    new = {
        key: value
        for key, value in (("wall_build_up", row.wall_build_up), ("ceiling_build_up", row.ceiling_build_up))
        if value is not None
    }
    rooms = {r.ref: job.rooms.get(r.ref, RoomRow()).model_copy(update=new) for r in plan.rooms} if new else job.rooms
    findings = job.findings
    if row.hack_off:
        existing = set(existing_rooms(plan, job))
        kept = tuple(f for f in findings if f.room not in existing or f.kind != "loose-plaster")
        findings = (*kept, *(_whole(s) for s in measured.surfaces if s.room in existing and s.kind in ("wall", "pier")))
    return job.model_copy(update={"rooms": rooms, "findings": findings, "alternatives": (), "accept": ()})


def _whole(wall: Surface) -> FindingRow:
    """All the plaster of one wall, so that each comes off to its own background."""
    return FindingRow(room=wall.room, kind="loose-plaster", place=wall.ref, amount=round(wall.net_m2, 2))


def _worked_out(plan: Plan, measured: Measured, job: Job, name: str, laid: bool) -> Alternative:
    supplied = supply(plan, measured, plan_work(plan, measured, job), job, laid)
    programme = make_programme(measured, supplied.work, supplied.order, job)
    price = make_price(measured, supplied.work, supplied.order, job, programme.days)
    return Alternative(name, _hours(supplied.work), programme.days, price.before_tax, price.complete)


def _hours(work: Work) -> float:
    return round(sum(o.hours for o in work.operations), 2)
