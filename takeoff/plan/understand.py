"""From line work to a plan: storeys, rooms with their sides, openings, and what must be asked.

The order of the steps is the order of this module's one public function; each step lives in a module of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.collector import put_off
from takeoff.drawing.model import Drawing, UnitFinding
from takeoff.errors import DrawingError
from takeoff.geometry.cluster import Floats, Index
from takeoff.geometry.vectors import directions
from takeoff.job import Job
from takeoff.plan.asking import (
    clutter_queries,
    doorless_queries,
    doubt_queries,
    drawn_otherwise_queries,
    left_out_queries,
    outline_queries,
)
from takeoff.plan.asking_openings import opening_queries
from takeoff.plan.backgrounds import fills_at
from takeoff.plan.confidence import Doubts, confidence_of, doorless, less_sure
from takeoff.plan.enclose import Enclosure
from takeoff.plan.found_openings import find_openings, overridden, split_parts
from takeoff.plan.glazing import glass_screens, with_glazing
from takeoff.plan.hand_openings import check_marked, marked_rooflights
from takeoff.plan.hand_walls import check_walls
from takeoff.plan.heights import HeightFinding, RoomHeight, find_heights
from takeoff.plan.labels import (
    NOT_PLASTERED,
    Assignment,
    RoomFacts,
    assign,
    printed_queries,
    room_facts,
)
from takeoff.plan.layer_use import layer_use
from takeoff.plan.left_over import entered_spaces, leading_nowhere, other_spaces
from takeoff.plan.low_walls import low_walls
from takeoff.plan.mixed import beside_what
from takeoff.plan.model import Opening, Plan, Point, Room, Side, Space, Storey
from takeoff.plan.opening_styles import styled
from takeoff.plan.openings import Candidate
from takeoff.plan.order import reading_order, storeys_at
from takeoff.plan.outlines import outlined_otherwise
from takeoff.plan.overrides import check_refs, decided, named_rooms
from takeoff.plan.rooflights import rooflight_openings
from takeoff.plan.rooms import Numbered, Spaces
from takeoff.plan.sides import RingSide, edge_arcs, outline_of, ring_sides, sides_of, walls_behind
from takeoff.plan.soften import lines_with_openings
from takeoff.plan.storeys import SheetRegion, alike_query
from takeoff.plan.survey import Survey, survey
from takeoff.plan.suspect import Suspicions, cluttered, suspicions
from takeoff.query import Query, query

__all__ = ["planned", "understand"]

_WEAK = 0.75
"""Less of a room's outline than this backed by walls is asked about."""
_SIDE_REACH = 0.45
"""A side stands no farther than this from the middle of an opening's wall, half the wall's thickness aside, metres:
the frame may stand deep in a recess."""
_FACE_FILL = 0.03
"""Where the other face was not found, the wall's fill is looked at so far behind this one, metres."""
_JUST_PAST = 0.05
"""An opening's middle lies no farther beyond the end of its side, metres: walls may be cut there."""


@put_off()
def understand(drawing: Drawing, unit: UnitFinding, job: Job) -> Plan:
    """The plan that `drawing` (in metres) shows, under the decisions of `job`.

    Raises `DrawingError` when there is nothing that could be a wall, `JobError` for overrides that match nothing.
    """
    return planned(survey(drawing, job), unit, job)


