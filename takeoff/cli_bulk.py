"""Commands for many drawings at once: parse, call, print."""

from __future__ import annotations

from pathlib import Path

import click

from takeoff.cli_progress import counted, step
from takeoff.drawing.bounds import OF_MANY, Bounds

__all__ = ["COMMANDS"]


@click.command()
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path, exists=True))
@click.option("--job", "job_file", type=click.Path(path_type=Path), help="Job file for drawings that have none beside.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for index and documents; PATH-takeoffs if unset.")
@click.option("--keep", type=click.Path(path_type=Path), help="Where results are kept for later runs; in OUT if unset.")
@click.option("--quote", is_flag=True, help="Price each drawing and write its quotation.")
@click.option("--only", multiple=True, help="Write only this document of each drawing, such as json; repeat for more.")
@click.option("--workers", type=click.IntRange(1), help="Processes on this machine; one per processor if unset.")
@click.option("--cluster", help="Scheduler of a Dask cluster, such as tcp://host:8786, instead of this machine.")
@click.option("--seconds", type=click.FloatRange(1), default=600, show_default=True, help="Time for one drawing.")
@click.option("--megabytes", type=click.IntRange(100), default=4096, show_default=True, help="Memory for one drawing.")
@click.option("--entities", type=click.IntRange(1), default=OF_MANY.entities, show_default=True, help="Most in a file.")
@click.option("--copies", type=click.IntRange(1), default=OF_MANY.copies, show_default=True, help="Most from blocks.")
@click.option("--again", is_flag=True, help="Try once more what was refused or given up before.")
def folder(
    paths: tuple[Path, ...], job_file: Path | None, out: Path | None, keep: Path | None, quote: bool,
    only: tuple[str, ...], workers: int | None, cluster: str | None, seconds: float, megabytes: int,
    entities: int, copies: int, again: bool,
) -> None:  # fmt: skip
    """Take off every drawing in PATHS: folders, drawings, or list files (.txt)."""
    from takeoff.bulk.command import run_folder
    from takeoff.bulk.model import Limits, Wanted

    wanted, limits = Wanted(quote, only, Bounds(entities, copies)), Limits(seconds, megabytes)
    target = out or Path(f"{paths[0].resolve().stem}-takeoffs")
    for line in run_folder(paths, job_file, target, keep, wanted, limits, workers, cluster, again, counted):
        click.echo(line)


@click.command()
@click.argument("development", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the documents; DEVELOPMENT-site if unset.")
def site(development: Path, out: Path | None) -> None:
    """Take off a whole site: house types once, quantities by plot, one order for each delivery.

    DEVELOPMENT is a development file (TOML) with the types, their drawings and the plots.
    """
    from takeoff.bulk.development import read_development
    from takeoff.bulk.site import make_site
    from takeoff.bulk.site_documents import site_lines, write_site

    made = make_site(read_development(development), step)
    for line in site_lines(made):
        click.echo(line)
    step("Writing the documents")
    for written in write_site(made, out or Path(f"{development.stem}-site")):
        click.echo(f"Wrote {written}")


COMMANDS = (folder, site)
