"""From a drawing file and a job file to the whole takeoff: the stages in their order, nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.read import read_drawing
from takeoff.drawing.units import settle_unit
from takeoff.job import Job
from takeoff.materials.order import make_order
from takeoff.measure.rooms import measure
from takeoff.plan.model import Plan
from takeoff.plan.understand import understand
from takeoff.query import numbered
from takeoff.record import Takeoff
from takeoff.work.assign import plan_work

__all__ = ["read_plan", "take_off"]

Progress = Callable[[str], None]


def _silent(_message: str) -> None:
    return None


def read_plan(path: Path, job: Job, progress: Progress = _silent) -> tuple[Drawing, Plan]:
    """Read the drawing at `path` and understand it. Returns the drawing in metres and the plan.

    Raises `DrawingError` when there is nothing to measure.
    """
    progress(f"Reading {path.name}")
    raw = read_drawing(path)
    unit = settle_unit(raw, job.drawing.unit)
    progress("Finding walls, openings and rooms")
    drawing = in_metres(raw, unit.metres_per_unit)
    return drawing, understand(drawing, unit, job)


def take_off(path: Path, job: Job, progress: Progress = _silent) -> Takeoff:
    """The whole takeoff of the drawing at `path` under `job`."""
    drawing, plan = read_plan(path, job, progress)
    progress("Measuring")
    measured = measure(plan, job)
    progress("Build-ups, materials and hours")
    work = plan_work(plan, measured, job)
    order = make_order(plan, measured, work, job)
    queries = numbered([*plan.queries, *measured.queries, *work.queries, *order.queries])
    return Takeoff(job, drawing, plan, measured, work, order, queries)
