"""Which spaces are rooms.

Terms:
  named     a room's label stands in it.
  entered   an opening leads into it.
  room      a space backed by walls that is named or entered, or large enough that it must be asked about.
  shaft     a small closed space with neither name nor opening: duct, chimney, lift pit, cavity. Listed, never measured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.planar import Arrangement, without_edges
from takeoff.geometry.shapes import strips_along
from takeoff.geometry.vectors import directions, left_of
from takeoff.plan.enclose import Enclosure
from takeoff.plan.faces import Faces, classify
from takeoff.plan.jambs import THICKEST, first_hits
from takeoff.plan.layers import Role
from takeoff.plan.leaks import leak_stops, loose_stops
from takeoff.plan.linework import LEAK, SPLIT, Lines, made_lines
from takeoff.plan.openings import Candidate
from takeoff.plan.outlines import agreeing_rings, ring_lines
from takeoff.plan.soften import edge_kinds, pocket_edges, soft_edges, walls_have_bodies

__all__ = ["Numbered", "Spaces", "beside_openings", "find_spaces"]

_BACKING = 0.5
"""Share of a room's outline that must have a wall's body behind it, in a drawing whose walls have bodies."""
_ASK_AREA = 1.5
"""A closed space with neither name nor opening is asked about from this floor area on, m2; smaller is a shaft."""
_FLOOR, _FLOOR_WIDE = 1.0, 0.4
"""A filled face so large, m2, and so wide (2 x area / perimeter), metres, into which an opening leads straight is a
tiled floor, no wall."""
_WAY_IN = 0.45
"""Narrower openings lead into no room, metres."""
_ASK_WIDTH = 0.6
"""Narrower closed spaces with neither name nor opening are shafts or cavities, metres: 1.5 m2 squared are 0.61."""
_ENCLOSED = 2
"""A strip round the house encloses more rooms than a cupboard or a core, itself counted."""
_SEVERAL, _OLD = 2, 0.2
"""So many openings, and this share of all, tell how thick the walls of an old house are."""
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
    room: Mask
    named: Mask
    entered: Mask
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
    by_hand: str = ""
    """'split' or 'join' where the job file made it."""


@dataclass(frozen=True)
class _Classes:
    """Faces with what is known of them."""

    faces: Faces
    known: Mask
    named: Mask
    entered: Mask


def find_spaces(
    drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure, names: Floats, leaks: bool = True
) -> tuple[Enclosure, Spaces]:
    """Rooms and other spaces of an enclosure; `names` (n, 2) are the places of room labels.

    The enclosure comes back with its leaks stopped, unless `leaks` is false, and with the office's own room outlines
    added where they agree with the walls.
    """
    enclosure = _stopped(enclosure) if leaks else enclosure
    solids = np.concatenate([_drawn_solids(drawing, roles, enclosure), _in_deep_walls(enclosure.candidates)])
    arrangement, found, bodied = _softened(enclosure, solids, names, np.zeros(0, dtype=object))
    floors = np.flatnonzero(found.faces.space)
    rings = agreeing_rings(drawing, roles, enclosure, arrangement.polygons[floors])
    if len(rings):
        enclosure = enclosure.with_lines(ring_lines(rings))
        arrangement, found, bodied = _softened(enclosure, solids, names, rings)
    kinds = edge_kinds(arrangement, enclosure.lines)
    faces = replace(found.faces, backing=_backing(arrangement, found.faces, enclosure.runs, kinds == SPLIT))
    backed = (faces.backing >= _BACKING) | (not bodied) | found.named
    wide = (faces.area >= _ASK_AREA) & (faces.width >= _ASK_WIDTH)
    room = faces.space & backed & (found.named | found.entered | wide)
    room &= ~_round_the_house(arrangement, room, found.named, enclosure.candidates)
    return enclosure, Spaces(
        arrangement, kinds, faces, room, found.named, found.entered, bodied
    )


def _stopped(enclosure: Enclosure) -> Enclosure:
    """The enclosure with its leaks stopped: loose faces first, for rooms run off past them."""
    carried = _with_stops(enclosure, loose_stops(enclosure.arrangement, enclosure.lines))
    return _with_stops(carried, leak_stops(carried.arrangement))


def _with_stops(enclosure: Enclosure, stops: Floats) -> Enclosure:
    return enclosure.with_lines(made_lines(stops, LEAK)) if len(stops) else enclosure


def _round_the_house(arrangement: Arrangement, room: Mask, named: Mask, candidates: Sequence[Candidate]) -> Mask:
    """Nameless strips (mask) that enclose rooms and have no opening in their outer wall: a parapet's or a boundary
    wall's, no corridor.
    """
    strips = np.zeros(len(room), dtype=bool)
    ringed = [n for n in np.flatnonzero(room & ~named).tolist() if len(arrangement.rings[n]) > 1]
    if not ringed:
        return strips
    inside = shapely.point_on_surface(arrangement.polygons[room])
    ways = shapely.points(beside_openings(candidates)).reshape(len(candidates), 2, len(_BEYOND))
    for n in ringed:
        polygon = arrangement.polygons[n]
        whole = shapely.polygons(shapely.get_exterior_ring(polygon))
        held = shapely.contains_xy(whole, *shapely.get_coordinates(inside).T).sum()
        hollow = whole.area - polygon.area
        within, beside = shapely.contains(whole, ways).any(axis=2), shapely.contains(polygon, ways).any(axis=2)
        outward = beside.any(axis=1) & ~within.all(axis=1)
        strips[n] = held > _ENCLOSED and hollow >= polygon.area and not outward.any()
    return strips


def _backing(arrangement: Arrangement, faces: Faces, runs: Floats, decided: Mask) -> Floats:
    """The backing of spaces, counting sides whose wall is open at an end: another line runs behind them, a
    wall's thickness off; and the edges that a person has `decided`.
    """
    backing = faces.backing.copy()
    poor = np.flatnonzero(faces.space & (backing < 1.0))
    if not len(poor):
        return backing
    half = np.concatenate([arrangement.rings[f][0] for f in poor])
    face = np.repeat(poor, [len(arrangement.rings[f][0]) for f in poor])
    ends = arrangement.nodes[arrangement.edges[half // 2]]
    ends = np.where((half % 2 == 0)[:, None, None], ends, ends[:, ::-1])
    way = ends[:, 1] - ends[:, 0]
    length = np.hypot(way[:, 0], way[:, 1])
    outward = np.column_stack([way[:, 1], -way[:, 0]]) / np.maximum(length, 1e-9)[:, None]
    hit, _ = first_hits(ends.mean(axis=1), outward, np.full(len(half), THICKEST), runs)
    across = np.where(half % 2 == 0, arrangement.right[half // 2], arrangement.left[half // 2])
    behind = (hit >= 0) | decided[half // 2] | np.concatenate([faces.solid, [False]])[across]
    total = np.bincount(face, length, minlength=len(backing))
    share = np.bincount(face, length * behind, minlength=len(backing)) / np.maximum(total, 1e-9)
    return np.where(faces.space, np.maximum(backing, share), backing)


def _softened(
    enclosure: Enclosure, solids: np.ndarray, names: Floats, rings: np.ndarray
) -> tuple[Arrangement, _Classes, bool]:
    """The arrangement without the lines that bound no room, its faces' classes, and whether walls have bodies."""
    arrangement, lines, candidates = enclosure.arrangement, enclosure.lines, enclosure.candidates
    if len(rings) and (drop := _within(arrangement, rings)).any():
        arrangement = without_edges(arrangement, drop)
    found = _classes(arrangement, candidates, solids, names, rings)
    bodied = walls_have_bodies(arrangement, lines, found.faces)
    soft = soft_edges(arrangement, lines, candidates, found.faces, found.named, found.entered, bodied)
    if (drop := soft & ~_by_hand(arrangement, lines)).any():
        arrangement = without_edges(arrangement, drop)
        found = _classes(arrangement, candidates, solids, names, rings)
    if bodied:
        entered, _ = _entered(arrangement, _leading_in(arrangement, found.faces, candidates), rings)
        pockets = pocket_edges(arrangement, lines, found.faces, found.known, found.named, entered)
        gone = pockets | _furniture(arrangement, found.faces, names)
        if (drop := gone & ~_by_hand(arrangement, lines)).any():
            arrangement = without_edges(arrangement, drop)
            found = _classes(arrangement, candidates, solids, names, rings)
    return arrangement, found, bodied


