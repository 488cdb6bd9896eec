"""From the flat sheet of the model space to a `Drawing`: what is not seen taken out, the rest seen from above."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from takeoff.drawing.bands import band_regions
from takeoff.drawing.chords import Chords, chords_of
from takeoff.drawing.doubts import doubts
from takeoff.drawing.entities import BODY, PROXY, UNDERLAY
from takeoff.drawing.gather import BEYOND_REACH, REACH
from takeoff.drawing.load import Loaded
from takeoff.drawing.model import Arcs, Dimension, Drawing, Entity, LeftOut, Region, Segments, Text
from takeoff.drawing.plain import together
from takeoff.drawing.sheet import Sheet
from takeoff.drawing.style import BY_LAYER, INHERIT, Styles
from takeoff.drawing.symbols import symbols_of
from takeoff.errors import DrawingError
from takeoff.geometry.conics import circles_of

__all__ = ["drawing_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

_HEADER = ("$ACADVER", "$MEASUREMENT", "$LUNITS", "$DIMLFAC", "$DIMSCALE", "$DWGCODEPAGE")


def drawing_of(path: Path, loaded: Loaded, styles: Styles, sheet: Sheet, origin: Floats) -> Drawing:
    """The `Drawing` of model space `sheet` whose coordinates are minus `origin`.

    Raises `DrawingError` when nothing is drawn there that can be seen.
    """
    ground = styles.layer("0")
    sheet.layer = np.where(sheet.layer == INHERIT, ground, sheet.layer)
    sheet.symbol_layer = np.where(sheet.symbol_layer == INHERIT, ground, sheet.symbol_layer)
    seen = _in_reach(sheet) & _on_visible_layers(sheet, styles)
    chords = chords_of(sheet)
    seen &= _of_some_length(sheet, seen, chords)
    new_row = np.where(seen, np.cumsum(seen) - 1, -1)
    segments, arcs = _segments_and_arcs(sheet, seen, new_row, chords)
    if not len(segments.ends):
        raise DrawingError(_nothing_drawn(path.name, sheet, loaded))
    symbols, new_symbol = symbols_of(sheet, seen, styles, chords)
    regions = _regions(sheet, seen, new_row, chords) + band_regions(sheet, seen, new_row, chords)
    header = loaded.document.header
    insunits = header.get("$INSUNITS")
    return Drawing(
        file=path.name,
        sha256=loaded.sha256,
        format=loaded.format,
        origin=(float(origin[0]), float(origin[1])),
        insunits=None if insunits is None else int(insunits),
        layers=tuple(styles.layers),
        entities=_entities(sheet, seen, new_symbol, styles),
        segments=segments,
        arcs=arcs,
        regions=tuple(regions),
        texts=_texts(sheet, seen, new_row),
        symbols=symbols,
        dimensions=_dimensions(sheet, seen),
        left_out=tuple(LeftOut(reason, what, n) for (reason, what), n in sorted(sheet.left_out.items())),
        queries=(*loaded.queries, *doubts(sheet.left_out)),
        extra={key: str(header.get(key)) for key in _HEADER if key in header},
    )


def _in_reach(sheet: Sheet) -> Bools:
    """Rows whose every coordinate is a number of sane size; the others are counted."""
    good = np.ones(len(sheet.handles), np.bool_)
    for values, row in (
        (sheet.pieces, sheet.piece_row),
        (sheet.conics, sheet.conic_row),
        (sheet.texts, sheet.text_row),
        (sheet.dimensions, sheet.dimension_row),
    ):
        good[row[~(np.abs(values) < REACH).all(axis=1)]] = False
    for lost in np.flatnonzero(~good).tolist():
        sheet.left_out[BEYOND_REACH, sheet.kinds[lost]] += 1
    bad = ~good[sheet.piece_row]
    sheet.pieces[bad] = 0.0  # so that sums over all pieces stay numbers
    sheet.conics[~good[sheet.conic_row]] = 0.0
    return good


def _on_visible_layers(sheet: Sheet, styles: Styles) -> Bools:
    """Rows on layers that are on and thawed; the others, which stand in blocks, are counted."""
    hidden = np.array([styles.hidden(n) for n in range(len(styles.layers))], np.bool_)
    seen = ~hidden[sheet.layer]
    layers, counts = np.unique(sheet.layer[~seen], return_counts=True)
    for layer, count in zip(layers.tolist(), counts.tolist(), strict=True):
        sheet.left_out[styles.why_hidden(layer), styles.layers[layer].name] += count
    return seen


def _of_some_length(sheet: Sheet, seen: Bools, chords: Chords) -> Bools:
    """Rows that show something from above; lines from a point to itself are counted."""
    drawn = np.zeros(len(seen), np.bool_)
    drawn[sheet.piece_row] = True
    shows = ~drawn
    shows[sheet.piece_row[chords.piece]] = True
    for row in np.flatnonzero(seen & ~shows).tolist():
        sheet.left_out["of no length", sheet.kinds[row]] += 1
    return shows


def _nothing_drawn(name: str, sheet: Sheet, loaded: Loaded) -> str:
    hidden = sum(n for (reason, _), n in sheet.left_out.items() if reason.startswith("layer "))
    if hidden:
        return (
            f"{name}: everything that is drawn lies on layers that are off or frozen ({hidden} entities). "
            "Switch the plan's layers on and save the drawing again."
        )
    document = loaded.document
    papers = [block for block in document.blocks if block.name.lower().startswith("*paper_space")]
    paper = sum(1 for block in papers for _ in together(document, block))
    paper += sum(getattr(document, "on_paper", {}).values())
    if paper:
        return (
            f"{name}: the model space is empty, only its paper layouts hold anything ({paper} entities). "
            "Save the plan in model space, or ask for the drawing that the layouts show."
        )
    other = sorted({what for reason, what in sheet.left_out if reason in (BODY, UNDERLAY, "picture", PROXY)})
    if other:
        return (
            f"{name} holds no lines, only things that cannot be measured ({', '.join(other)}). "
            "Ask for the plan exported as DXF with plain lines."
        )
    return f"{name} holds no lines at all: save the plan again as DXF, with its walls in model space."


def _entities(sheet: Sheet, seen: Bools, new_symbol: Ints, styles: Styles) -> tuple[Entity, ...]:
    by_layer = np.array(styles.layer_dash(), np.bool_)
    dashed = np.where(sheet.dash == BY_LAYER, by_layer[sheet.layer], sheet.dash == 1)
    colours = np.array([layer.colour for layer in styles.layers])
    colour = np.where(sheet.colour == 256, colours[sheet.layer], np.abs(sheet.colour))
    renamed = np.append(new_symbol, -1)  # so that -1, no symbol, stays -1
    columns = zip(
        seen.tolist(), sheet.handles, sheet.kinds, sheet.layer.tolist(), renamed[sheet.outer].tolist(), sheet.blocks,
        sheet.closed.tolist(), dashed.tolist(), colour.tolist(), renamed[sheet.inner].tolist(), strict=True,
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


def _regions(sheet: Sheet, seen: Bools, new_row: Ints, chords: Chords) -> list[Region]:
    """Rings of more than two points."""
    start = chords.first_of[sheet.ring_start]
    stop = chords.first_of[sheet.ring_start + sheet.ring_count]
    found = []
    for row, a, b, note in zip(sheet.ring_row.tolist(), start.tolist(), stop.tolist(), sheet.ring_notes, strict=True):
        if seen[row] and b - a > 2:
            found.append(Region(chords.ends[a:b, :2], int(new_row[row]), note.filled, note.pattern, note.hole))
    return found


def _texts(sheet: Sheet, seen: Bools, new_row: Ints) -> tuple[Text, ...]:
    at, along, up = sheet.texts[:, 0:2], sheet.texts[:, 3:5], sheet.texts[:, 6:8]
    width = np.hypot(*along.T)
    across = np.abs(along[:, 0] * up[:, 1] - along[:, 1] * up[:, 0])
    height = np.where(width > 0, across / np.where(width > 0, width, 1.0), np.hypot(*up.T))
    rows = zip(
        sheet.text_row.tolist(), sheet.text_notes, at.tolist(), height.tolist(),
        np.arctan2(along[:, 1], along[:, 0]).tolist(), width.tolist(), strict=True,
    )  # fmt: skip
    return tuple(
        Text(note.value, (x, y), high, angle, int(new_row[row]), wide, note.tag, note.wraps)
        for row, note, (x, y), high, angle, wide in rows
        if seen[row]
    )


def _dimensions(sheet: Sheet, seen: Bools) -> tuple[Dimension, ...]:
    first, second, way = sheet.dimensions[:, 0:2], sheet.dimensions[:, 3:5], sheet.dimensions[:, 6:8]
    angle = np.arctan2(way[:, 1], way[:, 0])
    unit = np.column_stack([np.cos(angle), np.sin(angle)])
    measured = np.abs(((second - first) * unit).sum(axis=1))
    rows = zip(
        sheet.dimension_row.tolist(), sheet.dimension_notes, measured.tolist(), first.tolist(), second.tolist(),
        angle.tolist(), strict=True,
    )  # fmt: skip
    return tuple(
        Dimension(
            length, note.text, (x0, y0), (x1, y1), turn, sheet.handles[row], int(sheet.layer[row]), note.factor,
            note.printed,
        )
        for row, note, length, (x0, y0), (x1, y1), turn in rows
        if seen[row]
    )  # fmt: skip


