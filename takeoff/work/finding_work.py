"""One finding as hours, materials, warnings and words.

Terms:
  filler   the plaster a finding is filled with; lime where the surface gets lime, for no gypsum goes there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from takeoff.data import load
from takeoff.work.labour import Task, operation, room_factors, task_for
from takeoff.work.library import passes
from takeoff.work.model import Finding, Need, Operation
from takeoff.work.places import surfaces_at
from takeoff.work.rebuild import ASSUMED, Rebuild, Under, rebuild
from takeoff.work.scheme import Scheme

__all__ = ["FindingWork", "work_of"]

LIME = "lime-base"
"""What fills and builds out in a wall of lime (``data/materials.toml``)."""


@dataclass(frozen=True, slots=True)
class FindingWork:
    operations: tuple[Operation, ...]
    needs: tuple[Need, ...]
    cautions: tuple[str, ...]
    """Slugs of ``data/cautions.toml``."""
    scope: str


def work_of(finding: Finding, known: Mapping[str, Task], scheme: Scheme) -> FindingWork:
    """What `finding` leads to. Raises `ValueError` with what would be right for a depth that cannot be filled."""
    kind = load("findings")["kinds"][finding.kind]
    surfaces = surfaces_at(finding.room, finding.place, scheme)
    again = Rebuild((), "wall", "")
    if kind.get("rebuild"):
        found = Under(finding.background, finding.background_by)
        again = rebuild(found, finding.thickness_mm, surfaces, scheme)
    lime = any("lime" in scheme.kinds(scheme.library[scheme.assigned[s.ref].build_up]) for s in surfaces)
    needs = tuple(_needs(finding, kind, scheme, lime=lime))
    times = _passes(finding, needs, scheme) if kind.get("per_pass") else 1
    quantities = [(slug, finding.amount * per * times) for slug, per in kind.get("tasks", ())]
    quantities += _rebuilt_hours(finding, again, known)
    return FindingWork(
        operations=tuple(_operation(finding, known[slug], quantity, scheme) for slug, quantity in quantities),
        needs=(*needs, *_rebuilt(finding, again)),
        cautions=(*kind.get("cautions", ()), *again.cautions),
        scope=_scope(finding, kind, again),
    )


def _operation(finding: Finding, task: Task, quantity: float, scheme: Scheme) -> Operation:
    factors = room_factors(scheme.rooms[finding.room], task, scheme.measured, scheme.job)
    made = operation(task, finding.room, quantity, factors, (finding.place,))
    return replace(made, ref=f"{made.ref}-{finding.ref}", finding=finding.ref, allowance=finding.state == "allowance")


def _passes(finding: Finding, needs: tuple[Need, ...], scheme: Scheme) -> int:
    """How many passes a depth takes: none thicker than its material allows, and not too thick in all."""
    row = scheme.rows[needs[0].material]
    if finding.thickness_mm > row["total_max_mm"]:
        raise ValueError(f"at most {row['total_max_mm']:g} mm of {row['title'].lower()} in all; beyond that board it")
    return len(passes(finding.thickness_mm, row["coat_max_mm"]))


def _needs(finding: Finding, kind: Mapping[str, Any], scheme: Scheme, *, lime: bool) -> Iterator[Need]:
    """The materials that the kind of finding takes by itself."""
    per_mm = kind.get("per_mm", False)
    depth = finding.thickness_mm if per_mm else 1.0
    working = f"{finding.amount:g} {finding.unit}" + (f" x {depth:g} mm" if per_mm else "")
    for material, rate in kind.get("needs", ()):
        how = f"{working} x {rate:g} ({kind['how']})"
        if lime and scheme.rows[material]["kind"] == "bonding agent":
            continue  # a lime wall is damped down, not sealed (common practice)
        if lime and scheme.rows[material]["kind"] == "undercoat":
            more = scheme.rows[LIME]["kg_per_m2_mm"] / scheme.rows[material]["kg_per_m2_mm"]
            material, rate, how = LIME, rate * more, f"{how} x {more:.3g}: lime instead, for the wall is lime"
        amount = finding.amount * rate * depth
        yield _need(finding, material, rate * depth, amount, f"{finding.ref} {kind['title']}: {how}")


def _need(finding: Finding, material: str, rate: float, amount: float, how: str) -> Need:
    return Need(
        material=material,
        room=finding.room,
        surface=finding.place,
        quantity=finding.amount,
        per=finding.unit,
        rate=rate,
        amount=amount,
        how=how,
        finding=finding.ref,
    )


def _rebuilt(finding: Finding, again: Rebuild) -> Iterator[Need]:
    """The materials of the rebuild, layer by layer."""
    for layer, per_m2 in again.layers:
        rate = layer.amount * per_m2
        count = f" x {per_m2:g} {layer.per.replace('m ', 'm of ')}/m2" if per_m2 != 1.0 else ""
        how = f"{finding.amount:g} m2{count} x {layer.amount:.4g} ({layer.how})"
        how = f"{finding.ref} rebuild on {finding.background}: {how}"
        yield _need(finding, layer.material, rate, finding.amount * rate, how)


def _rebuilt_hours(finding: Finding, again: Rebuild, known: Mapping[str, Task]) -> list[tuple[str, float]]:
    """(task, quantity) of the rebuild; passes of one task are one row."""
    rows: dict[str, float] = {}
    for layer, per_m2 in again.layers:
        if layer.labour:
            task = task_for(layer.labour, again.kind, known)
            rows[task] = rows.get(task, 0.0) + finding.amount * per_m2
    return list(rows.items())


def _scope(finding: Finding, kind: Mapping[str, Any], again: Rebuild) -> str:
    """The words of quotation, variation sheet and site schedule."""
    scope = str(kind["scope"])
    if not again.says:
        return scope
    by = "" if finding.state == "allowance" else finding.background_by.partition(":")[0]
    said = {ASSUMED: " (taken so: nobody has seen it)", "drawing": " (as drawn)"}.get(by, "")
    joined = "; " if again.says.startswith("the ") else " and "
    return f"{scope} to {load('findings')['under'][finding.background]}{said}{joined}{again.says}"
