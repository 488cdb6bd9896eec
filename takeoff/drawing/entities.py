"""What each type of DXF entity gives: lines, bulged polylines, conics, rings, texts, dimensions.

`gather` is the face; `HANDLERS` says which function reads which type. Each handler takes the store, the entity
and its attributes (``vars(entity.dxf)``: reading them so costs a tenth of ``entity.dxf.get``).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from ezdxf.entities.factory import ENTITY_CLASSES

from takeoff.drawing.gather import Gathered
from takeoff.drawing.inserts import add_insert, add_multileader, add_table
from takeoff.drawing.meshes import add_face, add_mesh, add_polyline_mesh
from takeoff.drawing.notes import add_dimension, add_mtext, add_text
from takeoff.drawing.sheet import OUTLINE, RingNote
from takeoff.errors import DrawingError
from takeoff.geometry.conics import arc_from_points

__all__ = ["BODY", "DAMAGED", "HANDLERS", "PROXY", "UNDERLAY", "gather"]

Have = dict[str, Any]
_FULL = 2 * math.pi
DAMAGED = "damaged"
_CONSTANT = 2
"""ATTDEF flag: the text is the same in every reference, so the definition itself is drawn (DXF reference)."""
PROXY = "object of an add-on"
_UNDRAWN = frozenset({
    "WIPEOUT", "RTEXT", "ARCALIGNEDTEXT", "SECTIONOBJECT", "POINTCLOUD", "POINTCLOUDEX", "CAMERA", "OLEFRAME",
    "GEOPOSITIONMARKER", "NAVISWORKSMODEL", "COORDINATION MODEL", "RENDERENVIRONMENT",
})  # fmt: skip
"""Standard types that ezdxf has no class for; any other unknown type is an add-on program's own object."""
_ANNOTATIONS = frozenset({"LEADER", "TOLERANCE", "ARC_DIMENSION", "LARGE_RADIAL_DIMENSION"})
BODY = "solid body"
_BODIES = frozenset({
    "BODY", "REGION", "3DSOLID", "SURFACE", "PLANESURFACE", "EXTRUDEDSURFACE", "LOFTEDSURFACE", "REVOLVEDSURFACE",
    "SWEPTSURFACE",
})  # fmt: skip
"""Their shape is stored in a modeller's own form."""
UNDERLAY = "underlay"
_UNDERLAYS = frozenset({"PDFUNDERLAY", "DWFUNDERLAY", "DGNUNDERLAY"})
_PICTURES = frozenset({"IMAGE", "OLEFRAME", "OLE2FRAME"})
_REASONS = (
    ("annotation", _ANNOTATIONS), (BODY, _BODIES), (UNDERLAY, _UNDERLAYS), ("picture", _PICTURES),
    ("mask, what it hides is read", frozenset({"WIPEOUT"})),
)  # fmt: skip
_ISLANDS_IGNORED = 2
"""Hatch style that fills islands too (DXF reference, HATCH group 75)."""
_SOLID = RingNote(True, "SOLID", False)
_SPLINE_CHORDS = 32
"""Points for a spline per control span of four; enough for the 1 % arc test and for drawing."""


def gather(entities: Iterable[Any], store: Gathered) -> Gathered:
    """Read `entities` into `store`, leaving out and counting what is not seen."""
    hidden = store.styles.hidden
    for entity in entities:
        have = vars(entity.dxf)
        kind = entity.DXFTYPE
        if kind == "ATTDEF" and not (store.in_block and have.get("flags", 0) & _CONSTANT):
            continue  # a form to be filled in by each reference, not a drawn thing
        if have.get("invisible"):
            store.left_out["invisible", kind] += 1
            continue
        layer = store.layer_of(have)
        if hidden(layer) and kind != "INSERT":
            store.left_out[store.styles.why_hidden(layer), store.styles.layers[layer].name] += 1
            continue
        handler = HANDLERS.get(kind)
        if handler is None:
            store.left_out[_why_not_read(entity.dxftype().strip())] += 1
            continue
        try:
            handler(store, entity, have)
        except DrawingError:  # more than can be told apart
            store.left_out["not drawable", kind] += 1
        except Exception:  # a damaged entity may fail in any way; it must not take the drawing with it
            store.left_out[DAMAGED, kind] += 1
    return store


