"""Block references and what is placed like one: where they put their block, which attributes and texts they carry."""

from __future__ import annotations

import math
from typing import Any

from ezdxf.entities.acad_table import read_acad_table_content
from ezdxf.math import Vec3

from takeoff.drawing.gather import BEYOND_REACH, REACH, Gathered, Insertion
from takeoff.drawing.mtext import Box
from takeoff.drawing.notes import add_attribute, print_box
from takeoff.drawing.words import one_line, paragraphs, sound

__all__ = ["add_insert", "add_multileader", "add_table", "placement"]

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
    """A table: drawn by an anonymous block that it refers to like an insert, else by what its cells hold."""
    name = have.get("geometry")
    direction = have.get("horizontal_direction")
    turn = math.degrees(math.atan2(direction.y, direction.x)) if direction is not None else 0.0
    if name and entity.doc is not None and name in entity.doc.blocks:
        _insertion(store, name, have, placement(have | {"rotation": turn}, store.frames[0]), ())
    else:
        _print_cells(store, entity, have, turn)


def _print_cells(store: Gathered, entity: Any, have: Have, turn: float) -> None:
    """The cells of a table whose picture the file does not hold, each in the middle of its row and column."""
    rows = read_acad_table_content(entity)
    tags = entity.xtags.get_subclass("AcDbTable")
    high, wide = ([tag.value for tag in tags if tag.code == code] for code in (141, 142))
    if not any(map(any, rows)) or len(high) < len(rows) or len(wide) < max(map(len, rows)):
        store.left_out["not drawable", "ACAD_TABLE"] += 1
        return
    at = have["insert"]
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    print_height = next((tag.value for tag in tags if tag.code == 140), min(high) / 3)
    for n, row in enumerate(rows):
        for m, raw in enumerate(row):
            if raw:
                along, down = sum(wide[:m]) + wide[m] / 2, sum(high[:n]) + high[n] / 2
                middle = Vec3(at.x + c * along + s * down, at.y + s * along - c * down, at.z)
                cell = have | {"insert": middle, "attachment_point": 5, "rotation": turn}
                print_box(store, entity, cell, raw, Box(print_height, wide[m]))


def add_multileader(store: Gathered, entity: Any, have: Have) -> None:
    """A MULTILEADER: its text, or the symbol that it carries; its lines are no part of the plan."""
    context = entity.context
    if context.mtext is not None:
        text = context.mtext
        place = {
            "insert": text.insert, "text_direction": text.text_direction, "extrusion": text.extrusion,
            "attachment_point": text.alignment,
        }  # fmt: skip
        width = text.width * context.scale
        box = Box(context.char_height, width if width > context.char_height else math.inf, text.line_spacing_factor)
        print_box(store, entity, have | place, text.default_content, box)
        return
    for part in entity.virtual_entities() if context.block is not None else ():
        if part.DXFTYPE == "INSERT":
            own = {key: have[key] for key in ("handle", "layer") if key in have}
            add_insert(store, part, vars(part.dxf) | own)
            return
    store.left_out["annotation", "MULTILEADER"] += 1
