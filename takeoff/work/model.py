"""Work on the measured surfaces: a build-up is a list of layers on a background; an operation is work to be done.

Terms:
  background   what the surface is before the work: 'brick', 'block', 'concrete', 'timber frame', 'metal frame',
               'board', 'sound plaster', 'old ceiling', 'solid historic wall' ...
  build-up     named list of layers that may go on certain backgrounds.
  layer        one material applied, with its coverage, waste and labour.
  need         an amount of one material for one surface or edge, net of waste, with its working.
  operation    a piece of labour for one room: quantity x constant x factors = hours.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from takeoff.query import Query

__all__ = ["Assignment", "BuildUp", "Caution", "Factor", "Finding", "Layer", "Need", "Operation", "Work"]


@dataclass(frozen=True, slots=True)
class Layer:
    material: str
    """Slug in ``data/materials.toml``."""
    per: str
    """What the coverage counts against: 'm2', 'm edge', 'm joint', 'board' ..."""
    amount: float
    """Amount of the material's unit per `per` (kg/m2, screws/m2, l/m2), thickness already multiplied out."""
    thickness_mm: float = 0.0
    coats: int = 1
    labour: str = ""
    """Slug in ``data/labour.toml``, or '' when another layer's operation covers it."""
    how: str = ""
    """Working of `amount`: '11 mm x 0.83 kg/m2/mm'."""
    source: str = ""
    surfaces: tuple[str, ...] = ()
    """Surface kinds this layer is for; empty means all of the build-up's."""
    backgrounds: tuple[str, ...] = ()
    """Backgrounds this layer is for; empty means all of the build-up's."""
    waste_pct: float | None = None
    """Waste of this layer only; None means the material's own."""
    spacing_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class BuildUp:
    slug: str
    title: str
    surfaces: tuple[str, ...]
    """Surface kinds it may go on: 'wall', 'ceiling', 'reveal', 'pier'."""
    backgrounds: tuple[str, ...]
    layers: tuple[Layer, ...]
    thickness_mm: float
    limits: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    source: str = ""


@dataclass(frozen=True, slots=True)
class Assignment:
    """Which build-up a surface gets, and who said so."""

    surface: str
    background: str
    build_up: str
    decided_by: str
    """'job: surface', 'job: room', 'job: wall type', 'drawing: 100 mm partition', 'default' ..."""


@dataclass(frozen=True, slots=True)
class Need:
    """An amount of a material for one surface or edge, before waste."""

    material: str
    room: str
    surface: str
    """Ref of the surface or edge."""
    quantity: float
    """What it covers: m2, m, pieces."""
    per: str
    rate: float
    """Amount of material per unit of `quantity`."""
    amount: float
    """quantity x rate, in the material's own unit."""
    how: str
    build_up: str = ""
    waste_pct: float | None = None
    """Waste of this need only; None means the material's own."""
    layer: int = 0
    """Place of its layer in the build-up, from 1; 0 for what belongs to no layer (built-out hollows)."""
    finding: str = ""
    """Ref of the finding it comes from, or ''."""


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that must be shown: what to beware of, why it was chosen for this job, who says so."""

    slug: str
    title: str
    says: str
    source: str
    about: tuple[str, ...] = ()
    """Refs of the rooms that called for it; empty: the whole job."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something about an existing room that the drawing does not say, allowed for before the visit or found on it."""

    ref: str
    """F1, F2 ..."""
    room: str
    place: str
    """Ref of a surface, edge or opening, or 'walls', 'ceiling', 'room'."""
    kind: str
    """Slug in ``data/findings.toml``."""
    amount: float
    unit: str
    thickness_mm: float = 0.0
    """Mean depth to build out, for hollows and steps."""
    low: float | None = None
    high: float | None = None
    """Range of the amount; None when it was measured."""
    state: str = "found"
    """'allowance' before the visit, 'found' after it."""
    note: str = ""
    background: str = ""
    """What old plaster is hacked off to; '' for what is not hacked off."""
    background_by: str = ""
    """Who said so: 'found', 'job: ...', 'drawing: ...' or 'assumed'."""
    scope: str = ""
    """What is done, in the words of the documents: 'hack off loose plaster to the brick and rebuild with undercoat'."""


@dataclass(frozen=True, slots=True)
class Factor:
    why: str
    value: float


@dataclass(frozen=True, slots=True)
class Operation:
    ref: str
    room: str
    task: str
    """Slug in ``data/labour.toml``."""
    title: str
    stage: str
    """'protect', 'strip', 're-fix', 'repair', 'board', 'scrim', 'bead', 'key', 'undercoat', 'bond', 'ceiling finish',
    'wall finish' or 'clear'."""
    quantity: float
    unit: str
    hours_low: float
    hours_likely: float
    hours_high: float
    """Constant per unit, low / likely / high, before factors."""
    factors: tuple[Factor, ...] = ()
    surfaces: tuple[str, ...] = ()
    allowance: bool = False
    """True: a pre-visit allowance, not a finding."""
    source: str = ""
    finding: str = ""
    """Ref of the finding it comes from, or ''."""

    @property
    def multiplier(self) -> float:
        """Product of the factors."""
        product = 1.0
        for factor in self.factors:
            product *= factor.value
        return product

    @property
    def hours(self) -> float:
        """quantity x likely constant x factors."""
        return self.quantity * self.hours_likely * self.multiplier


@dataclass(frozen=True)
class Work:
    build_ups: dict[str, BuildUp]
    """Those in use, by slug."""
    assignments: tuple[Assignment, ...]
    needs: tuple[Need, ...]
    operations: tuple[Operation, ...] = ()
    cautions: tuple[str, ...] = ()
    queries: tuple[Query, ...] = field(default=())
    findings: tuple[Finding, ...] = ()
    waste_kg: float = 0.0
    """Hacked off and stripped, to carry away with the waste of new materials."""
    notices: tuple[Caution, ...] = ()
    """`cautions` with their parts: title, text, source, rooms."""
