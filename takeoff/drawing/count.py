"""Entities counted in the raw file and in what was loaded: the guard against quiet losses.

Only main entities are counted, in the sections ENTITIES and BLOCKS: vertices, attributes and end marks belong to
the polyline or block reference that they follow.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from takeoff.drawing.plain import together
from takeoff.drawing.sniff import is_binary

__all__ = ["PARTS", "TAG", "count_loaded", "count_raw", "sections_of"]

PARTS = frozenset({"VERTEX", "ATTRIB", "SEQEND"})
"""Entities that belong to the one before them."""
_FRAME = frozenset({"SECTION", "ENDSEC", "BLOCK", "ENDBLK", "EOF"})

TAG = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*([A-Za-z_][^\r\n]*)")
"""Group code 0 and the name that follows. A value 0 is followed by a number, so the two cannot be confused.
(Patterns begin with fixed bytes: that is what makes them fast.)"""
_SECTION = re.compile(rb"SECTION[ \t]*\r?\n[ \t]*2[ \t]*\r?\n[ \t]*([A-Z]+)")
_ENDSEC = re.compile(rb"ENDSEC[ \t]*(?:[\r\n]|$)")
_BINARY_TAG = re.compile(rb"(?<=\x00)\x00([A-Z][A-Z0-9_]{2,30})\x00")
_BINARY_SECTION = re.compile(rb"SECTION\x00\x02\x00?([A-Z]+)\x00")


def sections_of(data: bytes) -> list[tuple[str, int, int, bool]]:
    """The sections of a text DXF: name, where it begins and ends in `data`, and whether it is closed."""
    found = []
    starts = list(_SECTION.finditer(data))
    for n, match in enumerate(starts):
        limit = starts[n + 1].start() if n + 1 < len(starts) else len(data)
        end = _ENDSEC.search(data, match.end(), limit)
        found.append((match[1].decode("ascii"), match.end(), end.start() if end else limit, end is not None))
    return found


def count_raw(data: bytes) -> Counter[str]:
    """How many entities of each type the file `data` holds, text or binary, `PARTS` too."""
    counts: Counter[str] = Counter()
    if is_binary(data):
        counts.update(_binary_names(data))
    else:
        if b"\n" not in data:
            data = data.replace(b"\r", b"\n")
        for name, start, end, _ in sections_of(data):
            if name in ("ENTITIES", "BLOCKS"):
                for tag, count in Counter(TAG.findall(data, start, end)).items():
                    counts[tag.strip().decode("ascii", "replace")] += count
    for name in _FRAME:
        counts.pop(name, None)
    return counts


def _binary_names(data: bytes) -> list[str]:
    """Names behind group code 0 in sections ENTITIES and BLOCKS of a binary file with two-byte group codes.

    R12 writes one-byte codes, where a name cannot be told from a value: nothing is counted then.
    """
    names: list[str] = []
    starts = list(_BINARY_SECTION.finditer(data))
    for n, match in enumerate(starts):
        if match[1] in (b"ENTITIES", b"BLOCKS"):
            limit = starts[n + 1].start() if n + 1 < len(starts) else len(data)
            found = [m.decode("ascii") for m in _BINARY_TAG.findall(data, match.end(), limit)]
            names.extend(found)
    return names


def count_loaded(document: Any) -> Counter[str]:
    """How many entities of each type `document` holds in all its layouts and blocks, those passed over with them."""
    counts: Counter[str] = Counter(getattr(document, "on_paper", {}))
    for block in document.blocks:
        counts.update(entity.dxftype() for entity in together(document, block))
    return counts
