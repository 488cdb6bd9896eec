"""Texts and dimensions: what is printed, where, how high, at what angle."""

from __future__ import annotations

import math
from typing import Any

from takeoff.drawing.gather import Gathered
from takeoff.drawing.sheet import DimensionNote, TextNote
from takeoff.drawing.words import one_line, paragraphs, sound

__all__ = ["add_attribute", "add_dimension", "add_mtext", "add_text", "printed_width"]

Have = dict[str, Any]

_UPPER, _LOWER, _SPACE, _WIDE = 0.93, 0.76, 0.39, 1.35
"""Advance of a character per height of a capital: upper case, lower case and digits, space, CJK.
From the metrics of common sans-serif faces (capital 0.716 em; from memory): good enough to find a text's middle."""
_LINE_STEP = 5.0 / 3.0
"""MTEXT lines stand 5/3 of the text height apart at spacing factor 1 (DXF reference, MTEXT group 44)."""


def printed_width(value: str, height: float) -> float:
    """Approximate width of `value` printed at `height`."""
    width = 0.0
    for c in value:
        if c == " ":
            width += _SPACE
        elif ord(c) > 0x2E7F:
            width += _WIDE
        else:
            width += _UPPER if c.isupper() else _LOWER
    return width * height


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
        middle = _beside(at, angle, shift * width, (lift - n * _LINE_STEP) * height)
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
    """An MTEXT: one text for each paragraph; a paragraph wrapped by the box's width takes the room of its lines."""
    raw = entity.all_columns_raw_content() if entity.has_columns else entity.text
    lines = paragraphs(raw, store.styles.encoding)
    if not any(lines):
        store.left_out["without words", "MTEXT"] += 1
        return
    height = have.get("char_height", 1.0)
    box = have.get("width", 0.0) or math.inf
    widths = [printed_width(line, height) for line in lines]
    depth = [max(1, math.ceil(w / box - 0.25)) if box > height else 1 for w in widths]
    step = _LINE_STEP * have.get("line_spacing_factor", 1.0) * height
    total = height + step * (sum(depth) - 1)
    attach = have.get("attachment_point", 1)
    column, rank = (attach - 1) % 3, (attach - 1) // 3
    angle = _mtext_angle(have)
    at = have["insert"]
    row = store.row(entity, have, "MTEXT")
    below = {0: 0.0, 1: -total / 2, 2: -total}.get(rank, 0.0)
    for line, width, deep in zip(lines, widths, depth, strict=True):
        printed = min(width, box)
        middle = below + (height + step * (deep - 1)) / 2
        below += step * deep
        if not line:
            continue
        side = {0: 0.5, 1: 0.0, 2: -0.5}[column] * printed
        _push(store, _beside(at, angle, side, -middle), angle, printed, height, 0, row, TextNote(line, ""))


def _mtext_angle(have: Have) -> float:
    direction = have.get("text_direction")
    if direction is not None:
        return math.atan2(direction.y, direction.x)
    return math.radians(have.get("rotation", 0.0))


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
    for part in block or ():
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
