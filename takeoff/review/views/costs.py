"""The price of one room: its labour, its exact share of each material and of the job-wide costs, and the additions.

The lines add up to the room's part of the price before tax to the penny; a line not known yet has no amount.
"""

from __future__ import annotations

from decimal import Decimal

from takeoff.price.lines import room_split
from takeoff.price.markup import money
from takeoff.price.model import Price, PriceLine
from takeoff.record import Takeoff
from takeoff.review.views.values import Json

__all__ = ["room_price"]


def room_price(takeoff: Takeoff, room: str) -> Json | None:
    """None where the room has no part in the price."""
    price = takeoff.price
    whole = next((row for row in price.rooms if row.room == room), None) if price else None
    if price is None or whole is None:
        return None
    cost = room_split(price.lines, takeoff.order, tuple(row.room for row in price.rooms))[room]
    own = [*_labour(price, room), *_materials(takeoff, price, room)]
    known = sum((row["amount"] for row in own if row["amount"] is not None), Decimal(0))
    shared = _row("Share of plant, waste and provisional sums", cost - known, _shared_how(price))
    added = _row("Additions", whole.net - cost, _added_how(price))
    return {
        "lines": [*own, *(row for row in (shared, added) if row["amount"])],
        "total": whole.net,
        "per_m2": whole.per_m2,
        "currency": price.currency,
        "complete": price.complete,
    }


def _row(what: str, amount: Decimal | None, how: str) -> Json:
    return {"what": what, "amount": amount, "how": how}


def _labour(price: Price, room: str) -> list[Json]:
    return [
        _row("Labour", line.amount, f"{line.quantity:.2f} h x {line.rate or '?'}: {line.how}")
        for line in price.lines
        if line.room == room
    ]


def _materials(takeoff: Takeoff, price: Price, room: str) -> list[Json]:
    costs: dict[str, PriceLine] = {line.what: line for line in price.lines if line.kind == "materials"}
    rows = []
    for line in takeoff.order.lines:
        share = next((s for s in line.shares if s.room == room), None)
        cost = costs.get(line.material.title)
        if share is None or cost is None:
            continue
        part = share.with_waste / sum(s.with_waste for s in line.shares)
        amount = None if cost.amount is None else money(cost.amount * Decimal(str(round(part, 9))))
        rows.append(_row(line.material.title, amount, f"{part:.1%} of {cost.amount or '?'} ({cost.how})"))
    return rows


def _shared_how(price: Price) -> str:
    named = [line.what for line in price.lines if not line.room and line.kind != "materials"]
    return f"In proportion to the room's labour and materials: {', '.join(named)}; and the rounding to the penny"


def _added_how(price: Price) -> str:
    steps = ", ".join(step.name if step.percent is None else f"{step.name} {step.percent:g} %" for step in price.steps)
    return f"In proportion to the room's cost: {steps}"
