"""Queries: what a person must settle because the drawing does not.

A stage that cannot settle something neither guesses silently nor stops: it adds a `Query` beside its
result and goes on. Every kind of query is listed in ``takeoff/data/queries.toml`` with what it concerns.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from takeoff.data import load

__all__ = ["CONCERNS", "Query", "acceptance", "numbered", "query"]

CONCERNS = ("unit", "plan", "outline", "opening", "height", "label", "background", "specification")


@dataclass(frozen=True, slots=True)
class Query:
    """One thing to settle. `at` is in metres in the drawing's own frame (local: see `Plan.origin_m`)."""

    kind: str
    """Slug listed in ``data/queries.toml``."""
    concerns: str
    """One of `CONCERNS`."""
    says: str
    """One plain sentence with what to do."""
    about: tuple[str, ...] = ()
    """Refs of rooms, openings, plans or surfaces."""
    at: tuple[float, float] | None = None
    answer: str = ""
    """How to answer in the job file: a TOML fragment ready to paste and edit."""
    ref: str = ""
    """Q1, Q2 ...: given by `numbered` when all stages have spoken."""


def query(
    kind: str,
    says: str,
    *,
    about: Iterable[str] = (),
    at: tuple[float, float] | None = None,
    answer: str = "",
) -> Query:
    """A query of a listed kind. Raises `KeyError` for a kind that ``data/queries.toml`` does not list."""
    return Query(kind, load("queries")[kind]["concerns"], says, tuple(about), at, answer)


def acceptance(kind: str, about: str) -> str:
    """The answer that settles a query of the `kind` about one ref as it stands."""
    return f'[[accept]]\nkind = "{kind}"\nabout = "{about}"'


def numbered(queries: Iterable[Query]) -> tuple[Query, ...]:
    """The queries in order of concern, then as given, with refs Q1, Q2 ..."""
    ordered = sorted(queries, key=lambda q: CONCERNS.index(q.concerns))
    return tuple(replace(q, ref=f"Q{n}") for n, q in enumerate(ordered, 1))