def _why_not_read(kind: str) -> tuple[str, str]:
    """Reason and name to count an entity of a type without a handler by."""
    if len(kind) < 3 or kind in ("SEQEND", "VERTEX", "ATTRIB"):  # left over when the damaged rest was skipped
        return DAMAGED, kind or "without a type"
    for reason, kinds in _REASONS:
        if kind in kinds:
            return reason, kind
    own = "PROXY" in kind or (kind not in ENTITY_CLASSES and kind not in _UNDRAWN)
    return (PROXY if own else "not drawable"), kind


def _line(store: Gathered, entity: Any, have: Have) -> None:
    a, b = have["start"], have["end"]
    store.lines.extend((a.x, a.y, a.z, b.x, b.y, b.z))
    store.line_row.append(store.row(entity, have, "LINE"))


def _lwpolyline(store: Gathered, entity: Any, have: Have) -> None:
    values = entity.lwpoints.values
    if len(values) < 2:
        store.left_out["not drawable", "LWPOLYLINE"] += 1
        return
    closed = bool(have.get("flags", 0) & 1)
    width = have.get("const_width") or _least_width(values[:, 2:4], closed)
    row = store.row(entity, have, "LWPOLYLINE", closed)
    store.polys.append(values[:, (0, 1, 4)])
    store.poly.append((row, have.get("elevation", 0.0), store.frame(have), closed, OUTLINE, width))


def _polyline(store: Gathered, entity: Any, have: Have) -> None:
    flags = have.get("flags", 0)
    if flags & (16 | 64):
        add_polyline_mesh(store, entity, have)
        return
    seen = [v for v in (vars(vertex.dxf) for vertex in entity.vertices) if not v.get("flags", 0) & 16]
    if len(seen) < 2:
        store.left_out["not drawable", "POLYLINE"] += 1
        return
    closed = bool(flags & 1)
    row = store.row(entity, have, "POLYLINE", closed)
    if flags & 8:
        _chain(store, [v["location"] for v in seen], closed, row)
        return
    values = np.array([(v["location"].x, v["location"].y, v.get("bulge", 0.0)) for v in seen])
    usual = (have.get("default_start_width", 0.0), have.get("default_end_width", 0.0))
    widths = [(v.get("start_width", usual[0]), v.get("end_width", usual[1])) for v in seen]
    width = _least_width(np.array(widths), closed)
    store.polys.append(values)
    store.poly.append((row, seen[0]["location"].z, store.frame(have), closed, OUTLINE, width))


def _least_width(widths: Any, closed: bool) -> float:
    """Width a polyline has everywhere: an arrow, tapering to nothing, has none. The last of an open one is unused."""
    return float((widths if closed else widths[:-1]).min())


def _chain(store: Gathered, points: list[Any], closed: bool, row: int) -> None:
    """Points in space joined by straight lines; seen from above, so a ring when closed."""
    values = np.array([(p.x, p.y, 0.0) for p in points])
    store.polys.append(values)
    store.poly.append((row, points[0].z, 0, closed, OUTLINE, 0.0))


def _arc(store: Gathered, entity: Any, have: Have) -> None:
    start = math.radians(have.get("start_angle", 0.0))
    sweep = math.radians(have.get("end_angle", 360.0)) - start
    sweep = sweep % _FULL or _FULL
    c, r = have["center"], have["radius"]
    store.conics.extend((c.x, c.y, c.z, r, 0.0, 0.0, 0.0, r, 0.0, start, sweep))
    store.conic.append((store.row(entity, have, "ARC"), store.frame(have), False))


