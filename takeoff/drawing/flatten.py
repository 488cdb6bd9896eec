"""From raw gathered entities to a flat sheet: each block definition once, its references as matrices over arrays."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from takeoff.drawing.entities import gather
from takeoff.drawing.gather import Gathered, Insertion
from takeoff.drawing.sheet import Sheet, SymbolNote, empty, joined
from takeoff.drawing.shapes import sheet_of
from takeoff.drawing.style import BY_BLOCK, BY_LAYER, INHERIT, Styles

__all__ = ["MAX_ROWS", "Flattener"]

Floats = npt.NDArray[np.float64]
MAX_ROWS = 2_000_000
"""Entities after all blocks are spread; the largest honest drawings known have a tenth of that."""
MAX_DEPTH = 64
"""Blocks within blocks; honest drawings stay under ten."""


@dataclass
class Flattener:
    """Flattens containers of one document; remembers each block definition's sheet."""

    document: Any
    styles: Styles
    known: dict[str, Sheet] = field(default_factory=dict)
    """Block name in lower case -> its sheet, base point subtracted."""
    open: list[str] = field(default_factory=list)
    """Blocks being flattened now, outermost first: a block met again holds itself."""

    def container(self, entities: Any, base: Floats | None, in_block: bool) -> tuple[Sheet, Floats]:
        """The sheet of `entities` and the base subtracted (for `base` None: the drawing's origin, found here)."""
        raw = gather(entities, Gathered(self.styles, in_block))
        own, base = sheet_of(raw, base)
        own.blocks[:] = [self.open[-1] if self.open else ""] * len(own.handles)
        parts, first = [own], 0
        number_of: dict[int, int] = {}
        by_block: dict[str, list[int]] = defaultdict(list)
        for number, insertion in enumerate(raw.insertions):
            by_block[insertion.name.lower()].append(number)
        room = MAX_ROWS - len(own.handles)
        for name, numbers in by_block.items():
            placed = self.placed(name, [raw.insertions[n] for n in numbers], base, room, raw.left_out)
            if placed is None:
                continue
            sheet, firsts = placed
            for n, symbol in zip(numbers, firsts, strict=True):
                if symbol >= 0:
                    number_of[n] = first + symbol
            first += len(sheet.symbols)
            room -= len(sheet.handles)
            parts.append(sheet)
        for row, insertion_number in raw.attribute_of.items():
            own.outer[row] = own.inner[row] = number_of.get(insertion_number, -1)
        own.left_out.update(raw.left_out)
        return joined(parts), base

    def block(self, name: str, left_out: Counter[tuple[str, str]]) -> Sheet | None:
        """The sheet of the block called `name` (lower case); None, counted, when it cannot be drawn."""
        if name in self.known:
            return self.known[name]
        layout = self.document.blocks.get(name)
        if layout is None:
            left_out["block not in the file", name] += 1
            return None
        if layout.block.is_xref:
            left_out["unresolved external reference", layout.name] += 1
            return None
        if name in self.open:
            left_out["block that contains itself", layout.name] += 1
            return None
        if len(self.open) >= MAX_DEPTH:
            left_out["blocks nested too deep", layout.name] += 1
            return None
        base = layout.block.dxf.base_point
        self.open.append(name)
        try:
            sheet, _ = self.container(layout, np.array([base.x, base.y, base.z]), True)
        finally:
            self.open.pop()
        self.known[name] = sheet
        return sheet

    def placed(
        self, name: str, insertions: list[Insertion], base: Floats, room: int, left_out: Counter[tuple[str, str]]
    ) -> tuple[Sheet, list[int]] | None:
        """All references to one block, spread. Also the number of each insertion's first symbol, -1 if left out."""
        block = self.block(name, left_out)
        if block is None:
            return None
        size = max(1, len(block.handles))
        kept: list[Insertion] = []
        matrices: list[Floats] = []
        firsts: list[int] = []
        copies_of: list[int] = []
        done = 0
        for insertion in insertions:
            columns, rows = insertion.array[:2]
            if columns * rows * size > room:
                left_out["too many copies", insertion.name] += columns * rows
                firsts.append(-1)
                continue
            room -= columns * rows * size
            spread = _matrices(insertion, base)
            firsts.append(done)
            done += len(spread)
            kept.append(insertion)
            copies_of.extend([len(kept) - 1] * len(spread))
            matrices.append(spread)
        if not kept:
            return None
        sheet = _spread(block, [kept[n] for n in copies_of], np.concatenate(matrices))
        step = 1 + len(block.symbols)
        return sheet, [f * step if f >= 0 else -1 for f in firsts]


