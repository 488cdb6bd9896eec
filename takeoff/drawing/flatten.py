"""From raw gathered entities to a flat sheet: each block definition once, its references as matrices over arrays."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from takeoff.drawing.dynamic import true_name
from takeoff.drawing.entities import gather
from takeoff.drawing.gather import Gathered, Insertion
from takeoff.drawing.plain import together
from takeoff.drawing.shapes import sheet_of
from takeoff.drawing.sheet import LeftOuts, Sheet, SymbolNote, joined, repeated
from takeoff.drawing.style import BY_BLOCK, INHERIT, Styles

__all__ = ["HOLDS_ITSELF", "NOT_IN_FILE", "OUTSIDE", "TOO_DEEP", "TOO_MANY", "Flattener"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

MAX_DEPTH = 64
"""Blocks within blocks; honest drawings stay under ten."""

OUTSIDE = "unresolved external reference"
NOT_IN_FILE = "block not in the file"
HOLDS_ITSELF = "block that contains itself"
TOO_DEEP = "blocks nested too deep"
TOO_MANY = "too many copies"


@dataclass
class Flattener:
    """Flattens containers of one document; remembers each block's sheet. Blocks nobody inserts cost nothing."""

    document: Any
    styles: Styles
    room: int
    """What block references may still add, in all containers together."""
    known: dict[str, Sheet] = field(default_factory=dict)
    """Block name in lower case -> its sheet, base point subtracted."""
    open: list[str] = field(default_factory=list)
    """Blocks being flattened now, outermost first: a block met again holds itself."""

    def container(self, entities: Any, base: Floats | None) -> tuple[Sheet, Floats]:
        """The sheet of `entities` and the base subtracted (for `base` None: the drawing's origin, found here)."""
        raw = gather(together(self.document, entities), Gathered(self.styles, bool(self.open)))
        own, base = sheet_of(raw, base)
        own.blocks = [self.open[-1] if self.open else ""] * len(own.handles)
        own.left_out = raw.left_out
        by_block: dict[str, list[int]] = defaultdict(list)
        for number, insertion in enumerate(raw.insertions):
            by_block[insertion.name.lower()].append(number)
        parts, symbol_of = [own], np.full(len(raw.insertions), -1)
        symbols = 0
        for name, numbers in by_block.items():
            block = self.block(name, own.left_out, len(numbers))
            if block is None:
                continue
            fitting = self._fitting(block, raw.insertions, numbers, own.left_out)
            if fitting:
                called = true_name(self.document, raw.insertions[fitting[0]].name, self.styles.encoding)
                sheet, firsts = _placed(block, [replace(raw.insertions[n], name=called) for n in fitting], base)
                symbol_of[fitting] = symbols + firsts
                symbols += len(sheet.symbols)
                parts.append(sheet)
        for row, insertion_number in raw.attribute_of.items():
            own.outer[row] = own.inner[row] = symbol_of[insertion_number]
        return _joined_with_symbols(parts), base

    def block(self, name: str, left_out: LeftOuts, references: int) -> Sheet | None:
        """The sheet of the block called `name` (lower case); None, counted, when it cannot be drawn."""
        if name in self.known:
            return self.known[name]
        layout = self.document.blocks.get(name)
        reason = self._why_not(name, layout)
        if reason:
            left_out[reason, layout.name if layout is not None else name] += references
            return None
        base = layout.block.dxf.base_point
        self.open.append(name)
        try:
            sheet, _ = self.container(layout, np.array([base.x, base.y, base.z]))
        finally:
            self.open.pop()
        sheet.blocks = [layout.name if block == name else block for block in sheet.blocks]
        self.known[name] = sheet
        return sheet

    def _fitting(
        self, block: Sheet, insertions: list[Insertion], numbers: list[int], left_out: LeftOuts
    ) -> list[int]:
        """Those of `numbers` whose copies of `block` still fit in the room; the others are counted."""
        size = max(1, len(block.handles), len(block.pieces) // 4)
        fitting = []
        for number in numbers:
            columns, rows = insertions[number].array[:2]
            if columns * rows * size > self.room:
                left_out[TOO_MANY, insertions[number].name] += columns * rows
                continue
            self.room -= columns * rows * size
            fitting.append(number)
        return fitting

    def _why_not(self, name: str, layout: Any) -> str:
        if layout is None:
            return NOT_IN_FILE
        if layout.block.is_xref or layout.block.is_xref_overlay:
            return OUTSIDE
        if name in self.open:
            return HOLDS_ITSELF
        return TOO_DEEP if len(self.open) >= MAX_DEPTH else ""


def _joined_with_symbols(parts: list[Sheet]) -> Sheet:
    """All parts as one; the first part's rows already number the symbols of the whole."""
    own = parts[0]
    outer, inner = own.outer, own.inner
    whole = joined(parts)
    whole.outer[: len(outer)], whole.inner[: len(inner)] = outer, inner
    return whole


def _placed(block: Sheet, insertions: list[Insertion], base: Floats) -> tuple[Sheet, Ints]:
    """`block` drawn for each reference, array copies included; also the number of each reference's first symbol."""
    matrices = [_matrices(insertion, base) for insertion in insertions]
    copies = [insertion for insertion, m in zip(insertions, matrices, strict=True) for _ in m]
    firsts = np.cumsum([0, *(len(m) for m in matrices[:-1])])
    return _spread(block, copies, np.concatenate(matrices)), firsts


def _matrices(insertion: Insertion, base: Floats) -> Floats:
    """(copies, 12) block to container, the container's base subtracted."""
    place = np.array(insertion.place)
    place[9:12] -= base
    columns, rows, across, up = insertion.array
    spread = np.repeat(place[None], columns * rows, axis=0)
    if columns * rows > 1:
        matrix = place[:9].reshape(3, 3)
        # Spacings run along the turned axes; neither the scale nor its sign bears on them.
        x_axis, y_axis = (
            matrix[:, n] * sign / (np.linalg.norm(matrix[:, n]) or 1.0) for n, sign in enumerate(insertion.signs)
        )
        i, j = np.meshgrid(np.arange(columns), np.arange(rows))
        spread[:, 9:12] += i.reshape(-1, 1) * across * x_axis + j.reshape(-1, 1) * up * y_axis
    return spread


def _spread(block: Sheet, copies: list[Insertion], matrices: Floats) -> Sheet:
    """`block` drawn once for each of `copies`; the first symbols are the copies', then come the block's own in each."""
    k, n, m = len(copies), len(block.handles), len(block.symbols)
    turn, shift = matrices[:, :9].reshape(k, 3, 3), matrices[:, 9:12]

    def points(values: Floats) -> Floats:
        """Points (m, 3 x p) of the block in each copy (k x m, 3 x p)."""
        moved: Floats = vectors(values).reshape(k, -1, 3) + shift[:, None, :]
        return moved.reshape(-1, values.shape[1])

    def vectors(values: Floats) -> Floats:
        turned: Floats = np.einsum("kij,mj->kmi", turn, values.reshape(-1, 3))
        return turned.reshape(-1, values.shape[1])

    def of_copies(values: list[int], each: int) -> Ints:
        return np.repeat(np.array(values, np.int64), each)

    sheet = repeated(block, k)
    sheet.handles = [f"{copy.handle}/{handle}" for copy in copies for handle in block.handles]
    layers = [copy.layer for copy in copies]
    sheet.layer = np.where(sheet.layer == INHERIT, of_copies(layers, n), sheet.layer)
    sheet.dash = np.where(sheet.dash == BY_BLOCK, of_copies([c.dash for c in copies], n), sheet.dash)
    sheet.colour = np.where(sheet.colour == 0, of_copies([c.colour for c in copies], n), sheet.colour)
    head = of_copies(list(range(k)), n)
    sheet.outer, sheet.inner = head, np.where(sheet.inner < 0, head, sheet.inner + k)
    sheet.width = sheet.width * np.repeat(np.sqrt(np.abs(np.linalg.det(turn[:, :2, :2]))), n)
    sheet.pieces = points(block.pieces)
    sheet.conics[:, :9] = np.concatenate([points(block.conics[:, :3]), vectors(block.conics[:, 3:9])], axis=1)
    sheet.texts = np.concatenate([points(block.texts[:, :3]), vectors(block.texts[:, 3:])], axis=1)
    sheet.dimensions = np.concatenate([points(block.dimensions[:, :6]), vectors(block.dimensions[:, 6:])], axis=1)
    own_layer = np.where(sheet.symbol_layer == INHERIT, of_copies(layers, m), sheet.symbol_layer)
    sheet.symbol_layer = np.concatenate([np.array(layers, np.int64), own_layer])
    own_parent = np.where(sheet.symbol_parent < 0, of_copies(list(range(k)), m), sheet.symbol_parent + k)
    sheet.symbol_parent = np.concatenate([np.full(k, -1), own_parent])
    sheet.symbols = np.concatenate([matrices, _chained(turn, shift, block.symbols)])
    sheet.symbol_notes = [SymbolNote(c.name, c.handle, c.attributes) for c in copies] + [
        SymbolNote(s.name, f"{c.handle}/{s.handle}", s.attributes) for c in copies for s in block.symbol_notes
    ]
    return sheet


def _chained(turn: Floats, shift: Floats, inner: Floats) -> Floats:
    """Matrices (k x m, 12) of the block's own symbols `inner` (m, 12) seen from the container."""
    matrix = np.einsum("kij,mjl->kmil", turn, inner[:, :9].reshape(-1, 3, 3)).reshape(-1, 9)
    moved = np.einsum("kij,mj->kmi", turn, inner[:, 9:]) + shift[:, None, :]
    return np.concatenate([matrix, moved.reshape(-1, 3)], axis=1)
