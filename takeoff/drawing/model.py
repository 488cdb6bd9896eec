"""What a drawing file holds once read: neutral line work, texts and symbols, no building words.

Terms:
  unit        the drawing's own unit of length; nothing here is metres until `in_metres` is called.
  origin      the point of the drawing subtracted from every coordinate, so that drawings millions of
              units from zero lose no accuracy. Sheet coordinate = local coordinate + origin.
  entity      one drawn thing, at whatever depth of blocks it was found.
  segment     a straight piece of an entity; curves come as chords *and* as an `Arc` row.
  symbol      one block reference, with its attributes; `Entity.symbol` says which (outermost) symbol an entity
              belongs to, `Entity.inner` which innermost one.
  region      a closed ring (closed polyline, hatch boundary, solid), also present as segments; the outline of a
              polyline drawn with a width has pattern WIDE and is no segments until the drawing is in metres.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from takeoff.query import Query

__all__ = [
    "Arcs", "Dimension", "Drawing", "Entity", "Floats", "Ints", "Layer", "LeftOut", "Part", "Region", "Segments",
    "Symbol", "Text", "UnitEvidence", "UnitFinding", "as_read", "in_metres", "scaled",
]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int32]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Layer:
    name: str
    linetype: str = ""
    colour: int = 7
    walls: bool = False
    """Known to hold walls: its drawing was read by itself before it was laid beside others."""
    pen_of: str = ""
    """Name of the layer of which this is one pen, see `takeoff.plan.pens`."""


@dataclass(frozen=True, slots=True)
class Entity:
    """One drawn thing that was kept. `handle` is the file's own; inside a block "INSERT/ENTITY" handles."""

    handle: str
    kind: str
    """DXF type: LINE, LWPOLYLINE, ARC, HATCH ..."""
    layer: int
    """Index into `Drawing.layers` (the effective layer: layer 0 inside a block takes the insert's)."""
    symbol: int = -1
    """Index into `Drawing.symbols` of the outermost block reference, or -1."""
    block: str = ""
    """Name of the innermost block that holds it, or ''."""
    closed: bool = False
    """A closed polyline, circle or hatch; also a polyline whose last point repeats its first."""
    dashed: bool = False
    """Drawn with a broken line type (own, by layer or by block)."""
    colour: int = 7
    inner: int = -1
    """Index into `Drawing.symbols` of the innermost block reference, or -1: a door inside a block that holds a plan."""

    def on_layer(self, layer: int) -> Entity:
        """The same on another layer: for thousands of entities, several times as fast as `replace`."""
        return Entity(
            self.handle, self.kind, layer, self.symbol, self.block, self.closed, self.dashed, self.colour, self.inner
        )


@dataclass(frozen=True, slots=True)
class Segments:
    """Straight pieces: `ends` (n, 4) x1 y1 x2 y2; `entity` (n,) index into `Drawing.entities`;
    `arc` (n,) index into `Drawing.arcs` for a chord of a curve, -1 for a drawn straight line."""

    ends: Floats
    entity: Ints
    arc: Ints


@dataclass(frozen=True, slots=True)
class Arcs:
    """Circular arcs (ARC, CIRCLE, bulges, splines and ellipses that are arcs within 1 %):
    `shape` (n, 5) centre x, centre y, radius, start angle, sweep in radians, sweep > 0 counter-clockwise;
    `entity` (n,)."""

    shape: Floats
    entity: Ints


@dataclass(frozen=True, slots=True)
class Region:
    """A closed ring, `ring` (n, 2) without repeating the first point."""

    ring: Floats
    entity: int
    filled: bool
    """A hatch (any pattern) or a SOLID: the area is poché, not just an outline."""
    pattern: str = ""
    """Hatch pattern name, SOLID for a solid fill, '' for a plain outline."""
    hole: bool = False

    def scaled(self, k: float) -> Region:
        """The same with lengths multiplied by `k`."""
        return Region(self.ring * k, self.entity, self.filled, self.pattern, self.hole)


