"""From measured surfaces to work: which build-up goes where, what it takes, what to beware of, what to ask."""

from __future__ import annotations

from takeoff.job import Job
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.work.ask import ask
from takeoff.work.backgrounds import assign
from takeoff.work.cautions import choose_cautions
from takeoff.work.findings import prepare
from takeoff.work.labour import build_up_operations, check_labour
from takeoff.work.library import library
from takeoff.work.listed_beads import listed_beads
from takeoff.work.model import Work
from takeoff.work.needs import material_needs
from takeoff.work.scheme import Scheme
from takeoff.work.stock import stock

__all__ = ["plan_work"]


def plan_work(plan: Plan, measured: Measured, job: Job) -> Work:
    """The work on every measured surface under `job`.

    Raises `JobError` where the job file names a build-up, background, material, room, opening, surface or task that
    is not there, or puts a build-up where it cannot go.
    """
    check_labour(job)
    rows, build_ups = stock(job), library(job)
    assignments = assign(plan, measured, build_ups, job)
    scheme = Scheme(plan, measured, assignments, build_ups, rows, job)
    needs = (*material_needs(scheme), *listed_beads(scheme))
    preparation = prepare(scheme)
    notices = choose_cautions(scheme, preparation.cautions)
    used = {a.build_up for a in assignments}
    return Work(
        build_ups={slug: build_up for slug, build_up in build_ups.items() if slug in used},
        assignments=assignments,
        needs=(*needs, *preparation.needs),
        operations=(*preparation.operations, *build_up_operations(plan, measured, build_ups, needs, job)),
        cautions=tuple(f"{notice.title}: {notice.says}" for notice in notices),
        queries=(*ask(scheme), *preparation.queries),
        findings=preparation.findings,
        waste_kg=preparation.waste_kg,
        notices=notices,
    )
