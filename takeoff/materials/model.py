"""What must be bought: order lines in whole packs, and where each part of them goes.

Terms:
  net         what the measured surfaces take, no waste.
  with waste  net plus the waste of each kind.
  pack        what the merchant sells: a bag, a sheet, a roll, a box, a length.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from takeoff.query import Query

__all__ = ["Material", "Order", "OrderLine", "RoomShare"]


@dataclass(frozen=True, slots=True)
class Material:
    """One material of ``data/materials.toml`` (or the job file), by generic trade name."""

    slug: str
    title: str
    unit: str
    """'kg', 'm2', 'm', 'no', 'l'."""
    pack: str
    """For people: '25 kg bag', '2400 x 1200 sheet', '90 m roll', '3.0 m length'."""
    pack_size: float
    """In `unit`."""
    pack_kg: float
    """Weight of one full pack, 0 when negligible."""
    waste_pct: float
    source: str
    kind: str = ""
    """'board', 'undercoat', 'finish', 'bonding agent', 'bead', 'scrim', 'fixing', 'adhesive' ..."""
    price: Decimal | None = None
    price_date: str = ""
    supplier: str = ""
    water_l_per_pack: float = 0.0
    shelf_life_days: int = 0


@dataclass(frozen=True, slots=True)
class RoomShare:
    """A room's exact share of an order line, never rounded to packs."""

    room: str
    net: float
    with_waste: float
    packs: float


@dataclass(frozen=True, slots=True)
class OrderLine:
    material: Material
    net: float
    waste_pct: float
    with_waste: float
    packs: int
    left_over: float
    """packs x pack_size - with_waste."""
    weight_kg: float
    shares: tuple[RoomShare, ...]
    cost: Decimal | None = None
    """None when the price is not known: never nought."""
    how: str = ""


@dataclass(frozen=True)
class Order:
    lines: tuple[OrderLine, ...]
    queries: tuple[Query, ...] = ()
