"""Damaged files put right as text before they are parsed: cut short, or with lines out of step.

Recovery alone loses everything of a file that ends inside its entities, quietly; closed properly, it gives back
every entity that the text still holds.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from takeoff.drawing.count import PARTS, TAG, sections_of

__all__ = ["Cut", "as_text", "cut_short", "in_step"]

_END = b"\n  0\nENDSEC\n  0\nEOF\n"
_EOF = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*EOF[ \t]*(?:[\r\n\x00\x1a]|$)")
_CODE = re.compile(rb"[ \t]*-?\d{1,4}[ \t]*$")
_WORDS = frozenset(
    b"SECTION ENDSEC EOF TABLE ENDTAB BLOCK ENDBLK LINE ARC CIRCLE TEXT MTEXT INSERT ATTRIB SEQEND VERTEX POLYLINE "
    b"LWPOLYLINE HATCH DIMENSION SOLID ELLIPSE SPLINE POINT LAYER LTYPE STYLE VIEWPORT".split()
)
"""Names that stand behind group code 0 and hardly ever alone on a line of text."""
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


@dataclass(frozen=True, slots=True)
class Cut:
    """A file that ends before its end: closed again in `mended`; `section` is where it was cut."""

    mended: bytes
    section: str


def cut_short(data: bytes) -> Cut | None:
    """None for a text DXF that ends as it should; else the file without its last, unfinished entity, closed."""
    if _EOF.search(data, max(0, len(data) - 4096)) or _EOF.search(data):
        return None
    data = data.rstrip(b"\x00\x1a")
    sections = sections_of(data)
    if not sections:
        return Cut(data + _END, "HEADER")
    name, start, end, closed = sections[-1]
    if closed:
        drawn = any(section[0] == "ENTITIES" for section in sections)
        return None if drawn else Cut(data.rstrip() + b"\n  0\nEOF\n", name)
    tags = [(m.start(), m[1].strip()) for m in TAG.finditer(data, start, end)]
    if not tags:
        return Cut(data[:start].rstrip() + _END, name)
    return Cut(_whole_part(data, tags) + _END, name)


def _whole_part(data: bytes, tags: list[tuple[int, bytes]]) -> bytes:
    """`data` up to the last entity that is certainly whole: one is whole when something follows it."""
    at, name = tags[-1]
    if _ends_on_code_nought(data[at:]):
        at = len(data.rstrip()[:-1])
        if name not in (b"VERTEX", b"ATTRIB"):
            return data[:at].rstrip()
    elif name == b"SEQEND":
        return data[:at].rstrip() + b"\n  0\nSEQEND"
    parts = {part.encode() for part in PARTS}
    whole = next((at for at, name in reversed(tags) if name not in parts), tags[0][0])
    return data[:whole].rstrip()


def _ends_on_code_nought(tail: bytes) -> bool:
    """Does the text break off just after the group code 0 of the next entity?"""
    lines = tail.lstrip(b"\r\n").splitlines()
    while lines and not lines[-1].strip():
        lines.pop()
    return len(lines) % 2 == 1 and lines[-1].strip() == b"0"


def in_step(data: bytes) -> tuple[bytes, int]:
    """The text of a DXF with its pairs of lines (code, value) brought back into step, and how many lines were mended.

    A line where a group code should stand but no number does is the rest of the value before it (a text broken
    over lines); a blank one before a structural word is a lost group code 0. Words where a number should stand
    become "nan" or 0.
    """
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    pairs: list[tuple[bytes, bytes]] = []
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
    return b"".join(code + b"\n" + value + b"\n" for code, value in _plain_header(pairs)), mended


def _sane(code: int, value: bytes) -> bytes:
    """`value`, or what stands for "no number" where group `code` wants one and `value` is none."""
    if code in _FLOATS and not _FLOAT.match(value):
        return b"nan"  # what it belongs to is then left out as out of reach, and counted
    if code in _WHOLES and not _WHOLE.match(value):
        return b"0"
    return value


def _plain_header(pairs: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    """`pairs` whose header variables have one value each (a point has up to three): more is not allowed there."""
    kept: list[tuple[bytes, bytes]] = []
    in_header, may_follow = False, {b"9"}
    for n, (code, value) in enumerate(pairs):
        if code == b"0":
            in_header = value.strip() == b"SECTION" and n + 1 < len(pairs) and pairs[n + 1][1].strip() == b"HEADER"
        elif in_header and code == b"9":
            may_follow = set(_HEADER_VALUES)
        elif in_header and code != b"2":
            if code not in may_follow:
                continue
            may_follow = {b"20", b"30"} if code in (b"10", b"20") else set()
        elif in_header and pairs[n - 1][0] == b"9":
            may_follow = set()
        kept.append((code, value))
    return kept


def as_text(data: bytes) -> bytes:
    """A binary DXF written as text, up to where its tags can no longer be read."""
    from ezdxf.lldxf.tagger import binary_tags_loader

    lines: list[str] = []
    try:
        for tag in binary_tags_loader(data):
            lines.append(f"{tag.code}\n{_written(tag.value)}\n")
    except Exception:  # whatever stops the loader, what came before it still counts
        pass
    return "".join(lines).encode("utf-8", "surrogateescape")


def _written(value: Any) -> str:
    if isinstance(value, bytes):
        return value.hex().upper()
    return repr(value) if isinstance(value, float) else str(value)
