"""Operations cut into pieces that can be placed on days, each knowing what it waits for.

A room's operations of one stage make one piece, cut where it is longer than a day: a coat by whole surfaces, so that
none is left half done at knocking-off time; other work into lengths of two hours that fill a day.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.programme.model import Piece
from takeoff.query import Query, query
from takeoff.work.model import Operation

__all__ = ["make_pieces"]

CHUNK_HOURS = 2.0
"""Work that may be broken off is placed in lengths of this; a judgement that keeps days full."""


def make_pieces(
    operations: Iterable[Operation], areas: Mapping[str, float], job: Job
) -> tuple[tuple[Piece, ...], tuple[Query, ...]]:
    """The pieces in order of room and stage, and a query about the coats that this gang cannot finish in a day.

    `areas` gives each surface's net area in m2, by ref: coats are cut in proportion to them.
    """
    stages: dict[tuple[str, str], list[Operation]] = {}
    for operation in operations:
        if operation.hours > 0:
            stages.setdefault((operation.room, operation.stage), []).append(operation)
    order = {stage: n for n, stage in enumerate(load("programme")["order"])}
    pieces: list[Piece] = []
    before: dict[str, dict[str, list[str]]] = {}
    rooms = {room: n for n, room in enumerate(dict.fromkeys(room for room, _ in stages))}
    for room, stage in sorted(stages, key=lambda key: (rooms[key[0]], order[key[1]])):
        made = _stage_pieces(room, stage, stages[room, stage], areas, job, _after(stage, before.get(room, {})))
        pieces += made
        before.setdefault(room, {})[stage] = [piece.ref for piece in made]
    return tuple(pieces), tuple(_too_long([p for p in pieces if p.unbroken and p.hours > job.gang.hours_per_day]))


def _after(stage: str, before: Mapping[str, Sequence[str]]) -> tuple[tuple[str, float, str], ...]:
    """What a piece of `stage` waits for: every piece of the stages before it in its room, with the wait."""
    waits = {w["before"]: w for w in load("programme")["waits"] if stage in w["after"]}
    rows = []
    for earlier, refs in before.items():
        wait = waits.get(earlier)
        hours, why = (float(wait["hours"]), str(wait["why"])) if wait else (0.0, "order of work")
        rows += [(ref, hours, why) for ref in refs]
    return tuple(rows)


def _stage_pieces(
    room: str,
    stage: str,
    operations: Sequence[Operation],
    areas: Mapping[str, float],
    job: Job,
    after: tuple[tuple[str, float, str], ...],
) -> list[Piece]:
    rules = load("programme")
    unbroken = stage in rules["unbroken"]
    wanted = 2 if any(o.task in rules["together"] for o in operations) else 1
    people = min(job.gang.people, wanted)
    parts = _coat_parts(operations, areas, job) if unbroken else _lengths(sum(o.hours for o in operations) / people)
    title = ", ".join(dict.fromkeys(o.title for o in operations))
    refs = tuple(o.ref for o in operations)
    made = []
    for n, hours in enumerate(parts, 1):
        hands = min(job.gang.people, max(people, ceil(hours / job.gang.hours_per_day - 1e-9))) if unbroken else people
        length = hours / hands if unbroken else hours
        part = f"-{n}" if len(parts) > 1 else ""
        of = f" (part {n} of {len(parts)})" if part else ""
        made.append(Piece(f"{room}-{stage}{part}", room, stage, title + of, length, hands, after, unbroken, refs))
    return made


def _lengths(hours: float) -> list[float]:
    """Whole lengths and the rest: whole quarter hours leave no gaps in a day."""
    whole = int(hours / CHUNK_HOURS + 1e-9)
    rest = hours - whole * CHUNK_HOURS
    return [CHUNK_HOURS] * whole + ([rest] if rest > 1e-9 or not whole else [])


def _coat_parts(operations: Sequence[Operation], areas: Mapping[str, float], job: Job) -> list[float]:
    """Labour hours of each part of a coat: whole surfaces together as long as one person's day holds them."""
    day = job.gang.hours_per_day
    total = sum(o.hours for o in operations)
    if total <= day:
        return [total]
    parts: list[float] = []
    for hours in (h for o in operations for h in _by_surface(o, areas)):
        if parts and parts[-1] + hours <= day:
            parts[-1] += hours
        else:
            parts.append(hours)
    return parts


def _by_surface(operation: Operation, areas: Mapping[str, float]) -> list[float]:
    """Hours of each coat on each surface. Work at no one surface (patches on the walls) may be broken off anywhere."""
    known = [areas[ref] for ref in operation.surfaces if areas.get(ref)]
    whole = sum(known)
    if not whole:
        return _lengths(operation.hours)
    coats = max(1, round(operation.quantity / whole))
    return [operation.hours / coats * area / whole for _ in range(coats) for area in known]


def _too_long(pieces: Sequence[Piece]) -> list[Query]:
    """One question for all coats that are longer than the day."""
    if not pieces:
        return []
    longest = ", ".join(f"{p.room} {p.stage} {p.hours:.1f} h" for p in pieces[:6]) + (" ..." if len(pieces) > 6 else "")
    says = (
        f"A coat on one surface takes longer than your day without a break: {longest}. Set more people to it, a longer "
        "day, or plan a joint where the coat may stop."
    )
    about = tuple(dict.fromkeys(p.room for p in pieces))
    return [query("coat-longer-than-day", says, about=about, answer="[gang]\npeople = 2")]
