"""The price: what the work costs, what is added in which order, and how sure it is. Money in `Decimal`.

Terms:
  line      one cost before mark-ups: materials, labour, plant and access, waste away, provisional sum.
  step      one percentage or sum added on the running total, in a stated order.
  risk      the job simulated: hours, days and cost that are not exceeded in 50, 80, 90 of 100 runs.
  driver    an unknown, with its share of the spread: a question to ask before signing.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from takeoff.query import Query

__all__ = ["Alternative", "Driver", "Price", "PriceLine", "Risk", "RoomPrice", "Spread", "Step"]


@dataclass(frozen=True, slots=True)
class PriceLine:
    kind: str
    """'materials', 'labour', 'plant', 'waste', 'provisional'."""
    what: str
    room: str
    """'' for the job as a whole."""
    quantity: float
    unit: str
    rate: Decimal | None
    amount: Decimal | None
    """None: no price known; listed, never nought."""
    how: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    name: str
    percent: Decimal | None
    """None: a fixed sum."""
    on: Decimal
    amount: Decimal
    total: Decimal
    """Running total after this step."""


@dataclass(frozen=True, slots=True)
class RoomPrice:
    room: str
    net: Decimal
    """The room's lines and its share of the job-wide ones, before tax, mark-ups included."""
    per_m2: Decimal


@dataclass(frozen=True, slots=True)
class Spread:
    """Values not exceeded in 50, 80 and 90 of 100 simulated jobs, and the mean."""

    p50: float
    p80: float
    p90: float
    mean: float


@dataclass(frozen=True, slots=True)
class Driver:
    what: str
    share: float
    """Of the variance of cost, 0-1."""
    ask: str
    """The question that settles it."""


@dataclass(frozen=True, slots=True)
class Risk:
    runs: int
    seed: int
    hours: Spread
    days: Spread
    cost: Spread
    drivers: tuple[Driver, ...]


@dataclass(frozen=True, slots=True)
class Alternative:
    """The job done another way, beside the job as it stands."""

    name: str
    hours: float
    days: int
    before_tax: Decimal
    complete: bool


@dataclass(frozen=True)
class Price:
    currency: str
    lines: tuple[PriceLine, ...]
    steps: tuple[Step, ...]
    prime_cost: Decimal
    before_tax: Decimal
    tax: Decimal
    total: Decimal
    rooms: tuple[RoomPrice, ...]
    complete: bool
    """False when a rate or a pack price is missing: then the total is of the known part only, and says so."""
    missing: tuple[str, ...] = ()
    risk: Risk | None = None
    notes: tuple[str, ...] = ()
    queries: tuple[Query, ...] = ()
