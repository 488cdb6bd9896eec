"""One pass over the entities of a container: plain numbers out of ezdxf's objects, into arrays.

Everything is kept as the file has it (object coordinates where the entity has them) until `Gathered.sheet`
subtracts the base, so that no float work is done on far coordinates.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from takeoff.drawing.sheet import DimensionNote, RingNote, TextNote
from takeoff.drawing.style import INHERIT, Styles

__all__ = ["BEYOND_REACH", "REACH", "Gathered", "Insertion", "object_axes"]

_WORLD = 0

REACH = 1e13
"""Largest coordinate read, in drawing units: a double still tells 2 thousandths of a unit apart there; more is junk."""
BEYOND_REACH = "coordinates out of reach"


@dataclass(frozen=True, slots=True)
class Insertion:
    """A block reference as found: `place` takes block to container before bases are subtracted."""

    name: str
    handle: str
    layer: int
    dash: int
    colour: int
    place: tuple[float, ...]
    """(12,) 3 x 3 row by row, then the shift."""
    array: tuple[int, int, float, float]
    """Columns, rows, and their spacing along the reference's own axes."""
    signs: tuple[int, int]
    """Of the scale in x and y: negative where the reference mirrors its block."""
    attributes: tuple[tuple[str, str], ...]


@dataclass
class Gathered:
    """What one container holds, still raw. Row numbers are positions in `handles`."""

    styles: Styles
    in_block: bool
    handles: list[str] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    layer: list[int] = field(default_factory=list)
    dash: list[int] = field(default_factory=list)
    colour: list[int] = field(default_factory=list)
    closed: list[bool] = field(default_factory=list)
    lines: list[float] = field(default_factory=list)
    line_row: list[int] = field(default_factory=list)
    polys: list[np.ndarray[Any, Any]] = field(default_factory=list)
    """(n, 3) x, y, bulge in object coordinates."""
    poly: list[tuple[int, float, int, bool, RingNote | None, float]] = field(default_factory=list)
    """row, elevation, frame, closed, ring, width"""
    conics: list[float] = field(default_factory=list)
    conic: list[tuple[int, int, bool]] = field(default_factory=list)
    """row, frame, closed"""
    texts: list[float] = field(default_factory=list)
    text_row: list[int] = field(default_factory=list)
    text_frame: list[int] = field(default_factory=list)
    text_notes: list[TextNote] = field(default_factory=list)
    dimensions: list[float] = field(default_factory=list)
    dimension_row: list[int] = field(default_factory=list)
    dimension_notes: list[DimensionNote] = field(default_factory=list)
    insertions: list[Insertion] = field(default_factory=list)
    attribute_of: dict[int, int] = field(default_factory=dict)
    """Row of a printed attribute -> the insertion it belongs to."""
    frames: list[np.ndarray[Any, Any]] = field(default_factory=lambda: [np.eye(3)])
    frame_number: dict[tuple[float, float, float], int] = field(default_factory=lambda: {(0.0, 0.0, 1.0): _WORLD})
    left_out: Counter[tuple[str, str]] = field(default_factory=Counter)

    def row(self, entity: Any, have: dict[str, Any], kind: str, closed: bool = False) -> int:
        """A new row for `entity`, whose attributes are `have`."""
        self.handles.append(have.get("handle") or "")
        self.kinds.append(kind)
        self.layer.append(self.layer_of(have))
        self.dash.append(self.styles.dash(have.get("linetype")))
        colour = have.get("color", 256)
        self.colour.append(colour if -257 < colour < 257 else 7)
        self.closed.append(closed)
        return len(self.handles) - 1

    def layer_of(self, have: dict[str, Any]) -> int:
        name = have.get("layer", "0")
        return INHERIT if self.in_block and name == "0" else self.styles.layer(name)

    def seen(self, have: dict[str, Any]) -> bool:
        """Is the layer of an entity with attributes `have` on and thawed, as far as can be told here?"""
        return not self.styles.hidden(self.layer_of(have))

    def frame(self, have: dict[str, Any]) -> int:
        """Number of the object coordinate system of an entity (0 is the world's)."""
        extrusion = have.get("extrusion")
        if extrusion is None:
            return _WORLD
        key = (extrusion.x, extrusion.y, extrusion.z)
        known = self.frame_number.get(key)
        if known is None:
            known = self.frame_number[key] = len(self.frames)
            self.frames.append(object_axes(*key))
        return known


def object_axes(x: float, y: float, z: float) -> np.ndarray[Any, Any]:
    """Matrix (3, 3) from object to world coordinates for an extrusion: the arbitrary axis algorithm (DXF reference)."""
    length = math.sqrt(x * x + y * y + z * z)
    if length == 0:
        return np.eye(3)
    up = np.array([x, y, z]) / length
    near_z = abs(up[0]) < 1 / 64 and abs(up[1]) < 1 / 64
    across = np.cross([0.0, 1.0, 0.0] if near_z else [0.0, 0.0, 1.0], up)
    across /= np.linalg.norm(across)
    return np.column_stack([across, np.cross(up, across), up])
