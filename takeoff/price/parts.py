"""What parts of the work cost before mark-ups: the hours at their rate, and their share of the materials."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

from takeoff.job import Job
from takeoff.materials.model import Order
from takeoff.price.lines import labour_hour_cost
from takeoff.price.markup import money, percent_of
from takeoff.work.model import Need, Work

__all__ = ["materials_by", "preparation_costs"]


def materials_by(work: Work, order: Order, job: Job, key: Callable[[Need], str]) -> dict[str, Decimal]:
    """Cost of materials with margin by `key` of the needs ('' for those left out): of each order line their share.

    Lines without a price add nothing: they are listed as missing elsewhere.
    """
    taken: dict[str, float] = {}
    grouped: dict[tuple[str, str], float] = {}
    for need in work.needs:
        taken[need.material] = taken.get(need.material, 0.0) + need.amount
        if group := key(need):
            grouped[group, need.material] = grouped.get((group, need.material), 0.0) + need.amount
    costs = _line_costs(order, job)
    found: dict[str, Decimal] = {}
    for (group, material), amount in grouped.items():
        if material in costs and taken[material]:
            share = Decimal(str(round(amount / taken[material], 9)))
            found[group] = found.get(group, Decimal(0)) + costs[material] * share
    return found


def _line_costs(order: Order, job: Job) -> dict[str, Decimal]:
    costs: dict[str, Decimal] = {}
    for line in order.lines:
        if line.cost is not None and line.packs:
            cost = money(line.cost) + percent_of(money(line.cost), job.price.material_margin)
            costs[line.material.slug] = costs.get(line.material.slug, Decimal(0)) + cost
    return costs


def preparation_costs(work: Work, order: Order, job: Job) -> Mapping[str, tuple[float, Decimal | None]]:
    """(hours, cost) of the allowances in each room that nobody has looked at; None where no rate is known."""
    rooms = {finding.ref: finding.room for finding in work.findings if finding.state == "allowance"}
    rate = labour_hour_cost(job)
    hours: dict[str, float] = {}
    for operation in work.operations:
        if operation.allowance:
            hours[operation.room] = hours.get(operation.room, 0.0) + operation.hours
    materials: dict[str, Decimal] = {}
    for finding, cost in materials_by(work, order, job, lambda need: need.finding).items():
        if finding in rooms:
            materials[rooms[finding]] = materials.get(rooms[finding], Decimal(0)) + cost
    return {
        room: (h, None if rate is None else money(rate * Decimal(str(round(h, 4))) + materials.get(room, Decimal(0))))
        for room, h in hours.items()
    }