def _by_hand(arrangement: Arrangement, lines: Lines) -> Mask:
    """Edges (mask) that a person parts a room by: they stay, whatever the parts look like."""
    return np.asarray(edge_kinds(arrangement, lines) == SPLIT)


def _within(arrangement: Arrangement, rings: np.ndarray) -> Mask:
    """Edges (mask) between two faces that lie in one and the same ring."""
    home = np.full(len(arrangement.polygons) + 1, -1, dtype=np.int64)
    face, ring = shapely.STRtree(rings).query(arrangement.insides, predicate="within")
    home[face] = ring
    left, right = home[arrangement.left], home[arrangement.right]
    return np.asarray((left >= 0) & (left == right))


def _classes(
    arrangement: Arrangement, candidates: Sequence[Candidate], solids: np.ndarray, names: Floats, rings: np.ndarray
) -> _Classes:
    known, named = _inside_of(solids, arrangement), _holding(names, arrangement)
    entered, stepped = _entered(arrangement, candidates, rings)
    known[_floors(arrangement.polygons, np.flatnonzero(known & stepped))] = False
    return _Classes(classify(arrangement, known, named, entered, _thickest(candidates)), known, named, entered)


def _thickest(candidates: Sequence[Candidate]) -> float:
    """Thickness of the walls of an old house, metres: several of its openings go through walls as thick."""
    thick = sorted((c.thick for c in candidates), reverse=True)
    least = max(_SEVERAL, round(_OLD * len(thick)))
    return thick[least - 1] if len(thick) >= least else 0.0


