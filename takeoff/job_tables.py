"""The tables of the job file, one class each. Lengths in metres, money in `Decimal`, percentages as people say them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "Accept",
    "AlternativeRow",
    "BuildUpRow",
    "ConditionsTable",
    "DrawingTable",
    "FindingRow",
    "FramingTable",
    "GangTable",
    "Heights",
    "JobTable",
    "Join",
    "KnownLength",
    "LabourRow",
    "LayerRow",
    "MarkedOpening",
    "Markup",
    "MaterialRow",
    "MeasureTable",
    "MixingTable",
    "OpeningKindRow",
    "OpeningRow",
    "OrderTable",
    "Payment",
    "Plant",
    "PriceTable",
    "RiskTable",
    "RoomRow",
    "ServicesTable",
    "Slope",
    "Split",
    "SurfaceRow",
    "Table",
    "WallRow",
    "WallTypeRow",
    "WasteRow",
]

Unit = Literal["mm", "cm", "m", "in", "ft"]
Xy = tuple[float, float]


class Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class JobTable(Table):
    """[job]: what the documents say about the work."""

    name: str = ""
    reference: str = ""
    site: str = ""
    prepared_for: str = ""
    prepared_by: str = ""
    date: str = ""
    existing: bool = False
    """Rooms that stand already: preparation is allowed for."""
    built_before_2000: bool | None = None
    """None: not known, so the asbestos caution stands."""


class KnownLength(Table):
    """[drawing] known_length: the true length between two points, given in the drawing's own units."""

    from_: Xy = Field(alias="from")
    to: Xy
    length: float = Field(gt=0.01, le=1000)
    """Metres."""


class DrawingTable(Table):
    """[drawing]"""

    file: str = ""
    more: tuple[str, ...] = ()
    """Further drawings of the same job, from the folder of the first: a storey each, say."""
    unit: Unit | None = None
    ignore_layers: tuple[str, ...] = ()
    """Layers that take no part in the reading."""
    keep_layers: tuple[str, ...] = ()
    """Layers that stay, though their names say that what is on them is to be removed."""
    known_length: KnownLength | None = None


class Heights(Table):
    """[heights]: defaults where the drawing does not say."""

    default: float | None = Field(None, gt=0.3, le=30)
    """Ceiling height of every room without its own; unset means 2.4 with one query."""
    door: float = Field(2.1, gt=0.3, le=10)
    window: float = Field(1.2, gt=0.1, le=10)
    sill: float = Field(0.9, ge=0, le=10)
    opening: float = Field(2.1, gt=0.3, le=10)


class MeasureTable(Table):
    """[measure]"""

    rule: str = "net"
    """Slug of a rule in data/rules.toml."""
    window_reveal: float | None = Field(None, ge=0, le=2)
    """Depth of the plastered reveal inside windows; unset means from wall thickness and frame position."""
    frame_depth: float = Field(0.07, ge=0, le=0.5)
    frame_setback: float | None = Field(None, ge=0, le=1)
    """Outer face of wall to outer face of frame; unset means the frame stands in the outer third."""
    smallest_void: float | None = Field(None, ge=0, le=10)
    """A void not exceeding this many m2 is left in; unset means the rule's own limit."""


class Slope(Table):
    """A sloping ceiling: rises from `low_height` above side `low_side` across the room to `high_height`."""

    low_side: str
    low_height: float = Field(ge=0, le=20)
    high_height: float = Field(gt=0, le=20)
    run: float | None = Field(None, gt=0, le=50)
    """Horizontal distance over which it rises; level beyond. Unset: the whole depth of the room."""


class RoomRow(Table):
    """[rooms.R1]"""

    name: str | None = None
    height: float | None = Field(None, gt=0.3, le=30)
    measured: bool | None = None
    """false leaves the room out of the quantities."""
    slope: Slope | None = None
    wall_background: str | None = None
    ceiling_background: str | None = None
    wall_build_up: str | None = None
    ceiling_build_up: str | None = None
    reveal_build_up: str | None = None
    existing: bool | None = None
    stage: str | None = None
    """Delivery or stage of work this room belongs to."""
    plot: str | None = None
    """Plot or dwelling this room belongs to."""
    services_done_day: int | None = Field(None, ge=0, le=1000)
    """As [services] done_day, for this room."""
    services_days: int | None = Field(None, ge=0, le=250)
    """As [services] days, for this room."""


class Split(Table):
    """[[split]]: a line across one measured space (sheet metres) that makes it two rooms."""

    room: str
    line: tuple[Xy, Xy]
    names: tuple[str, str] | None = None


class Join(Table):
    """[[join]]: rooms that are one space."""

    rooms: tuple[str, ...] = Field(min_length=2)
    name: str | None = None


class WallRow(Table):
    """[[wall]]: a wall that the drawing lacks (sheet metres)."""

    line: tuple[Xy, Xy]
    """Along the middle of its thickness."""
    thickness: float = Field(ge=0.035, le=0.65)


