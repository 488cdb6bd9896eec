"""Flat arrays of what one container (model space or a block definition) holds, block references included.

Terms:
  sheet     everything visible in one container, as arrays in that container's own coordinates minus its base
            (the block's base point, or the drawing's origin).
  row       an entity's place in `Sheet.handles` and the arrays beside it.
  piece     a straight line or a whole curve from one point to the next; curves become chords only when the
            drawing is finished and it is known how large they are.
  ring      consecutive pieces that close.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, fields
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

__all__ = ["OUTLINE", "DimensionNote", "LeftOuts", "RingNote", "Sheet", "SymbolNote", "TextNote", "joined", "repeated"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
LeftOuts = Counter[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class RingNote:
    """What a ring is: see `takeoff.drawing.model.Region`."""

    filled: bool
    pattern: str
    hole: bool


OUTLINE = RingNote(False, "", False)
"""A plain closed line."""


@dataclass(frozen=True, slots=True)
class TextNote:
    """One printed line, see `takeoff.drawing.model.Text`."""

    value: str
    tag: str
    wraps: bool = False


@dataclass(frozen=True, slots=True)
class DimensionNote:
    text: str
    printed: str
    factor: float


@dataclass(frozen=True, slots=True)
class SymbolNote:
    """One block reference."""

    name: str
    handle: str
    attributes: tuple[tuple[str, str], ...]




def _no_numbers() -> Ints:
    return np.zeros(0, np.int64)


def _no_flags() -> Bools:
    return np.zeros(0, np.bool_)


_no_floats = {width: partial(np.zeros, (0, width)) for width in (6, 9, 11, 12)}

REFERS = {
    "outer": "symbols",
    "inner": "symbols",
    "piece_row": "rows",
    "piece_conic": "conics",
    "conic_row": "rows",
    "ring_start": "pieces",
    "ring_row": "rows",
    "text_row": "rows",
    "dimension_row": "rows",
    "symbol_parent": "symbols",
}
"""What the numbers in a column count: they are shifted when sheets are joined."""


@dataclass
class Sheet:
    """See the module's terms. Number columns count within the same sheet; -1 is none."""

    handles: list[str] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    blocks: list[str] = field(default_factory=list)
    layer: Ints = field(default_factory=_no_numbers)
    dash: Ints = field(default_factory=_no_numbers)
    colour: Ints = field(default_factory=_no_numbers)
    closed: Bools = field(default_factory=_no_flags)
    outer: Ints = field(default_factory=_no_numbers)
    """Outermost symbol of each row."""
    inner: Ints = field(default_factory=_no_numbers)
    """Innermost symbol of each row."""
    width: Floats = field(default_factory=partial(np.zeros, 0))
    """Width a polyline is drawn with, 0 for a line."""
    pieces: Floats = field(default_factory=_no_floats[6])
    """(n, 6) x y z x y z"""
    piece_row: Ints = field(default_factory=_no_numbers)
    piece_conic: Ints = field(default_factory=_no_numbers)
    """The conic each piece runs along, -1 for a straight one."""
    conics: Floats = field(default_factory=_no_floats[11])
    """(n, 11), see geometry.conics"""
    conic_row: Ints = field(default_factory=_no_numbers)
    ring_start: Ints = field(default_factory=_no_numbers)
    """First piece of each ring."""
    ring_count: Ints = field(default_factory=_no_numbers)
    """Number of its pieces."""
    ring_row: Ints = field(default_factory=_no_numbers)
    ring_notes: list[RingNote] = field(default_factory=list)
    texts: Floats = field(default_factory=_no_floats[9])
    """(n, 9) middle, along (printed width), up (printed height)"""
    text_row: Ints = field(default_factory=_no_numbers)
    text_notes: list[TextNote] = field(default_factory=list)
    dimensions: Floats = field(default_factory=_no_floats[9])
    """(n, 9) first point, second point, direction measured along"""
    dimension_row: Ints = field(default_factory=_no_numbers)
    dimension_notes: list[DimensionNote] = field(default_factory=list)
    symbols: Floats = field(default_factory=_no_floats[12])
    """(n, 12) block to container: 3 x 3 row by row, then the shift"""
    symbol_layer: Ints = field(default_factory=_no_numbers)
    symbol_parent: Ints = field(default_factory=_no_numbers)
    """The symbol each stands in; parents come before their children."""
    symbol_notes: list[SymbolNote] = field(default_factory=list)
    left_out: LeftOuts = field(default_factory=Counter)
    """(reason, what) -> how many"""

    def sizes(self) -> dict[str, int]:
        """How many there are of each thing that number columns refer to."""
        return {
            "rows": len(self.handles),
            "conics": len(self.conics),
            "pieces": len(self.pieces),
            "symbols": len(self.symbols),
        }


def joined(sheets: list[Sheet]) -> Sheet:
    """One sheet of all, in order; number columns are shifted to match."""
    if len(sheets) == 1:
        return sheets[0]
    sizes = [sheet.sizes() for sheet in sheets]
    result: dict[str, Any] = {}
    for column in fields(Sheet):
        parts = [getattr(sheet, column.name) for sheet in sheets]
        refers = REFERS.get(column.name)
        if refers:
            before = np.cumsum([0, *(size[refers] for size in sizes)])
            parts = [np.where(part < 0, part, part + by) for part, by in zip(parts, before[:-1], strict=True)]
        result[column.name] = _chained(parts)
    return Sheet(**result)


def _chained(parts: list[Any]) -> Any:
    if isinstance(parts[0], Counter):
        return sum(parts, Counter())
    if isinstance(parts[0], list):
        return [item for part in parts for item in part]
    return np.concatenate(parts)


def repeated(sheet: Sheet, times: int) -> Sheet:
    """`sheet` `times` times over, as `joined` would give."""
    sizes = sheet.sizes()
    result: dict[str, Any] = {}
    for column in fields(Sheet):
        value = getattr(sheet, column.name)
        if isinstance(value, Counter):
            result[column.name] = Counter({key: count * times for key, count in value.items()})
        elif isinstance(value, list):
            result[column.name] = value * times
        elif refers := REFERS.get(column.name):
            shifted = value + sizes[refers] * np.arange(times)[:, None]
            result[column.name] = np.where(np.tile(value, times) < 0, -1, shifted.reshape(-1))
        else:
            result[column.name] = np.tile(value, (times, *[1] * (value.ndim - 1)))
    return Sheet(**result)
