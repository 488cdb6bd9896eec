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
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

__all__ = ["OUTLINE", "DimensionNote", "RingNote", "Sheet", "SymbolNote", "TextNote", "empty", "joined"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


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
    value: str
    tag: str


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


@dataclass
class Sheet:
    """See the module's terms. Index arrays point into the rows of the same sheet."""

    handles: list[str]
    kinds: list[str]
    blocks: list[str]
    layer: Ints
    dash: Ints
    colour: Ints
    closed: Bools
    outer: Ints
    """Outermost symbol of each row, -1 for none."""
    inner: Ints
    """Innermost symbol of each row, -1 for none."""
    pieces: Floats
    """(n, 6) x y z x y z"""
    piece_row: Ints
    piece_conic: Ints
    """The conic each piece runs along, -1 for a straight one."""
    conics: Floats
    """(n, 11), see geometry.conics"""
    conic_row: Ints
    ring_start: Ints
    """First piece of each ring."""
    ring_count: Ints
    """Number of its pieces."""
    ring_row: Ints
    ring_notes: list[RingNote]
    texts: Floats
    """(n, 9) middle, along (printed width), up (printed height)"""
    text_row: Ints
    text_notes: list[TextNote]
    dimensions: Floats
    """(n, 9) first point, second point, direction measured along"""
    dimension_row: Ints
    dimension_notes: list[DimensionNote]
    symbols: Floats
    """(n, 12) block to container: 3 x 3 row by row, then the shift"""
    symbol_layer: Ints
    symbol_parent: Ints
    symbol_notes: list[SymbolNote]
    left_out: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(reason, what) -> how many"""


def _ints() -> Ints:
    return np.zeros(0, np.int64)


def empty() -> Sheet:
    """A sheet that holds nothing."""
    return Sheet(
        [], [], [], _ints(), _ints(), _ints(), np.zeros(0, np.bool_), _ints(), _ints(),
        np.zeros((0, 6)), _ints(), _ints(), np.zeros((0, 11)), _ints(),
        _ints(), _ints(), _ints(), [],
        np.zeros((0, 9)), _ints(), [], np.zeros((0, 9)), _ints(), [],
        np.zeros((0, 12)), _ints(), _ints(), [],
    )  # fmt: skip


def joined(sheets: list[Sheet]) -> Sheet:
    """One sheet of all, in order; the indices are shifted to match."""
    if len(sheets) == 1:
        return sheets[0]
    rows = _starts([len(s.handles) for s in sheets])
    conics = _starts([len(s.conics) for s in sheets])
    symbols = _starts([len(s.symbols) for s in sheets])
    pieces = _starts([len(s.pieces) for s in sheets])

    def stack(name: str, shift: list[int] | None = None) -> npt.NDArray[np.float64] | Ints:
        parts = [getattr(s, name) for s in sheets]
        if shift is not None:
            parts = [np.where(p >= 0, p + by, p) for p, by in zip(parts, shift, strict=True)]
        return np.concatenate(parts)

    def chain(name: str) -> list:  # type: ignore[type-arg]
        return [item for s in sheets for item in getattr(s, name)]

    left_out: Counter[tuple[str, str]] = Counter()
    for s in sheets:
        left_out.update(s.left_out)
    return Sheet(
        chain("handles"), chain("kinds"), chain("blocks"),
        stack("layer"), stack("dash"), stack("colour"), stack("closed"),
        stack("outer", symbols), stack("inner", symbols),
        stack("pieces"), stack("piece_row", rows), stack("piece_conic", conics),
        stack("conics"), stack("conic_row", rows),
        stack("ring_start", pieces), stack("ring_count"), stack("ring_row", rows), chain("ring_notes"),
        stack("texts"), stack("text_row", rows), chain("text_notes"),
        stack("dimensions"), stack("dimension_row", rows), chain("dimension_notes"),
        stack("symbols"), stack("symbol_layer"), stack("symbol_parent", symbols), chain("symbol_notes"),
        left_out,
    )  # fmt: skip


def _starts(lengths: list[int]) -> list[int]:
    return [0, *np.cumsum(lengths)[:-1].tolist()]