def planned(seen: Survey, unit: UnitFinding, job: Job) -> Plan:
    """The plan of what was surveyed, under the decisions of `job`, whose [[wall]] and [[opening]] rows are those of the
    survey. Raises as `understand` does.
    """
    drawing, roles, plans = seen.drawing, seen.roles, seen.plans
    storeys = _storeys(plans)
    found = _found_rooms(seen, storeys, job)
    openings = _openings(seen, found.screens, found.rooms, storeys, job)
    overhead = rooflight_openings(drawing, seen.rooflights, found.rooms)
    overhead = (*overhead, *marked_rooflights(drawing, job, found.rooms, len(overhead) + 1))
    openings = overridden((*openings, *overhead), job)
    rooms, openings = _with_openings(found.rooms, openings)
    openings = with_glazing(openings, rooms)
    unentered = doorless(rooms, openings)
    rooms = less_sure(rooms, unentered)
    origin = (drawing.origin[0] * unit.metres_per_unit, drawing.origin[1] * unit.metres_per_unit)
    asked = _queries(rooms, openings, found, plans, origin)
    asked += printed_queries(rooms, seen.names_tell)
    asked += opening_queries(openings, _guessed(seen), seen.witnesses) + doorless_queries(rooms, unentered)
    if not seen.names_tell:
        asked += doubt_queries(rooms, openings, found.beside, asked)
    queries = [*unit.queries, *alike_query(drawing, seen.sheet), *asked, *found.heights.queries]
    if not rooms:
        queries.append(_nothing_closed(seen.enclosure, storeys))
    check_refs(job, rooms)
    check_walls(job, rooms)
    check_marked(job, openings)
    return Plan(
        unit.unit,
        unit.metres_per_unit,
        unit.evidence,
        origin,
        storeys,
        rooms,
        openings,
        found.spaces,
        tuple(queries),
        layer_use(drawing, roles, seen.enclosure),
        low_walls(seen.labels, rooms, openings),
    )


def _guessed(seen: Survey) -> set[str]:
    """Handles of the lines of windows that may as well be piers."""
    entities = {e for c in seen.enclosure.candidates if c.guessed for e in c.entities}
    return {seen.drawing.entities[e].handle for e in entities}


def _nothing_closed(enclosure: Enclosure, storeys: Sequence[Storey]) -> Query:
    """The question when no room closes. Raises `DrawingError` when there is nothing that could be a wall."""
    if not len(enclosure.runs) or not storeys:
        raise DrawingError(
            "No walls were found in the drawing. Check that it is a floor plan and that the layers with the walls "
            "are switched on."
        )
    x0, y0, x1, y1 = storeys[0].bounds
    says = (
        "No closed room was found: the walls are open everywhere, or their layers are switched off. Look at the "
        "drawing, close the outlines of the rooms, and read it again."
    )
    return query("no-closed-room", says, about=[s.ref for s in storeys], at=((x0 + x1) / 2, (y0 + y1) / 2))


@dataclass(frozen=True)
class _Found:
    """Rooms without their openings, and what was learnt on the way."""

    rooms: tuple[Room, ...]
    spaces: tuple[Space, ...]
    assignment: Assignment
    heights: HeightFinding
    weak: tuple[str, ...]
    closed: tuple[str, ...]
    missing: dict[str, str]
    """Rooms of whose walls a line seems to be missing, and why."""
    beside: dict[str, str]
    """Rooms that something beside their walls may have been taken for."""
    otherwise: dict[str, str]
    """Rooms beside or over which something else is drawn, and why that matters."""
    cluttered: tuple[str, ...]
    """Storeys."""
    left_out: tuple[Space, ...]
    """Of the spaces those that may be rooms."""
    nowhere: list[Point]
    """Places beyond openings that lead out of a room into something that is none."""
    screens: list[Candidate]
    """Glass that stands in the rooms' outlines as a wall."""


def _storeys(plans: Sequence[SheetRegion]) -> tuple[Storey, ...]:
    return tuple(Storey(f"P{n}", p.title, p.bounds) for n, p in enumerate(plans, 1))


