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
from takeoff.job_tables import FindingRow
from takeoff.query import Query, query
from takeoff.work.allowances import allowances, doubled, twice
from takeoff.work.existing import existing_rooms
from takeoff.work.finding_work import FindingWork, work_of
from takeoff.work.labour import Task, tasks
from takeoff.work.model import Finding, Need, Operation
from takeoff.work.places import PLACES, place_refs, surfaces_at
from takeoff.work.rebuild import bare_backgrounds, under
from takeoff.work.scheme import Scheme

__all__ = ["Preparation", "prepare"]


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


def prepare(scheme: Scheme) -> Preparation:
    """The findings of the job file and, for existing rooms without any, the allowances before the visit.

    Raises `JobError` for a finding of an unknown room, place, kind or background, and for a depth that cannot be
    filled.
    """
    kinds = load("findings")["kinds"]
    found = [_finding(n, row, scheme) for n, row in enumerate(scheme.job.findings)]
    seen = {finding.room for finding in found}
    waiting = [r for r in existing_rooms(scheme.plan, scheme.job) if r not in seen and r in scheme.surfaces_of]
    findings = [*found, *(f for ref in waiting for f in allowances(ref, scheme))]
    findings = [_with_background(replace(f, ref=f"F{n}"), scheme) for n, f in enumerate(findings, 1)]
    known = tasks(scheme.job)
    works = [_work(n, f, known, scheme) for n, f in enumerate(findings)]
    operations = [o for work in works for o in work.operations]
    needs = [n for work in works for n in work.needs]
    operations += [doubled(ref, operations) for ref in waiting]
    needs += [twice(need) for need in needs if need.room in waiting]
    carried = sum(kinds[f.kind].get("waste_kg", 0.0) * f.amount * (2.0 if f.room in waiting else 1.0) for f in findings)
    return Preparation(
        findings=tuple(replace(f, scope=work.scope) for f, work in zip(findings, works, strict=True)),
        operations=tuple(operations),
        needs=tuple(needs),
        waste_kg=carried,
        cautions=tuple(dict.fromkeys(c for work in works for c in work.cautions)),
        queries=(*_asked(findings, kinds), *_hacked_off_to(findings, scheme), *_not_visited(waiting)),
    )


def _finding(number: int, row: FindingRow, scheme: Scheme) -> Finding:
    """One row of the job file, checked against the plan and the kinds there are."""
    job, kinds = scheme.job, load("findings")["kinds"]

    def check(key: str, given: str, right: Sequence[str]) -> None:
        if given not in right:
            raise job.error(("findings", number, key), f"no such {key} {given!r}", f"one of: {', '.join(right)}")

    check("kind", row.kind, sorted(kinds))
    check("room", row.room, sorted(scheme.rooms))
    check("place", row.place, [*PLACES, *sorted(place_refs(row.room, scheme))])
    kind = kinds[row.kind]
    if kind.get("depth") and not row.thickness_mm:
        right = "the mean depth to build out, such as thickness_mm = 12"
        raise job.error(("findings", number, "thickness_mm"), f"{row.kind} needs a depth", right)
    if row.background and not kind.get("rebuild"):
        key = ("findings", number, "background")
        raise job.error(key, f"{row.kind} is not hacked off to anything", "no background in this row")
    if row.background:
        check("background", row.background, bare_backgrounds())
    return Finding(
        ref="",
        room=row.room,
        place=row.place,
        kind=row.kind,
        amount=row.amount,
        unit=kind["unit"],
        thickness_mm=row.thickness_mm,
        low=row.low,
        high=row.high,
        note=row.note,
        background=row.background,
    )


def _with_background(finding: Finding, scheme: Scheme) -> Finding:
    """The finding with what its plaster is hacked off to, where it is hacked off at all."""
    if not load("findings")["kinds"][finding.kind].get("rebuild"):
        return finding
    found = under(finding.background, finding.place, surfaces_at(finding.room, finding.place, scheme), scheme)
    return replace(finding, background=found.background, background_by=found.by)


def _work(number: int, finding: Finding, known: Mapping[str, Task], scheme: Scheme) -> FindingWork:
    try:
        return work_of(finding, known, scheme)
    except ValueError as fault:
        wrong = f"{finding.thickness_mm:g} mm cannot be filled here"
        raise scheme.job.error(("findings", number, "thickness_mm"), wrong, str(fault)) from None


def _asked(findings: Sequence[Finding], kinds: Mapping[str, Any]) -> list[Query]:
    return [
        query("finding-stops-work", kinds[f.kind]["asks"].format(room=f.room), about=(f.room,))
        for f in findings
        if "asks" in kinds[f.kind] and f.amount
    ]


def _hacked_off_to(findings: Sequence[Finding], scheme: Scheme) -> list[Query]:
    """One question about all found plaster that could as well stand on masonry as on laths."""
    unclear = [f for f in findings if f.state == "found" and f.amount and f.background and _unclear(f, scheme)]
    if not unclear:
        return []
    words = load("findings")["under"]
    taken = "; ".join(f"{f.ref} in {f.room} ({f.place}) to {words[f.background]}" for f in unclear)
    says = (
        f"Loose plaster is hacked off to what? Nothing tells for sure; taken: {taken}. Brick, block and concrete are "
        "rebuilt with undercoat, laths and studs with board."
    )
    first = unclear[0]
    answer = (
        f'[[findings]]\nroom = "{first.room}"\nplace = "{first.place}"\nkind = "{first.kind}"\n'
        f'amount = {first.amount:g}\nbackground = "{first.background}"'
    )
    return [query("hacked-off-to", says, about=dict.fromkeys(f.room for f in unclear), answer=answer)]


def _unclear(finding: Finding, scheme: Scheme) -> bool:
    told = finding.background if finding.background_by == "found" else ""
    return under(told, finding.place, surfaces_at(finding.room, finding.place, scheme), scheme).unclear


def _not_visited(waiting: Sequence[str]) -> list[Query]:
    if not waiting:
        return []
    says = (
        f"Preparation in {', '.join(waiting)} is an allowance, doubled because nobody has looked yet. "
        "Visit, tap the walls, and enter what you find."
    )
    answer = f'[[findings]]\nroom = "{waiting[0]}"\nplace = "walls"\nkind = "loose-plaster"\namount = 3.5'
    return [query("preparation-not-seen", says, about=waiting, answer=answer)]
