"""Which spaces are rooms.

Terms:
  named     a room's label stands in it.
  entered   an opening leads into it.
  room      a space backed by walls that is named or entered, or large enough that it must be asked about.
  shaft     a small closed space with neither name nor opening: duct, chimney, lift pit, cavity. Listed, never measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, components
from takeoff.geometry.planar import Arrangement, without_edges
from takeoff.plan.enclose import Enclosure
from takeoff.plan.faces import Faces, classify
from takeoff.plan.layers import Role
from takeoff.plan.openings import Candidate
from takeoff.plan.soften import edge_kinds, soft_edges, walls_have_bodies

__all__ = ["Numbered", "Spaces", "beside_openings", "find_spaces"]

_BACKING = 0.5
"""Share of a room's outline that must have a wall's body behind it, in a drawing whose walls have bodies."""
_ASK_AREA = 1.5
"""A closed space with neither name nor opening is asked about from this floor area on, m2; smaller is a shaft."""
_WAY_IN = 0.45
"""Narrower openings lead into no room, metres."""
_ASK_WIDTH = 0.7
"""Narrower closed spaces with neither name nor opening are shafts or cavities, metres."""
_FILLED_WIDTH, _OUTLINED_WIDTH = 0.8, 0.33
"""Widest filled and widest outlined shape on a fabric layer that is a wall's or pier's body, metres."""
_FURNITURE = 8.0
"""Largest island without a wall body that is taken for furniture, m2."""
_BEYOND = (0.08, 0.25, 0.5)
"""How far beyond a wall's face the room at an opening is looked for, metres."""


@dataclass(frozen=True)
class Spaces:
    """The faces once lines that bound nothing are gone; masks over faces."""

    arrangement: Arrangement
    kinds: Index
    """Kind of each edge."""
    faces: Faces
    room: Index
    named: Index
    entered: Index
    bodied: bool
    """The drawing's walls have two faces."""


Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Numbered:
    """A room's face with its ref and storey."""

    face: int
    ref: str
    plan: str
    inside: Point


def find_spaces(
    drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure, names: Floats
) -> Spaces:
    """Rooms and other spaces of an enclosure; `names` (n, 2) are the places of room labels."""
    solids = _drawn_solids(drawing, roles, enclosure)
    arrangement = enclosure.arrangement
    faces, named, _ = _classes(arrangement, enclosure.candidates, solids, names)
    bodied = walls_have_bodies(arrangement, faces)
    soft = soft_edges(drawing, roles, arrangement, enclosure.lines, faces, named, bodied)
    soft |= _furniture(arrangement, faces, names)
    if soft.any():
        arrangement = without_edges(arrangement, soft)
    faces, named, entered = _classes(arrangement, enclosure.candidates, solids, names)
    backed = (faces.backing >= _BACKING) | (not bodied) | named
    wide = (faces.area >= _ASK_AREA) & (faces.width >= _ASK_WIDTH)
    room = faces.space & backed & (named | entered | wide)
    return Spaces(arrangement, edge_kinds(arrangement, enclosure.lines), faces, room, named, entered, bodied)


def _classes(
    arrangement: Arrangement, candidates: Sequence[Candidate], solids: np.ndarray, names: Floats
) -> tuple[Faces, Index, Index]:
    polygons = arrangement.polygons
    known, named, entered = (np.zeros(len(polygons), dtype=bool) for _ in range(3))
    if len(polygons):
        inside = shapely.point_on_surface(polygons)
        if len(solids):
            known[shapely.STRtree(solids).query(inside, predicate="within")[0]] = True
        tree = shapely.STRtree(polygons)
        if len(names):
            named[tree.query(shapely.points(names), predicate="within")[1]] = True
        ways = beside_openings([c for c in candidates if c.width >= _WAY_IN])
        if len(ways):
            entered[tree.query(shapely.points(ways.reshape(-1, 2)), predicate="within")[1]] = True
    return classify(arrangement, known, named, entered), named, entered


def beside_openings(candidates: Sequence[Candidate]) -> Floats:
    """Places (c, 2, 3, 2) beside the middle of each opening: on either side, near to far."""
    axis = np.array([c.axis for c in candidates], dtype=float).reshape(-1, 4)
    thick = np.array([c.thick for c in candidates], dtype=float)
    way = axis[:, 2:] - axis[:, :2]
    unit = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    normal = np.column_stack([-unit[:, 1], unit[:, 0]])
    middle = (axis[:, :2] + axis[:, 2:]) / 2
    off = thick[:, None] / 2 + np.array(_BEYOND)
    out = normal[:, None, :] * off[:, :, None]
    return np.stack([middle[:, None] + out, middle[:, None] - out], axis=1)


def _drawn_solids(drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure) -> np.ndarray:
    """Polygons of filled or closed shapes on fabric layers, and of thin fills anywhere, that are bodies of walls or piers."""
    found = []
    for region in drawing.regions:
        layer = drawing.entities[region.entity].layer
        on_fabric = bool(enclosure.fabric_layers[layer])
        if len(region.ring) < 3 or not (on_fabric or (region.filled and roles[layer].name in ("hatch", "unknown", "structure"))):
            continue
        polygon = shapely.polygons(region.ring)
        width = 2 * polygon.area / max(polygon.length, 1e-9)
        if width <= (_FILLED_WIDTH if region.filled else _OUTLINED_WIDTH) and shapely.is_valid(polygon):
            found.append(polygon)
    return np.array(found, dtype=object)


def _furniture(arrangement: Arrangement, faces: Faces, names: Floats) -> Index:
    """Edges (mask) of islands without a wall's body, door or name: furniture drawn on a wall layer."""
    edges = arrangement.edges
    drop = np.zeros(len(edges), dtype=bool)
    if not len(edges):
        return drop
    part = components(len(arrangement.nodes), edges[:, 0], edges[:, 1])[edges[:, 0]]
    solid = np.concatenate([faces.solid, [False]])
    bodied = np.zeros(int(part.max()) + 1, dtype=bool)
    bodied[part[solid[arrangement.left] | solid[arrangement.right]]] = True
    face_part = np.full(len(faces.area), -1, dtype=np.int64)
    for ring, face in ((rings[0], n) for n, rings in enumerate(arrangement.rings)):
        face_part[face] = part[ring[0] // 2]
    area = np.bincount(face_part, faces.area, minlength=len(bodied)) if len(face_part) else np.zeros(len(bodied))
    inside_space = np.zeros(len(bodied), dtype=bool)
    for face, rings in enumerate(arrangement.rings):
        if faces.space[face]:
            for hole in rings[1:]:
                inside_space[part[hole[0] // 2]] = True
    loose = ~bodied & (area <= _FURNITURE) & inside_space
    if len(names) and len(face_part):
        holders = shapely.STRtree(arrangement.polygons).query(shapely.points(names), predicate="within")[1]
        loose[face_part[holders]] = False
    return np.asarray(loose[part])
