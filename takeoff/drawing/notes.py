"""Texts and dimensions: what is printed, where, how high, at what angle."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from takeoff.drawing.gather import Gathered
from takeoff.drawing.mtext import LINE_STEP, Box, box_of, printed_lines, printed_width
from takeoff.drawing.plain import together
from takeoff.drawing.sheet import DimensionNote, TextNote
from takeoff.drawing.words import one_line, paragraphs, sound

__all__ = ["add_attribute", "add_dimension", "add_mtext", "add_text", "print_box"]

Have = dict[str, Any]
Vector = tuple[float, float, float]

def add_text(store: Gathered, entity: Any, have: Have) -> None:
    """A TEXT, or an ATTDEF whose text is constant."""
    lines = one_line(have.get("text", ""), store.styles.encoding)
    if not lines:
        store.left_out["without words", entity.DXFTYPE] += 1
        return
    tag = sound(str(have.get("tag", "")), store.styles.encoding)
    _place_text(store, have, lines, store.row(entity, have, entity.DXFTYPE), tag)


def add_attribute(store: Gathered, entity: Any, have: Have, lines: list[str]) -> int:
    """A printed ATTRIB of at least one line; returns its row."""
    row = store.row(entity, have, "ATTRIB")
    _place_text(store, have, lines, row, sound(str(have.get("tag", "")), store.styles.encoding))
    return row


def _place_text(store: Gathered, have: Have, lines: list[str], row: int, tag: str) -> None:
    """Texts of `lines`, the first where `have` puts it, further ones (of a broken text) below each other."""
    height = have.get("height", 1.0)
    width = max(printed_width(line, height) for line in lines) * have.get("width", 1.0)
    halign, valign = have.get("halign", 0), have.get("valign", 0)
    at, other = have["insert"], have.get("align_point")
    angle = math.radians(have.get("rotation", 0.0))
    shift = {1: 0.0, 2: -0.5, 4: 0.0}.get(halign, 0.5)
    if other is not None and halign in (3, 5):  # fitted between two points
        angle = math.atan2(other.y - at.y, other.x - at.x)
        width = math.hypot(other.x - at.x, other.y - at.y) or width
    elif other is not None and (halign or valign):
        at = other
    lift = 0.0 if halign == 4 else {2: 0.0, 3: -0.5}.get(valign, 0.5)
    frame = store.frame(have)
    for n, line in enumerate(lines):
        middle = _beside(at, angle, shift * width, (lift - n * LINE_STEP) * height)
        _push(store, middle, angle, width, height, frame, row, TextNote(line, tag))


def _beside(at: Any, angle: float, along: float, up: float) -> tuple[float, float, float]:
    """The point `along` and `up` from `at` in a text turned by `angle`."""
    c, s = math.cos(angle), math.sin(angle)
    return (at.x + c * along - s * up, at.y + s * along + c * up, at.z)


def _push(
    store: Gathered, at: tuple[float, float, float], angle: float, width: float, height: float,
    frame: int, row: int, note: TextNote,
) -> None:  # fmt: skip
    """A text whose middle is `at` and which reads in direction `angle`, both in frame number `frame`."""
    c, s = math.cos(angle), math.sin(angle)
    store.texts.extend((*at, c * width, s * width, 0.0, -s * height, c * height, 0.0))
    store.text_row.append(row)
    store.text_frame.append(frame)
    store.text_notes.append(note)


def add_mtext(store: Gathered, entity: Any, have: Have) -> None:
    """An MTEXT: one text for each printed line; columns that are MTEXTs of their own stand where those stand."""
    narrow = store.styles.narrow.get(str(have.get("style", "Standard")).lower(), 1.0)
    print_box(store, entity, have, entity.text, box_of(entity, have, narrow))
    for column in entity.columns.linked_columns if entity.has_columns else ():
        add_mtext(store, column, vars(column.dxf))


def print_box(store: Gathered, entity: Any, have: Have, raw: str, box: Box) -> None:
    """The lines of `raw` printed into a box that `have` places, as texts of `entity`."""
    attach = have.get("attachment_point", 1) - 1
    lines, (wide, deep) = printed_lines(raw, box, attach % 3, store.styles.encoding)
    if not lines:
        store.left_out["without words", entity.DXFTYPE] += 1
        return
    row = store.row(entity, have, entity.DXFTYPE)
    left = -wide * (attach % 3) / 2
    top = deep * (attach // 3) / 2
    at, ((ax, ay, az), (bx, by, bz)) = have["insert"], _mtext_axes(store, have)
    for line in lines:
        x, y, w, h = left + line.along, top - line.depth, line.width, line.height
        middle = (at.x + x * ax + y * bx, at.y + x * ay + y * by, at.z + x * az + y * bz)
        store.texts.extend((*middle, w * ax, w * ay, w * az, h * bx, h * by, h * bz))
        store.text_row.append(row)
        store.text_frame.append(0)
        store.text_notes.append(TextNote(line.value, "", line.wraps))


def _mtext_axes(store: Gathered, have: Have) -> tuple[Vector, Vector]:
    """Directions along and up a text, in the world: its own direction is given there, its angle is not."""
    number, direction = store.frame(have), have.get("text_direction")
    angle = math.radians(have.get("rotation", 0.0))
    c, s = math.cos(angle), math.sin(angle)
    frame = store.frames[number]
    if direction is not None:
        along = np.array([direction.x, direction.y, direction.z]) / (direction.magnitude or 1.0)
        return tuple(along.tolist()), tuple(np.cross(frame[:, 2], along).tolist())
    if number:
        return tuple((frame @ (c, s, 0.0)).tolist()), tuple((frame @ (-s, c, 0.0)).tolist())
    return (c, s, 0.0), (-s, c, 0.0)


def add_dimension(store: Gathered, entity: Any, have: Have) -> None:
    """A linear or aligned DIMENSION; other kinds measure no length between two points and are counted."""
    kind = have.get("dimtype", 0) & 7
    if kind not in (0, 1):
        store.left_out["not a linear dimension", "DIMENSION"] += 1
        return
    a, b = have.get("defpoint2"), have.get("defpoint3")
    if a is None or b is None:
        store.left_out["not drawable", "DIMENSION without points"] += 1
        return
    angle = math.atan2(b.y - a.y, b.x - a.x) if kind == 1 else math.radians(have.get("angle", 0.0))
    typed = " ".join(paragraphs(have.get("text", ""), store.styles.encoding)).strip()
    typed = "" if typed == "<>" else typed
    row = store.row(entity, have, "DIMENSION")
    frame = store.frames[store.frame(have)] if kind == 0 else store.frames[0]
    direction = frame @ (math.cos(angle), math.sin(angle), 0.0)
    store.dimensions.extend((a.x, a.y, a.z, b.x, b.y, b.z, *direction.tolist()))
    store.dimension_row.append(row)
    store.dimension_notes.append(
        DimensionNote(typed, printed_text(entity, have, store.styles.encoding), length_factor(entity))
    )


def printed_text(entity: Any, have: Have, encoding: str) -> str:
    """What the dimension's own picture (an anonymous block) prints, '' where it has none."""
    block = entity.doc.blocks.get(have.get("geometry", "")) if entity.doc and have.get("geometry") else None
    for part in together(entity.doc, block or ()):
        if part.DXFTYPE == "MTEXT":
            return " ".join(paragraphs(part.text, encoding)).strip()
        if part.DXFTYPE == "TEXT":
            return " ".join(one_line(part.dxf.text, encoding))
    return ""


def length_factor(entity: Any) -> float:
    """DIMLFAC of the dimension: by what its style multiplies the length before printing it."""
    try:
        factor = entity.override().get("dimlfac", 1.0)
    except Exception:  # a style the file does not hold
        return 1.0
    return float(factor) if factor else 1.0
