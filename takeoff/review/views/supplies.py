"""What a room takes of each material, and the hours of work in it, each with its working."""

from __future__ import annotations

from collections import defaultdict
from math import isclose

from takeoff.documents.safe_text import clean
from takeoff.materials.model import OrderLine, RoomShare
from takeoff.record import Takeoff
from takeoff.review.views.traces import Traces
from takeoff.review.views.values import Json, rounded
from takeoff.work.model import Need, Operation

__all__ = ["hour_rows", "material_rows", "operation_how"]


def material_rows(takeoff: Takeoff, room: str, traces: Traces) -> list[Json]:
    """One row an order line that the room has a share in. Packs are the exact share, never rounded to the room."""
    needs: dict[str, list[Need]] = defaultdict(list)
    for need in takeoff.work.needs:
        if need.room == room and need.amount > 0:
            needs[need.material].append(need)
    titles = {slug: build_up.title for slug, build_up in takeoff.work.build_ups.items()}
    return [
        {
            **_material(line, share),
            "sources": [
                traces.source(f"{n.surface}: {n.how}", titles.get(n.build_up, "finding"), [n.surface])
                for n in needs[line.material.slug]
            ],
        }
        for line in takeoff.order.lines
        for share in line.shares
        if share.room == room
    ]


def _material(line: OrderLine, share: RoomShare) -> Json:
    material = line.material
    waste = 100.0 * (share.with_waste / share.net - 1.0) if share.net else 0.0
    return {
        "material": material.slug,
        "title": clean(material.title),
        "amount": rounded(share.net),
        "with_waste": rounded(share.with_waste),
        "unit": material.unit,
        "pack": material.pack,
        "packs_share": rounded(share.packs),
        "how": f"{share.net:.2f} {material.unit} net + {waste:.3g} % = {share.with_waste:.2f} {material.unit}; "
        f"/ {material.pack_size:.4g} {material.unit} = {share.packs:.2f} of the {line.packs} packs ordered",
        "caution": line.caution,
    }


def hour_rows(takeoff: Takeoff, room: str, traces: Traces) -> list[Json]:
    return [_hours(o, traces) for o in takeoff.work.operations if o.room == room]


def _hours(operation: Operation, traces: Traces) -> Json:
    state = "an allowance before the visit" if operation.allowance else ""
    return {
        "task": operation.task,
        "title": operation.title,
        "stage": operation.stage,
        "amount": rounded(operation.quantity),
        "unit": operation.unit,
        "constant": rounded(operation.hours_likely),
        "low": rounded(operation.hours_low),
        "high": rounded(operation.hours_high),
        "factors": [{"name": f.why.split(":")[0], "value": rounded(f.value), "why": f.why} for f in operation.factors],
        "hours": rounded(operation.hours),
        "allowance": operation.allowance,
        "how": operation_how(operation),
        "sources": [traces.source(operation.title, state or operation.source, operation.surfaces)],
    }


def operation_how(operation: Operation) -> str:
    """'24.10 m2 x 0.25 h x 1.15 = 6.93 h'."""
    factors = "".join(f" x {f.value:g}" for f in operation.factors if not isclose(f.value, 1.0))
    return (
        f"{operation.quantity:.2f} {operation.unit} x {operation.hours_likely:g} h{factors} = {operation.hours:.2f} h"
    )
