"""What kind of file this is, by its first bytes: a plain word when it is no DXF drawing."""

from __future__ import annotations

import re

from takeoff.errors import DrawingError

__all__ = ["BINARY", "check_dxf", "is_binary"]

BINARY = b"AutoCAD Binary DXF\r\n\x1a\x00"
"""First bytes of a binary DXF file (DXF reference)."""

_AS_DXF = "Open it in the program that made it and save it as DXF, or ask the architect for the DXF."
_OTHERS: tuple[tuple[bytes, str, str], ...] = (
    (b"AC10", "a DWG drawing", _AS_DXF),
    (b"AC1.", "a DWG drawing", _AS_DXF),
    (b"%PDF", "a PDF, not a drawing file", "Ask the architect for the same plan as DXF."),
    (b"PK\x03\x04", "a ZIP archive", "Unpack it and give the DXF file that lies inside."),
    (b"\x1f\x8b", "a GZIP archive", "Unpack it and give the DXF file that lies inside."),
    (b"Rar!", "a RAR archive", "Unpack it and give the DXF file that lies inside."),
    (b"7z\xbc\xaf", "a 7-Zip archive", "Unpack it and give the DXF file that lies inside."),
    (b"\x89PNG", "a picture", "Ask the architect for the plan as DXF."),
    (b"\xff\xd8\xff", "a picture", "Ask the architect for the plan as DXF."),
    (b"GIF8", "a picture", "Ask the architect for the plan as DXF."),
    (b"II*\x00", "a picture", "Ask the architect for the plan as DXF."),
    (b"\xd0\xcf\x11\xe0", "an office document", "Ask the architect for the plan as DXF."),
    (b"ISO-10303-21", "a building model (IFC or STEP)", "Export a floor plan of it as DXF."),
    (b"<", "a web page or XML file", "Download the drawing itself, as DXF."),
    (b"{", "a JSON file", "Give the DXF drawing, not the takeoff."),
)
_FIRST_TAG = re.compile(rb"(?:\xef\xbb\xbf)?\s*(?:999\s*\n[^\n]*\n\s*)*(?:0\s*\n\s*[A-Z]|9\s*\n\s*\$)")
"""A text DXF begins with a section, after comments (group 999) at most; some begin inside the header."""


def is_binary(data: bytes) -> bool:
    """Is `data` a binary DXF file?"""
    return data.startswith(BINARY)


def check_dxf(name: str, data: bytes) -> None:
    """Raises `DrawingError`, saying what the file is and what to do, when `data` is no DXF at all."""
    if not data.strip(b"\x00 \t\r\n\x1a"):
        raise DrawingError(f"{name} is empty: export or download the drawing again.")
    if is_binary(data):
        return
    start = data[:16].lstrip(b"\xef\xbb\xbf \t\r\n")
    for magic, what, do in _OTHERS:
        if start.startswith(magic):
            raise DrawingError(f"{name} is {what}, whatever its name says. {do}")
    head = data[:4096].replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not _FIRST_TAG.match(head) and b"SECTION" not in data[:65536]:
        raise DrawingError(f"{name} is not a DXF drawing: {_AS_DXF[0].lower()}{_AS_DXF[1:]}")
