"""What must be bought: order lines in whole packs, and where each part of them goes.

Terms:
  net         what the measured surfaces take, no waste.
  with waste  net plus the waste of each kind.
  pack        what the merchant sells: a bag, a sheet, a roll, a box, a length.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from takeoff.query import Query

__all__ = ["Delivery", "Material", "Order", "OrderLine", "RoomLoad", "RoomMix", "RoomShare", "plot_of"]


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
    waste_parts: tuple[tuple[str, float], ...] = ()
    """Waste by cause, per cent: ('cutting', 10.0) ... They add up to `waste_pct`."""
    sizes_mm: tuple[tuple[float, float], ...] = ()
    """Sheets sold, (length, width); empty for what is not a sheet."""
    lengths_m: tuple[float, ...] = ()
    """Stock lengths sold; empty for what is not a bead."""
    thickness_mm: float = 0.0
    """Of a board."""
    kg_per_m2_mm: float = 0.0
    """Coverage of a plaster; 0 for what is not laid by thickness."""
    use_within_min: float = 0.0
    """Minutes from mixing in which it can be laid."""
    set_min: float = 0.0
    """Minutes from mixing to set."""
    second_coat_after_min: float = 0.0
    """Minutes from laying the first coat until it takes the second; 0 for a material of one coat."""
    opened_keeps: bool = True
    """False: what is left of an opened pack is waste."""
    waste_kg_per_m3: float = 0.0
    """Bulk density of its waste, loose in a skip; 0 when it is not carried away by volume."""
    sources: tuple[tuple[str, str], ...] = ()
    """Source of each value: ('kg_per_m2_mm', '...') ..."""


@dataclass(frozen=True, slots=True)
class RoomShare:
    """A room's exact share of an order line, never rounded to packs."""

    room: str
    net: float
    with_waste: float
    packs: float
    weight_kg: float = 0.0
    """Of its exact share, to be carried to the room."""

    @property
    def carry(self) -> int:
        """Whole packs to carry to the room; the rooms' sum may exceed the order, opened packs move on."""
        return ceil(self.packs - 1e-9)


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
    delivery: str = ""
    """Ref of its `Delivery`."""
    waste_kg: float = 0.0
    """To carry away: cut, mixed and dropped, with what is left of the last pack where it will not keep."""
    waste_m3: float = 0.0
    """The same, loose in a skip."""
    caution: str = ""
    """Lifting caution where one pack weighs over 25 kg, else ''."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """One load: the whole job, a storey, a plot or a stage."""

    ref: str
    title: str
    rooms: tuple[str, ...]
    weight_kg: float
    waste_kg: float
    waste_m3: float
    cost: Decimal | None = None
    """None as soon as one price of it is not known."""


@dataclass(frozen=True, slots=True)
class RoomLoad:
    """What is to be carried to one room."""

    room: str
    weight_kg: float
    """Exact share of all materials."""
    heaviest_pack_kg: float


@dataclass(frozen=True, slots=True)
class RoomMix:
    """One plaster layer of one room, mixed and laid."""

    room: str
    material: str
    thickness_mm: float
    coats: int
    area_m2: float
    kg: float
    """Net."""
    bags: float
    """With waste."""
    water_l: float
    m2_per_mix: float
    """What one mix covers in its working time: both coats of it, or one, as `two_coats` says."""
    mixes: int
    two_coats: str
    """'one mix', 'two mixes', or '' for a single coat."""
    limited_by: str
    """'the mix' or 'working time'."""
    how: str


@dataclass(frozen=True)
class Order:
    lines: tuple[OrderLine, ...]
    queries: tuple[Query, ...] = ()
    deliveries: tuple[Delivery, ...] = ()
    rooms: tuple[RoomLoad, ...] = ()
    unpriced: tuple[str, ...] = ()
    """Titles of the materials whose price is not known."""
    mixes: tuple[RoomMix, ...] = ()
    waste_kg: float = 0.0
    """All that is carried away: of new materials, and stripped from old surfaces."""
    waste_m3: float = 0.0


def plot_of(ref: str) -> str:
    """The plot that the ref of a room, surface or edge begins with, where several plots are ordered as one job:
    PLOT/REF. '' where there is none."""
    return ref.rpartition("/")[0]
