"""The programme of the job: pieces placed on days, deliveries when they are needed, drying and conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Material, Order
from takeoff.materials.shelf_life import outrun_shelf_life
from takeoff.measure.model import Measured
from takeoff.programme.coats import mix_rules
from takeoff.programme.model import Delivery, Piece, Placed, Programme, Services
from takeoff.programme.pieces import make_pieces
from takeoff.programme.place import Placing, place
from takeoff.programme.services import closed_rooms
from takeoff.programme.tasks import DAY, QUARTERS
from takeoff.query import Query, query
from takeoff.work.model import Work

__all__ = ["make_programme"]

MAX_DAY = 10**6
CALENDAR = 7 / 5
"""Days of the calendar to a working day."""
MERGE_DAYS = 3
"""Loads wanted within so many days come together: one drop costs less than two (common practice)."""


def make_programme(measured: Measured, work: Work, order: Order, job: Job) -> Programme:
    """Days, deliveries and readiness for decoration for the work at its likely hours."""
    areas = {surface.ref: surface.net_m2 for surface in measured.surfaces}
    rules = mix_rules(work, _materials(order, job), measured, job)
    pieces, asked = make_pieces(work.operations, areas, job, rules, closed_rooms(measured, work, job))
    placing = place(pieces, job.gang.people, job.gang.hours_per_day)
    placed = _placed(pieces, placing)
    deliveries = _deliveries(placed, work, order)
    gap = (placing.days - placing.bound) / placing.days if placing.days else 0.0
    return Programme(
        placed=placed,
        services=_services(pieces, placing),
        days=placing.days,
        deliveries=deliveries,
        proven=placing.days == placing.bound,
        gap=gap,
        ready_to_decorate_day=placing.days + _drying(work, order),
        conditions=tuple(load("programme")["conditions"]["rows"]),
        queries=(*asked, *_out_of_date(deliveries, placing.days, order)),
    )


def _services(pieces: Sequence[Piece], placing: Placing) -> tuple[Services, ...]:
    """The days of other trades, by when they are done."""
    rows = []
    for piece in pieces:
        if not piece.people:
            done = placing.starts[piece.ref] // DAY + piece.others_days
            rows.append(Services(piece.room, piece.title, done - piece.others_days + 1, done))
    return tuple(rows)


def _materials(order: Order, job: Job) -> dict[str, Material]:
    """Every material there is, stock sizes among them."""
    return {**catalogue(job), **{line.material.slug: line.material for line in order.lines}}


def _placed(pieces: Sequence[Piece], placing: Placing) -> tuple[Placed, ...]:
    """Our pieces on their days; the waits for other trades are `Programme.services`."""
    rows = []
    for piece in pieces:
        if piece.people:
            start = placing.starts[piece.ref]
            at = (start % DAY) / QUARTERS
            rows.append(Placed(piece, start // DAY + 1, at, at + piece.hours))
    return tuple(sorted(rows, key=lambda p: (p.day, p.start_h, p.piece.ref)))


def _deliveries(placed: Sequence[Placed], work: Work, order: Order) -> tuple[Delivery, ...]:
    """Each material before the first day it is used; loads close together merged into the earlier one."""
    first = _first_used(placed, work, order)
    wanted: dict[int, list[tuple[str, int, float]]] = {}
    for line in order.lines:
        if line.packs:
            row = (line.material.slug, line.packs, line.weight_kg)
            wanted.setdefault(first.get(line.material.slug, 1), []).append(row)
    merged: dict[int, list[tuple[str, int, float]]] = {}
    for day in sorted(wanted):
        into = next((d for d in merged if day - d <= MERGE_DAYS), day)
        merged.setdefault(into, []).extend(wanted[day])
    return tuple(
        Delivery(day, tuple((slug, packs) for slug, packs, _ in rows), sum(weight for _, _, weight in rows))
        for day, rows in merged.items()
    )


def _out_of_date(deliveries: Sequence[Delivery], days: int, order: Order) -> list[Query]:
    """A question for each load that the programme outruns, in days of the calendar."""
    materials = {line.material.slug: line.material for line in order.lines}
    asked = []
    for delivery in deliveries:
        on_site = ceil((days - delivery.day + 1) * CALENDAR)
        says = outrun_shelf_life([materials[slug] for slug, _ in delivery.lines], on_site)
        asked += [query("shelf-life", sentence, answer='[order]\nby = "storey"') for sentence in says]
    return asked


def _first_used(placed: Sequence[Placed], work: Work, order: Order) -> dict[str, int]:
    """First day each material is used: of its stage in the first room that needs it, or of the finding it is for.

    What is of one kind comes together: a board more costs less on the load of the others (common practice).
    """
    bring: Mapping[str, str] = load("programme")["bring"]
    kinds = {line.material.slug: line.material.kind for line in order.lines}
    first: dict[tuple[str, str], int] = {}
    for row in placed:
        first.setdefault((row.piece.room, row.piece.stage), row.day)
    stages: dict[str, list[str]] = {}
    for operation in work.operations:
        if operation.finding and operation.stage not in ("strip", "protect"):
            stages.setdefault(operation.finding, []).append(operation.stage)
    used: dict[str, int] = {}
    for material, room, stage in {
        (need.material, need.room, stage)
        for need in work.needs
        for stage in stages.get(need.finding) or [bring.get(kinds.get(need.material, ""), "")]
    }:
        kind = kinds.get(material, material)
        used[kind] = min(used.get(kind, MAX_DAY), _first_day(room, stage, first))
    return {material: used[kind] for material, kind in kinds.items() if kind in used}


def _first_day(room: str, stage: str, first: Mapping[tuple[str, str], int]) -> int:
    """First day of `stage` in the room, or of the next stage in the order that is worked there at all."""
    order: list[str] = load("programme")["order"]
    later = order[order.index(stage) :] if stage in order else []
    return next((first[room, s] for s in later if (room, s) in first), 1)


def _drying(work: Work, order: Order) -> int:
    """Days from the last coat to decoration, for the slowest of what was put on."""
    kinds = {line.material.kind for line in order.lines if line.packs}
    drying = load("programme")["drying"]
    wet = [name for name, there in (("lime", "lime" in kinds), ("undercoat", "undercoat" in kinds)) if there]
    slowest = wet[0] if wet else "board"
    return int(drying[slowest]["days"]) if work.operations else 0
