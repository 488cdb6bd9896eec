"""What the job file says of rooms: splits, joins and names. An override that matches nothing is an error.

Terms:
  split   a line across one room; the parts are called R3a, R3b ..., a on the left of the line as it is written.
  join    rooms run together across the openings and lines between them; the result keeps the first room's ref.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.planar import OUTSIDE, Arrangement, without_edges
from takeoff.geometry.vectors import directions
from takeoff.job import Job
from takeoff.plan.enclose import Enclosure
from takeoff.plan.layers import Role
from takeoff.plan.linework import SPLIT, made_lines
from takeoff.plan.model import Room
from takeoff.plan.rooms import Numbered, Spaces, find_spaces

__all__ = ["check_refs", "decided", "named_rooms"]

_OVERRUN = 0.01
"""Split lines are carried on this far past the room, metres, so that they meet its walls."""
_AT_JAMB = 0.03
"""A split line may end this near a jamb, metres."""


def decided(
    drawing: Drawing,
    roles: Sequence[Role],
    enclosure: Enclosure,
    names: Floats,
    spaces: Spaces,
    rooms: list[Numbered],
    job: Job,
) -> tuple[Enclosure, Spaces, list[Numbered]]:
    """Enclosure, spaces and rooms once the job file's splits and joins are done.

    Raises `JobError` for a room that is not there, a line that does not cross its room, rooms that are no neighbours.
    """
    polygons = {r.ref: spaces.arrangement.polygons[r.face] for r in rooms}
    if job.split:
        cuts = _cuts(job, polygons, drawing, enclosure)
        enclosure, spaces = find_spaces(drawing, roles, enclosure.with_lines(made_lines(cuts, SPLIT)), names)
        rooms = _renumbered(spaces, rooms, polygons, job, drawing)
    for number, _ in enumerate(job.join):
        spaces, rooms = _joined(enclosure, spaces, rooms, job, number)
    return enclosure, spaces, rooms


def _cuts(job: Job, polygons: dict[str, shapely.Polygon], drawing: Drawing, enclosure: Enclosure) -> Floats:
    rows: list[tuple[float, ...]] = []
    bridges = [c.bridges for c in enclosure.candidates if len(c.bridges)]
    across = shapely.linestrings(np.concatenate(bridges).reshape(-1, 2, 2)) if bridges else np.zeros(0, dtype=object)
    for number, split in enumerate(job.split):
        if split.room not in polygons:
            raise job.error(("split", number, "room"), f"there is no room {split.room}", _refs(polygons))
        line = shapely.LineString(_local(split.line, drawing))
        inside = shapely.get_parts(polygons[split.room].intersection(line))
        pieces = [p for p in inside if p.geom_type == "LineString" and p.length > 0.05]
        if not pieces:
            raise job.error(
                ("split", number, "line"),
                f"the line does not cross {split.room}",
                "two points on either side of the room",
            )
        if any(_in_opening(shapely.Point(end), across) for p in pieces for end in p.coords):
            raise job.error(
                ("split", number, "line"), f"the line cuts an opening of {split.room}", "a line from wall to wall"
            )
        rows += [_longer(np.array(p.coords)) for p in pieces]
    return np.array(rows, dtype=float).reshape(-1, 4)


def _in_opening(end: shapely.Point, across: np.ndarray) -> bool:
    """Whether a line's end lies on one of the lines `across` openings, clear of its jambs."""
    on = across[shapely.distance(across, end) < _OVERRUN]
    along = shapely.line_locate_point(on, end)
    return bool(((along > _AT_JAMB) & (along < shapely.length(on) - _AT_JAMB)).any())


def _local(line: Sequence[tuple[float, float]], drawing: Drawing) -> Floats:
    """Sheet metres to the plan's own frame."""
    return np.array(line, dtype=float) - np.array(drawing.origin) * drawing.metres_per_unit


def _longer(ends: Floats) -> tuple[float, ...]:
    way = ends[-1] - ends[0]
    unit = directions(way)
    return (*(ends[0] - unit * _OVERRUN).tolist(), *(ends[-1] + unit * _OVERRUN).tolist())


def _renumbered(
    spaces: Spaces, before: Sequence[Numbered], polygons: dict[str, shapely.Polygon], job: Job, drawing: Drawing
) -> list[Numbered]:
    """Refs of the rooms after the cut: as before, with letters for the parts of a split room."""
    cut = {s.room: s for s in job.split}
    faces = np.flatnonzero(spaces.faces.space)
    inside = shapely.point_on_surface(spaces.arrangement.polygons[faces])
    tree = shapely.STRtree([polygons[r.ref] for r in before])
    parts: dict[int, list[int]] = {}
    for face, room in tree.query(inside, predicate="within").T.tolist():
        parts.setdefault(room, []).append(face)
    numbered = []
    for n, room in enumerate(before):
        own = parts.get(n, [])
        if room.ref not in cut:
            numbered += [replace(room, face=int(faces[k])) for k in own[:1]]
            continue
        if len(own) < 2:
            number = next(k for k, s in enumerate(job.split) if s.room == room.ref)
            raise job.error(
                ("split", number, "line"), f"the line does not part {room.ref} in two", "a line from wall to wall"
            )
        a, b = _local(cut[room.ref].line, drawing)
        places = [shapely.get_coordinates(inside[k])[0] for k in own]
        left = [float((b - a)[0] * (p - a)[1] - (b - a)[1] * (p - a)[0]) for p in places]
        for letter, i in zip("abcdefghij", np.argsort([-v for v in left], kind="stable"), strict=False):
            x, y = places[i]
            part = (int(faces[own[i]]), f"{room.ref}{letter}", room.plan, (float(x), float(y)), "split")
            numbered.append(Numbered(*part))
    return numbered


