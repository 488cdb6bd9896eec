"""The price of the job: cost lines, then each addition on the running total in its stated order, then tax.

Order of additions: the mark-ups as the job file lists them, then contingency from the simulated risk, then the
rounding of the price before tax, then tax. Every step shows what it was taken on.
"""

from __future__ import annotations

from decimal import Decimal

from takeoff.job import Job
from takeoff.materials.model import Order
from takeoff.measure.model import Measured
from takeoff.price.lines import cost_lines, room_split
from takeoff.price.markup import chain, money, percent_of, rounded_up
from takeoff.price.model import Price, PriceLine, Risk, RoomPrice, Step
from takeoff.price.risk import simulate
from takeoff.work.model import Work

__all__ = ["make_price"]


def make_price(measured: Measured, work: Work, order: Order, job: Job, base_days: float) -> Price:
    """The whole price with its risk. Where a rate or a pack price is missing, `complete` is false and it is listed."""
    lines, missing = cost_lines(work, order, job)
    risk = simulate(measured, work, order, lines, job, base_days)
    prime = sum((line.amount for line in lines if line.amount is not None), Decimal(0))
    steps = _steps(prime, risk, lines, job)
    before_tax = steps[-1].total if steps else money(prime)
    tax = Decimal(0) if job.price.reverse_charge else percent_of(before_tax, job.price.tax)
    return Price(
        currency=job.price.currency,
        lines=lines,
        steps=steps,
        prime_cost=money(prime),
        before_tax=before_tax,
        tax=tax,
        total=before_tax + tax,
        rooms=_rooms(measured, lines, order, prime, before_tax),
        complete=not missing,
        missing=missing,
        risk=risk,
        notes=_notes(job, missing),
    )


def _steps(prime: Decimal, risk: Risk, lines: tuple[PriceLine, ...], job: Job) -> tuple[Step, ...]:
    additions: list[tuple[str, Decimal | None, Decimal | None]] = [(m.name, m.percent, None) for m in job.price.markups]
    if job.price.contingency != "none":
        level = {"P50": risk.cost.p50, "P80": risk.cost.p80, "P90": risk.cost.p90}[job.price.contingency]
        extra = max(Decimal(0), money(level) - money(prime))
        additions.append((f"contingency to {job.price.contingency} of the simulated cost", None, extra))
    steps = chain(prime, additions)
    total = steps[-1].total if steps else money(prime)
    up = rounded_up(total, job.price.round_to)
    if up != total:
        steps = (*steps, Step(f"rounded up to {job.price.round_to:f}", None, total, up - total, up))
    return steps


def _rooms(
    measured: Measured, lines: tuple[PriceLine, ...], order: Order, prime: Decimal, before_tax: Decimal
) -> tuple[RoomPrice, ...]:
    """The price before tax shared among the rooms in proportion to their cost; per m2 of plastered surface."""
    area: dict[str, float] = {}
    for surface in measured.surfaces:
        area[surface.room] = area.get(surface.room, 0.0) + surface.net_m2
    split = room_split(lines, order, tuple(area))
    rooms, shared = [], Decimal(0)
    for number, (room, cost) in enumerate(split.items(), 1):
        net = money(before_tax * cost / prime) if prime else Decimal(0)
        if number == len(split) and prime:
            net = before_tax - shared
        shared += net
        per_m2 = money(net / Decimal(str(round(area[room], 4)))) if area[room] else Decimal(0)
        rooms.append(RoomPrice(room, net, per_m2))
    return tuple(rooms)


def _notes(job: Job, missing: tuple[str, ...]) -> tuple[str, ...]:
    notes = []
    if missing:
        notes.append("Not a complete price: " + "; ".join(missing) + ".")
    if job.price.reverse_charge:
        notes.append(
            f"Reverse charge: the customer accounts to the tax office for the {job.price.tax_name} "
            f"at {job.price.tax:g} %. Check that it applies to this customer and work."
        )
    return tuple(notes)