class MarkedOpening(Table):
    """[[opening]]: an opening that the drawing does not tell, marked by hand (sheet metres)."""

    at: Xy
    kind: Literal["door", "window", "opening", "rooflight"]
    width: float = Field(gt=0.05, le=30)
    height: float | None = Field(None, gt=0.05, le=20)
    sill: float | None = Field(None, ge=0, le=20)


class OpeningKindRow(Table):
    """[opening_kinds.door] and so on: how all openings of a kind are treated."""

    lining: bool | None = None
    """true: a lining or frame covers the jambs, no plastered reveal."""
    reveal_depth: float | None = Field(None, ge=0, le=2)
    cill_plastered: bool | None = None
    head_plastered: bool | None = None
    background: str | None = None
    """What its reveals are made of."""
    build_up: str | None = None
    """Build-up of its reveals."""


class OpeningRow(OpeningKindRow):
    """[openings.D1]"""

    kind: Literal["door", "window", "opening", "rooflight"] | None = None
    width: float | None = Field(None, gt=0.05, le=30)
    height: float | None = Field(None, gt=0.05, le=20)
    sill: float | None = Field(None, ge=0, le=20)
    arch_rise: float | None = Field(None, gt=0, le=15)
    """Its head is an arch that rises so much from the springing to the crown; `height` is that of the crown."""
    ignore: bool = False
    """true: there is no opening here."""


class WallTypeRow(Table):
    """[wall_types.partition], [wall_types.masonry], [wall_types.unknown]"""

    background: str | None = None
    build_up: str | None = None


class SurfaceRow(Table):
    """[surfaces."R1-W2"]"""

    background: str | None = None
    build_up: str | None = None
    height: float | None = Field(None, gt=0.05, le=30)


class LayerRow(Table):
    """One layer of [build_ups.NAME] layers."""

    material: str
    per: str = "m2"
    amount: float | None = Field(None, gt=0)
    thickness_mm: float | None = Field(None, gt=0, le=500)
    coats: int = Field(1, ge=1, le=6)
    labour: str = ""
    spacing_mm: float | None = Field(None, gt=0, le=3000)
    """Instead of `amount`: one run, or one fixing, at this spacing."""
    waste: float | None = Field(None, ge=0, le=100)
    """Per cent, for this layer only; unset means the material's own."""
    surfaces: tuple[str, ...] = ()
    """Kinds of surface this layer is for; empty means all."""
    backgrounds: tuple[str, ...] = ()
    """Backgrounds this layer is for; empty means all."""
    source: str = ""


class BuildUpRow(Table):
    """[build_ups.NAME]: a build-up of the user's own, or a shipped one changed."""

    title: str = ""
    surfaces: tuple[str, ...] = ("wall",)
    backgrounds: tuple[str, ...] = ()
    layers: tuple[LayerRow, ...] = Field(min_length=1)
    cautions: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    """Shipped sets of layers, such as "skim"; they go on after `layers`, or where "layers" stands among them."""
    limits: tuple[str, ...] = ()
    source: str = ""


class MaterialRow(Table):
    """[materials.SLUG]: changes a shipped material or adds one (then title, unit and pack_size are needed)."""

    title: str | None = None
    unit: str | None = None
    pack: str | None = None
    pack_size: float | None = Field(None, gt=0)
    pack_kg: float | None = Field(None, ge=0)
    waste: float | None = Field(None, ge=0, le=100)
    """Per cent."""
    price: Decimal | None = Field(None, ge=0)
    """Per pack."""
    price_date: str | None = None
    supplier: str | None = None
    kind: str | None = None
    kg_per_m2_mm: float | None = Field(None, gt=0, le=10)
    """Coverage: amount of the material's unit for one square metre one millimetre thick."""
    thickness_mm: float | None = Field(None, gt=0, le=300)
    """Of a board."""
    coat_max_mm: float | None = Field(None, gt=0, le=100)
    total_max_mm: float | None = Field(None, gt=0, le=200)
    sizes_mm: tuple[tuple[float, float], ...] = ()
    """Sheets in stock, (length, width)."""
    lengths_m: tuple[float, ...] = ()
    """Lengths in stock, of a bead."""
    water_l_per_pack: float | None = Field(None, ge=0)
    shelf_life_days: int | None = Field(None, gt=0)


class WasteRow(Table):
    """[waste.KIND]: waste by cause, per cent of the net amount, for every material of that kind."""

    cutting: float = Field(0, ge=0, le=100)
    mixing: float = Field(0, ge=0, le=100)
    droppings: float = Field(0, ge=0, le=100)
    last_bag: float = Field(0, ge=0, le=100)
    """Beyond the whole packs ordered: packs opened and gone off between visits."""


class OrderTable(Table):
    """[order]: how the buying list is cut into deliveries and rounded."""

    by: Literal["job", "storey", "plot", "stage"] = "job"
    rounding: Literal["once", "each-surface"] = "once"
    """once: whole packs for the whole delivery.
    each-surface: boards made whole sheets on each surface, then waste, then whole again."""