def _matrices(insertion: Insertion, base: Floats) -> Floats:
    """(copies, 12) block to container, the container's base subtracted."""
    place = np.array(insertion.place)
    place[9:12] -= base
    columns, rows, across, up = insertion.array
    if columns * rows == 1:
        return place[None]
    matrix = place[:9].reshape(3, 3)
    x_axis, y_axis = (matrix[:, n] / (np.linalg.norm(matrix[:, n]) or 1.0) for n in (0, 1))
    # Spacings run along the turned axes without the reference's scale, whose sign must not turn them either.
    x_axis, y_axis = x_axis * insertion.signs[0], y_axis * insertion.signs[1]
    i, j = np.meshgrid(np.arange(columns), np.arange(rows))
    shift = i.reshape(-1, 1) * across * x_axis + j.reshape(-1, 1) * up * y_axis
    spread = np.repeat(place[None], columns * rows, axis=0)
    spread[:, 9:12] += shift
    return spread


def _spread(block: Sheet, copies: list[Insertion], matrices: Floats) -> Sheet:
    """`block` drawn once for each of `copies`, with a symbol in front of each copy's own symbols."""
    k, n = len(copies), len(block.handles)
    turn, shift = matrices[:, :9].reshape(k, 3, 3), matrices[:, 9:12]
    step = 1 + len(block.symbols)
    head = np.arange(k) * step
    layers = np.array([c.layer for c in copies])
    handles = [c.handle for c in copies]

    def points(values: Floats) -> Floats:
        """Points (m, 3 x p) of the block in each copy (k x m, 3 x p)."""
        p = values.reshape(-1, 3)
        return (np.einsum("kij,mj->kmi", turn, p) + shift[:, None, :]).reshape(k * len(values), values.shape[1])

    def vectors(values: Floats) -> Floats:
        p = values.reshape(-1, 3)
        return np.einsum("kij,mj->kmi", turn, p).reshape(k * len(values), values.shape[1])

    def tiled(values: npt.NDArray[Any], per_copy: int = 0) -> npt.NDArray[Any]:
        """Index arrays shifted by `per_copy` for each copy; -1 stays."""
        shifted = values[None, :] + per_copy * np.arange(k)[:, None]
        return np.where(values[None, :] < 0, values[None, :], shifted).reshape(-1)

    def inherit(values: npt.NDArray[Any], code: int, own: list[int]) -> npt.NDArray[Any]:
        """Where a row has `code` it takes what its copy's reference has."""
        given = np.repeat(np.array(own), len(values))
        flat = np.tile(values, k)
        return np.where(flat == code, given, flat)

    own_dash = [c.dash for c in copies]
    inner = np.where(block.inner >= 0, block.inner + 1, 0)
    symbol_matrices = _chained(turn, shift, block.symbols)
    return Sheet(
        [f"{h}/{x}" for h in handles for x in block.handles], block.kinds * k, block.blocks * k,
        inherit(block.layer, INHERIT, layers.tolist()),
        inherit(block.dash, BY_BLOCK, own_dash), inherit(block.colour, 0, [c.colour for c in copies]),
        np.tile(block.closed, k), np.repeat(head, n), tiled(inner, step),
        points(block.pieces), tiled(block.piece_row, n), tiled(block.piece_conic, len(block.conics)),
        np.concatenate(
            [points(block.conics[:, :3]), vectors(block.conics[:, 3:9]), np.tile(block.conics[:, 9:], (k, 1))], axis=1
        ),
        tiled(block.conic_row, n),
        tiled(block.ring_start, len(block.pieces)), np.tile(block.ring_count, k), tiled(block.ring_row, n),
        block.ring_notes * k,
        np.concatenate([points(block.texts[:, :3]), vectors(block.texts[:, 3:])], axis=1),
        tiled(block.text_row, n), block.text_notes * k,
        np.concatenate([points(block.dimensions[:, :6]), vectors(block.dimensions[:, 6:])], axis=1),
        tiled(block.dimension_row, n), block.dimension_notes * k,
        np.concatenate([matrices[:, None, :], symbol_matrices], axis=1).reshape(k * step, 12),
        np.concatenate([layers[:, None], inherit(block.symbol_layer, INHERIT, layers.tolist()).reshape(k, -1)], axis=1)
        .reshape(-1).astype(np.int64),
        np.concatenate([np.full((k, 1), -1), head[:, None] + np.maximum(block.symbol_parent + 1, 0)[None, :]], axis=1)
        .reshape(-1).astype(np.int64),
        [
            note
            for c in copies
            for note in (
                SymbolNote(c.name, c.handle, c.attributes),
                *(SymbolNote(s.name, f"{c.handle}/{s.handle}", s.attributes) for s in block.symbol_notes),
            )
        ],
        Counter({reason: count * k for reason, count in block.left_out.items()}),
    )  # fmt: skip


def _chained(turn: Floats, shift: Floats, inner: Floats) -> Floats:
    """Matrices (k, m, 12) of the block's own symbols `inner` (m, 12) seen from the container."""
    matrix = np.einsum("kij,mjl->kmil", turn, inner[:, :9].reshape(-1, 3, 3))
    moved = np.einsum("kij,mj->kmi", turn, inner[:, 9:]) + shift[:, None, :]
    return np.concatenate([matrix.reshape(len(turn), len(inner), 9), moved], axis=2)
