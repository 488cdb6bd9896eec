"""The day plan: what is done on each day of the job, and on which days each stage of a room, with its mixes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from takeoff.documents.days import day_name, span_name
from takeoff.documents.paper import Block, Para, Table
from takeoff.documents.words import kg_text
from takeoff.plan.model import Room
from takeoff.programme.model import Piece, Placed, Programme, Services
from takeoff.record import Takeoff

__all__ = ["StageDays", "day_table", "room_table", "services_words", "stage_days"]

OTHERS = "others"


def day_table(takeoff: Takeoff) -> Iterator[Block]:
    """What must be there before the first day, then a row per day: work, mixes, deliveries."""
    programme = takeoff.programme
    assert programme is not None
    early = _in_plan_order([s.room for s in programme.services if not s.done_day], takeoff)
    if early:
        says = "Before day 1: first-fix services done, tested and covered where boards close them up, in "
        yield Para(f"{says}{', '.join(early)}.")
    loads = {day: f"{kg_text(kg)} kg, {_materials(count)}" for day, (kg, count) in programme.loads_by_day.items()}
    work, mixes = _by_day(takeoff, programme), _mixes_by_day(takeoff)
    start = takeoff.job.gang.start_date
    rows = [
        (day_name(day, start), "; ".join(work.get(day, ())), mixes.get(day, ""), loads.get(day, ""))
        for day in sorted({*work, *loads})
    ]
    wide = 0.5 if start is None else 1.5
    yield Table((("Day", "Work (hours of labour)", "Mixes", "On site before"), *rows), (wide, 5.5, 1.4, 1.3))


def _materials(count: int) -> str:
    return "1 material" if count == 1 else f"{count} materials"


def _by_day(takeoff: Takeoff, programme: Programme) -> dict[int, list[str]]:
    """What is done each day, a room's stage in one entry with its hours; the days of other trades too."""
    days: dict[int, list[str]] = {}
    there: dict[int, list[str]] = {}
    done: dict[int, list[str]] = {}
    for wait in programme.services:
        done.setdefault(wait.done_day, []).append(wait.room)
        for day in range(wait.from_day, wait.done_day):
            there.setdefault(day, []).append(wait.room)
    for what, rooms_by_day in (("services", there), ("first-fix services done", done)):
        for day, rooms in rooms_by_day.items():
            if day:
                words = f"{what} ({OTHERS}) in {', '.join(_in_plan_order(rooms, takeoff))}"
                days.setdefault(day, []).append(words)
    for row in stage_days(takeoff):
        for day, hours in row.by_day.items():
            days.setdefault(day, []).append(f"{row.room} {row.stage} {_hours(hours)}")
    return days


def _in_plan_order(rooms: Iterable[str], takeoff: Takeoff) -> list[str]:
    order = {room.ref: n for n, room in enumerate(takeoff.plan.rooms)}
    return sorted(rooms, key=lambda room: order[room])


def _hours(hours: float) -> str:
    """'2.4', but '0.05' rather than nought."""
    return f"{hours:.1f}" if hours >= 0.05 else f"{hours:.2f}"


def _mixes_by_day(takeoff: Takeoff) -> dict[int, str]:
    """'finish 3, undercoat 8' by day."""
    assert takeoff.programme is not None
    days: dict[int, list[Piece]] = {}
    for placed in takeoff.programme.placed:
        days.setdefault(placed.day, []).append(placed.piece)
    return {day: words for day, pieces in days.items() if (words := mix_words(pieces))}


def mix_words(pieces: Iterable[Piece]) -> str:
    """'finish 3, undercoat 8': whole mixes of each material."""
    mixes: dict[str, int] = {}
    for piece in pieces:
        for material, count in piece.mixes:
            mixes[material] = mixes.get(material, 0) + count
    return ", ".join(f"{material.replace('-', ' ')} {count}" for material, count in mixes.items())


@dataclass(frozen=True, slots=True)
class StageDays:
    """A stage of work in one room, on its days."""

    room: str
    stage: str
    what: str
    people: int
    mixes: str
    waits: str
    """Why it waits for what was before it, where time must pass."""
    by_day: Mapping[int, float]
    """Hours of labour on each of its days."""

    @property
    def hours(self) -> float:
        """Hours of labour in all."""
        return sum(self.by_day.values())


def stage_days(takeoff: Takeoff) -> list[StageDays]:
    """Every stage of every room, in the order in which they begin."""
    programme = takeoff.programme
    assert programme is not None
    titles = {o.ref: o.title.split(":")[0] for o in takeoff.work.operations}
    stages: dict[tuple[str, str], list[Placed]] = {}
    for placed in programme.placed:
        stages.setdefault((placed.piece.room, placed.piece.stage), []).append(placed)
    return [_stage_days(room, stage, some, titles) for (room, stage), some in stages.items()]


def _stage_days(room: str, stage: str, some: Sequence[Placed], titles: Mapping[str, str]) -> StageDays:
    pieces = [placed.piece for placed in some]
    by_day: dict[int, float] = {}
    for placed in some:
        by_day[placed.day] = by_day.get(placed.day, 0.0) + placed.piece.hours * placed.piece.people
    return StageDays(
        room=room,
        stage=stage,
        what=", ".join(dict.fromkeys(titles[ref] for piece in pieces for ref in piece.operations)),
        people=max(piece.people for piece in pieces),
        mixes=mix_words(pieces),
        waits="; ".join(dict.fromkeys(why for piece in pieces for _, hours, why in piece.after if hours)),
        by_day=by_day,
    )


def room_table(takeoff: Takeoff, room: Room) -> Iterator[Block]:
    """A row per stage of the room: on which days, how long, what, mixes, how many people."""
    programme = takeoff.programme
    assert programme is not None
    rows = [
        (min(s.by_day), (span_name(sorted(s.by_day)), _hours(s.hours), s.stage, s.what, s.mixes, str(s.people)))
        for s in stage_days(takeoff)
        if s.room == room.ref
    ]
    rows += [
        (row.done_day, (services_words(row), "", "services", row.title, "", OTHERS))
        for row in programme.services
        if row.room == room.ref
    ]
    if rows:
        first = sorted(rows, key=lambda row: row[0])
        head = ("Day", "Hours", "Stage", "In this order", "Mixes", "People")
        yield Table((head, *(row for _, row in first)), (0.9, 0.7, 1.2, 4.6, 1.6, 0.8), (1,))


def services_words(row: Services) -> str:
    """When other trades are in the room: 'before 1', 'by end of 4', '3-4'."""
    if not row.done_day:
        return "before 1"
    if row.from_day > row.done_day:
        return f"by end of {row.done_day}"
    return span_name([row.from_day, row.done_day])
