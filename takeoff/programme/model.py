"""The programme: pieces of work placed on days, with the waits between them.

Terms:
  piece      work of one stage in one room that one person or gang does without a break of kind.
  services   first-fix services by other trades: days that are not ours, which boards wait for.
  wait       time that must pass after a piece before the next may start: setting, suction control, drying.
  day        one working day of the gang, numbered from 1; hours counted from the day's start.
  delivery   order lines that must be on site before a day begins.
"""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.query import Query

__all__ = ["Delivery", "Piece", "Placed", "Programme", "Services"]


@dataclass(frozen=True, slots=True)
class Piece:
    ref: str
    room: str
    stage: str
    """As `Operation.stage`."""
    title: str
    hours: float
    """Gang hours: labour hours divided by the people who work on it together."""
    people: int
    after: tuple[tuple[str, float, str], ...] = ()
    """(ref of the piece before, wait in hours of the clock, why with source)."""
    unbroken: bool = False
    """A coat that must not be left half done at knocking-off time."""
    operations: tuple[str, ...] = ()
    mixes: tuple[tuple[str, int], ...] = ()
    """(material slug, whole mixes), each laid within its working time."""
    until_set_h: float = 0.0
    """Hours from its start until its last mix has set: before knocking-off time too; 0 for what does not set."""
    others_days: int = 0
    """Working days of other trades, not ours: `people` is 0 then."""
    from_day: int = 0
    """Not before so many days have passed."""


@dataclass(frozen=True, slots=True)
class Placed:
    piece: Piece
    day: int
    start_h: float
    end_h: float
    """Within the day; a piece that runs over several days has one row per day."""
    gang: int = 1


@dataclass(frozen=True, slots=True)
class Services:
    """First-fix services in one room, by other trades: boards close them up only when they are done."""

    room: str
    title: str
    from_day: int
    done_day: int
    """Done by the end of this day; 0: before the first day. `from_day` is the day after where no days are theirs."""


@dataclass(frozen=True, slots=True)
class Delivery:
    day: int
    lines: tuple[tuple[str, int], ...]
    """(material slug, packs)."""
    weight_kg: float
    load: str = ""
    """Ref of the order's delivery it belongs to: the whole job, a storey, a plot or a stage."""


@dataclass(frozen=True)
class Programme:
    placed: tuple[Placed, ...]
    days: int
    deliveries: tuple[Delivery, ...]
    proven: bool
    """The solver proved that no shorter programme exists."""
    gap: float
    """(days - lower bound) / days; 0 when proven."""
    ready_to_decorate_day: int
    conditions: tuple[str, ...] = ()
    """Temperature, ventilation, drying: each with its source."""
    queries: tuple[Query, ...] = ()
    services: tuple[Services, ...] = ()

    @property
    def loads_by_day(self) -> dict[int, tuple[float, int]]:
        """(kg, number of lines) of all that must be on site before each day."""
        loads: dict[int, tuple[float, int]] = {}
        for delivery in self.deliveries:
            kg, count = loads.get(delivery.day, (0.0, 0))
            loads[delivery.day] = kg + delivery.weight_kg, count + len(delivery.lines)
        return loads
