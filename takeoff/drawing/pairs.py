"""The text of a damaged DXF as pairs of lines (group code, value), put back into step and into order."""

from __future__ import annotations

import re
from itertools import pairwise

__all__ = ["essentials", "in_step", "only", "without"]

Pair = tuple[bytes, bytes]

_CODE = re.compile(rb"[ \t]*-?\d{1,4}[ \t]*$")
_WORDS = frozenset(
    b"SECTION ENDSEC EOF TABLE ENDTAB BLOCK ENDBLK LINE ARC CIRCLE TEXT MTEXT INSERT ATTRIB SEQEND VERTEX POLYLINE "
    b"LWPOLYLINE HATCH DIMENSION SOLID ELLIPSE SPLINE POINT LAYER LTYPE STYLE VIEWPORT".split()
)
"""Names that stand behind group code 0 and hardly ever alone on a line of text."""
_HEADER_NAME = re.compile(rb"\s*\$[A-Z][A-Z0-9_]*\s*$")
_HEADER_VALUES = frozenset(
    str(code).encode() for code in (*range(1, 9), 10, *range(40, 80), *range(280, 300), *range(340, 400))
)
"""Group codes of the values of header variables (DXF reference, HEADER section)."""
_FLOATS = frozenset((*range(10, 60), *range(110, 150), *range(210, 240), *range(460, 470), *range(1010, 1060)))
_WHOLES = frozenset(
    (*range(60, 100), *range(160, 180), *range(270, 290), *range(370, 390), *range(400, 410), 1070, 1071)
)
"""Group codes whose values are real and whole numbers (DXF reference, group code value types)."""
_FLOAT = re.compile(rb"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s*$|\s*[-+]?(?:nan|inf)\s*$", re.IGNORECASE)
_WHOLE = re.compile(rb"\s*[-+]?\d+(?:\.0*)?\s*$")
_TEXT_CODES = frozenset({b"1", b"3", b"1000"})


def in_step(data: bytes) -> tuple[bytes, int]:
    """The text of a DXF with its pairs of lines (code, value) brought back into step, and how many lines were mended.

    A line where a group code should stand but no number does is the rest of the value before it (a text broken
    over lines); a blank one before a structural word is a lost group code 0. Words where a number should stand
    become "nan" or 0.
    """
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    pairs: list[Pair] = []
    mended, n = 0, 0
    while n < len(lines):
        line = lines[n]
        follow = lines[n + 1].strip() if n + 1 < len(lines) else b""
        if _CODE.match(line):
            value = lines[n + 1] if n + 1 < len(lines) else b""
            good = _sane(int(line), value)
            mended += good != value
            pairs.append((line.strip(), good))
            n += 2
            continue
        mended += 1
        word = line.strip()
        if word in _WORDS:
            pairs.append((b"0", word))
        elif not word and follow in _WORDS:
            pairs.append((b"0", follow))
            n += 1
        elif word and pairs and pairs[-1][0] in _TEXT_CODES:
            pairs[-1] = (pairs[-1][0], pairs[-1][1] + b"^J" + word)
        elif n >= len(lines) - 2 and not word:
            mended -= 1  # the line end of the last line
        n += 1
    return _text(_plain_header(pairs)), mended


def _sane(code: int, value: bytes) -> bytes:
    """`value`, or what stands for "no number" where group `code` wants one and `value` is none."""
    if code in _FLOATS and not _FLOAT.match(value):
        return b"nan"  # what it belongs to is then left out as out of reach, and counted
    if code in _WHOLES and not _WHOLE.match(value):
        return b"0"
    return value


def _plain_header(pairs: list[Pair]) -> list[Pair]:
    """`pairs` whose header holds only variables with a name and one value (a point has up to three)."""
    kept: list[Pair] = []
    variable: list[Pair] = []
    in_header = False
    for n, (code, value) in enumerate(pairs):
        if code == b"0" or not in_header:
            kept += _variable(variable)
            variable = []
            in_header = value.strip() == b"SECTION" and n + 1 < len(pairs) and pairs[n + 1][1].strip() == b"HEADER"
            kept.append((code, value))
        elif code == b"2" and value.strip() == b"HEADER":
            kept.append((code, value))
        elif code == b"9":
            kept += _variable(variable)
            variable = [(code, value)]
        else:
            variable.append((code, value))
    return kept + _variable(variable)


def _variable(pairs: list[Pair]) -> list[Pair]:
    """The name and value of one header variable, nothing where either is missing."""
    if len(pairs) < 2 or not _HEADER_NAME.match(pairs[0][1]) or pairs[1][0] not in _HEADER_VALUES:
        return []
    point = [b"10", b"20", b"30"] if pairs[1][0] == b"10" else [pairs[1][0]]
    values = [pair for pair, code in zip(pairs[1:], point, strict=False) if pair[0] == code]
    return [pairs[0], *values]


_FRAME = frozenset({"SECTION", "ENDSEC", "BLOCK", "ENDBLK", "EOF", "VERTEX", "SEQEND", "ATTRIB"})
"""What holds a drawing together, and parts of entities."""
_USELESS = (b"CLASSES", b"OBJECTS", b"THUMBNAILIMAGE", b"ACDSDATA")
"""Sections that hold nothing drawn; recovery makes new ones."""


def essentials(data: bytes) -> bytes:
    """The text `data` (in step) without the sections, application data and extended data that draw nothing."""
    kept: list[Pair] = []
    pairs = _pairs(data)
    useless, group = False, False
    for n, (code, value) in enumerate(pairs):
        if code == b"0":
            group = False
            if value.strip() == b"SECTION":
                useless = n + 1 < len(pairs) and pairs[n + 1][1].strip() in _USELESS
        if code == b"102":
            group = value.strip().startswith(b"{")
        elif not useless and not group and not (len(code) == 4 and code >= b"1000"):
            kept.append((code, value))
        if code == b"0" and value.strip() == b"ENDSEC":
            useless = False
    return _text(kept)


def without(data: bytes, handle: bytes) -> bytes:
    """The text `data` (in step) without the entity of that handle, as far as its type line to the next."""
    pairs = _pairs(data)
    starts = [n for n, (code, _) in enumerate(pairs) if code == b"0"] + [len(pairs)]
    for start, stop in pairwise(starts):
        if any(code == b"5" and value.strip() == handle for code, value in pairs[start:stop]):
            return _text(pairs[:start] + pairs[stop:])
    return data


def only(data: bytes, kinds: frozenset[str]) -> bytes:
    """The text `data` (in step) with entities of those kinds alone; tables and the frame of the file stay."""
    pairs = _pairs(data)
    starts = [n for n, (code, _) in enumerate(pairs) if code == b"0"] + [len(pairs)]
    kept: list[Pair] = pairs[: starts[0]]
    drawn = False
    for start, stop in pairwise(starts):
        name = pairs[start][1].strip().decode("ascii", "replace")
        if name == "SECTION":
            drawn = start + 1 < stop and pairs[start + 1][1].strip() in (b"ENTITIES", b"BLOCKS")
        if not drawn or name in kinds or name in _FRAME:
            kept += pairs[start:stop]
    return _text(kept)


def _pairs(data: bytes) -> list[Pair]:
    lines = data.split(b"\n")
    return list(zip(lines[0::2], lines[1::2], strict=False))


def _text(pairs: list[Pair]) -> bytes:
    return b"".join(code + b"\n" + value + b"\n" for code, value in pairs)
