"""Block references: where they put their block, which attributes they carry."""

from __future__ import annotations

import math
from typing import Any

from takeoff.drawing.gather import BEYOND_REACH, REACH, Gathered, Insertion
from takeoff.drawing.notes import add_attribute
from takeoff.drawing.words import one_line, paragraphs, sound

__all__ = ["add_insert", "add_table", "placement"]

Have = dict[str, Any]


def add_insert(store: Gathered, entity: Any, have: Have) -> None:
    """An INSERT, with its attributes and the settings of a dynamic block; arrays are spread later."""
    name = have.get("name", "")
    layer = store.layer_of(have)
    if layer >= 0 and store.styles.frozen[layer]:
        store.left_out["layer frozen", store.styles.layers[layer].name] += 1
        return
    read = [(attrib, vars(attrib.dxf), attribute_lines(attrib, store.styles.encoding)) for attrib in entity.attribs]
    attributes = tuple((sound(str(own.get("tag", "")), store.styles.encoding), " ".join(ls)) for _, own, ls in read)
    if entity.has_extension_dict and store.styles.settings:
        attributes += tuple(store.styles.settings.of(entity, store.styles.encoding))
    if not _insertion(store, name, have, placement(have, store.frames[store.frame(have)]), attributes):
        return
    number = len(store.insertions) - 1
    for attrib, own, lines in read:
        if lines and not own.get("invisible") and not own.get("flags", 0) & 1 and store.seen(own):
            store.attribute_of[add_attribute(store, attrib, own, lines)] = number


def _insertion(
    store: Gathered, name: str, have: Have, place: tuple[float, ...], attributes: tuple[tuple[str, str], ...]
) -> bool:
    """Note a reference to block `name`; False where its place is no number or out of reach (counted)."""
    if not all(abs(value) < REACH for value in place):
        store.left_out[BEYOND_REACH, "INSERT"] += 1
        return False
    layer = store.layer_of(have)
    dash, colour = store.styles.resolved(layer, store.styles.dash(have.get("linetype")), have.get("color", 256))
    handle = have.get("handle") or ""
    array = array_steps(have)
    store.insertions.append(Insertion(name, handle, layer, dash, colour, place, array, signs(have), attributes))
    return True


def attribute_lines(attrib: Any, encoding: str) -> list[str]:
    """The printed lines of an attribute, which may hold a whole MTEXT."""
    if attrib.has_embedded_mtext_entity:
        return [line for line in paragraphs(attrib.virtual_mtext_entity().text, encoding) if line]
    return one_line(vars(attrib.dxf).get("text", ""), encoding)


def placement(have: Have, frame: Any) -> tuple[float, ...]:
    """Block to container: the 3 x 3 matrix row by row, then the shift (block's base point not yet subtracted)."""
    at = have.get("insert")
    x, y, z = (at.x, at.y, at.z) if at is not None else (0.0, 0.0, 0.0)
    sx, sy, sz = (have.get(k, 1.0) or 1.0 for k in ("xscale", "yscale", "zscale"))
    turn = math.radians(have.get("rotation", 0.0))
    c, s = math.cos(turn), math.sin(turn)
    o = frame
    columns = ((c * sx, s * sx, 0.0), (-s * sy, c * sy, 0.0), (0.0, 0.0, sz), (x, y, z))
    turned = [[float(o[i, 0] * q[0] + o[i, 1] * q[1] + o[i, 2] * q[2]) for i in range(3)] for q in columns]
    m = [turned[j][i] for i in range(3) for j in range(3)]
    return (*m, *turned[3])


def signs(have: Have) -> tuple[int, int]:
    return (-1 if have.get("xscale", 1.0) < 0 else 1, -1 if have.get("yscale", 1.0) < 0 else 1)


def array_steps(have: Have) -> tuple[int, int, float, float]:
    """Columns, rows and their spacing (along the reference's own turned axes) of an insert that is an array."""
    return (
        max(1, have.get("column_count", 1)), max(1, have.get("row_count", 1)),
        have.get("column_spacing", 0.0), have.get("row_spacing", 0.0),
    )  # fmt: skip


def add_table(store: Gathered, entity: Any, have: Have) -> None:
    """A table: drawn by an anonymous block that it refers to like an insert."""
    name = have.get("geometry")
    if not name:
        store.left_out["not drawable", "ACAD_TABLE"] += 1
        return
    _insertion(store, name, have, placement(have, store.frames[0]), ())