def _found_rooms(seen: Survey, storeys: Sequence[Storey], job: Job) -> _Found:
    drawing, roles, labels = seen.drawing, seen.roles, seen.labels
    enclosure, spaces = seen.mended, seen.spaces
    numbered = _numbered(spaces, storeys)
    if job.split or job.join:
        enclosure, spaces, numbered = decided(drawing, roles, enclosure, seen.names, spaces, numbered, job)
    faces = [n.face for n in numbered]
    assignment = _less_crowded(assign([spaces.arrangement.polygons[f] for f in faces], labels), numbered)
    refs = [n.ref for n in numbered]
    open_question = [not n.by_hand for n in numbered]
    heights = find_heights(drawing, roles, assignment, labels, refs)
    facts = [room_facts(group) for group in assignment.inside]
    shapes = _shapes(drawing, enclosure, spaces, faces, refs)
    inside = _label_places(spaces.arrangement.polygons[faces], facts)
    crowded = set(assignment.crowded)
    suspect = _suspicions(enclosure, spaces)
    outlines = np.array([sum(s.length_m for s in shape.sides) for shape in shapes])
    messy = cluttered(suspect.stray[faces], outlines, [n.plan for n in numbered], seen.mixed)
    missing = {n.ref: why for n in numbered if not n.by_hand and spaces.bodied and (why := suspect.why(n.face))}
    ringed = outlined_otherwise(drawing, roles, enclosure, spaces.arrangement.polygons[faces])
    otherwise = {refs[n]: why for n, why in ringed.items() if open_question[n]}
    doubted = beside_what(spaces) if seen.mixed else {}
    beside = {n.ref: doubted[n.face] for n in numbered if n.face in doubted and not n.by_hand}
    rooms = tuple(
        _room(
            spaces,
            numbered[n],
            facts[n],
            shapes[n],
            heights.rooms[n],
            inside[n],
            _doubts(spaces, numbered[n], facts[n], n in crowded, {*missing, *beside, *otherwise}, messy),
        )
        for n in range(len(faces))
    )
    weak = tuple(
        r.ref
        for r, f, asked in zip(rooms, faces, open_question, strict=True)
        if asked and spaces.bodied and spaces.faces.backing[f] < _WEAK and r.kind not in NOT_PLASTERED
    )
    closed = tuple(
        refs[n] for n, f in enumerate(faces) if open_question[n] and not spaces.entered[f] and not spaces.named[f]
    )
    asked = entered_spaces(spaces, storeys)
    others = other_spaces(spaces, storeys)
    nowhere = leading_nowhere(spaces, enclosure.candidates, seen.names_tell)
    window = np.array([*(roles[e.layer].name == "window" for e in drawing.entities), False])  # -1: laid by us
    screens = glass_screens(enclosure.lines, window[enclosure.lines.entity], spaces, enclosure.candidates)
    named = named_rooms(rooms, job)
    return _Found(
        named, others, assignment, heights, weak, closed, missing, beside, otherwise, messy, asked, nowhere, screens
    )


def _suspicions(enclosure: Enclosure, spaces: Spaces) -> Suspicions:
    hung = lines_with_openings(enclosure.lines, enclosure.candidates)
    return suspicions(
        enclosure.arrangement, spaces.arrangement, enclosure.lines, spaces.kinds, spaces.faces, spaces.room, hung
    )


def _doubts(
    spaces: Spaces, own: Numbered, facts: RoomFacts, crowded: bool, missing: set[str], messy: Sequence[str]
) -> Doubts:
    return Doubts(
        crowded=crowded,
        closed=not (spaces.entered[own.face] or spaces.named[own.face]),
        unnamed=not facts.name,
        weak=bool(spaces.bodied and spaces.faces.backing[own.face] < _WEAK),
        missing=own.ref in missing,
        cluttered=own.plan in messy,
    )


def _numbered(spaces: Spaces, storeys: Sequence[Storey]) -> list[Numbered]:
    faces = np.flatnonzero(spaces.room)
    if not len(faces):
        return []
    points = shapely.get_coordinates(shapely.point_on_surface(spaces.arrangement.polygons[faces]))
    centres = shapely.get_coordinates(shapely.centroid(spaces.arrangement.polygons[faces]))
    plan = storeys_at(storeys, points)
    order = reading_order([(float(x), float(y)) for x, y in centres])
    place = {n: k for k, n in enumerate(order)}
    ranked = sorted(range(len(faces)), key=lambda n: (plan[n], place[n]))
    return [
        Numbered(int(faces[n]), f"R{k}", f"P{plan[n] + 1}", (float(points[n, 0]), float(points[n, 1])))
        for k, n in enumerate(ranked, 1)
    ]


def _less_crowded(assignment: Assignment, numbered: Sequence[Numbered]) -> Assignment:
    """Only rooms with two names, or two numbers, are crowded: a number printed apart from its name is not a
    second room. Rooms that the job file has joined are meant to be one.
    """

    def several(n: int) -> bool:
        rooms = [x for x in assignment.inside[n] if x.is_room]
        return max(len({x.at for x in rooms if x.name}), len({x.number for x in rooms if x.number})) > 1

    crowded = (n for n in assignment.crowded if several(n) and numbered[n].by_hand != "join")
    return replace(assignment, crowded=tuple(crowded))


