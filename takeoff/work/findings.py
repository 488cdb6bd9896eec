"""Findings in existing rooms: what the drawing does not say, as hours and materials.

Before the visit an existing room gets allowances from ``data/findings.toml``, and the whole preparation a second
time, as its own line: preparation commonly takes twice what was allowed (common practice). As soon as one finding
is entered for a room, its allowances and the doubling go, and what was found stands alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.job_tables import FindingRow
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan, Room
from takeoff.query import Query, query
from takeoff.work.labour import Task, operation, room_factors, tasks
from takeoff.work.library import passes
from takeoff.work.model import Finding, Need, Operation

__all__ = ["DOUBLED", "Preparation", "existing_rooms", "prepare"]

DOUBLED = "Preparation a second time: before the visit it commonly takes twice what was allowed (common practice)"
PLACES = ("walls", "ceiling", "room")


@dataclass(frozen=True, slots=True)
class Preparation:
    """What the findings come to."""

    findings: tuple[Finding, ...]
    operations: tuple[Operation, ...]
    needs: tuple[Need, ...]
    waste_kg: float
    cautions: tuple[str, ...]
    """Slugs of ``data/cautions.toml``."""
    queries: tuple[Query, ...]


def existing_rooms(plan: Plan, job: Job) -> tuple[str, ...]:
    """Refs of the rooms that stand already: the job's own word, unless the room's row says otherwise."""

    def stands(room: Room) -> bool:
        own = job.rooms[room.ref].existing if room.ref in job.rooms else None
        return job.job.existing if own is None else own

    return tuple(room.ref for room in plan.rooms if stands(room))


def prepare(plan: Plan, measured: Measured, job: Job) -> Preparation:
    """The findings of the job file and, for existing rooms without any, the allowances before the visit.

    Raises `JobError` for a finding of an unknown room, place or kind.
    """
    rooms = {room.ref: room for room in plan.rooms}
    found = [_finding(n, row, measured, rooms, job) for n, row in enumerate(job.findings)]
    seen = {finding.room for finding in found}
    measured_rooms = {surface.room for surface in measured.surfaces}
    waiting = [ref for ref in existing_rooms(plan, job) if ref not in seen and ref in measured_rooms]
    findings = _numbered([*found, *(f for ref in waiting for f in _allowances(ref, measured))])
    known = tasks(job)
    operations = [o for f in findings for o in _operations(f, rooms[f.room], known, measured, job)]
    needs = [n for f in findings for n in _needs(f)]
    operations += [_doubled(ref, operations) for ref in waiting]
    needs += [_again(need) for need in needs if need.room in waiting]
    kinds = load("findings")["kinds"]
    twice = dict.fromkeys(waiting, 2.0)
    return Preparation(
        findings=tuple(findings),
        operations=tuple(operations),
        needs=tuple(needs),
        waste_kg=sum(kinds[f.kind].get("waste_kg", 0.0) * f.amount * twice.get(f.room, 1.0) for f in findings),
        cautions=tuple(dict.fromkeys(c for f in findings for c in kinds[f.kind].get("cautions", ()))),
        queries=(*_asked(findings, kinds), *_not_visited(waiting)),
    )


def _finding(number: int, row: FindingRow, measured: Measured, rooms: Mapping[str, Room], job: Job) -> Finding:
    kinds = load("findings")["kinds"]
    if row.kind not in kinds:
        raise job.error(
            ("findings", number, "kind"), f"no such kind {row.kind!r}", f"one of: {', '.join(sorted(kinds))}"
        )
    if row.room not in rooms:
        raise job.error(("findings", number, "room"), f"no room {row.room!r}", f"one of: {', '.join(sorted(rooms))}")
    places = {s.ref for s in measured.surfaces if s.room == row.room} | {
        e.ref for e in measured.edges if e.room == row.room
    }
    places |= {ref for side in rooms[row.room].sides for ref in side.openings}
    if row.place not in places | set(PLACES):
        right = f"walls, ceiling, room, or one of: {', '.join(sorted(places))}"
        raise job.error(("findings", number, "place"), f"no place {row.place!r} in {row.room}", right)
    kind = kinds[row.kind]
    if kind.get("depth") and not row.thickness_mm:
        right = "the mean depth to build out, such as thickness_mm = 12"
        raise job.error(("findings", number, "thickness_mm"), f"{row.kind} needs a depth", right)
    return Finding(
        "",
        row.room,
        row.place,
        row.kind,
        row.amount,
        kind["unit"],
        row.thickness_mm,
        row.low,
        row.high,
        "found",
        row.note,
    )


def _numbered(findings: Sequence[Finding]) -> list[Finding]:
    return [replace(finding, ref=f"F{n}") for n, finding in enumerate(findings, 1)]


# ---------------------------------------------------------------- before the visit


def _allowances(room: str, measured: Measured) -> list[Finding]:
    rows = []
    for slug, kind in load("findings")["kinds"].items():
        allow = kind.get("allow")
        base, place = _base(allow, room, measured) if allow else (0.0, "room")
        if not allow or not base:
            continue
        low, likely, high = (round(base * allow[k], 2) for k in ("low", "likely", "high"))
        depth = allow.get("depth_mm", 0.0)
        rows.append(Finding("", room, place, slug, likely, kind["unit"], depth, low, high, "allowance"))
    return rows


def _base(allow: Mapping[str, Any], room: str, measured: Measured) -> tuple[float, str]:
    """What an allowance is a share of, in its unit, and the place it lies in."""
    if allow.get("per_room"):
        return 1.0, "room"
    what = allow.get("share_of") or allow["per_m2_of"]
    if what == "wall to ceiling":
        return sum(e.length_m for e in measured.edges if e.room == room and e.kind == what), "walls"
    wanted = ("ceiling",) if what == "ceiling" else ("wall", "pier")
    area = sum(s.net_m2 for s in measured.surfaces if s.room == room and s.kind in wanted)
    return area, "ceiling" if what == "ceiling" else "walls"


def _doubled(room: str, operations: Sequence[Operation]) -> Operation:
    """The second helping of a room's allowances, as one operation counted in hours."""
    hours = round(sum(o.hours for o in operations if o.room == room and o.allowance), 2)
    task = Task("preparation-doubled", DOUBLED, "repair", "h", 0.0, 1.0, 1.5, "common practice")
    return operation(task, room, hours, (), allowance=True)


