"""The programme of the job: pieces placed on days, deliveries when they are needed, drying and conditions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.model import Order
from takeoff.materials.shelf_life import outrun_shelf_life
from takeoff.measure.model import Measured
from takeoff.programme.model import Delivery, Piece, Placed, Programme
from takeoff.programme.pieces import make_pieces
from takeoff.programme.place import DAY, QUARTERS, Placing, place
from takeoff.query import Query, query
from takeoff.work.model import Work

__all__ = ["make_programme"]

CALENDAR = 7 / 5
"""Days of the calendar to a working day."""
MERGE_DAYS = 3
"""Loads wanted within so many days come together: one drop costs less than two (common practice)."""


def make_programme(measured: Measured, work: Work, order: Order, job: Job) -> Programme:
    """Days, deliveries and readiness for decoration for the work at its likely hours."""
    areas = {surface.ref: surface.net_m2 for surface in measured.surfaces}
    pieces, asked = make_pieces(work.operations, areas, job)
    placing = place(pieces, job.gang.people, job.gang.hours_per_day)
    placed = _placed(pieces, placing)
    deliveries = _deliveries(placed, order)
    gap = (placing.days - placing.bound) / placing.days if placing.days else 0.0
    return Programme(
        placed=placed,
        days=placing.days,
        deliveries=deliveries,
        proven=placing.days == placing.bound,
        gap=gap,
        ready_to_decorate_day=placing.days + _drying(work, order),
        conditions=tuple(load("programme")["conditions"]["rows"]),
        queries=(*asked, *_out_of_date(deliveries, placing.days, order)),
    )


def _placed(pieces: Sequence[Piece], placing: Placing) -> tuple[Placed, ...]:
    rows = []
    for piece in pieces:
        start = placing.starts[piece.ref]
        at = (start % DAY) / QUARTERS
        rows.append(Placed(piece, start // DAY + 1, at, at + piece.hours))
    return tuple(sorted(rows, key=lambda p: (p.day, p.start_h, p.piece.ref)))


def _deliveries(placed: Sequence[Placed], order: Order) -> tuple[Delivery, ...]:
    """Each material before the first day of its stage; loads close together merged into the earlier one."""
    first: dict[str, int] = {}
    for row in placed:
        first.setdefault(row.piece.stage, row.day)
    bring: Mapping[str, str] = load("programme")["bring"]
    wanted: dict[int, list[tuple[str, int, float]]] = {}
    for line in order.lines:
        if line.packs:
            day = _needed(bring.get(line.material.kind, ""), first)
            wanted.setdefault(day, []).append((line.material.slug, line.packs, line.weight_kg))
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


def _needed(stage: str, first: Mapping[str, int]) -> int:
    """First day of `stage`, or of the next stage in the order that is worked at all."""
    order: list[str] = load("programme")["order"]
    later = order[order.index(stage) :] if stage in order else []
    return next((first[s] for s in later if s in first), 1)


def _drying(work: Work, order: Order) -> int:
    """Days from the last coat to decoration, for the slowest of what was put on."""
    kinds = {line.material.kind for line in order.lines if line.packs}
    drying = load("programme")["drying"]
    wet = [name for name, there in (("lime", "lime" in kinds), ("undercoat", "undercoat" in kinds)) if there]
    slowest = wet[0] if wet else "board"
    return int(drying[slowest]["days"]) if work.operations else 0