@dataclass(frozen=True)
class _Shape:
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]
    sides: tuple[Side, ...]


def _shapes(
    drawing: Drawing, enclosure: Enclosure, spaces: Spaces, faces: Sequence[int], refs: Sequence[str]
) -> list[_Shape]:
    """Outline, holes and named sides of each room."""
    arrangement = spaces.arrangement
    lines = enclosure.lines
    arcs = edge_arcs(arrangement, lines)
    rings = [[ring_sides(arrangement, lines, spaces.kinds, arcs, ring) for ring in arrangement.rings[f]] for f in faces]
    rings = [[ring for n, ring in enumerate(room) if n == 0 or len(outline_of(ring)) > 2] for room in rings]
    flat = [side for room in rings for ring in room for side in ring]
    middles, outward = _middles(flat)
    thick, beyond = walls_behind(arrangement, spaces.faces.solid, spaces.room, middles, outward)
    fills = fills_at(drawing, middles + outward * np.nan_to_num(thick / 2, nan=_FACE_FILL)[:, None])
    shapes, at = [], 0
    for n, room in enumerate(rings):
        count = sum(len(ring) for ring in room)
        own = slice(at, at + count)
        named = sides_of(drawing, refs[n], room, thick[own], beyond[own], fills[own])
        outlines = [outline_of(ring) for ring in room]
        shapes.append(_Shape(outlines[0], tuple(outlines[1:]), named))
        at += count
    return shapes


def _middles(sides: Sequence[RingSide]) -> tuple[Floats, Floats]:
    """A point on the middle piece of each side and the unit vector out of the room there."""
    pieces = np.array([_middle_piece(s) for s in sides], dtype=float).reshape(-1, 4)
    way = pieces[:, 2:] - pieces[:, :2]
    unit = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-12)[:, None]
    return (pieces[:, :2] + pieces[:, 2:]) / 2, np.column_stack([unit[:, 1], -unit[:, 0]])


def _middle_piece(side: RingSide) -> tuple[float, float, float, float]:
    k = (len(side.points) - 1) // 2
    a, b = side.points[k], side.points[k + 1]
    return float(a[0]), float(a[1]), float(b[0]), float(b[1])


def _label_places(polygons: npt.NDArray[np.object_], facts: Sequence[RoomFacts]) -> list[Point]:
    """Where each room is labelled: where its name stands, or else somewhere inside."""
    places = shapely.get_coordinates(shapely.point_on_surface(polygons))
    printed = np.array([p if f.at is None else f.at for p, f in zip(places, facts, strict=True)]).reshape(-1, 2)
    within = shapely.contains(polygons, shapely.points(printed))
    return [(float(x), float(y)) for x, y in np.where(within[:, None], printed, places)]


def _room(
    spaces: Spaces, own: Numbered, facts: RoomFacts, shape: _Shape, height: RoomHeight, label_at: Point, doubts: Doubts
) -> Room:
    return Room(
        ref=own.ref,
        name=facts.name,
        plan=own.plan,
        outline=shape.outline,
        holes=shape.holes,
        sides=shape.sides,
        floor_area_m2=float(spaces.arrangement.polygons[own.face].area),
        perimeter_m=float(sum(s.length_m for s in shape.sides)),
        height_m=height.height_m,
        height_from=height.height_from,
        confidence=confidence_of(shape.sides, doubts),
        label_at=label_at,
        kind=facts.kind or "room",
        number=facts.number,
        printed_area_m2=facts.printed_area_m2,
        printed_size_m=facts.printed_size_m,
        labels=facts.texts,
        handles=tuple(dict.fromkeys(h for s in shape.sides for h in s.handles)),
    )


def _openings(
    seen: Survey, screens: Sequence[Candidate], rooms: Sequence[Room], storeys: Sequence[Storey], job: Job
) -> tuple[Opening, ...]:
    enclosure = seen.enclosure
    single = styled(seen.drawing, split_parts(enclosure.candidates), enclosure.swings, enclosure.evidence)
    single += screens
    starts = np.array([c.axis[:2] for c in single], dtype=float).reshape(-1, 2)
    plans = [f"P{n + 1}" for n in storeys_at(storeys, starts)]
    return find_openings(seen.drawing, single, rooms, plans, seen.witnesses, job)


