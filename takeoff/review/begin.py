"""What the command line names: a job file, a drawing whose job file stands beside it or is begun, or nothing yet."""

from __future__ import annotations

from pathlib import Path

from takeoff.errors import TakeoffError
from takeoff.job import read_job
from takeoff.review.session import Session
from takeoff.review.starter import begun_for

__all__ = ["begun"]


def begun(named: Path | None, folder: Path) -> Session:
    """A session for what is `named`; in `folder` a job begun on the page is kept.

    Raises `TakeoffError` when there is no such file or the job file cannot be read.
    """
    if named is None:
        return Session(folder)
    if named.is_dir():
        raise TakeoffError(f"{named} is a folder: name a job file or a drawing in it, or give it with --folder.")
    if not named.is_file():
        raise TakeoffError(f"There is no file {named}: name a job file or a drawing.")
    job_file = named if named.suffix.lower() == ".toml" else _job_beside(named)
    read_job(job_file)
    return Session(folder, job_file)


def _job_beside(drawing: Path) -> Path:
    """The job file of the drawing's name where it is that drawing's, else a new one."""
    beside = drawing.with_suffix(".toml")
    if beside.is_file() and (beside.parent / read_job(beside).drawing.file).resolve() == drawing.resolve():
        return beside
    return begun_for(drawing)
