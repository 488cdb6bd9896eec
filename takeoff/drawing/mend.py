"""Files that end before their end, and damaged binary ones, put right as text before they are parsed.

Recovery alone loses everything of a file that ends inside its entities, quietly; closed properly, it gives back
every entity that the text still holds.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from takeoff.drawing.count import PARTS, TAG, sections_of

__all__ = ["Cut", "as_text", "cut_short"]

_END = b"\n  0\nENDSEC\n  0\nEOF\n"
_EOF = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*EOF[ \t]*(?:[\r\n\x00\x1a]|$)")


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
