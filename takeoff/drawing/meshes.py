"""Faces and meshes in space, seen from above: their edges are line work.

DXF reference: 3DFACE group 70 and the signs of a face record's vertex numbers (VERTEX groups 71-74) make edges
invisible; POLYLINE flag 16 is a grid of vertices, flag 64 vertices followed by face records.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from takeoff.drawing.gather import Gathered

__all__ = ["add_face", "add_mesh", "add_polyline_mesh"]

Have = dict[str, Any]
Edge = tuple[Any, Any]
_CLOSED_M, _GRID, _CLOSED_N = 1, 16, 32
_CONTROL = 16
"""VERTEX flag: a control point of a smoothed grid, not on it."""
_SMOOTHED = 4
_RECORD, _PLACE = 128, 64


def add_face(store: Gathered, entity: Any, have: Have) -> None:
    """A 3DFACE: its edges, less those whose bit says that they are invisible; a triangle repeats its third corner."""
    corners = [have[f"vtx{n}"] for n in range(4) if f"vtx{n}" in have]
    if len(corners) == 4 and corners[3] == corners[2]:
        corners.pop()
    hidden = have.get("invisible_edges", 0)
    bits = (1, 2, 4, 8) if len(corners) == 4 else (1, 2, 8)  # a triangle's third edge, of no length, is left out
    ends = zip(corners, corners[1:] + corners[:1], bits, strict=True)
    _add(store, entity, have, "3DFACE", [(a, b) for a, b, bit in ends if not hidden & bit])


def add_mesh(store: Gathered, entity: Any, have: Have) -> None:
    """A MESH: each edge of its faces once."""
    numbers = {_sorted(a, b) for face in entity.faces for a, b in _round(list(face))}
    points = [tuple(point) for point in entity.vertices]
    _add(store, entity, have, "MESH", [(points[a], points[b]) for a, b in sorted(numbers)])


def add_polyline_mesh(store: Gathered, entity: Any, have: Have) -> None:
    """A POLYLINE that is a grid of vertices, or vertices and face records."""
    vertices = [vars(vertex.dxf) for vertex in entity.vertices]
    edges = _grid(vertices, have) if have.get("flags", 0) & _GRID else _faces(vertices)
    _add(store, entity, have, "POLYLINE", edges)


def _grid(vertices: list[Have], have: Have) -> list[Edge]:
    flags = have.get("flags", 0)
    names = ("m_smooth_density", "n_smooth_density") if flags & _SMOOTHED else ("m_count", "n_count")
    points = [v["location"] for v in vertices if not v.get("flags", 0) & _CONTROL]
    columns = have.get(names[1], 0)
    rows = [points[start : start + columns] for start in range(0, len(points), columns)] if columns else []
    rows = [row for row in rows[: have.get(names[0], 0)] if len(row) == columns]
    edges = [edge for row in rows for edge in pairwise(row)]
    edges += [edge for above, below in pairwise(rows) for edge in zip(above, below, strict=True)]
    if flags & _CLOSED_N:
        edges += [(row[-1], row[0]) for row in rows]
    if flags & _CLOSED_M and rows:
        edges += list(zip(rows[-1], rows[0], strict=True))
    return edges


def _faces(vertices: list[Have]) -> list[Edge]:
    points = [v["location"] for v in vertices if v.get("flags", 0) & _PLACE]
    seen: set[tuple[int, int]] = set()
    for record in vertices:
        if record.get("flags", 0) & (_RECORD | _PLACE) != _RECORD:
            continue
        corners = [n for k in range(4) if (n := record.get(f"vtx{k}", 0))]
        seen |= {_sorted(abs(a) - 1, abs(b) - 1) for a, b in _round(corners) if a > 0}
    return [(points[a], points[b]) for a, b in sorted(seen) if b < len(points)]


def _round(corners: list[int]) -> Iterable[tuple[int, int]]:
    return zip(corners, corners[1:] + corners[:1], strict=True)


def _sorted(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _add(store: Gathered, entity: Any, have: Have, kind: str, edges: list[Edge]) -> None:
    if not edges:
        store.left_out["not drawable", f"{kind} without visible edges"] += 1
        return
    row = store.row(entity, have, kind)
    for (x0, y0, z0), (x1, y1, z1) in edges:
        store.lines.extend((x0, y0, z0, x1, y1, z1))
        store.line_row.append(row)