def _floors(polygons: np.ndarray, faces: Index) -> Index:
    """Those of the `faces` (numbers) large and wide enough to be floors."""
    area, round_ = shapely.area(polygons[faces]), shapely.length(polygons[faces])
    return np.asarray(faces[(area >= _FLOOR) & (2 * area >= _FLOOR_WIDE * round_)])


def _entered(arrangement: Arrangement, candidates: Sequence[Candidate], rings: np.ndarray) -> tuple[Mask, Mask]:
    """Faces (masks) that an opening leads into, or in one of the `rings`; and those right beside an opening."""
    ways = beside_openings([c for c in candidates if c.width >= _WAY_IN])
    entered, stepped = _inside_of(rings, arrangement), np.zeros(len(arrangement.polygons), dtype=bool)
    way, face = arrangement.tree.query(shapely.points(ways.reshape(-1, 2)), predicate="within")
    entered[face] = True
    stepped[face[way % len(_BEYOND) == 0]] = True
    return entered, stepped


def _leading_in(arrangement: Arrangement, faces: Faces, candidates: Sequence[Candidate]) -> list[Candidate]:
    """The candidates without the windows that look out: what stands against those may be furniture."""
    ways = beside_openings(candidates)
    point, face = arrangement.tree.query(shapely.points(ways.reshape(-1, 2)), predicate="within")
    indoors = np.zeros(ways.shape[:3], dtype=bool)
    indoors.reshape(-1)[point[faces.space[face]]] = True
    beside = np.asarray(indoors.any(axis=2))
    inner = set(np.flatnonzero(beside[:, 0] & beside[:, 1]).tolist())
    return [c for n, c in enumerate(candidates) if n in inner or c.kind != "window"]


def _inside_of(shapes: np.ndarray, arrangement: Arrangement) -> Mask:
    """Faces (mask) within one of the `shapes`."""
    within = np.zeros(len(arrangement.polygons), dtype=bool)
    if len(shapes) and len(within):
        within[shapely.STRtree(shapes).query(arrangement.insides, predicate="within")[0]] = True
    return within


def _holding(places: Floats, arrangement: Arrangement) -> Mask:
    """Faces (mask) that hold one of the `places` (n, 2)."""
    holds = np.zeros(len(arrangement.polygons), dtype=bool)
    if len(places) and len(holds):
        holds[arrangement.tree.query(shapely.points(places), predicate="within")[1]] = True
    return holds


def beside_openings(candidates: Sequence[Candidate]) -> Floats:
    """Places (c, 2, 3, 2) beside the middle of each opening: on either side, near to far."""
    axis = np.array([c.axis for c in candidates], dtype=float).reshape(-1, 4)
    thick = np.array([c.thick for c in candidates], dtype=float)
    way = axis[:, 2:] - axis[:, :2]
    unit = directions(way)
    normal = left_of(unit)
    middle = (axis[:, :2] + axis[:, 2:]) / 2
    off = thick[:, None] / 2 + np.array(_BEYOND)
    out = normal[:, None, :] * off[:, :, None]
    return np.stack([middle[:, None] + out, middle[:, None] - out], axis=1)


def _drawn_solids(drawing: Drawing, roles: Sequence[Role], enclosure: Enclosure) -> np.ndarray:
    """Polygons of filled or closed shapes on fabric layers, and of thin fills anywhere, that are bodies of
    walls or piers.
    """
    bodies = enclosure.bodies
    filling = np.array([r.name in ("hatch", "unknown", "structure") for r in roles], dtype=bool)
    layer = drawing.layer_numbers[bodies.entity]
    own = enclosure.fabric_layers[layer] | (bodies.filled & filling[layer])
    return np.asarray(bodies.shapes[own])


def _in_deep_walls(candidates: Sequence[Candidate]) -> np.ndarray:
    """The room that openings take up in thick walls: recesses and frames there are no furniture."""
    deep = [c for c in candidates if c.recessed]
    if not deep:
        return np.zeros(0, dtype=object)
    return strips_along(np.array([c.axis for c in deep]), np.array([c.thick for c in deep]))


def _furniture(arrangement: Arrangement, faces: Faces, names: Floats) -> Mask:
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
        holders = arrangement.tree.query(shapely.points(names), predicate="within")[1]
        loose[face_part[holders]] = False
    return np.asarray(loose[part])
