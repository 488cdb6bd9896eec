"""The order: what the needs come to in whole packs, delivery by delivery, and which part of it goes to which room.

Every line can be checked by hand: net, + waste, / pack, rounded up once. Rooms show their exact share, never rounded.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.deliveries import Load, loads
from takeoff.materials.mixes import room_mixes
from takeoff.materials.model import Delivery, Material, Order, OrderLine, RoomLoad, RoomShare
from takeoff.materials.packs import Packs, packs_each_surface, packs_once
from takeoff.plan.model import Plan
from takeoff.work.model import Need, Work

__all__ = ["LIFT_KG", "make_order"]

LIFT_KG = 25.0
"""A pack heavier than this is no load for one person: check loads over 20-25 kg (HSENI, seen)."""


def make_order(plan: Plan, work: Work, job: Job, variants: Mapping[str, Material] | None = None) -> Order:
    """All materials of `work` in whole packs; `variants` are stock sizes laid out or cut beside the catalogue's.

    Raises `JobError` for waste of a kind that no material is of, and for deliveries by a plot or stage no room has.
    """
    materials = {**catalogue(job), **(variants or {})}
    trips = loads(plan, job)
    lines = [line for trip in trips for line in _lines(trip, work.needs, materials, job)]
    stripped_m3 = work.waste_kg / float(load("materials")["debris"]["stripped"]["kg_per_m3"])
    return Order(
        lines=tuple(lines),
        deliveries=tuple(_delivery(trip, [line for line in lines if line.delivery == trip.ref]) for trip in trips),
        rooms=_room_loads(plan, lines),
        unpriced=tuple(dict.fromkeys(line.material.title for line in lines if line.cost is None)),
        mixes=room_mixes(work, materials, job.mixing),
        waste_kg=work.waste_kg + sum(line.waste_kg for line in lines),
        waste_m3=stripped_m3 + sum(line.waste_m3 for line in lines),
    )


def _lines(trip: Load, needs: Iterable[Need], materials: Mapping[str, Material], job: Job) -> Iterator[OrderLine]:
    """The lines of one delivery in the order of the catalogue."""
    rooms = set(trip.rooms)
    grouped: dict[str, list[Need]] = {}
    for need in needs:
        if need.room in rooms and need.amount > 0:
            grouped.setdefault(need.material, []).append(need)
    for slug, material in materials.items():
        if slug in grouped:
            yield _line(material, grouped[slug], trip, each_surface=job.order.rounding == "each-surface")


def _line(material: Material, needs: Sequence[Need], trip: Load, *, each_surface: bool) -> OrderLine:
    waste_pct = _waste_pct(material, needs)
    packs = _packs(material, needs, waste_pct, each_surface=each_surface)
    left_over = packs.whole * material.pack_size - packs.with_waste
    kg_per_unit = material.pack_kg / material.pack_size
    thrown = packs.with_waste - packs.net + (0.0 if material.opened_keeps else left_over)
    waste_kg = thrown * kg_per_unit
    return OrderLine(
        material=material,
        net=packs.net,
        waste_pct=waste_pct,
        with_waste=packs.with_waste,
        packs=packs.whole,
        left_over=left_over,
        weight_kg=packs.whole * material.pack_kg,
        shares=_shares(material, needs, packs),
        cost=None if material.price is None else packs.whole * material.price,
        how=_how(material, packs, each_surface=each_surface and material.kind == "board"),
        delivery=trip.ref,
        waste_kg=waste_kg,
        waste_m3=waste_kg / material.waste_kg_per_m3 if material.waste_kg_per_m3 else 0.0,
        caution=_lifting(material),
    )


def _with_waste(need: Need, material: Material) -> float:
    """The need with the waste of its layer, or of the material where the layer has none of its own."""
    return need.amount * (1.0 + (material.waste_pct if need.waste_pct is None else need.waste_pct) / 100.0)


def _waste_pct(material: Material, needs: Sequence[Need]) -> float:
    """Waste of all the needs together, per cent."""
    if all(need.waste_pct is None for need in needs):
        return material.waste_pct
    return 100.0 * (sum(_with_waste(n, material) for n in needs) / sum(n.amount for n in needs) - 1.0)


def _packs(material: Material, needs: Sequence[Need], waste_pct: float, *, each_surface: bool) -> Packs:
    if each_surface and material.kind == "board":
        surfaces: dict[str, float] = {}
        for need in needs:
            surfaces[need.surface] = surfaces.get(need.surface, 0.0) + need.amount
        return packs_each_surface(surfaces.values(), material.pack_size, waste_pct)
    return packs_once(sum(need.amount for need in needs), material.pack_size, waste_pct)


def _shares(material: Material, needs: Sequence[Need], packs: Packs) -> tuple[RoomShare, ...]:
    """Each room's exact part of the line. What rounding on each surface adds is spread over the rooms."""
    nets: dict[str, float] = {}
    wasted: dict[str, float] = {}
    for need in needs:
        nets[need.room] = nets.get(need.room, 0.0) + need.amount
        wasted[need.room] = wasted.get(need.room, 0.0) + _with_waste(need, material)
    spread = packs.with_waste / sum(wasted.values())
    kg_per_unit = material.pack_kg / material.pack_size
    return tuple(
        RoomShare(room, net, share := wasted[room] * spread, share / material.pack_size, share * kg_per_unit)
        for room, net in nets.items()
    )


def _how(material: Material, packs: Packs, *, each_surface: bool) -> str:
    unit = material.unit
    if each_surface:
        whole_each = packs.exact / (1.0 + packs.waste_pct / 100.0)
        return (
            f"{whole_each:.0f} whole on each surface + {packs.waste_pct:.4g} % = {packs.exact:.2f}, up to {packs.whole}"
        )
    return (
        f"{packs.net:.2f} {unit} net + {packs.waste_pct:.4g} % = {packs.with_waste:.2f} {unit}; "
        f"/ {material.pack_size:.4g} {unit} = {packs.exact:.2f}, up to {packs.whole}"
    )


def _lifting(material: Material) -> str:
    if material.pack_kg <= LIFT_KG:
        return ""
    return f"{material.pack_kg:.1f} kg each, over {LIFT_KG:.0f} kg: two people or a lifter"


def _delivery(trip: Load, lines: Sequence[OrderLine]) -> Delivery:
    costs = [line.cost for line in lines]
    known = [cost for cost in costs if cost is not None]
    return Delivery(
        ref=trip.ref,
        title=trip.title,
        rooms=trip.rooms,
        weight_kg=sum(line.weight_kg for line in lines),
        waste_kg=sum(line.waste_kg for line in lines),
        waste_m3=sum(line.waste_m3 for line in lines),
        cost=sum(known, Decimal(0)) if len(known) == len(costs) and costs else None,
    )


def _room_loads(plan: Plan, lines: Sequence[OrderLine]) -> tuple[RoomLoad, ...]:
    weights: dict[str, float] = {}
    heaviest: dict[str, float] = {}
    for line in lines:
        for share in line.shares:
            weights[share.room] = weights.get(share.room, 0.0) + share.weight_kg
            heaviest[share.room] = max(heaviest.get(share.room, 0.0), line.material.pack_kg)
    return tuple(RoomLoad(r.ref, weights[r.ref], heaviest[r.ref]) for r in plan.rooms if r.ref in weights)
