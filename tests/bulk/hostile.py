"""Drawings made to harm: each holds one sound room, and one thing that would take hours, or more memory than there is.

Written as text, since the library that reads them takes minutes to make them.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from itertools import pairwise
from math import cos, pi, sin
from pathlib import Path

import ezdxf

__all__ = ["HOSTILE", "write_hostile"]


def _pairs(*tags: object) -> str:
    """Group codes and values, turn by turn, as DXF text."""
    return "".join(f"{tag}\n" for tag in tags)


def _start(kind: str, subclass: str, layer: str = "WALLS") -> str:
    return _pairs(0, kind, 100, "AcDbEntity", 8, layer, 100, subclass)


def _line(x0: float, y0: float, x1: float, y1: float) -> str:
    return _start("LINE", "AcDbLine") + _pairs(10, x0, 20, y0, 30, 0, 11, x1, 21, y1, 31, 0)


def _text(x: float, y: float, value: str) -> str:
    return _start("TEXT", "AcDbText", "NOTES") + _pairs(10, x, 20, y, 30, 0, 40, 200, 1, value, 100, "AcDbText")


def _insert(block: str, x: float = 0, y: float = 0, *more: object) -> str:
    return _start("INSERT", "AcDbBlockReference") + _pairs(2, block, 10, x, 20, y, 30, 0, *more)


def _polyline(points: Iterable[tuple[float, float, float]], closed: bool = False) -> str:
    """(x, y, bulge) each."""
    rows = [_pairs(10, x, 20, y, 42, bulge) for x, y, bulge in points]
    return _start("LWPOLYLINE", "AcDbPolyline") + _pairs(90, len(rows), 70, int(closed)) + "".join(rows)


def _block(name: str, content: str) -> str:
    begin = _pairs(0, "BLOCK", 100, "AcDbEntity", 8, 0, 100, "AcDbBlockBegin", 2, name, 70, 0, 10, 0, 20, 0, 30, 0)
    return begin + _pairs(3, name, 1, "") + content + _pairs(0, "ENDBLK", 100, "AcDbEntity", 8, 0, 100, "AcDbBlockEnd")


def _attributes(count: int) -> str:
    """On one block reference, all at one place."""
    one = _pairs(0, "ATTRIB", 100, "AcDbEntity", 8, "NOTES", 100, "AcDbText", 10, 2000, 20, 2000, 30, 0, 40, 200)
    one += _pairs(1, "1.2", 100, "AcDbAttribute", 2, "T", 70, 0)
    return _insert("brick", 2000, 2000, 66, 1) + one * count + _pairs(0, "SEQEND", 100, "AcDbEntity", 8, "NOTES")


def _hatch(rings: Iterable[list[tuple[float, float]]]) -> str:
    paths = []
    for ring in rings:
        corners = "".join(_pairs(10, x, 20, y) for x, y in ring)
        paths.append(_pairs(92, 2, 72, 0, 73, 1, 93, len(ring)) + corners + _pairs(97, 0))
    head = _start("HATCH", "AcDbHatch", "HATCH") + _pairs(10, 0, 20, 0, 30, 0, 210, 0, 220, 0, 230, 1, 2, "SOLID")
    return head + _pairs(70, 1, 71, 0, 91, len(paths)) + "".join(paths) + _pairs(75, 0, 76, 1, 98, 0)


def _square(x: float, y: float) -> list[tuple[float, float]]:
    return [(x, y), (x + 300, y), (x + 300, y + 300), (x, y + 300)]


def _hatch_edges(count: int) -> str:
    """One outline of so many straight edges."""
    at = [(9000 * cos(2 * pi * n / count), 9000 * sin(2 * pi * n / count)) for n in range(count + 1)]
    edges = "".join(_pairs(72, 1, 10, a[0], 20, a[1], 11, b[0], 21, b[1]) for a, b in pairwise(at))
    head = _start("HATCH", "AcDbHatch", "HATCH") + _pairs(10, 0, 20, 0, 30, 0, 210, 0, 220, 0, 230, 1, 2, "SOLID")
    return head + _pairs(70, 1, 71, 0, 91, 1, 92, 1, 93, count) + edges + _pairs(97, 0, 75, 0, 76, 1, 98, 0)


def _spline(controls: int) -> str:
    """Cubic, with evenly spaced knots."""
    knots = controls + 4
    head = _start("SPLINE", "AcDbSpline") + _pairs(70, 8, 71, 3, 72, knots, 73, controls, 74, 0)
    points = "".join(_pairs(10, 10 * n, 20, 9000 + n % 7 * 100, 30, 0) for n in range(controls))
    return head + "".join(_pairs(40, n) for n in range(knots)) + points


def _arcs(count: int) -> str:
    """Quarter circles with their leaves, all hung at one place."""
    arc = _start("ARC", "AcDbCircle", "DOORS") + _pairs(10, 1000, 20, 200, 30, 0, 40, 800)
    arc += _pairs(100, "AcDbArc", 50, 0, 51, 90)
    return (arc + _line(1000, 200, 1800, 200)) * count


def _wild(value: str) -> str:
    parts = [_line(0, 0, 1, 1).replace("\n11\n1\n", f"\n11\n{value}\n")]
    parts += [_polyline([(0, 0, 0), (5, 5, 0)]).replace("\n10\n5\n", f"\n10\n{value}\n")]
    parts += [_text(1, 1, "FAR").replace("\n10\n1\n", f"\n10\n{value}\n")]
    parts += [_insert("brick", 1, 1).replace("\n10\n1\n", f"\n10\n{value}\n")]
    parts += [_insert("brick", 1, 1, 41, value, 42, value)]
    return "".join(parts)


def _levels(count: int, each: int) -> str:
    """Blocks that hold the one before so many times."""
    blocks = [_block("b0", _line(0, 0, 1, 0))]
    for n in range(1, count):
        blocks.append(_block(f"b{n}", "".join(_insert(f"b{n - 1}", m, n) for m in range(each))))
    return "".join(blocks)


Hostile = Callable[[], tuple[str, str]]
"""Gives entities and blocks."""

HOSTILE: dict[str, Hostile] = {
    "array of billions": lambda: (_insert("brick", 0, 0, 70, 32000, 71, 32000, 44, 1, 45, 1), ""),
    "blocks that multiply": lambda: (_insert("b12"), _levels(13, 10)),
    "blocks 2,000 deep": lambda: (_insert("b1999"), _levels(2000, 1)),
    "block in itself": lambda: (_insert("one"), _block("one", _insert("two")) + _block("two", _insert("one") * 500)),
    "a text of megabytes": lambda: (_text(2000, 2000, "3'-6 wall " * 500_000), ""),
    "attributes in a heap": lambda: (_attributes(5_000), ""),
    "texts in a heap": lambda: (_text(2000, 2000, "Kitchen") * 5_000, ""),
    "inserts in a heap": lambda: (_insert("brick", 2000, 2000) * 6_000, ""),
    "bulges in a heap": lambda: (_polyline((2000 + n % 500, 2000 + n // 500, 0.5) for n in range(40_000)), ""),
    "bulges without end": lambda: (_polyline((5 * n, 9000, 1e6) for n in range(4_000)), ""),
    "hatch of many outlines": lambda: (_hatch(_square(n % 100 * 600, 6000 + n // 100 * 600) for n in range(9_999)), ""),
    "hatch of many edges": lambda: (_hatch_edges(100_000), ""),
    "spline of many knots": lambda: (_spline(20_000), ""),
    "doors in a heap": lambda: (_arcs(8_000), ""),
    "fan of lines": lambda: ("".join(_line(0, 0, 9e4 * cos(n), 9e4 * sin(n)) for n in range(6_000)), ""),
    "no numbers": lambda: (_wild("nan"), ""),
    "endless numbers": lambda: (_wild("1e308"), ""),
}


def write_hostile(path: Path, name: str) -> Path:
    """The drawing called `name` in `HOSTILE`, around a room of 4 x 4 m, in mm."""
    entities, blocks = HOSTILE[name]()
    drawing = ezdxf.new("R2010", units=4)
    drawing.blocks.new("brick").add_line((0, 0), (1, 0))
    for low, high in ((0, 4400), (200, 4200)):
        corners = [(low, low), (high, low), (high, high), (low, high)]
        drawing.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "WALLS"})
    stream = io.StringIO()
    drawing.write(stream)
    text = stream.getvalue()
    for section, more in (("BLOCKS", blocks), ("ENTITIES", entities)):
        head = f"  2\n{section}\n"
        assert text.count(head) == 1
        text = text.replace(head, head + more)
    path.write_text(text)
    return path
