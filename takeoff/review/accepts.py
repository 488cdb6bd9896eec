"""Questions accepted as they stand that nobody asks any more, once a change has settled them another way.

The command line refuses such a row, since it may be a slip; after a change on the page it is none, and the row becomes
a remark.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Sequence

from takeoff.data import load
from takeoff.job import Job, job_of
from takeoff.job_tables import Accept
from takeoff.query import Query
from takeoff.review.refs import Carried, rows_changed

__all__ = ["without_spent"]

_WHY = "Nothing is asked like this any more"


def without_spent(text: str, asked_of: Callable[[Job], Sequence[Query]], path: str = "job file") -> Carried:
    """The job file's text with the rows of [[accept]] that accept nothing made remarks.

    `asked_of`: the questions of a job; `path` is what errors call the file. Raises `JobError` as it does.
    """
    job = job_of(text, path)
    if not job.accept:
        return Carried(text)
    asked = asked_of(job.model_copy(update={"accept": ()}))
    spent = [not _settles(row, asked) for row in job.accept]
    rows = tomllib.loads(text)["accept"]
    gone = [row for row, over in zip(rows, spent, strict=True) if over]
    left = rows_changed(text, ("accept",), lambda row: None if dict(row) in gone else dict(row), _WHY)
    told = (
        f"{row['kind']}{_of(row.get('about', ''))} is no longer asked: that it was accepted is kept as a remark."
        for row in gone
    )
    return Carried(left.text, tuple(dict.fromkeys(told)))


def _settles(row: Accept, asked: Sequence[Query]) -> bool:
    """Whether a row accepts a question; those that only the programme asks are left alone, as it is not at hand."""
    if load("queries").get(row.kind, {}).get("stage") == "programme":
        return True
    return any(q.kind == row.kind and (not row.about or row.about in q.about) for q in asked)


def _of(about: str) -> str:
    return f" of {about}" if about else ""
