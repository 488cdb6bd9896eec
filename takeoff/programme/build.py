"""The programme of the job: pieces placed on days, deliveries when they are needed, drying and conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Material, Order, OrderLine
from takeoff.materials.shelf_life import outrun_shelf_life
from takeoff.measure.model import Measured
from takeoff.programme.coats import mix_rules
from takeoff.programme.model import Delivery, Piece, Placed, Programme, Services
from takeoff.programme.pieces import make_pieces
from takeoff.programme.place import Placing, place
from takeoff.programme.services import closed_rooms
from takeoff.programme.tasks import DAY, QUARTERS
from takeoff.query import Query, query
from takeoff.work.model import Need, Work

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
        queries=(*asked, *_out_of_date(deliveries, placing.days, order, _last_days(placed, order))),
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
    """Each material before the first day it is used; loads close together merged into the earlier one.

    Where the order goes by storey, plot or stage, what is for one of them comes by itself, when its rooms want it.
    """
    found: list[Delivery] = []
    for load_ref in dict.fromkeys(line.delivery for line in order.lines):
        rooms = next((set(d.rooms) for d in order.deliveries if d.ref == load_ref), None)
        needs = [need for need in work.needs if rooms is None or need.room in rooms]
        lines = [line for line in order.lines if line.delivery == load_ref and line.packs]
        first = _first_used(placed, work, needs, order)
        found += _of_load(load_ref, lines, first)
    return tuple(sorted(found, key=lambda d: d.day))


def _of_load(load_ref: str, lines: Sequence[OrderLine], first: Mapping[str, int]) -> list[Delivery]:
    """The deliveries of one load's `lines`, by the day `first` says each material is used."""
    wanted: dict[int, list[OrderLine]] = {}
    for line in lines:
        wanted.setdefault(first.get(line.material.slug, 1), []).append(line)
    merged: dict[int, list[OrderLine]] = {}
    for day in sorted(wanted):
        into = next((d for d in merged if day - d <= MERGE_DAYS), day)
        merged.setdefault(into, []).extend(wanted[day])
    return [
        Delivery(day, tuple((r.material.slug, r.packs) for r in rows), sum(r.weight_kg for r in rows), load_ref)
        for day, rows in merged.items()
    ]


def _last_days(placed: Sequence[Placed], order: Order) -> dict[str, int]:
    """The last day on which anything is done in the rooms of each load."""
    return {
        trip.ref: max((row.day for row in placed if row.piece.room in trip.rooms), default=1)
        for trip in order.deliveries
    }


def _out_of_date(
    deliveries: Sequence[Delivery], days: int, order: Order, last: Mapping[str, int] | None = None
) -> list[Query]:
    """A question for each load that the programme outruns, in days of the calendar; `last` ends that of a load."""
    materials = {line.material.slug: line.material for line in order.lines}
    asked = []
    for delivery in deliveries:
        until = (last or {}).get(delivery.load, days)
        on_site = ceil((until - delivery.day + 1) * CALENDAR)
        says = outrun_shelf_life([materials[slug] for slug, _ in delivery.lines], on_site)
        asked += [query("shelf-life", sentence, answer='[order]\nby = "storey"') for sentence in says]
    return asked


def _first_used(placed: Sequence[Placed], work: Work, needs: Sequence[Need], order: Order) -> dict[str, int]:
    """First day each material of `needs` is used: of its stage in the first room, or of the finding it is for.

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
        for need in needs
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
