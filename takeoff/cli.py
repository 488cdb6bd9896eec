"""Commands: parse, call, print. No domain logic; heavy imports wait until a command needs them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from takeoff import __version__
from takeoff.cli_bulk import COMMANDS as BULK_COMMANDS
from takeoff.cli_compare import COMMANDS as COMPARE_COMMANDS
from takeoff.cli_progress import step
from takeoff.collector import put_off
from takeoff.errors import TakeoffError

if TYPE_CHECKING:
    from takeoff.job import Job
    from takeoff.record import Takeoff

__all__ = ["main"]

DRAWING = click.argument("drawing", required=False, type=click.Path(path_type=Path))
JOB = click.option("--job", "job_file", type=click.Path(path_type=Path), help="Job file (TOML) with your decisions.")

FINDINGS = click.option(
    "--findings",
    type=click.Path(path_type=Path),
    help="Workbook whose findings sheet you filled in; its rows are used.",
)
HISTORY = click.option(
    "--history",
    type=click.Path(path_type=Path),
    default=Path("takeoff-history.sqlite"),
    help="Where finished rooms are kept.",
)


class _Commands(click.Group):
    """Shows what went wrong as one sentence, never a trace."""

    def invoke(self, ctx: click.Context) -> object:
        try:
            with put_off():  # to the end of the command: then the memory goes back anyway
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
    from takeoff.pipeline import need_rooms, take_off

    path, job = _inputs(drawing, job_file)
    takeoff = take_off(path, job, step)
    click.echo(found_text(takeoff.drawing, takeoff.plan))
    click.echo()
    click.echo(asked_text(takeoff.queries))
    target = picture or Path(f"{path.stem}-check.pdf")
    for written in write_picture(takeoff.drawing, takeoff.plan, takeoff.queries, target):
        click.echo(f"\nPicture: {written}")
    need_rooms(takeoff.plan, takeoff.queries)


@main.command()
@DRAWING
@click.option(
    "--job", "job_file", type=click.Path(path_type=Path), help="Where to write it; beside the drawing if unset."
)
def start(drawing: Path | None, job_file: Path | None) -> None:
    """Write a starter job file for DRAWING, with every query as a comment that says how to answer."""
    from takeoff.documents.starter import write_starter
    from takeoff.job import Job
    from takeoff.pipeline import need_rooms, take_off

    if drawing is None:
        raise click.UsageError("Name the drawing: takeoff start DRAWING.")
    target = job_file or drawing.with_suffix(".toml")
    takeoff = take_off(drawing, Job(), step)
    need_rooms(takeoff.plan, takeoff.queries)
    click.echo(f"Job file: {write_starter(takeoff, drawing, target)}")


@main.command()
@DRAWING
@JOB
@FINDINGS
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the documents; DRAWING-takeoff if unset.")
@click.option("--json", "json_file", type=click.Path(path_type=Path), help="Write only the machine-readable takeoff.")
def measure(
    drawing: Path | None, job_file: Path | None, findings: Path | None, out: Path | None, json_file: Path | None
) -> None:
    """Measure DRAWING and write the folder of documents: workbook, marked plan, quantities, JSON."""
    from takeoff.documents.found import asked_text, bought_text, found_text
    from takeoff.documents.json_document import to_json
    from takeoff.documents.write_all import write_documents
    from takeoff.files import write_whole
    from takeoff.pipeline import need_rooms, take_off

    path, job = _inputs(drawing, job_file, findings)
    takeoff = take_off(path, job, step)
    if json_file is not None:
        write_whole(json_file, to_json(takeoff))
    need_rooms(takeoff.plan, takeoff.queries)
    click.echo(
        "\n\n".join([found_text(takeoff.drawing, takeoff.plan), bought_text(takeoff), asked_text(takeoff.queries)])
    )
    if json_file is None or out is not None:
        step("Writing the documents")
        for written in write_documents(takeoff, out or Path(f"{path.stem}-takeoff")):
            click.echo(f"Wrote {written}")


@main.command()
@DRAWING
@JOB
@FINDINGS
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the documents; DRAWING-quotation if unset.")
def quote(drawing: Path | None, job_file: Path | None, findings: Path | None, out: Path | None) -> None:
    """Everything `measure` writes, and the quotation, programme, buying list and site schedule."""
    from takeoff.documents.found import asked_text, price_text
    from takeoff.documents.write_all import write_documents

    path, job = _inputs(drawing, job_file, findings)
    takeoff = _priced(path, job)
    click.echo(f"{price_text(takeoff)}\n\n{asked_text(takeoff.queries)}")
    step("Writing the documents")
    for written in write_documents(takeoff, out or Path(f"{path.stem}-quotation")):
        click.echo(f"Wrote {written}")


@main.command()
@click.argument("job_or_drawing", required=False, type=click.Path(path_type=Path))
@click.option(
    "--folder", type=click.Path(path_type=Path), help="Where a job begun on the page is kept; the present one."
)
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port on this machine; any free one if unset.")
@click.option("--no-open", is_flag=True, help="Print the address only; open no browser.")
def review(job_or_drawing: Path | None, folder: Path | None, port: int, no_open: bool) -> None:
    """Look at a job and correct it, in a browser on this machine.

    JOB_OR_DRAWING is a job file, or a drawing: then its job file beside it is used, or begun. Without either you give
    the drawing on the page.
    """
    from takeoff.review.begin import begun
    from takeoff.review.serve import serve

    serve(begun(job_or_drawing, folder or Path()), port, click.echo, not no_open)


@main.command()
@click.option("--before", required=True, type=click.Path(path_type=Path), help="Job file that was priced.")
@click.option("--after", required=True, type=click.Path(path_type=Path), help="Job file with what was found.")
@click.option("--out", type=click.Path(path_type=Path), default=Path(), help="Folder for the variation sheet.")
def vary(before: Path, after: Path, out: Path) -> None:
    """Compare two job files of one drawing: what was allowed against what was found, as PDF and .docx."""
    from takeoff.documents.variation import variation_docx, variation_pdf
    from takeoff.files import write_whole

    old, new = (_priced(*_inputs(None, job_file)) for job_file in (before, after))
    stem = f"{after.stem}-variation"
    for name, content in ((f"{stem}.pdf", variation_pdf(old, new)), (f"{stem}.docx", variation_docx(old, new))):
        write_whole(out / name, content)
        click.echo(f"Wrote {out / name}")


@main.command()
@JOB
@click.option("--room", required=True, help="Ref of the finished room, such as R1.")
@click.option("--hours", "hours", multiple=True, help="TASK=HOURS it took; repeat for each task.")
@click.option("--packs", "packs", multiple=True, help="MATERIAL=PACKS used; repeat for each material.")
@click.option("--day", required=True, help="When, as YYYY-MM-DD.")
@HISTORY
def record(
    job_file: Path | None, room: str, hours: tuple[str, ...], packs: tuple[str, ...], day: str, history: Path
) -> None:
    """Note the hours and packs that a finished room really took."""
    from takeoff.pipeline import take_off
    from takeoff.work.history import record_hours, record_packs

    path, job = _inputs(None, job_file)
    takeoff = take_off(path, job, step)
    name = job.job.reference or job.job.name or path.stem
    allowed = {line.material.slug: s.packs for line in takeoff.order.lines for s in line.shares if s.room == room}
    record_hours(history, name, room, day, _pairs(hours, "--hours"), takeoff.work.operations)
    record_packs(history, name, room, day, _pairs(packs, "--packs"), allowed)
    click.echo(f"Noted {room} of {name} in {history}")


@main.command()
@HISTORY
def learn(history: Path) -> None:
    """Print what finished rooms say of your labour constants and packs, ready for the job file."""
    from takeoff.documents.found import history_text
    from takeoff.work.history import proposals, used_packs

    if not history.exists():
        raise TakeoffError(f"There is no history file {history}: note finished rooms with `takeoff record` first.")
    click.echo(history_text(proposals(history), used_packs(history)))


def _pairs(values: tuple[str, ...], option: str) -> dict[str, float]:
    """NAME=NUMBER options as a table."""
    pairs = {}
    for value in values:
        name, _, number = value.partition("=")
        try:
            pairs[name.strip()] = float(number)
        except ValueError:
            raise click.UsageError(f"{option} {value}: write NAME=NUMBER, such as finish-wall=6.5.") from None
    return pairs


def _priced(path: Path, job: Job) -> Takeoff:
    from takeoff.pipeline import need_rooms, price_up, take_off

    takeoff = take_off(path, job, step, laid=True)
    need_rooms(takeoff.plan, takeoff.queries)
    return price_up(takeoff, step)


def _inputs(drawing: Path | None, job_file: Path | None, findings: Path | None = None) -> tuple[Path, Job]:
    """The drawing's path and the job; the job file may name the drawing, relative to itself."""
    from takeoff.job import Job, read_job

    job = read_job(job_file) if job_file else Job()
    if findings is not None:
        from takeoff.documents.findings_read import with_findings

        job = with_findings(job, findings)
    if drawing is not None:
        return drawing, job
    if job_file is not None and job.drawing.file:
        return job_file.parent / job.drawing.file, job
    raise click.UsageError('Name a drawing, or a job file with [drawing] file = "..." in it.')


for _command in (*BULK_COMMANDS, *COMPARE_COMMANDS):
    main.add_command(_command)
