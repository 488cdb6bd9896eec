"""Commands: parse, call, print. No domain logic; heavy imports wait until a command needs them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeoff import __version__
from takeoff.errors import TakeoffError

if TYPE_CHECKING:
    from takeoff.job import Job

__all__ = ["main"]

DRAWING = click.argument("drawing", required=False, type=click.Path(path_type=Path))
JOB = click.option("--job", "job_file", type=click.Path(path_type=Path), help="Job file (TOML) with your decisions.")


class _Commands(click.Group):
    """Shows what went wrong as one sentence, never a trace."""

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except TakeoffError as fault:
            raise click.ClickException(str(fault)) from fault


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def main() -> None:
    """Price plastering and drylining from an architect's drawing.

    Start with `takeoff check DRAWING`, write a job file with `takeoff start DRAWING`, answer what it asks,
    then `takeoff measure --job JOB.toml`.
    """


@main.command()
@DRAWING
@JOB
@click.option("--picture", type=click.Path(path_type=Path), help="Where to draw the plan (.svg or .pdf).")
def check(drawing: Path | None, job_file: Path | None, picture: Path | None) -> None:
    """Print what was found in DRAWING and what is asked, and draw it."""
    from takeoff.documents.found import asked_text, found_text
    from takeoff.documents.picture import write_picture
    from takeoff.pipeline import read_plan
    from takeoff.query import numbered

    path, job = _inputs(drawing, job_file)
    read, plan = read_plan(path, job, _progress)
    queries = numbered(plan.queries)
    click.echo(found_text(read, plan))
    click.echo()
    click.echo(asked_text(queries))
    target = picture or Path(f"{path.stem}-check.pdf")
    for written in write_picture(read, plan, queries, target):
        click.echo(f"\nPicture: {written}")


@main.command()
@DRAWING
@click.option(
    "--job", "job_file", type=click.Path(path_type=Path), help="Where to write it; beside the drawing if unset."
)
def start(drawing: Path | None, job_file: Path | None) -> None:
    """Write a starter job file for DRAWING, with every query as a comment that says how to answer."""
    from takeoff.documents.starter import write_starter
    from takeoff.job import Job
    from takeoff.pipeline import take_off

    if drawing is None:
        raise click.UsageError("Name the drawing: takeoff start DRAWING.")
    target = job_file or drawing.with_suffix(".toml")
    takeoff = take_off(drawing, Job(), _progress)
    click.echo(f"Job file: {write_starter(takeoff, drawing, target)}")


@main.command()
@DRAWING
@JOB
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the documents; DRAWING-takeoff if unset.")
@click.option("--json", "json_file", type=click.Path(path_type=Path), help="Write only the machine-readable takeoff.")
def measure(drawing: Path | None, job_file: Path | None, out: Path | None, json_file: Path | None) -> None:
    """Measure DRAWING and write the folder of documents: workbook, marked plan, quantities, JSON."""
    from takeoff.documents.found import asked_text, bought_text, found_text
    from takeoff.documents.json_document import to_json
    from takeoff.documents.write_all import write_documents
    from takeoff.files import write_whole
    from takeoff.pipeline import take_off

    path, job = _inputs(drawing, job_file)
    takeoff = take_off(path, job, _progress)
    if json_file is not None:
        write_whole(json_file, to_json(takeoff))
    click.echo(
        "\n\n".join([found_text(takeoff.drawing, takeoff.plan), bought_text(takeoff), asked_text(takeoff.queries)])
    )
    if json_file is None or out is not None:
        _progress("Writing the documents")
        for written in write_documents(takeoff, out or Path(f"{path.stem}-takeoff")):
            click.echo(f"Wrote {written}")


def _inputs(drawing: Path | None, job_file: Path | None) -> tuple[Path, Job]:
    """The drawing's path and the job; the job file may name the drawing, relative to itself."""
    from takeoff.job import Job, read_job

    job = read_job(job_file) if job_file else Job()
    if drawing is not None:
        return drawing, job
    if job_file is not None and job.drawing.file:
        return job_file.parent / job.drawing.file, job
    raise click.UsageError('Name a drawing, or a job file with [drawing] file = "..." in it.')


def _progress(message: str) -> None:
    click.echo(f"{message} ...", err=True)
