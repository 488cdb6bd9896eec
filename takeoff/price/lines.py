"""The cost lines of a job: materials, labour, plant and access, waste away, provisional sums. No mark-ups yet.

Materials are costed in whole packs, once for the job; each room carries its exact share of them.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from takeoff.job import Job
from takeoff.materials.model import Order, OrderLine
from takeoff.price.markup import money, percent_of
from takeoff.price.model import PriceLine
from takeoff.work.model import Operation, Work

__all__ = ["cost_lines", "labour_hour_cost", "room_split"]


def cost_lines(work: Work, order: Order, job: Job) -> tuple[tuple[PriceLine, ...], tuple[str, ...]]:
    """The lines, and what is missing for a complete price, each in plain words."""
    missing: list[str] = []
    lines = [*_materials(order, job, missing), *_labour(work, job, missing)]
    lines += [_sum("plant", p.what, p.amount) for p in job.price.plant]
    lines += _waste(work, order, job, missing)
    lines += [_sum("provisional", p.what, p.amount) for p in job.price.provisional]
    return tuple(lines), tuple(missing)


def labour_hour_cost(job: Job) -> Decimal | None:
    """Cost of one plasterer's hour, the labourer's hour shared among the gang added; None when a rate is missing."""
    rate = job.price.labour_rate
    if rate is None or not job.gang.labourer:
        return rate
    if job.price.labourer_rate is None:
        return None
    return rate + job.price.labourer_rate / job.gang.people


def _materials(order: Order, job: Job, missing: list[str]) -> list[PriceLine]:
    lines = []
    for line in order.lines:
        if line.packs == 0:
            continue
        if line.cost is None:
            missing.append(f"price per pack of {line.material.title}")
        lines.append(_material_line(line, job.price.material_margin))
    return lines


def _material_line(line: OrderLine, margin: Decimal) -> PriceLine:
    amount = None if line.cost is None else money(line.cost) + percent_of(money(line.cost), margin)
    how = f"{line.packs} x {line.material.price} + {margin:g} % margin" if line.cost is not None else "no price known"
    return PriceLine(
        "materials", line.material.title, "", line.packs, line.material.pack, line.material.price, amount, how
    )


def _labour(work: Work, job: Job, missing: list[str]) -> list[PriceLine]:
    if job.price.labour_rate is None:
        missing.append("[price] labour_rate")
    if job.gang.labourer and job.price.labourer_rate is None:
        missing.append("[price] labourer_rate")
    rate = labour_hour_cost(job)
    by_room: dict[str, list[Operation]] = defaultdict(list)
    for operation in work.operations:
        by_room[operation.room].append(operation)
    return [_labour_line(room, operations, rate) for room, operations in by_room.items()]


def _labour_line(room: str, operations: list[Operation], rate: Decimal | None) -> PriceLine:
    hours = round(sum(o.hours for o in operations), 4)
    amount = None if rate is None else money(Decimal(str(hours)) * rate)
    how = " + ".join(f"{o.title} {o.hours:.2f} h" for o in operations)
    return PriceLine("labour", f"Labour in {room}" if room else "Labour", room, hours, "h", rate, amount, how)


def _waste(work: Work, order: Order, job: Job, missing: list[str]) -> list[PriceLine]:
    tonnes = round((work.waste_kg + sum(line.waste_kg for line in order.lines)) / 1000, 4)
    if not tonnes:
        return []
    rate = job.price.waste_rate
    if rate is None:
        missing.append("[price] waste_rate, per tonne carried away")
    amount = None if rate is None else money(Decimal(str(tonnes)) * rate)
    return [PriceLine("waste", "Waste carried away", "", tonnes, "t", rate, amount, f"{tonnes:.3f} t x {rate or '?'}")]


def _sum(kind: str, what: str, amount: Decimal) -> PriceLine:
    return PriceLine(kind, what, "", 1, "sum", amount, money(amount), "as entered in the job file")


def room_split(lines: tuple[PriceLine, ...], order: Order, rooms: tuple[str, ...]) -> dict[str, Decimal]:
    """Cost before mark-ups by room: its labour, its share of each material, the rest by its share of both.

    The shares add up to the sum of the known lines to the penny; the last room takes the rounding.
    """
    own: dict[str, Decimal] = {room: Decimal(0) for room in rooms}
    cost = {line.material.title: line for line in order.lines}
    for line in lines:
        if line.amount is None:
            continue
        if line.room in own:
            own[line.room] += line.amount
        elif line.kind == "materials":
            _spread_material(own, line.amount, cost[line.what])
    total = sum((line.amount for line in lines if line.amount is not None), Decimal(0))
    return _scaled_to(own, total)


def _spread_material(own: dict[str, Decimal], amount: Decimal, line: OrderLine) -> None:
    whole = sum(share.with_waste for share in line.shares)
    for share in line.shares:
        if share.room in own and whole:
            own[share.room] += amount * Decimal(str(round(share.with_waste / whole, 9)))


def _scaled_to(own: dict[str, Decimal], total: Decimal) -> dict[str, Decimal]:
    spread = sum(own.values(), Decimal(0))
    if not own:
        return {}
    equal = Decimal(1) / len(own)
    split = {room: money(total * (value / spread if spread else equal)) for room, value in own.items()}
    last = list(split)[-1]
    split[last] += total - sum(split.values(), Decimal(0))
    return split