def _circle(store: Gathered, entity: Any, have: Have) -> None:
    c, r = have["center"], have["radius"]
    store.conics.extend((c.x, c.y, c.z, r, 0.0, 0.0, 0.0, r, 0.0, 0.0, _FULL))
    store.conic.append((store.row(entity, have, "CIRCLE", True), store.frame(have), True))


def _ellipse(store: Gathered, entity: Any, have: Have) -> None:
    c, major = have["center"], have["major_axis"]
    minor = entity.minor_axis
    start = have.get("start_param", 0.0)
    sweep = (have.get("end_param", _FULL) - start) % _FULL
    closed = sweep < 1e-9 or sweep > _FULL - 1e-9
    sweep = _FULL if closed else sweep
    store.conics.extend((c.x, c.y, c.z, major.x, major.y, major.z, minor.x, minor.y, minor.z, start, sweep))
    store.conic.append((store.row(entity, have, "ELLIPSE", closed), 0, closed))


def _spline(store: Gathered, entity: Any, have: Have) -> None:
    curve = entity.construction_tool()
    points = np.array([(p.x, p.y, p.z) for p in curve.approximate(max(16, _SPLINE_CHORDS * curve.count // 4))])
    row = store.row(entity, have, "SPLINE", bool(entity.closed))
    arc = arc_from_points(points[:, :2])
    if arc is not None:
        cx, cy, r, start, sweep = arc
        store.conics.extend((cx, cy, points[0, 2], r, 0.0, 0.0, 0.0, r, 0.0, start, sweep))
        store.conic.append((row, 0, abs(sweep) > _FULL - 1e-6))
        return
    store.polys.append(np.column_stack([points[:, :2], np.zeros(len(points))]))
    store.poly.append((row, float(points[0, 2]), 0, bool(entity.closed), OUTLINE, 0.0))


def _solid(store: Gathered, entity: Any, have: Have) -> None:
    corners = [have[f"vtx{n}"] for n in (0, 1, 3, 2) if f"vtx{n}" in have]
    values = np.array([(p.x, p.y, 0.0) for p in corners])
    row = store.row(entity, have, entity.DXFTYPE, True)
    store.polys.append(values)
    store.poly.append((row, corners[0].z, store.frame(have), True, _SOLID, 0.0))


def _mline(store: Gathered, entity: Any, have: Have) -> None:
    """The lines of an MLINE. An end that is rounded off is drawn straight across where the wall's axis ends: the arc is
    the style's, and would leave the wall without an end.
    """
    row = store.row(entity, have, "MLINE", bool(entity.is_closed))
    for part in entity.virtual_entities():
        piece = vars(part.dxf)
        if part.DXFTYPE == "LINE":
            a, b = piece["start"], piece["end"]
            store.lines.extend((a.x, a.y, a.z, b.x, b.y, b.z))
            store.line_row.append(row)
        elif part.DXFTYPE == "ARC":
            a, b = part.start_point, part.end_point
            store.lines.extend((a.x, a.y, a.z, b.x, b.y, b.z))
            store.line_row.append(row)


def _hatch(store: Gathered, entity: Any, have: Have) -> None:
    solid = bool(have.get("solid_fill", 0))
    pattern = "SOLID" if solid else str(have.get("pattern_name", ""))
    elevation = have.get("elevation")
    height = elevation.z if elevation is not None else 0.0
    rings = [ring for path in entity.paths.paths if len(ring := hatch_ring(path)) > 1]
    if not rings:
        store.left_out["not drawable", "HATCH without outline"] += 1
        return
    row = store.row(entity, have, "HATCH", True)
    for ring, hole in zip(rings, _holes(rings, have.get("hatch_style", 0)), strict=True):
        store.polys.append(ring)
        store.poly.append((row, height, store.frame(have), True, RingNote(True, pattern, hole), 0.0))


def _holes(rings: list[Any], style: int) -> list[bool]:
    """Which rings of a hatch are holes: those inside an odd number of others (none where islands are ignored).

    The file's own flags for outer rings are not trusted: many programs leave them out.
    """
    if len(rings) == 1 or style == _ISLANDS_IGNORED:
        return [False] * len(rings)
    import shapely

    from takeoff.geometry.near import all_met

    polygons = np.array([shapely.Polygon(_rounded(ring)) for ring in rings])
    # A ring's own first corner may lie on its neighbour: its middle decides.
    middles = shapely.point_on_surface(polygons)
    inner, outer = all_met("outlines of a hatch", shapely.STRtree(polygons), middles, predicate="within")
    smaller = shapely.area(polygons)[inner] < shapely.area(polygons)[outer]
    depth = np.bincount(inner[smaller], minlength=len(rings))
    return [bool(d % 2) for d in depth]


def _rounded(ring: Any) -> Any:
    """Corners of a ring (n, 2) with the middle of each side's bulge between them; a circle has but two corners."""
    corners = ring[:, :2]
    side = np.roll(corners, -1, axis=0) - corners
    middle = corners + side / 2 + np.column_stack([side[:, 1], -side[:, 0]]) * ring[:, 2:] / 2
    return np.stack([corners, middle], axis=1).reshape(-1, 2)


def hatch_ring(path: Any) -> np.ndarray[Any, Any]:
    """One boundary path of a hatch as x, y, bulge rows (n, 3)."""
    if hasattr(path, "vertices"):
        return np.array(path.vertices, dtype=float).reshape(-1, 3)
    rows: list[tuple[float, float, float]] = []
    for edge in path.edges:
        rows.extend(_edge_rows(edge))
    return np.array(rows, dtype=float).reshape(-1, 3)


def _edge_rows(edge: Any) -> list[tuple[float, float, float]]:
    kind = type(edge).__name__
    if kind == "LineEdge":
        return [(edge.start.x, edge.start.y, 0.0)]
    if kind == "ArcEdge":
        sweep = math.radians(edge.end_angle - edge.start_angle) % _FULL or _FULL
        pieces = math.ceil(sweep / math.pi + 1e-9)
        bulge = math.tan(sweep / pieces / 4) * (1 if edge.ccw else -1)
        angles = [math.radians(edge.start_angle) + sweep * n / pieces for n in range(pieces + 1)]
        if not edge.ccw:
            angles.reverse()
        c, r = edge.center, edge.radius
        return [(c.x + r * math.cos(a), c.y + r * math.sin(a), bulge) for a in angles[:-1]]
    points = list(edge.construction_tool().flattening(edge_sag(edge)))
    if kind == "EllipseEdge" and not edge.ccw:
        points.reverse()
    return [(p.x, p.y, 0.0) for p in points[:-1]]


def edge_sag(edge: Any) -> float:
    """Flattening distance for an ellipse or spline edge: a thousandth of its size."""
    if hasattr(edge, "major_axis"):
        return max(float(edge.major_axis.magnitude) * 1e-3, 1e-9)
    xs, ys = [p.x for p in edge.control_points], [p.y for p in edge.control_points]
    return float(max(max(xs) - min(xs), max(ys) - min(ys)) * 1e-3 or 1e-9)


HANDLERS: dict[str, Callable[[Gathered, Any, Have], None]] = {
    "LINE": _line,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "MLINE": _mline,
    "HATCH": _hatch,
    "MPOLYGON": _hatch,
    "SOLID": _solid,
    "TRACE": _solid,
    "TEXT": add_text,
    "ATTDEF": add_text,
    "MTEXT": add_mtext,
    "DIMENSION": add_dimension,
    "INSERT": add_insert,
    "ACAD_TABLE": add_table,
    "3DFACE": add_face,
    "MESH": add_mesh,
    "MULTILEADER": add_multileader,
    "MLEADER": add_multileader,
}