class FramingTable(Table):
    """[framing]: centres of studs and joists in mm, where the drawing does not say."""

    wall_centres: Literal[300, 400, 450, 600] = 600
    ceiling_centres: Literal[300, 400, 450, 600] = 400


class MixingTable(Table):
    """[mixing]: how plaster is mixed on this job."""

    bags_per_mix: float = Field(1, gt=0, le=10)
    two_coats: Literal["one mix", "two mixes"] = "two mixes"
    laying_m2_per_hour: float = Field(20, gt=0, le=200)
    """What one person lays on in one coat; from memory, so put your own."""


class LabourRow(Table):
    """[labour.SLUG]: the user's own constant for a task of data/labour.toml, hours per its unit."""

    likely: float = Field(gt=0, le=100)
    low: float | None = Field(None, gt=0, le=100)
    high: float | None = Field(None, gt=0, le=100)


class ServicesTable(Table):
    """[services]: first-fix services (cables, pipes, boxes) by other trades, before boards close them up."""

    done_day: int = Field(0, ge=0, le=1000)
    """Working day of the programme by whose end they are done in every room; 0: before the work starts."""
    days: int = Field(0, ge=0, le=250)
    """Working days that other trades need in each room, after it is stripped and re-fixed."""


class GangTable(Table):
    """[gang]: who works, and how long a day is."""

    people: int = Field(1, ge=1, le=20)
    """Plasterers."""
    labourer: bool = False
    hours_per_day: float = Field(8.0, gt=0, le=16)
    start_date: date | None = None
    """First working day, YYYY-MM-DD; unset leaves days numbered."""


class ConditionsTable(Table):
    """[conditions]: what makes the work slower."""

    occupied: bool = False
    hard_access: bool = False
    """Narrow or winding stair, no place to unload: carrying is slower."""
    storeys_to_carry: int = Field(0, ge=0, le=60)
    carry_m: float = Field(20, ge=0, le=1000)
    """From where materials are dropped to the rooms, along the way."""
    factors: dict[str, float] = {}
    """The user's own value for a factor of data/labour.toml."""


class Plant(Table):
    """[[price.plant]] and [[price.provisional]]: a sum for the whole job."""

    what: str
    amount: Decimal = Field(ge=0)


class Markup(Table):
    """[[price.markups]]: a percentage on the running total, in the order written."""

    name: str
    percent: Decimal = Field(ge=0, le=200)


class Payment(Table):
    """[[price.payments]]: part of the price due at a stage."""

    when: str
    percent: Decimal = Field(gt=0, le=100)


class PriceTable(Table):
    """[price]: rates and what is added to them. What is unset is listed as missing, never taken as nought."""

    currency: str = ""
    labour_rate: Decimal | None = Field(None, ge=0)
    """Per hour of one plasterer."""
    labourer_rate: Decimal | None = Field(None, ge=0)
    """Per hour; used when [gang] labourer is true."""
    material_margin: Decimal = Field(Decimal(0), ge=0, le=200)
    """Per cent on materials at cost."""
    waste_rate: Decimal | None = Field(None, ge=0)
    """Per tonne of waste carried away."""
    plant: tuple[Plant, ...] = ()
    provisional: tuple[Plant, ...] = ()
    markups: tuple[Markup, ...] = ()
    contingency: Literal["none", "P50", "P80", "P90"] = "none"
    """Adds what the simulated cost at this level exceeds the likely cost."""
    tax_name: str = "tax"
    tax: Decimal = Field(Decimal(0), ge=0, le=100)
    reverse_charge: bool = False
    """true: the customer accounts for the tax; none is added and the quotation says so."""
    round_to: Decimal = Field(Decimal("0.01"), gt=0, le=1000)
    """The price before tax is rounded up to a multiple of this."""
    validity_days: int = Field(30, ge=1, le=365)
    payments: tuple[Payment, ...] = ()
    exclusions: tuple[str, ...] = ()


class RiskTable(Table):
    """[risk]: how the job is simulated."""

    runs: int = Field(10_000, ge=10_000, le=1_000_000)
    seed: int = Field(1, ge=0)


class FindingRow(Table):
    """[[findings]]: something found in an existing room; kinds in data/findings.toml."""

    room: str
    kind: str
    amount: float = Field(ge=0, le=100_000)
    place: str = "room"
    """'walls', 'ceiling', 'room', or the ref of a surface, edge or opening."""
    background: str = ""
    """What old plaster is hacked off to: 'brick', 'laths' ... Unset: as the surface is known, else asked."""
    thickness_mm: float = Field(0, ge=0, le=300)
    """Mean depth to build out, or of the old plaster hacked off."""
    low: float | None = Field(None, ge=0)
    high: float | None = Field(None, ge=0)
    note: str = ""


class AlternativeRow(Table):
    """[[alternatives]]: another way to do the job, priced beside it."""

    name: str
    wall_build_up: str | None = None
    ceiling_build_up: str | None = None
    hack_off: bool = False
    """true: all wall plaster of the existing rooms is hacked off and rebuilt."""


class Accept(Table):
    """[[accept]]: settles a query as it stands."""

    kind: str
    about: str = ""
    note: str = ""
