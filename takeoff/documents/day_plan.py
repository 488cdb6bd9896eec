"""The day plan: what is done on each day of the job, and on which days each stage of a room, with its mixes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from takeoff.documents.days import day_name, span_name
from takeoff.documents.paper import Block, Para, Table
from takeoff.plan.model import Room
from takeoff.programme.model import Piece, Placed, Programme, Services
from takeoff.record import Takeoff

__all__ = ["day_table", "mix_words", "room_table", "services_words"]

OTHERS = "others"


def day_table(takeoff: Takeoff) -> Iterator[Block]:
    """What must be there before the first day, then a row per day: work, mixes, deliveries."""
    programme = takeoff.programme
    assert programme is not None
    early = [s.room for s in programme.services if not s.done_day]
    if early:
        says = "Before day 1: first-fix services done, tested and covered where boards close them up, in "
        yield Para(f"{says}{', '.join(early)}.")
    loads = {d.day: f"{d.weight_kg:.0f} kg, {_materials(len(d.lines))}" for d in programme.deliveries}
    work, mixes = _by_day(programme), _mixes_by_day(takeoff)
    start = takeoff.job.gang.start_date
    rows = [
        (day_name(day, start), "; ".join(work.get(day, ())), mixes.get(day, ""), loads.get(day, ""))
        for day in sorted({*work, *loads})
    ]
    wide = 0.5 if start is None else 1.5
    yield Table((("Day", "Work (hours of labour)", "Mixes", "On site before"), *rows), (wide, 5.5, 1.4, 1.3))


def _materials(count: int) -> str:
    return "1 material" if count == 1 else f"{count} materials"


def _by_day(programme: Programme) -> dict[int, list[str]]:
    """What is done each day, a room's stage in one entry with its hours; the days of other trades too."""
    days: dict[int, list[str]] = {}
    for row in programme.services:
        for day in range(row.from_day, row.done_day):
            days.setdefault(day, []).append(f"{row.room} services ({OTHERS})")
        if row.done_day:
            days.setdefault(row.done_day, []).append(f"{row.room} first-fix services done ({OTHERS})")
    hours: dict[tuple[int, str, str], float] = {}
    for placed in programme.placed:
        key = (placed.day, placed.piece.room, placed.piece.stage)
        hours[key] = hours.get(key, 0.0) + placed.piece.hours * placed.piece.people
    for (day, room, stage), total in hours.items():
        days.setdefault(day, []).append(f"{room} {stage} {_hours(total)}")
    return days


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


def room_table(takeoff: Takeoff, room: Room) -> Iterator[Block]:
    """A row per stage of the room: on which days, how long, what, mixes, how many people."""
    programme = takeoff.programme
    assert programme is not None
    stages: dict[str, list[Placed]] = {}
    for placed in programme.placed:
        if placed.piece.room == room.ref:
            stages.setdefault(placed.piece.stage, []).append(placed)
    titles = {o.ref: o.title for o in takeoff.work.operations}
    rows = [(some[0].day, _stage_row(stage, some, titles)) for stage, some in stages.items()]
    rows += [
        (row.done_day, (services_words(row), "", "services", row.title, "", OTHERS))
        for row in programme.services
        if row.room == room.ref
    ]
    if rows:
        first = sorted(rows, key=lambda row: row[0])
        head = ("Day", "Hours", "Stage", "In this order", "Mixes", "People")
        yield Table((head, *(row for _, row in first)), (0.9, 0.7, 1.2, 4.6, 1.6, 0.8), (1,))


def _stage_row(stage: str, some: Sequence[Placed], titles: dict[str, str]) -> tuple[str, ...]:
    what = dict.fromkeys(titles[ref].split(":")[0] for p in some for ref in p.piece.operations)
    hours = sum(p.piece.hours * p.piece.people for p in some)
    people = str(max(p.piece.people for p in some))
    days = span_name([p.day for p in some])
    return days, _hours(hours), stage, ", ".join(what), mix_words(p.piece for p in some), people


def services_words(row: Services) -> str:
    """When other trades are in the room: 'before 1', 'by end of 4', '3-4'."""
    if not row.done_day:
        return "before 1"
    if row.from_day > row.done_day:
        return f"by end of {row.done_day}"
    return span_name([row.from_day, row.done_day])
