"""Coats of plaster as they are mixed and laid: what one mix covers, and how long it must be looked after.

Terms:
  coat      one pass over one surface; both coats of a finish belong to one.
  mix       what is mixed at once and laid within its working time (see `materials.mixes`).
  attended  from mixing until it has set: ruled, trowelled or scratched meanwhile, so that none of it may be left
            before knocking-off time.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from takeoff.job import Job
from takeoff.materials.mixes import mix_covers
from takeoff.materials.model import Material
from takeoff.measure.model import Measured
from takeoff.work.labour import task_for, tasks
from takeoff.work.model import Operation, Work

__all__ = ["Coat", "MixRule", "Rules", "coats_of", "mix_rules", "mixes_in", "until_set_h"]

LONGEST_SET_MIN = 240.0
"""A plaster that sets slower (lime) is not waited for: only its working time counts. Common practice."""
_NEARLY = 1e-9


@dataclass(frozen=True, slots=True)
class MixRule:
    """How one layer is mixed and laid."""

    material: str
    kind: str
    m2_per_mix: float
    mixes_each: int
    """Mixes for each `m2_per_mix`: 2 where both coats of a finish are mixed apart."""
    attended_h: float


@dataclass(frozen=True, slots=True)
class Coat:
    """A part of a coat that is not broken off: hours of labour, and what is laid."""

    hours: float
    m2: float = 0.0
    rule: MixRule | None = None


Rules = Mapping[tuple[str, str, str], MixRule]
"""By (room or finding, task, surface; '' for a finding)."""


def mix_rules(work: Work, materials: Mapping[str, Material], measured: Measured, job: Job) -> Rules:
    """How the plaster of every operation is mixed, from the needs it was counted from.

    Where one task lays several layers on a surface, the one that takes most to a square metre rules.
    """
    known = tasks(job)
    kinds = {s.ref: s.kind for s in measured.surfaces}
    of_finding = _by_finding(work.operations)
    rules: dict[tuple[str, str, str], tuple[float, MixRule]] = {}
    for need in work.needs:
        material = materials[need.material]
        if need.per != "m2" or not (material.use_within_min and material.kg_per_m2_mm):
            continue
        coats, rate = 1, need.rate
        if need.layer:
            layer = work.build_ups[need.build_up].layers[need.layer - 1]
            coats = layer.coats
            keys = [(need.room, task_for(layer.labour, kinds.get(need.surface, ""), known), need.surface)]
        else:
            laid = [o for o in of_finding.get(need.finding, ()) if o.stage == "undercoat"]
            keys = [(need.finding, o.task, "") for o in laid]
            rate = need.amount / laid[0].quantity if laid else rate
        for key in keys:
            if key not in rules or rate > rules[key][0]:
                rules[key] = rate, _rule(material, rate, coats, job)
    return {key: rule for key, (_, rule) in rules.items()}


def _by_finding(operations: Iterable[Operation]) -> dict[str, list[Operation]]:
    found: dict[str, list[Operation]] = {}
    for operation in operations:
        found.setdefault(operation.finding, []).append(operation)
    return found


def _rule(material: Material, kg_per_m2: float, coats: int, job: Job) -> MixRule:
    mix_kg = job.mixing.bags_per_mix * material.pack_size
    cover = mix_covers(mix_kg, kg_per_m2, coats, job.mixing, material.use_within_min, material.second_coat_after_min)
    attended = material.set_min if material.set_min <= LONGEST_SET_MIN else material.use_within_min
    return MixRule(material.slug, material.kind, cover.m2, coats // cover.coats_together, attended / 60.0)


def coats_of(operation: Operation, areas: Mapping[str, float], rules: Rules, length_h: float) -> list[list[Coat]]:
    """The coats of an operation pass by pass, each pass by whole surfaces.

    Work at no one surface (patches on the walls) may be broken off between patches: in lengths of `length_h`.
    """
    known = [(ref, areas[ref]) for ref in operation.surfaces if areas.get(ref)]
    whole = sum(area for _, area in known)
    if not whole:
        return [_patches(operation, rules, length_h)]
    passes = max(1, round(operation.quantity / whole))
    each = operation.hours / passes
    one = [Coat(each * a / whole, a, rules.get((operation.room, operation.task, ref))) for ref, a in known]
    return [one for _ in range(passes)]


def _patches(operation: Operation, rules: Rules, length_h: float) -> list[Coat]:
    rule = rules.get((operation.finding, operation.task, "")) if operation.finding else None
    count = max(1, ceil(operation.hours / length_h - _NEARLY))
    return [Coat(operation.hours / count, operation.quantity / count, rule) for _ in range(count)]


def mixes_in(coats: Sequence[Coat]) -> tuple[tuple[str, int], ...]:
    """(material, mixes) of coats laid in one go, whole mixes of each material."""
    areas: dict[MixRule, float] = {}
    for coat in coats:
        if coat.rule is not None:
            areas[coat.rule] = areas.get(coat.rule, 0.0) + coat.m2
    mixes: dict[str, int] = {}
    for rule, m2 in areas.items():
        mixes[rule.material] = mixes.get(rule.material, 0) + ceil(m2 / rule.m2_per_mix - _NEARLY) * rule.mixes_each
    return tuple(mixes.items())


def until_set_h(coats: Sequence[Coat], people: int) -> float:
    """Hours from starting the coats, by `people`, until the last mix has set; the work itself where that is longer."""
    hours = sum(coat.hours for coat in coats) / people
    mixes = sum(n for _, n in mixes_in(coats))
    attended = max((coat.rule.attended_h for coat in coats if coat.rule), default=0.0)
    return max(hours, hours * (mixes - 1) / mixes + attended) if mixes else hours
