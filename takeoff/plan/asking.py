"""Questions about outlines: asked where the drawing leaves it open whether a room is what was found, and only there."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

import shapely

from takeoff.plan.dividing import dividing_line
from takeoff.plan.labels import NOT_PLASTERED, Assignment, Label
from takeoff.plan.model import Opening, Point, Room, Space
from takeoff.query import Query, acceptance, query

__all__ = [
    "clutter_queries",
    "doorless_queries",
    "doubt_queries",
    "drawn_otherwise_queries",
    "left_out_queries",
    "outline_queries",
]

_WIDE = 4.0
"""A bare opening wider than this, metres, may be a wall on a layer that was not taken for walls."""
_ISLANDS = 0.01
"""Islands that take up more than this share of a room are asked about where no layer is called walls."""


def outline_queries(
    rooms: Sequence[Room],
    openings: Sequence[Opening],
    assignment: Assignment,
    weak: Sequence[str],
    closed: Sequence[str],
    missing: Mapping[str, str],
    inside: Sequence[Label],
    origin: Point,
) -> list[Query]:
    """The queries about outlines of one drawing. `origin` is added to places that the job file will hold.

    `weak` and `closed` are refs of rooms with little wall behind them, and of those that nothing leads into;
    `missing` says of rooms why a line of their walls seems to be missing; `inside` are the room labels that stand
    within a plan but in no room.
    """
    crowded = set(assignment.crowded)
    asked = [_open_plan(room, openings, assignment.inside[n], origin) for n, room in enumerate(rooms) if n in crowded]
    shown = {r.ref for n, r in enumerate(rooms) if n in crowded}
    asked += [_weak(r) for r in rooms if r.ref in weak and r.ref not in shown]
    asked += [_closed(r) for r in rooms if r.ref in closed and r.ref not in shown]
    asked += [_missing(r, missing[r.ref]) for r in rooms if r.ref in missing and r.ref not in {*shown, *weak, *closed}]
    return asked + [_outside(label) for label in inside if label.kind not in NOT_PLASTERED]


def doubt_queries(
    rooms: Sequence[Room], openings: Sequence[Opening], beside: Mapping[str, str], asked: Sequence[Query]
) -> list[Query]:
    """What else must be asked of rooms whose walls no layer's name tells, but for those already `asked` about;
    `beside` says of rooms what stands beside their walls (`takeoff.plan.mixed`).
    """
    known = {ref for q in asked if q.concerns == "outline" for ref in q.about}
    wide = {ref: o for o in openings if o.kind == "opening" and o.width_m > _WIDE for ref in o.rooms}
    queries = []
    for room in rooms:
        if room.ref in known:
            continue
        if room.ref in wide:
            queries.append(_wide_open(room, wide[room.ref]))
        elif sum(shapely.area(shapely.polygons(h)) for h in room.holes) > _ISLANDS * room.floor_area_m2:
            queries.append(_islands(room))
        elif room.ref in beside:
            queries.append(_beside(room, beside[room.ref]))
    return queries


def drawn_otherwise_queries(rooms: Sequence[Room], why: Mapping[str, str], asked: Sequence[Query]) -> list[Query]:
    """One query for each room beside or over which something else is drawn, `why` by its ref, but for those already
    `asked` about.
    """
    known = {ref for q in asked if q.concerns == "outline" for ref in q.about}
    return [
        query(
            "outline-uncertain",
            f"{r.ref}{_called(r)}: {why[r.ref]}. Look at its outline on the marked plan, whether it is the room's.",
            about=(r.ref,),
            at=r.label_at,
            answer=acceptance("outline-uncertain", r.ref),
        )
        for r in rooms
        if r.ref in why and r.ref not in known
    ]


def _wide_open(room: Room, opening: Opening) -> Query:
    return query(
        "outline-uncertain",
        f"{room.ref}{_called(room)} is open over {opening.width_m:.1f} m at {opening.ref}, and no layer is called "
        "walls: look whether a wall stands there.",
        about=(room.ref, opening.ref),
        at=opening.at,
        answer=acceptance("outline-uncertain", room.ref),
    )


def _islands(room: Room) -> Query:
    return query(
        "outline-uncertain",
        f"{room.ref}{_called(room)} has something standing free in it, and no layer is called walls: if it is "
        "furniture, leave its layer out in the job file.",
        about=(room.ref,),
        at=room.label_at,
        answer='[drawing]\nignore_layers = ["..."]',
    )


def _beside(room: Room, why: str) -> Query:
    return query(
        "outline-uncertain",
        f"{room.ref}{_called(room)}: {why}, and all kinds of lines share the walls' layer. A worktop, a lining or a "
        "footing may have been taken for a wall, or a wall for one of them: look at its outline on the marked plan.",
        about=(room.ref,),
        at=room.label_at,
        answer=acceptance("outline-uncertain", room.ref),
    )


def _open_plan(room: Room, openings: Sequence[Opening], labels: Sequence[Label], origin: Point) -> Query:
    names = list(dict.fromkeys(x.name or x.number for x in labels if x.is_room))
    count = len(names) if len(names) > 1 else "several"
    return query(
        "open-plan",
        f"{room.ref} is one open space with {count} names ({', '.join(names[:6])}): it is measured as one room; "
        "if it should be two, draw the dividing line in the job file.",
        about=(room.ref,),
        at=room.label_at,
        answer=_split_answer(room, openings, [x for x in labels if x.is_room], origin),
    )


def _split_answer(room: Room, openings: Sequence[Opening], labels: Sequence[Label], origin: Point) -> str:
    """The answer that parts the first two names, by the best line between them or else by one across the middle."""
    one = labels[0] if labels else None
    other = next((x for x in labels[1:] if one and (x.name, x.number) != (one.name, one.number)), None)
    line = dividing_line(room, openings, one.at, other.at) if one and other else None
    names = [json.dumps(x.name or x.number, ensure_ascii=False) for x in (one, other) if x] if line else []
    x0, y0, x1, y1 = shapely.bounds(shapely.polygons(room.outline)).tolist()
    ends = line or (((x0 + x1) / 2, y0), ((x0 + x1) / 2, y1))
    shown = ", ".join(f"[{x + origin[0]:.3f}, {y + origin[1]:.3f}]" for x, y in ends)
    told = f"\nnames = [{', '.join(names)}]" if names else ""
    return f'[[split]]\nroom = "{room.ref}"\nline = [{shown}]{told}'


def _left_out(room: Room) -> str:
    """The answer that leaves `room` out of the quantities."""
    return f"[rooms.{room.ref}]\nmeasured = false"


def _weak(room: Room) -> Query:
    return query(
        "outline-uncertain",
        f"{room.ref}{_called(room)} is bounded for the most part by single lines, not by walls with two faces: "
        "check that it "
        "is a room, or leave it out in the job file.",
        about=(room.ref,),
        at=room.label_at,
        answer=_left_out(room),
    )


def _missing(room: Room, why: str) -> Query:
    return query(
        "wall-line-missing",
        f"{room.ref}{_called(room)}: a line of its walls seems to be missing, for {why}. Look at its outline on the "
        "marked plan; mend the drawing if it is wrong, and read it again.",
        about=(room.ref,),
        at=room.label_at,
        answer=acceptance("wall-line-missing", room.ref),
    )


def left_out_queries(spaces: Sequence[Space], nowhere: Sequence[Point]) -> list[Query]:
    """One query for each of the `spaces` that may be rooms, and for each place `nowhere` that an opening leads to."""
    asked = [
        query(
            "space-left-out",
            f"A space of {space.area_m2:.1f} m2 with an opening into it is not counted as a room: {space.reason}. If "
            "it is one, draw the missing lines of its walls and read the drawing again, or measure it by hand.",
            at=space.at,
        )
        for space in spaces
    ]
    says = (
        "An opening leads out of a room into something that is no room, and not outdoors either: a closet or a cubicle "
        "whose walls are open or parted by other lines. If it is to be plastered, mend its lines and read the drawing "
        "again, or measure it by hand."
    )
    return asked + [query("space-left-out", says, at=at) for at in nowhere]


def doorless_queries(rooms: Sequence[Room], storeys: Sequence[str]) -> list[Query]:
    """One query for each of the `storeys` without a way into any room."""
    says = (
        "No door or opening was found that leads into any room of {}: nothing is taken off for doors, and outlines may "
        "run along open leaves. Look at the marked plan; mark the doors in the job file or switch their layer on."
    )
    return _by_storey("doors-missing", says, rooms, storeys)


def clutter_queries(rooms: Sequence[Room], storeys: Sequence[str]) -> list[Query]:
    """One query for each of the cluttered `storeys`."""
    says = (
        "So many lines that are no walls are drawn with the walls of {} that no outline of a room can be relied on: "
        "furniture, dimensions and other things share their layer. Check every room on the marked plan, or put the "
        "walls on a layer of their own."
    )
    return _by_storey("walls-unclear", says, rooms, storeys)


def _by_storey(kind: str, says: str, rooms: Sequence[Room], storeys: Sequence[str]) -> list[Query]:
    """One query of the `kind` about all rooms of each of the `storeys`, whose name goes into what it `says`."""
    return [query(kind, says.format(s), about=[r.ref for r in rooms if r.plan == s]) for s in storeys]


def _closed(room: Room) -> Query:
    return query(
        "no-way-in",
        f"{room.ref} ({room.floor_area_m2:.1f} m2) is closed all round and has no name: check that it is a room "
        "and not a duct, "
        "shaft or cavity; leave it out in the job file if it is none.",
        about=(room.ref,),
        at=room.label_at,
        answer=_left_out(room),
    )


def _outside(label: Label) -> Query:
    return query(
        "name-outside",
        f"The name '{label.name or label.number}' stands in no closed room: its walls are open somewhere, so it "
        "is not measured. "
        "Close the gap in the drawing, or measure it by hand.",
        at=label.at,
    )


def _called(room: Room) -> str:
    return f" ({room.name})" if room.name else ""
