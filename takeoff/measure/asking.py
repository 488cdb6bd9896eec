"""What measuring must ask: one query for each kind of thing that was taken for want of better, never one each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from takeoff.job import Job
from takeoff.measure._figures import metres
from takeoff.measure.parts import RoomParts, Wall
from takeoff.measure.placing import Placed, default_height, to_ceiling
from takeoff.measure.rooflights import depth_of_shaft
from takeoff.plan.model import LowWall, Opening
from takeoff.query import Query, query

__all__ = ["height_is_told", "queries_of"]

REACHES_M = 0.005
"""A head this little over the wall's top reaches it, no more."""
KINDS = {"door": "door", "window": "window", "opening": "plain opening"}
NAMED = 8
"""More refs than this in one sentence are counted, not listed."""


@dataclass(frozen=True, slots=True)
class _High:
    """An opening whose head is over the top of its wall."""

    placed: Placed
    wall: Wall
    tallest: float


def queries_of(
    parts: Sequence[RoomParts], openings: Sequence[Opening], low: Sequence[LowWall], job: Job
) -> tuple[Query, ...]:
    """The queries of the measured rooms; `openings` and `low` walls are the plan's, in its order."""
    measured = [p for p in parts if p.measured]
    placed = [(wall, p) for part in measured for wall in part.walls for p in wall.placed]
    rooms, in_walls = {p.room.ref for p in measured}, {p.opening.ref for _, p in placed}
    rooflights = [o for o in openings if o.kind == "rooflight" and rooms.intersection(o.rooms)]
    met = [o for o in openings if o.ref in in_walls or o in rooflights]
    return (
        *_room_heights(measured),
        *_opening_heights(met, job),
        *_too_high(measured, met),
        *_unknown_walls(placed, met),
        *_shafts(rooflights, job),
        *_low_walls(measured, low, job),
    )


def height_is_told(query: Query, job: Job) -> bool:
    """Whether `query`, asked by the reading about the ceiling of a room, is answered by the room's row in `job`."""
    rows = [job.rooms[ref] for ref in query.about if ref in job.rooms]
    if query.kind == "ceiling-slopes":
        return any(row.slope is not None for row in rows)
    return query.kind == "height-conflict" and any(row.slope is not None or row.height is not None for row in rows)


def _room_heights(measured: Sequence[RoomParts]) -> Iterator[Query]:
    taken = [p for p in measured if p.height_from == "default" and not p.top.slopes]
    if taken:
        height = taken[0].height_m
        yield query(
            "height-default",
            f"Nothing says how high {_refs(p.room.ref for p in taken)} {_is(taken)}: measured at {metres(height)} m. "
            "Measure the ceiling height on site and set it.",
            about=[p.room.ref for p in taken],
            answer=f"[heights]\ndefault = {height}",
        )


def _opening_heights(openings: Iterable[Opening], job: Job) -> Iterator[Query]:
    by_kind: dict[str, list[Opening]] = {}
    for opening in openings:
        if opening.height_m is None:
            by_kind.setdefault("screen" if to_ceiling(opening) else opening.kind, []).append(opening)
    for kind, found in by_kind.items():
        if kind in job.heights.model_fields_set:
            continue
        refs = _refs(o.ref for o in found)
        if kind == "screen":
            says = (
                f"Nothing says how high {refs} {_is(found)}: glass from wall to wall, or standing as a wall, is taken "
                "as going from floor to ceiling, with no plaster round it. Give height and cill where it does not."
            )
            answer = "\n".join(f"[openings.{o.ref}]\nheight = 2.10\nsill = 0.0" for o in found)
        elif kind == "rooflight":
            says = f"Nothing says how long {refs} {_is(found)}: taken as square. Give the length of each."
            answer = "\n".join(f"[openings.{o.ref}]\nheight = {o.width_m:.2f}" for o in found)
        else:
            height = default_height(found[0], job)
            sill = f" over a cill at {metres(job.heights.sill)} m" if kind == "window" else ""
            taken = f"each {KINDS[kind]} is taken as {metres(height)} m high{sill}"
            says = f"Nothing says how high {refs} {_is(found)}: {taken}. Set the usual height, or one opening's own."
            answer = f"[heights]\n{kind} = {height}" + (f"\nsill = {job.heights.sill}" if kind == "window" else "")
        yield query("opening-height-default", says, about=[o.ref for o in found], answer=answer)


