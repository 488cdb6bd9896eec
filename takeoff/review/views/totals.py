"""The whole job at a glance: areas, openings, materials, hours, price, and what to beware of."""

from __future__ import annotations

from collections import Counter, defaultdict
from math import ceil

from takeoff.documents.safe_text import clean
from takeoff.materials.model import OrderLine
from takeoff.price.model import Price
from takeoff.record import Takeoff
from takeoff.review.figures import hours_of, rough_days
from takeoff.review.views.values import Json, rounded
from takeoff.work.model import Operation

__all__ = ["totals"]

AREAS = {"wall": "walls_m2", "pier": "walls_m2", "ceiling": "ceilings_m2", "reveal": "reveals_m2"}


def totals(takeoff: Takeoff) -> Json:
    """The answer of /api/totals but for `rough`; without a programme the days are an estimate."""
    return {
        "areas": _areas(takeoff),
        "openings": dict(Counter(opening.kind for opening in takeoff.plan.openings)),
        "materials": [_material(line) for line in takeoff.order.lines],
        "hours": {"likely": rounded(hours_of(takeoff)), "by_task": _by_task(takeoff)},
        "days": takeoff.programme.days if takeoff.programme else ceil(rough_days(takeoff)),
        "rates": _rates(takeoff),
        "price": _price(takeoff.price) if takeoff.price else None,
        "cautions": [
            {"title": n.title, "says": n.says, "source": n.source, "rooms": list(n.about)} for n in takeoff.work.notices
        ],
        "waste_kg": rounded(takeoff.order.waste_kg),
    }


def _rates(takeoff: Takeoff) -> Json:
    """What the price rests on and the page can change: keys of [price] and [gang] of the job file."""
    price = takeoff.job.price
    return {
        "currency": price.currency,
        "labour_rate": price.labour_rate,
        "waste_rate": price.waste_rate,
        "material_margin": price.material_margin,
        "tax": price.tax,
        "people": takeoff.job.gang.people,
    }


def _areas(takeoff: Takeoff) -> Json:
    areas = dict.fromkeys(["walls_m2", "ceilings_m2", "reveals_m2"], 0.0)
    for surface in takeoff.measured.surfaces:
        areas[AREAS[surface.kind]] += surface.net_m2
    floors = sum(r.floor_area_m2 for r in takeoff.plan.rooms if r.ref in takeoff.covered_rooms)
    rule = {"rule": takeoff.measured.rule, "rooms": len(takeoff.covered_rooms)}
    return {name: rounded(area) for name, area in areas.items()} | {"floors_m2": rounded(floors)} | rule


def _material(line: OrderLine) -> Json:
    material = line.material
    return {
        "material": material.slug,
        "title": clean(material.title),
        "kind": material.kind,
        "net": rounded(line.net),
        "waste_pct": rounded(line.waste_pct),
        "with_waste": rounded(line.with_waste),
        "unit": material.unit,
        "packs": line.packs,
        "pack": material.pack,
        "price": material.price,
        "cost": line.cost,
        "delivery": line.delivery,
        "how": line.how,
        "source": material.source,
        "caution": line.caution,
    }


def _by_task(takeoff: Takeoff) -> list[Json]:
    tasks: dict[tuple[str, str, str], list[Operation]] = defaultdict(list)
    for operation in takeoff.work.operations:
        tasks[operation.task, operation.title, operation.unit].append(operation)
    return [
        {
            "task": task,
            "title": title,
            "amount": rounded(sum(o.quantity for o in some)),
            "unit": unit,
            "hours": rounded(sum(o.hours for o in some)),
        }
        for (task, title, unit), some in tasks.items()
    ]


def _price(price: Price) -> Json:
    return {
        "net": price.before_tax,
        "tax": price.tax,
        "total": price.total,
        "currency": price.currency,
        "prime_cost": price.prime_cost,
        "steps": [
            {"what": step.name, "percent": step.percent, "on": step.on, "amount": step.amount} for step in price.steps
        ],
        "complete": price.complete,
        "missing": [clean(what) for what in price.missing],
        "notes": [clean(note) for note in price.notes],
        "risk": _risk(price),
    }


def _risk(price: Price) -> Json | None:
    if price.risk is None:
        return None
    return {
        "hours_p80": price.risk.hours.p80,
        "cost_p80": price.risk.cost.p80,
        "ask": [{"what": d.what, "share": d.share, "ask": d.ask} for d in price.risk.drivers],
    }
