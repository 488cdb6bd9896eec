"""`takeoff compare`: what a later issue of a drawing changes."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeoff.cli_progress import step
from takeoff.errors import DrawingError

if TYPE_CHECKING:
    from takeoff.job import Job
    from takeoff.plan.model import Plan
    from takeoff.record import Takeoff

__all__ = ["COMMANDS"]


@click.command()
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path))
@click.option("--job", "job_file", type=click.Path(path_type=Path), help="Job file of the old drawing.")
@click.option(
    "--new-job", "new_job_file", type=click.Path(path_type=Path), help="Job file of the new drawing, where it has one."
)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the documents; NEW-changes if unset.")
def compare(old: Path, new: Path, job_file: Path | None, new_job_file: Path | None, out: Path | None) -> None:
    """Tell what NEW, a later issue of the drawing OLD, changes: rooms, openings, quantities, hours, price."""
    from takeoff.documents.comparison import comparison_text
    from takeoff.documents.comparison_files import comparison_files
    from takeoff.files import write_together
    from takeoff.revision.compare import compare as compared

    folder = out or Path(f"{new.stem}-changes")
    before, after, carried = _jobs(old, new, job_file, new_job_file)
    comparison = compared(_taken_off(old, before), _taken_off(new, after))
    click.echo(comparison_text(comparison))
    files = comparison_files(comparison) | ({f"{new.stem}.toml": _beside(carried, new, folder)} if carried else {})
    write_together({folder / name: content for name, content in files.items()})
    for name in files:
        click.echo(f"Wrote {folder / name}")


def _jobs(old: Path, new: Path, job_file: Path | None, new_job_file: Path | None) -> tuple[Job, Job, str]:
    """The job of either drawing, and the text of the job file as carried over from the old one to the new."""
    from takeoff.job import Job, job_of, read_job

    before = read_job(job_file) if job_file else Job()
    if new_job_file:
        return before, read_job(new_job_file), ""
    if not job_file:
        return before, Job(), ""
    text = _carried(job_file.read_text(encoding="utf-8"), old, new)
    return before, job_of(text, str(job_file)), text


def _carried(text: str, old: Path, new: Path) -> str:
    """The job file's text with each decision at its place in the new drawing; notes are printed."""
    from takeoff.pipeline import read_plan
    from takeoff.review.changes import apply
    from takeoff.review.refs import carry

    def plan_of(job: Job) -> Plan:
        return read_plan(Path(job.drawing.file), job, step)[1]

    before, after = (apply(text, [_names_drawing(str(path))]) for path in (old, new))
    carried = carry(before, after, plan_of)
    for note in carried.notes:
        click.echo(note)
    return carried.text


def _names_drawing(path: str) -> dict[str, object]:
    return {"op": "set", "key": ["drawing", "file"], "value": path}


def _beside(text: str, drawing: Path, folder: Path) -> str:
    """The job file's text with the drawing's path as it is from `folder`."""
    from takeoff.review.changes import apply

    return apply(text, [_names_drawing(Path(os.path.relpath(drawing, folder)).as_posix())])


def _taken_off(path: Path, job: Job) -> Takeoff:
    """The takeoff, priced where the job has a rate to price by. Raises `DrawingError` with the drawing's name."""
    from takeoff.pipeline import need_rooms, price_up, take_off

    try:
        takeoff = take_off(path, job, step)
        need_rooms(takeoff.plan, takeoff.queries)
    except DrawingError as fault:  # of two drawings, which?
        raise DrawingError(str(fault) if path.name in str(fault) else f"{path.name}: {fault}") from fault
    return price_up(takeoff, step) if job.price.labour_rate is not None else takeoff


COMMANDS = (compare,)