@dataclass(frozen=True, slots=True)
class Text:
    """A text, one per line of print (lines of an MTEXT are separate rows sharing `entity`)."""

    value: str
    """Plain text: formatting codes resolved, trimmed."""
    at: Point
    """Middle of the printed line."""
    height: float
    rotation: float
    """Radians."""
    entity: int
    width: float = 0.0
    """Approximate printed width."""
    tag: str = ""
    """Attribute tag when it is the attribute of a symbol (`Entity.symbol` tells which)."""
    wraps: bool = False
    """It goes on from the row before it: one paragraph, wrapped by the width of its box."""

    def scaled(self, k: float) -> Text:
        """The same with lengths multiplied by `k`."""
        at = (self.at[0] * k, self.at[1] * k)
        return Text(
            self.value, at, self.height * k, self.rotation, self.entity, self.width * k, self.tag, self.wraps
        )


@dataclass(frozen=True, slots=True)
class Symbol:
    """A block reference. `at` and `bounds` in the drawing's frame, `matrix` (2x3) block to drawing."""

    name: str
    handle: str
    layer: int
    at: Point
    rotation: float
    scale: tuple[float, float]
    mirrored: bool
    matrix: tuple[float, float, float, float, float, float]
    """a b c d e f: x = a*u + c*v + e, y = b*u + d*v + f for block point (u, v)."""
    bounds: tuple[float, float, float, float]
    """xmin ymin xmax ymax of its visible line work; equal to `at` twice where it has none."""
    attributes: tuple[tuple[str, str], ...] = ()
    """(tag, value) in drawing order, values of dynamic block properties included where readable."""
    parent: int = -1
    """Index into `Drawing.symbols` of the block reference it stands in, or -1."""

    def scaled(self, k: float) -> Symbol:
        """The same with lengths multiplied by `k`."""
        x0, y0, x1, y1 = self.bounds
        a, b, c, d, e, f = self.matrix
        return Symbol(
            self.name, self.handle, self.layer, (self.at[0] * k, self.at[1] * k), self.rotation,
            (self.scale[0] * k, self.scale[1] * k), self.mirrored, (a * k, b * k, c * k, d * k, e * k, f * k),
            (x0 * k, y0 * k, x1 * k, y1 * k), self.attributes, self.parent,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Dimension:
    """A linear dimension: what it spans in drawing units, what is printed on it, where it points."""

    measured: float
    text: str
    """Text as printed when it was typed over the measurement, else ''."""
    start: Point
    end: Point
    """The two measured points."""
    direction: float
    """Radians: the direction measured along."""
    handle: str
    layer: int
    linear_factor: float = 1.0
    """The dimension style's own scaling of the printed value."""
    printed: str = ""
    """What the dimension's picture in the file prints, typed over or not; '' where the file holds no picture."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Things in the file that take no part, counted: never silently lost."""

    reason: str
    """'layer off', 'layer frozen', 'invisible', 'object of an add-on', 'unresolved external reference', 'not drawable',
    'too many copies' ..."""
    what: str
    """Layer or entity type."""
    count: int


@dataclass(frozen=True, slots=True)
class Part:
    """One of several drawings that were laid side by side. Lengths in units of the first, always."""

    file: str
    sha256: str
    scale: float
    """Units of the first drawing to one unit of this one."""
    shift: Point
    """What was added to its own coordinates times `scale`."""
    span: tuple[float, float]
    """Least and greatest x of its lines and texts, in the local frame."""


@dataclass(frozen=True)
class Drawing:
    """A whole drawing, read and flattened. Lengths in drawing units (or metres after `in_metres`)."""

    file: str
    sha256: str
    format: str
    """For people: 'DXF R2010, text'."""
    origin: Point
    """In drawing units always (also after `in_metres`)."""
    insunits: int | None
    """$INSUNITS as the file claims, None when absent."""
    layers: tuple[Layer, ...]
    entities: tuple[Entity, ...]
    segments: Segments
    arcs: Arcs
    regions: tuple[Region, ...]
    texts: tuple[Text, ...]
    symbols: tuple[Symbol, ...]
    dimensions: tuple[Dimension, ...]
    left_out: tuple[LeftOut, ...] = ()
    queries: tuple[Query, ...] = ()
    metres_per_unit: float = 1.0
    """What `in_metres` multiplied by; 1.0 while in drawing units."""
    extra: dict[str, str] = field(default_factory=dict)
    """Header values worth reporting ($MEASUREMENT, $ACADVER ...)."""
    parts: tuple[Part, ...] = ()
    """The drawings that it was laid together from; none where it is one file."""

    @cached_property
    def layer_numbers(self) -> npt.NDArray[np.int64]:
        """The layer of each entity, (e,) indices into `layers`."""
        return np.array([e.layer for e in self.entities], dtype=np.int64)

    @cached_property
    def kinds(self) -> npt.NDArray[np.str_]:
        """The kind of each entity (e,)."""
        return np.array([e.kind for e in self.entities], dtype=np.str_)

    @cached_property
    def dashed(self) -> npt.NDArray[np.bool_]:
        """Which entities (e,) are drawn with a broken line type."""
        return np.array([e.dashed for e in self.entities], dtype=bool)

    @cached_property
    def symbol_sizes(self) -> Floats:
        """Width and height (s, 2) of the box round each symbol."""
        bounds = np.array([s.bounds for s in self.symbols], dtype=float).reshape(-1, 4)
        return np.asarray(bounds[:, 2:] - bounds[:, :2])

    @cached_property
    def paragraphs(self) -> tuple[Text, ...]:
        """The texts as they are read: lines that were only wrapped are one, see `as_read`."""
        return as_read(self.texts)

    def layer_of(self, entity: int) -> str:
        """Name of the layer of entity number `entity`."""
        return self.layers[self.entities[entity].layer].name


@dataclass(frozen=True, slots=True)
class UnitEvidence:
    """One witness for the unit: what it is, which unit it speaks for, how strongly (0-1)."""

    witness: str
    """'door swings', 'wall thickness', 'dimension text', 'printed area', '$INSUNITS', 'job file' ..."""
    unit: str
    says: str
    """Plain words with figures."""
    weight: float


@dataclass(frozen=True, slots=True)
class UnitFinding:
    """The unit settled on, and what spoke for it."""

    unit: str
    """'mm', 'cm', 'm', 'in' or 'ft'."""
    metres_per_unit: float
    evidence: tuple[UnitEvidence, ...]
    queries: tuple[Query, ...] = ()


def as_read(texts: tuple[Text, ...]) -> tuple[Text, ...]:
    """`texts` with each line that `wraps` joined to the one before it; such a text lies in the middle of its lines."""
    if not any(text.wraps for text in texts):
        return texts
    read: list[list[Text]] = []
    for text in texts:
        if text.wraps and read and read[-1][0].entity == text.entity:
            read[-1].append(text)
        else:
            read.append([text])
    return tuple(lines[0] if len(lines) == 1 else _in_one(lines) for lines in read)


def _in_one(lines: list[Text]) -> Text:
    """Wrapped lines as one text; between Chinese, Japanese and Korean characters there is no space."""
    words = lines[0].value
    for line in lines[1:]:
        words += line.value if _wide(words[-1:]) and _wide(line.value[:1]) else f" {line.value}"
    turn = lines[0].rotation
    axes = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    at = np.array([line.at for line in lines]) @ axes.T
    half = np.array([line.width for line in lines]) / 2
    left, right = (at[:, 0] - half).min(), (at[:, 0] + half).max()
    x, y = np.array([(left + right) / 2, (at[:, 1].min() + at[:, 1].max()) / 2]) @ axes
    return replace(lines[0], value=words, at=(float(x), float(y)), width=float(right - left))


def _wide(character: str) -> bool:
    return character > "\u2e7f"


def in_metres(drawing: Drawing, metres_per_unit: float) -> Drawing:
    """The same drawing with every length multiplied by `metres_per_unit`; `origin` stays in drawing units.

    Polylines drawn as wide as a wall get their two faces as segments, see `takeoff.drawing.bands`.
    """
    from takeoff.drawing.bands import with_faces

    return with_faces(replace(scaled(drawing, metres_per_unit), metres_per_unit=metres_per_unit))


def scaled(drawing: Drawing, k: float) -> Drawing:
    """The same drawing with every length multiplied by `k`, as if it had been drawn in another unit."""

    def p(at: Point) -> Point:
        return (at[0] * k, at[1] * k)

    return replace(
        drawing,
        segments=replace(drawing.segments, ends=drawing.segments.ends * k),
        arcs=replace(drawing.arcs, shape=drawing.arcs.shape * np.array([k, k, k, 1.0, 1.0])),
        regions=tuple(r.scaled(k) for r in drawing.regions),
        texts=tuple(t.scaled(k) for t in drawing.texts),
        symbols=tuple(s.scaled(k) for s in drawing.symbols),
        dimensions=tuple(
            replace(d, measured=d.measured * k, start=p(d.start), end=p(d.end)) for d in drawing.dimensions
        ),
    )