def _again(need: Need) -> Need:
    return replace(need, how=f"{need.how}; again: allowance doubled before the visit")


def _not_visited(waiting: Sequence[str]) -> list[Query]:
    if not waiting:
        return []
    says = (
        f"Preparation in {', '.join(waiting)} is an allowance, doubled because nobody has looked yet. "
        "Visit, tap the walls, and enter what you find."
    )
    answer = f'[[findings]]\nroom = "{waiting[0]}"\nplace = "walls"\nkind = "loose-plaster"\namount = 3.5'
    return [query("preparation-not-seen", says, about=waiting, answer=answer)]


# ---------------------------------------------------------------- into work and materials


def _passes(finding: Finding) -> int:
    """How many passes of undercoat a depth takes: none thicker than its material allows."""
    thickest = float(load("materials")["materials"]["bonding-undercoat"]["coat_max_mm"])
    return len(passes(finding.thickness_mm, thickest))


def _operations(
    finding: Finding, room: Room, known: Mapping[str, Task], measured: Measured, job: Job
) -> list[Operation]:
    kind = load("findings")["kinds"][finding.kind]
    times = _passes(finding) if kind.get("per_pass") else 1
    rows = []
    for slug, per in kind.get("tasks", ()):
        task = known[slug]
        factors = room_factors(room, task, measured, job)
        made = operation(task, finding.room, finding.amount * per * times, factors, (finding.place,))
        made = replace(
            made, ref=f"{made.ref}-{finding.ref}", finding=finding.ref, allowance=finding.state == "allowance"
        )
        rows.append(made)
    return rows


def _needs(finding: Finding) -> list[Need]:
    kind = load("findings")["kinds"][finding.kind]
    depth = finding.thickness_mm if kind.get("per_mm") else 1.0
    working = f"{finding.amount:g} {finding.unit}" + (f" x {depth:g} mm" if kind.get("per_mm") else "")
    return [
        Need(
            material=material,
            room=finding.room,
            surface=finding.place,
            quantity=finding.amount,
            per=finding.unit,
            rate=rate * depth,
            amount=finding.amount * rate * depth,
            how=f"{finding.ref} {kind['title']}: {working} x {rate:g} ({kind['how']})",
        )
        for material, rate in kind.get("needs", ())
    ]


def _asked(findings: Sequence[Finding], kinds: Mapping[str, Any]) -> list[Query]:
    return [
        query("finding-stops-work", kinds[f.kind]["asks"].format(room=f.room), about=(f.room,))
        for f in findings
        if "asks" in kinds[f.kind] and f.amount
    ]
