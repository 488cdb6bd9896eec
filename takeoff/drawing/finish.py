"""From the flat sheet of the model space to a `Drawing`: hidden rows out, seen from above, objects built."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from takeoff.drawing.chords import Chords, chords_of
from takeoff.drawing.load import Loaded
from takeoff.drawing.model import (
    Arcs,
    Dimension,
    Drawing,
    Entity,
    LeftOut,
    Region,
    Segments,
    Symbol,
    Text,
)
from takeoff.drawing.sheet import Sheet
from takeoff.drawing.style import BY_LAYER, INHERIT, Styles
from takeoff.geometry.conics import circles_of

__all__ = ["drawing_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


def drawing_of(path: Path, loaded: Loaded, styles: Styles, sheet: Sheet, origin: Floats) -> Drawing:
    """The `Drawing` of model space `sheet` whose coordinates are minus `origin`."""
    sheet.layer = np.where(sheet.layer == INHERIT, styles.layer("0"), sheet.layer)
    hidden = np.array([off or frozen for off, frozen in zip(styles.off, styles.frozen, strict=True)], np.bool_)
    seen = ~hidden[sheet.layer]
    for layer, count in zip(*np.unique(sheet.layer[~seen], return_counts=True), strict=True):
        sheet.left_out[styles.why_hidden(int(layer)), styles.layers[layer].name] += int(count)
    new_row = np.where(seen, np.cumsum(seen) - 1, -1)
    chords = chords_of(sheet)
    segments, arcs = _segments_and_arcs(sheet, seen, new_row, chords)
    symbols, new_symbol = _symbols(sheet, seen, styles, chords)
    header = loaded.document.header
    return Drawing(
        file=path.name,
        sha256=loaded.sha256,
        format=loaded.format,
        origin=(float(origin[0]), float(origin[1])),
        insunits=_insunits(header),
        layers=tuple(styles.layers),
        entities=_entities(sheet, seen, new_symbol, styles),
        segments=segments,
        arcs=arcs,
        regions=_regions(sheet, seen, new_row, chords),
        texts=_texts(sheet, seen, new_row),
        symbols=symbols,
        dimensions=_dimensions(sheet, seen),
        left_out=tuple(LeftOut(r, w, n) for (r, w), n in sorted(sheet.left_out.items())),
        queries=loaded.queries,
        extra={k: str(header.get(k)) for k in ("$ACADVER", "$MEASUREMENT", "$LUNITS", "$DWGCODEPAGE") if k in header},
    )


def _insunits(header: Any) -> int | None:
    value = header.get("$INSUNITS")
    return int(value) if value is not None else None


def _entities(sheet: Sheet, seen: Bools, new_symbol: Ints, styles: Styles) -> tuple[Entity, ...]:
    by_layer = np.array(styles.layer_dash(), np.bool_)
    dashed = np.where(sheet.dash == BY_LAYER, by_layer[sheet.layer], sheet.dash == 1)
    colours = np.array([layer.colour for layer in styles.layers])
    colour = np.where(sheet.colour == 256, colours[sheet.layer], np.abs(sheet.colour))
    outer = np.where(sheet.outer >= 0, new_symbol[sheet.outer], -1) if len(new_symbol) else sheet.outer
    inner = np.where(sheet.inner >= 0, new_symbol[sheet.inner], -1) if len(new_symbol) else sheet.inner
    columns = zip(
        seen.tolist(), sheet.handles, sheet.kinds, sheet.layer.tolist(), outer.tolist(), sheet.blocks,
        sheet.closed.tolist(), dashed.tolist(), colour.tolist(), inner.tolist(), strict=True,
    )  # fmt: skip
    return tuple(Entity(*rest) for visible, *rest in columns if visible)


def _segments_and_arcs(sheet: Sheet, seen: Bools, new_row: Ints, chords: Chords) -> tuple[Segments, Arcs]:
    """Segments and circular arcs of what is seen, from above."""
    shape, round_ = circles_of(sheet.conics)
    keep_arc = round_ & seen[sheet.conic_row]
    new_arc = np.append(np.where(keep_arc, np.cumsum(keep_arc) - 1, -1), -1)
    row = sheet.piece_row[chords.piece]
    keep = seen[row]
    arc = new_arc[sheet.piece_conic[chords.piece[keep]]]
    return (
        Segments(chords.ends[keep], new_row[row[keep]].astype(np.int32), arc.astype(np.int32)),
        Arcs(shape[keep_arc], new_row[sheet.conic_row[keep_arc]].astype(np.int32)),
    )


def _regions(sheet: Sheet, seen: Bools, new_row: Ints, chords: Chords) -> tuple[Region, ...]:
    """Rings of more than two points."""
    start = chords.first_of[sheet.ring_start]
    stop = chords.first_of[sheet.ring_start + sheet.ring_count]
    found = []
    for row, a, b, note in zip(sheet.ring_row.tolist(), start.tolist(), stop.tolist(), sheet.ring_notes, strict=True):
        if seen[row] and b - a > 2:
            found.append(Region(chords.ends[a:b, :2], int(new_row[row]), note.filled, note.pattern, note.hole))
    return tuple(found)


def _texts(sheet: Sheet, seen: Bools, new_row: Ints) -> tuple[Text, ...]:
    t = sheet.texts
    width = np.hypot(t[:, 3], t[:, 4])
    direction = np.arctan2(t[:, 4], t[:, 3])
    across = np.abs(t[:, 3] * t[:, 7] - t[:, 4] * t[:, 6])
    height = np.where(width > 0, across / np.where(width > 0, width, 1.0), np.hypot(t[:, 6], t[:, 7]))
    rows = zip(t[:, :2].tolist(), height.tolist(), direction.tolist(), width.tolist(), strict=True)
    return tuple(
        Text(note.value, (at[0], at[1]), high, angle, int(new_row[row]), wide, note.tag)
        for (at, high, angle, wide), row, note in zip(rows, sheet.text_row.tolist(), sheet.text_notes, strict=True)
        if seen[row]
    )


def _dimensions(sheet: Sheet, seen: Bools) -> tuple[Dimension, ...]:
    found = []
    for d, row, note in zip(sheet.dimensions.tolist(), sheet.dimension_row.tolist(), sheet.dimension_notes, strict=True):
        if not seen[row]:
            continue
        x0, y0, _, x1, y1, _, dx, dy, _ = d
        angle = float(np.arctan2(dy, dx))
        measured = abs((x1 - x0) * np.cos(angle) + (y1 - y0) * np.sin(angle))
        found.append(
            Dimension(
                float(measured), note.text, (x0, y0), (x1, y1), angle, sheet.handles[row],
                int(sheet.layer[row]), note.factor, note.printed,
            )
        )  # fmt: skip
    return tuple(found)


def _symbols(sheet: Sheet, seen: Bools, styles: Styles, chords: Chords) -> tuple[tuple[Symbol, ...], Ints]:
    """Block references that show anything or stand on a layer that is on; and old number -> new, -1 when dropped."""
    count = len(sheet.symbols)
    low, high = _bounds(sheet, seen, count, chords)
    shows = np.isfinite(low[:, 0])
    layer = np.where(sheet.symbol_layer == INHERIT, styles.layer("0"), sheet.symbol_layer)
    on = np.array([not styles.hidden(int(n)) for n in layer], np.bool_)
    keep = shows | on
    for n in range(count):  # a symbol that shows keeps those it stands in; parents come before their children
        if keep[n] and (parent := int(sheet.symbol_parent[n])) >= 0 and not keep[parent]:
            keep[n] = False
    new = np.where(keep, np.cumsum(keep) - 1, -1)
    m = sheet.symbols
    found = []
    for n in np.flatnonzero(keep).tolist():
        a, c, _, b, d, _, *_ = (float(v) for v in m[n, :9])
        e, f = float(m[n, 9]), float(m[n, 10])
        note = sheet.symbol_notes[n]
        box = (*low[n], *high[n]) if shows[n] else (e, f, e, f)
        parent = int(sheet.symbol_parent[n])
        found.append(
            Symbol(
                note.name, note.handle, int(layer[n]), (e, f), float(np.arctan2(b, a)),
                (float(np.hypot(a, b)), float(np.hypot(c, d))), a * d - b * c < 0, (a, b, c, d, e, f),
                (float(box[0]), float(box[1]), float(box[2]), float(box[3])), note.attributes,
                int(new[parent]) if parent >= 0 else -1,
            )
        )  # fmt: skip
    return tuple(found), new


def _bounds(sheet: Sheet, seen: Bools, count: int, chords: Chords) -> tuple[Floats, Floats]:
    """Lowest and highest corners (count, 2) of the visible line work of every symbol, its inner symbols included."""
    low, high = np.full((count, 2), np.inf), np.full((count, 2), -np.inf)
    row = sheet.piece_row[chords.piece]
    inner = sheet.inner[row]
    use = (inner >= 0) & seen[row]
    for columns in ((0, 1), (2, 3)):
        points = chords.ends[use][:, columns]
        np.minimum.at(low, inner[use], points)
        np.maximum.at(high, inner[use], points)
    for n in range(count - 1, -1, -1):
        parent = int(sheet.symbol_parent[n])
        if parent >= 0:
            low[parent] = np.minimum(low[parent], low[n])
            high[parent] = np.maximum(high[parent], high[n])
    return low, high
