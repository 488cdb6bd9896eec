"""Many drawings at once: what is asked for each, what became of it.

Terms:
  entry     one drawing of a run, with the job file that goes with it and the name of its folder of documents.
  request   what a worker needs to take it off, as bytes: a worker needs no disk in common with the run.
  outcome   what became of it: done with its documents, refused in one sentence, or given up at a limit.
  key       hash of everything that an outcome hangs on: drawing, job, what is made, and the program itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Literal

from takeoff.drawing.bounds import OF_MANY, Bounds

__all__ = ["Asked", "Entry", "Limits", "Outcome", "Request", "State", "Summary", "Wanted"]

State = Literal["done", "refused", "given up"]


@dataclass(frozen=True, slots=True)
class Entry:
    name: str
    """Names its folder of documents; one of its kind in a run. May have slashes."""
    drawing: Path
    job: Path | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is made of each drawing."""

    quote: bool = False
    """Priced, with boards laid and beads cut; otherwise measured only."""
    only: tuple[str, ...] = ()
    """Documents by the names of `documents.write_all`; empty: all."""
    bounds: Bounds = OF_MANY
    """How much of each is read."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What one drawing may take, on top of what a worker starts with."""

    seconds: float = 600.0
    megabytes: int = 4096


@dataclass(frozen=True, slots=True)
class Request:
    drawing_name: str
    drawing: bytes
    job_name: str
    job: bytes | None
    wanted: Wanted
    more: tuple[tuple[str, bytes], ...] = ()
    """Further drawings that the job file names beside the first: name and content."""


@dataclass(frozen=True, slots=True)
class Asked:
    """A query of one drawing."""

    ref: str
    kind: str
    concerns: str
    about: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Summary:
    """Totals of one drawing."""

    rooms: int
    openings: int
    floor_m2: float
    walls_m2: float
    ceilings_m2: float
    reveals_m2: float
    hours: float
    weight_kg: float
    currency: str = ""
    before_tax: Decimal | None = None
    """None: not priced, or a rate or a price is missing."""
    queries: tuple[Asked, ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    state: State
    reason: str = ""
    """One sentence why there are no documents."""
    summary: Summary | None = None
    files: Mapping[str, bytes] = field(default_factory=dict)
