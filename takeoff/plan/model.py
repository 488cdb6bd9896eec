"""What a plan is once understood: storeys, rooms with their sides, openings, spaces that are no rooms.

Terms:
  local frame   metres, the drawing's axes, minus `Plan.origin_m`. Everything below is in the local frame;
                documents add the origin back.
  room          an enclosed space whose outline is the finished-face line of its walls, floor level.
  side          one straight (or curved) piece of a room's outline: a wall face, or a line laid across an opening.
  support       what a side rests on: 'drawn' line work, a closed 'opening', a 'healed' small gap, an 'assumed' line.
  opening       a door, window, plain opening or rooflight, with its place in the wall.
  jamb points   the two ends of the opening along the wall, in the middle of the wall's thickness.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from takeoff.drawing.model import UnitEvidence
from takeoff.query import Query

__all__ = ["LowWall", "Opening", "Plan", "Point", "Room", "Side", "Space", "Storey"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Storey:
    """One plan on the sheet."""

    ref: str
    """P1, P2 ..."""
    title: str
    bounds: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Side:
    """One piece of a room's outline, in the order of the outline (counter-clockwise, room on the left)."""

    ref: str
    """R1-S1, R1-S2 ... in outline order from the first outline point; holes follow."""
    start: Point
    end: Point
    length_m: float
    """Along the face; the arc length where curved."""
    support: str
    """'drawn', 'opening', 'healed' or 'assumed'."""
    thickness_m: float | None = None
    """Of the wall behind; None where the other face was not found."""
    wall_type: str = "unknown"
    """'masonry', 'partition' or 'unknown': what the drawing suggests."""
    external: bool | None = None
    """True: the other side is outdoors. None: cannot be told."""
    radius_m: float | None = None
    """Set where the side is an arc (`points` then follows it); positive bulges out of the room."""
    points: tuple[Point, ...] = ()
    """The chord points of a curved side, start and end included; empty for a straight one."""
    ring: int = 0
    """0 the outer outline, 1 ... the holes (free-standing piers, chimney breasts)."""
    openings: tuple[str, ...] = ()
    """Refs of the openings in this side. A side with support 'opening' is one opening seen from its room."""
    handles: tuple[str, ...] = ()
    """Drawing entities it came from."""


@dataclass(frozen=True, slots=True)
class Opening:
    """A door, window, opening or rooflight."""

    ref: str
    """D1, W1, O1, L1 ... by kind, in reading order."""
    kind: str
    """'door', 'window', 'opening' or 'rooflight'."""
    plan: str
    at: Point
    """Middle of the opening in the middle of the wall."""
    width_m: float
    """Structural width between the jambs."""
    height_m: float | None
    """None: neither the drawing nor the job file says (measure then uses the default of its kind)."""
    sill_m: float | None
    wall_thickness_m: float | None
    rooms: tuple[str, ...]
    """Refs of the rooms on either side: none, one or two. Outdoors is no room."""
    jambs: tuple[Point, Point]
    size_from: str
    """'attribute', 'schedule', 'symbol', 'gap', 'tag', 'job' or 'default'."""
    height_from: str = "default"
    """'attribute', 'schedule', 'tag', 'text', 'layer', 'job' or 'default'."""
    style: str = ""
    """'single', 'double', 'both ways', 'sliding', 'folding', 'pocket', 'overhead', 'screen', 'bay' or ''."""
    tag: str = ""
    """Its mark on the drawing, such as D01."""
    handles: tuple[str, ...] = ()
    splay_m: float = 0.0
    """How much farther it reaches on either side in the wider face of its wall: its jambs splay or step back."""


@dataclass(frozen=True, slots=True)
class Room:
    ref: str
    """R1, R2 ... storey by storey in reading order; a split room gives R3a, R3b."""
    name: str
    plan: str
    outline: tuple[Point, ...]
    """Counter-clockwise, first point not repeated; curves as chords."""
    holes: tuple[tuple[Point, ...], ...]
    """Clockwise rings: piers, stair wells, columns standing in the room."""
    sides: tuple[Side, ...]
    floor_area_m2: float
    perimeter_m: float
    height_m: float | None
    """None: to be filled by the default."""
    height_from: str
    """'drawing', 'job' or 'default'."""
    confidence: float
    """0-1, from what supports each side and what else bears witness."""
    label_at: Point
    """A point inside the room, clear of its edges where possible."""
    kind: str = "room"
    """'room', 'stair', 'garage', 'outdoor' ... from its name; only plastered kinds are measured."""
    number: str = ""
    printed_area_m2: float | None = None
    printed_size_m: tuple[float, float] | None = None
    void_m2: float = 0.0
    """Part of the ceiling that is no ceiling (stair well, rooflight shafts) when drawn."""
    labels: tuple[str, ...] = ()
    """Every text line found inside, as printed."""
    handles: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Space:
    """A closed face that is no room, and why: a wall body, duct, cupboard under the limit, page frame ..."""

    reason: str
    at: Point
    area_m2: float
    plan: str = ""


@dataclass(frozen=True, slots=True)
class LowWall:
    """A wall that a text calls low: it stops below the ceiling."""

    text: str
    at: Point
    height_m: float | None
    """None where the text gives none."""
    sides: tuple[str, ...]
    """Refs of its faces: one, or two where rooms are on both sides."""
    rooms: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """All that was understood of a drawing."""

    unit: str
    """'mm', 'cm', 'm', 'in' or 'ft'."""
    metres_per_unit: float
    unit_evidence: tuple[UnitEvidence, ...]
    origin_m: Point
    """Add to any local point for the contract's frame: drawing coordinate x metres_per_unit."""
    storeys: tuple[Storey, ...]
    rooms: tuple[Room, ...]
    openings: tuple[Opening, ...]
    spaces: tuple[Space, ...] = ()
    queries: tuple[Query, ...] = ()
    layer_use: dict[str, str] = field(default_factory=dict)
    """Layer name -> what it was taken for: 'walls', 'doors', 'windows', 'text', 'ignored: furniture' ..."""
    low_walls: tuple[LowWall, ...] = ()
