"""Hours: each layer's needs become operations, quantity x constant x factors, room by room.

Terms:
  task       a kind of work in ``data/labour.toml`` with its constant (low, likely, high hours per unit).
  factor     what makes a room slower: height, stairs, tight space, many openings, curved work, people living there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.measure.model import Edge, Measured, Surface
from takeoff.plan.model import Plan, Room
from takeoff.work.model import BuildUp, Factor, Need, Operation

__all__ = ["Task", "build_up_operations", "check_labour", "operation", "room_factors", "task_for", "tasks"]

WALL_KINDS = ("wall", "pier", "reveal")
LISTED_TASK = "bead"
"""The task of what belongs to no build-up: beads that the job file lists."""


@dataclass(frozen=True, slots=True)
class Task:
    slug: str
    title: str
    stage: str
    unit: str
    low: float
    likely: float
    high: float
    source: str


def tasks(job: Job) -> dict[str, Task]:
    """Every task by slug, the job file's own constants in place of the shipped ones."""
    found = {}
    for slug, row in load("labour")["tasks"].items():
        low, likely, high = row["hours"]
        source = row["source"]
        if own := job.labour.get(slug):
            spread_low, spread_high = low / likely, high / likely
            likely = own.likely
            low, high = own.low or likely * spread_low, own.high or likely * spread_high
            source = "job file"
        found[slug] = Task(slug, row["title"], row["stage"], row["unit"], low, likely, high, source)
    return found


def check_labour(job: Job) -> None:
    """Raise `JobError` for a labour constant or factor of the job file that names nothing we know."""
    known_tasks, known_factors = load("labour")["tasks"], load("labour")["factors"]
    for slug, row in job.labour.items():
        if slug not in known_tasks:
            raise job.error(("labour", slug), "no such task", f"one of: {', '.join(sorted(known_tasks))}")
        low, high = row.low or row.likely, row.high or row.likely
        if not low <= row.likely <= high:
            raise job.error(("labour", slug), "low, likely and high are out of order", "low <= likely <= high")
    for slug in job.conditions.factors:
        if slug not in known_factors:
            right = f"one of: {', '.join(sorted(known_factors))}"
            raise job.error(("conditions", "factors", slug), "no such factor", right)


def build_up_operations(
    plan: Plan, measured: Measured, build_ups: Mapping[str, BuildUp], needs: Iterable[Need], job: Job
) -> list[Operation]:
    """One operation per room, task and kind of place (curved, narrow), from the needs of the build-ups.

    A layer without a labour slug is covered by another layer's operation and adds no hours.
    """
    known = tasks(job)
    labour = {(slug, layer.material): layer.labour for slug, b in build_ups.items() for layer in b.layers}
    places: dict[str, Surface | Edge] = {s.ref: s for s in measured.surfaces} | {e.ref: e for e in measured.edges}
    sums: dict[tuple[str, str, bool, bool], list[Need]] = {}
    for need in needs:
        slug = labour.get((need.build_up, need.material), "") if need.build_up else LISTED_TASK
        place = places.get(need.surface)
        if not slug or (place is None and need.build_up):
            continue
        task = task_for(slug, place.kind if isinstance(place, Surface) else "", known)
        curved = place is not None and place.curved
        key = (need.room, task, curved, isinstance(place, Surface) and place.narrow)
        sums.setdefault(key, []).append(need)
    rooms = {room.ref: room for room in plan.rooms}
    return [
        operation(
            known[task], room, sum(need.quantity for need in some),
            [*room_factors(rooms[room], known[task], measured, job), *_place_factors(curved, narrow, job)],
            tuple(dict.fromkeys(need.surface for need in some if need.surface in places)),
        )
        for (room, task, curved, narrow), some in sums.items()
    ]  # fmt: skip


def task_for(slug: str, kind: str, known: Mapping[str, Task]) -> str:
    """The task for a kind of surface: 'finish-wall' on a ceiling is 'finish-ceiling' where there is such a task."""
    if kind and slug.endswith("-wall"):
        other = f"{slug.removesuffix('-wall')}-{kind}"
        return other if other in known else slug
    return slug


def operation(
    task: Task,
    room: str,
    quantity: float,
    factors: Sequence[Factor],
    surfaces: tuple[str, ...] = (),
    allowance: bool = False,
) -> Operation:
    """The operation of `task` in `room`; its ref tells room and task."""
    marks = "".join(
        f"-{f.why.split(':')[0].split()[0].lower()}" for f in factors if f.why.startswith(("Curved", "Narrow"))
    )
    kind = "-allowance" if allowance else ""
    return Operation(
        ref=f"{room}-{task.slug}{marks}{kind}",
        room=room,
        task=task.slug,
        title=task.title,
        stage=task.stage,
        quantity=quantity,
        unit=task.unit,
        hours_low=task.low,
        hours_likely=task.likely,
        hours_high=task.high,
        factors=tuple(factors),
        surfaces=surfaces,
        allowance=allowance,
        source=task.source,
    )


def room_factors(room: Room, task: Task, measured: Measured, job: Job) -> list[Factor]:
    """What slows `task` down in `room`, each with its reason in plain words."""
    totals = measured.by_room.get(room.ref)
    wall_m2 = totals.wall_gross_m2 if totals else 0.0
    high = totals.height_m if totals else 0.0
    count = len({ref for side in room.sides for ref in side.openings})
    walls = task.stage in ("wall finish", "undercoat", "board", "scrim", "bond")
    true = {
        "height": high > _limit("height") and task.stage not in ("protect", "clear"),
        "stairs": room.kind == "stair",
        "tight": room.floor_area_m2 < _limit("tight"),
        "openings": walls and wall_m2 > 0 and count / wall_m2 > _limit("openings"),
        "occupied": job.conditions.occupied,
        "labourer": job.gang.labourer and task.stage not in ("clear",),
    }
    factors = [_factor(slug, job) for slug, holds in true.items() if holds]
    if task.slug == "carry":
        factors += [_factor("access", job)] * job.conditions.hard_access
        factors += [_factor("storey", job)] * job.conditions.storeys_to_carry
        factors += [_factor("distance", job)] * max(0, ceil(job.conditions.carry_m / _limit("distance") - 1))
    return factors


def _place_factors(curved: bool, narrow: bool, job: Job) -> list[Factor]:
    return [_factor(slug, job) for slug, holds in (("curved", curved), ("narrow", narrow)) if holds]


def _limit(slug: str) -> float:
    return float(load("labour")["factors"][slug]["limit"])


def _factor(slug: str, job: Job) -> Factor:
    row = load("labour")["factors"][slug]
    return Factor(row["title"], job.conditions.factors.get(slug, row["value"]))
