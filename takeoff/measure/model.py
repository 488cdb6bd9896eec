"""Measured quantities: what a plasterer covers, edge by edge and face by face. Metres and square metres.

Terms:
  surface   one face to be covered: a wall run, a ceiling (or a slope of it), a reveal (head, jamb, cill), a pier.
  edge      one line to be beaded, scrimmed, stopped or sealed.
  quantity  one row for the bill: room, item, gross, deducted, net, under a rule of measurement.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from takeoff.query import Query

__all__ = ["Deduction", "Edge", "Measured", "Quantity", "RoomMeasure", "Surface"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Deduction:
    """An opening's effect on a surface under the rule: `area_m2` taken off (0 when the rule leaves it in)."""

    opening: str
    width_m: float
    height_m: float
    area_m2: float
    reason: str
    """Plain words: 'over 0.50 m2: deducted', 'not exceeding 0.50 m2: left in' ..."""


@dataclass(frozen=True, slots=True)
class Surface:
    ref: str
    """R1-W1 (wall runs, numbered along the outline), R1-C1 (ceiling), R1-W1-W3-head, -left, -right, -cill (reveals)."""
    room: str
    kind: str
    """'wall', 'ceiling', 'reveal' or 'pier'."""
    length_m: float
    """Along the wall, or the reveal's length; for a ceiling the greater side of its bounding box."""
    height_m: float
    """Mean height of the wall, or the reveal's depth; for a ceiling area / length."""
    gross_m2: float
    deductions: tuple[Deduction, ...]
    net_m2: float
    how: str
    """The working in full: '4.20 x 2.40', '(4.20 x (1.20 + 2.40) / 2)', '1.20 x 0.10'."""
    outline: tuple[Point, ...] = ()
    """Unrolled shape: for a wall, (along, up) from its left end seen from inside the room; for a level ceiling, local
    plan metres; for a slope, (along the low side, up the slope); for a reveal, (along, depth)."""
    holes: tuple[tuple[Point, ...], ...] = ()
    """Openings (wall) or voids (ceiling) in the same frame as `outline`, whatever the rule deducts."""
    side: str = ""
    """Ref of the plan's `Side` (the first, when a run joins several)."""
    opening: str = ""
    """For a reveal: its opening."""
    part: str = ""
    """'head', 'left', 'right', 'cill' for a reveal; 'flat' or 'slope' for a ceiling."""
    thickness_m: float | None = None
    wall_type: str = "unknown"
    external: bool | None = None
    curved: bool = False
    radius_m: float | None = None
    """Radius of a curved wall."""
    narrow: bool = False
    """Width not exceeding the rule's narrow band: billed by the metre."""
    over_height_m2: float = 0.0
    """Part of the net area above the rule's height band (3.5 m by default)."""
    handles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Edge:
    ref: str
    room: str
    kind: str
    """'external angle', 'internal angle', 'opening angle' (arris round a plastered reveal), 'wall to ceiling',
    'stop' (free edge, or against a lining, frame or different material)."""
    length_m: float
    how: str
    surfaces: tuple[str, ...] = ()
    """Refs of the surfaces that meet there."""
    opening: str = ""
    at: Point | None = None
    """Plan point of a vertical edge."""
    curved: bool = False


@dataclass(frozen=True, slots=True)
class Quantity:
    """One row of the bill (the contract's `quantities`)."""

    room: str
    surface: str
    item: str
    """'walls', 'ceiling', 'reveals', 'external angles', 'walls over 3.5 m', 'narrow widths', 'curved walls' ..."""
    unit: str
    """'m2' or 'm'."""
    gross: float
    deducted: float
    net: float
    rule: str
    how: str = ""
    handles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RoomMeasure:
    """Totals of one room."""

    room: str
    height_m: float
    height_from: str
    wall_gross_m2: float
    wall_net_m2: float
    ceiling_m2: float
    reveal_m2: float
    internal_corners: int
    external_corners: int
    measured: bool = True
    """False: the room is not plastered; its sizes are told, but it has no surfaces, edges or quantities."""


@dataclass(frozen=True)
class Measured:
    rule: str
    """Slug of the rule of measurement."""
    rooms: tuple[RoomMeasure, ...]
    surfaces: tuple[Surface, ...]
    edges: tuple[Edge, ...]
    quantities: tuple[Quantity, ...]
    queries: tuple[Query, ...] = ()

    @cached_property
    def by_room(self) -> dict[str, RoomMeasure]:
        """The totals of each room by its ref."""
        return {room.room: room for room in self.rooms}