def _too_high(measured: Sequence[RoomParts], met: Sequence[Opening]) -> Iterator[Query]:
    """One query for each room with told openings above its ceiling; one for all rooms whose height was only taken."""
    groups: dict[str, dict[str, _High]] = {}
    for part in measured:
        group = groups.setdefault("" if part.height_from == "default" else part.room.ref, {})
        for wall in part.walls:
            tallest = max(h for _, h in wall.profile.points)
            for p in wall.placed:
                if p.opening.height_m is not None and p.head > tallest + REACHES_M:
                    group.setdefault(p.opening.ref, _High(p, wall, tallest))
    for room, group in groups.items():
        if group:
            yield _too_high_in(room, {o.ref: group[o.ref] for o in met if o.ref in group})


def _too_high_in(room: str, group: dict[str, _High]) -> Query:
    worst = max(group.values(), key=lambda high: high.placed.head)
    height = f"{metres(worst.tallest)} m"
    where = f"the ceiling of {room} is at {height}" if room else f"the ceiling was taken as {height}"
    return query(
        "opening-above-wall",
        f"{_refs(group)} would reach up to {metres(worst.placed.head)} m over the floor, but {where}: cut off there. "
        "Check the height and cill of the openings, and the height of the room.",
        about=[*group, *dict.fromkeys(high.wall.room for high in group.values())],
        at=worst.placed.opening.at,
        answer=f"[rooms.{worst.wall.room}]\nheight = {worst.placed.head:.2f}",
    )


def _unknown_walls(placed: Iterable[tuple[Wall, Placed]], met: Sequence[Opening]) -> Iterator[Query]:
    taken = {p.opening.ref: p for _, p in placed if not p.finish.thickness_known and p.finish.depth_m > 0}
    unknown = {o.ref: taken[o.ref] for o in met if o.ref in taken}
    if unknown:
        by_kind = {p.opening.kind: p.finish.depth_m for p in unknown.values()}
        depths = sorted({metres(p.finish.depth_m) for p in unknown.values()})
        yield query(
            "reveal-depth-taken",
            f"The drawing does not show how thick the wall is at {_refs(unknown)}: reveals are taken as "
            f"{' and '.join(depths)} m deep. Set the depth for a kind of opening, or for one.",
            about=list(unknown),
            answer="\n".join(f"[opening_kinds.{kind}]\nreveal_depth = {depth:.3f}" for kind, depth in by_kind.items()),
        )


def _shafts(rooflights: Sequence[Opening], job: Job) -> Iterator[Query]:
    unknown = [light.ref for light in rooflights if depth_of_shaft(light, job) is None]
    if unknown:
        yield query(
            "rooflight-shaft",
            f"How deep is the shaft of {_refs(unknown)} from ceiling to frame, and is it plastered? "
            "Nothing is measured for it until you say.",
            about=unknown,
            answer="[opening_kinds.rooflight]\nreveal_depth = 0.30",
        )


def _refs(refs: Iterable[str]) -> str:
    listed = list(refs)
    if len(listed) > NAMED:
        return f"{', '.join(listed[:NAMED])} and {len(listed) - NAMED} more"
    return listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} and {listed[-1]}"


def _is(things: Sequence[object]) -> str:
    return "is" if len(things) == 1 else "are"


def _low_walls(measured: Sequence[RoomParts], low: Sequence[LowWall], job: Job) -> Iterator[Query]:
    """One query for each wall that a text calls low and that the job file gives no height."""
    closed = [wall for part in measured for wall in part.walls if not wall.run.open]
    wall_of = {side.ref: wall for wall in closed for side in wall.run.sides}
    for note in low:
        walls = list({w.ref: w for ref in note.sides if (w := wall_of.get(ref))}.values())
        if not walls or any(w.ref in job.surfaces and job.surfaces[w.ref].height is not None for w in walls):
            continue
        refs, rooms = [w.ref for w in walls], list(dict.fromkeys(w.room for w in walls))
        between = f"{rooms[0]} and {rooms[1]} are then one space under one ceiling, and " if len(rooms) > 1 else ""
        told = metres(note.height_m) + " m" if note.height_m is not None else "no height given"
        yield query(
            "low-wall",
            f"'{note.text}' beside {_refs(refs)} says that this wall is low ({told}), but it is measured up to the "
            f"ceiling. Look whether it is: {between}its faces go no higher than its height, which you set here.",
            about=[*refs, *rooms],
            at=note.at,
            answer="\n".join(f'[surfaces."{r}"]\nheight = {note.height_m or 1.1:.2f}' for r in refs),
        )
