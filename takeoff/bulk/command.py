"""What `takeoff folder` does: the drawings, the workers, the run, and what is said at the end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager
from pathlib import Path

from takeoff.bulk.crew import Gang, crew, processors
from takeoff.bulk.listing import entries
from takeoff.bulk.model import Limits, Wanted
from takeoff.bulk.run import Run, Say
from takeoff.bulk.store import Store
from takeoff.documents.write_all import DOCUMENTS, PRICED
from takeoff.errors import OutputError, TakeoffError
from takeoff.job import read_job

__all__ = ["run_folder"]

KEPT = ".kept"
"""Folder of the store within the folder of the run."""


def run_folder(
    paths: Sequence[Path],
    job: Path | None,
    out: Path,
    keep: Path | None,
    wanted: Wanted,
    limits: Limits,
    workers: int | None,
    address: str | None,
    again: bool,
    say: Say,
) -> Iterator[str]:
    """Take off all drawings of `paths`; the lines to print. Raises `TakeoffError` for what concerns the run as a whole:
    no drawing, a wrong `job`, a document that there is not, folders that cannot be written to."""
    there = {**DOCUMENTS, **PRICED} if wanted.quote else DOCUMENTS
    if unknown := sorted(set(wanted.only) - set(there)):
        raise OutputError(f"No document is called {unknown[0]}; one of: {', '.join(there)}.")
    if job is not None:
        read_job(job)
    drawings = entries([path.resolve() for path in paths], job, out.resolve())
    run = Run(drawings, out, Store(keep or out / KEPT), wanted, limits, again)
    with _gang(workers, address, limits) as gang:
        ended = run.go(gang, say)
    yield f"{ended.done:,} of {ended.done + ended.without:,} drawings taken off."
    for row in ended.reasons:
        yield f"{row.name}: {row.state}: {row.reason}"
    if ended.without > len(ended.reasons):
        yield f"... and {ended.without - len(ended.reasons):,} more without a takeoff: see the index."
    for index in ended.indexes:
        yield f"Wrote {index}"


def _gang(workers: int | None, address: str | None, limits: Limits) -> AbstractContextManager[Gang]:
    """The cluster at `address`, or processes on this machine."""
    if address is None:
        return crew(workers or processors(), limits)
    try:
        from takeoff.bulk.cluster import cluster
    except ImportError as fault:
        raise TakeoffError(f"A cluster needs an extra ({fault}): pip install 'takeoff[cluster]'.") from fault
    return cluster(address, limits)