def _with_openings(rooms: Sequence[Room], openings: Sequence[Opening]) -> tuple[tuple[Room, ...], tuple[Opening, ...]]:
    """The rooms with each opening's ref in the side it stands in, and the openings without rooms that they do not
    bound.

    A door between two panels stands in no side of the room round it.
    """
    by_room: dict[str, list[int]] = {}
    for n, opening in enumerate(openings):
        for ref in opening.rooms if opening.kind != "rooflight" else ():
            by_room.setdefault(ref, []).append(n)
    held: dict[tuple[str, int], list[str]] = {}
    bounding: dict[int, list[str]] = {}
    for room in rooms:
        own = by_room.get(room.ref, [])
        lines = shapely.linestrings(np.array([(s.start, s.end) for s in room.sides]))
        for n in own:
            for side in _sides_of(room, lines, openings[n]):
                held.setdefault((room.ref, side), []).append(openings[n].ref)
                bounding.setdefault(n, []).append(room.ref)
    placed = tuple(
        replace(
            r,
            sides=tuple(
                replace(s, openings=tuple(held[r.ref, k])) if (r.ref, k) in held else s for k, s in enumerate(r.sides)
            ),
        )
        for r in rooms
    )
    return placed, tuple(
        o if o.kind == "rooflight" else replace(o, rooms=tuple(r for r in o.rooms if r in bounding.get(n, ())))
        for n, o in enumerate(openings)
    )


def _sides_of(room: Room, lines: Index, opening: Opening) -> list[int]:
    """Numbers of the sides that the opening stands in: the nearest about parallel one that runs past its middle, and
    the other face where the wall stands free in the room.
    """
    way = np.array(opening.jambs[1]) - np.array(opening.jambs[0])
    unit = directions(way)
    reach = (opening.wall_thickness_m or 0.0) / 2 + _SIDE_REACH
    at = np.array(opening.at)
    distance = shapely.distance(lines, shapely.Point(opening.at))
    faces: dict[bool, tuple[float, int]] = {}
    for n in np.argsort(distance, kind="stable").tolist():
        if distance[n] > reach:
            break
        start, end = np.array(room.sides[n].start), np.array(room.sides[n].end)
        length = max(float(np.hypot(*(end - start))), 1e-9)
        along = (end - start) / length
        slant = abs(float(unit[0] * along[1] - unit[1] * along[0]))
        past = -_JUST_PAST <= float((at - start) @ along) <= length + _JUST_PAST
        if slant < 0.35 and past:
            faces.setdefault(bool(along @ unit > 0), (float(distance[n]), n))
    nearest = min(faces.values(), default=None)
    if nearest is None:
        return []
    return [n for off, n in sorted(faces.values()) if n == nearest[1] or _faces_apart(room, nearest[1], n, at)]


def _faces_apart(room: Room, one: int, other: int, at: Floats) -> bool:
    """Whether both sides have the opening's middle outside the room: on their right, for the room is on the left."""

    def right(side: Side) -> bool:
        a, b = np.array(side.start), np.array(side.end)
        return float((b - a)[0] * (at - a)[1] - (b - a)[1] * (at - a)[0]) < 0

    return right(room.sides[one]) and right(room.sides[other])


def _queries(
    rooms: Sequence[Room], openings: Sequence[Opening], found: _Found, plans: Sequence[SheetRegion], origin: Point
) -> list[Query]:
    inside = [x for x in found.assignment.outside if any(_holds(p.bounds, x.at) for p in plans)]
    asked = outline_queries(rooms, openings, found.assignment, found.weak, found.closed, found.missing, inside, origin)
    asked += drawn_otherwise_queries(rooms, found.otherwise, asked)
    return asked + left_out_queries(found.left_out, found.nowhere) + clutter_queries(rooms, found.cluttered)


def _holds(bounds: tuple[float, float, float, float], at: Point) -> bool:
    return bounds[0] <= at[0] <= bounds[2] and bounds[1] <= at[1] <= bounds[3]