def _joined(
    enclosure: Enclosure, spaces: Spaces, rooms: list[Numbered], job: Job, number: int
) -> tuple[Spaces, list[Numbered]]:
    refs = job.join[number].rooms
    by_ref = {r.ref: r for r in rooms}
    for ref in refs:
        if ref not in by_ref:
            raise job.error(("join", number, "rooms"), f"there is no room {ref}", _refs(by_ref))
    faces = {by_ref[r].face for r in refs}
    arrangement = spaces.arrangement
    drop = _between(arrangement, spaces, faces)
    merged = without_edges(arrangement, drop)
    places = shapely.points([by_ref[r].inside for r in refs])
    home = shapely.STRtree(merged.polygons).query(places, predicate="within")[1]
    if len(set(home.tolist())) != 1:
        raise job.error(
            ("join", number, "rooms"),
            f"{' and '.join(refs)} have no opening or line between them",
            "rooms side by side",
        )
    return _spaces_over(spaces, merged, rooms, refs)


def _between(arrangement: Arrangement, spaces: Spaces, faces: set[int]) -> Mask:
    """Edges between the faces, and bridges of reveals that touch two of them."""
    left, right = arrangement.left, arrangement.right
    own = np.zeros(len(arrangement.polygons) + 1, dtype=bool)
    own[list(faces)] = True
    own[OUTSIDE] = False
    direct = own[left] & own[right] & (left != right)
    solid = np.concatenate([spaces.faces.solid, [False]])
    laid = spaces.kinds >= 4
    touching: dict[int, set[int]] = {}
    for e in np.flatnonzero(laid & ((own[left] & solid[right]) | (own[right] & solid[left]))).tolist():
        reveal, room = (int(right[e]), int(left[e])) if own[left[e]] else (int(left[e]), int(right[e]))
        touching.setdefault(reveal, set()).add(room)
    through = np.zeros(len(own), dtype=bool)
    through[[f for f, met in touching.items() if len(met) > 1]] = True
    return np.asarray(direct | (laid & ((through[left] & own[right]) | (through[right] & own[left]))))


def _spaces_over(
    spaces: Spaces, merged: Arrangement, rooms: Sequence[Numbered], refs: Sequence[str]
) -> tuple[Spaces, list[Numbered]]:
    """The masks of `spaces` carried over to the arrangement `merged`, and the rooms with their new faces."""
    old = spaces.arrangement.polygons
    inside = shapely.point_on_surface(merged.polygons)
    new, source = shapely.STRtree(old).query(inside, predicate="within")
    kept = np.full(len(merged.polygons), -1, dtype=np.int64)
    kept[new] = source
    pick = np.maximum(kept, 0)
    faces = spaces.faces
    area = shapely.area(merged.polygons)
    carried = replace(
        faces,
        area=area,
        width=2 * area / np.maximum(shapely.length(merged.polygons), 1e-9),
        solid=faces.solid[pick] & (kept >= 0),
        space=faces.space[pick],
        backing=faces.backing[pick],
    )
    stay = [r for r in rooms if r.ref not in refs[1:]]
    home = shapely.STRtree(merged.polygons).query(shapely.points([r.inside for r in stay]), predicate="within")
    face_of = dict(zip(home[0].tolist(), home[1].tolist(), strict=True))
    numbered = [
        replace(r, face=face_of[n], by_hand="join" if r.ref == refs[0] else r.by_hand) for n, r in enumerate(stay)
    ]
    room = np.zeros(len(merged.polygons), dtype=bool)
    room[[r.face for r in numbered]] = True
    kinds = _kinds_over(spaces, merged)
    return replace(
        spaces,
        arrangement=merged,
        kinds=kinds,
        faces=replace(carried, solid=carried.solid & ~room, space=carried.space | room),
        room=room,
        named=spaces.named[pick],
        entered=spaces.entered[pick],
    ), numbered


def _kinds_over(spaces: Spaces, merged: Arrangement) -> Index:
    kind = {tuple(e): k for e, k in zip(spaces.arrangement.edges.tolist(), spaces.kinds.tolist(), strict=True)}
    return np.array([kind[tuple(e)] for e in merged.edges.tolist()], dtype=np.int64)


def named_rooms(rooms: Sequence[Room], job: Job) -> tuple[Room, ...]:
    """The rooms with the names that the job file gives them, and without printed figures that were another room's:
    those of a joined room, and of a split one where not every part has its own.
    """
    given = {
        f"{s.room}{letter}": name for s in job.split if s.names for letter, name in zip("ab", s.names, strict=True)
    }
    given |= {j.rooms[0]: j.name for j in job.join if j.name}
    given |= {ref: row.name for ref, row in job.rooms.items() if row.name}
    stale = {j.rooms[0] for j in job.join}
    for split in job.split:
        parts = [r for r in rooms if r.ref[:-1] == split.room]
        if any(r.printed_area_m2 is None and r.printed_size_m is None for r in parts):
            stale |= {r.ref for r in parts}
    bare = (replace(r, printed_area_m2=None, printed_size_m=None) if r.ref in stale else r for r in rooms)
    return tuple(replace(r, name=given[r.ref]) if r.ref in given else r for r in bare)


def check_refs(job: Job, rooms: Sequence[Room]) -> None:
    """Raises `JobError` when a [rooms.X] table names no room."""
    known = {r.ref: r for r in rooms}
    for ref in job.rooms:
        if ref not in known:
            raise job.error(("rooms", ref), "there is no such room", _refs(known))


def _refs(known: dict[str, object] | dict[str, shapely.Polygon] | dict[str, Numbered] | dict[str, Room]) -> str:
    refs = list(known)
    return f"one of {', '.join(refs[:12])}" + (" ..." if len(refs) > 12 else "") if refs else "no room was found"
