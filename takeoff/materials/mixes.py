"""Plaster by the mix: bags and water for each room and layer, and how far one mix goes before it sets.

Terms:
  mix            what is mixed at once: so many bags.
  working time   minutes from mixing in which the plaster can be laid.
  one mix        both coats of an area come from the same mix, which must still be fit for the second coat.
  two mixes      each coat has mixes of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil

from takeoff.job_tables import MixingTable
from takeoff.materials.model import Material, RoomMix
from takeoff.work.model import Work

__all__ = ["Cover", "layable_m2", "mix_covers", "room_mixes"]

_NEARLY = 1e-9


@dataclass(frozen=True, slots=True)
class _Coat:
    """Plaster of one room that is mixed and laid alike."""

    room: str
    material: str
    thickness_mm: float
    coats: int
    waste_pct: float | None


@dataclass(frozen=True, slots=True)
class Cover:
    """What one mix covers, and what stops it going further."""

    m2: float
    coats_together: int
    """Coats of that area that the mix serves."""
    limited_by: str
    """'the mix' or 'working time'."""
    how: str


def layable_m2(rate_m2_per_hour: float, use_within_min: float, wait_min: float = 0.0, coats: int = 1) -> float:
    """Square metres that can be laid within the working time at `rate_m2_per_hour` a coat.

    With two coats of one mix the second starts when the first is laid and firm (`wait_min` after mixing), and must be
    laid before the working time ends; 0 when the first is not firm in time.
    """
    if coats == 1:
        minutes = use_within_min
    else:
        half = use_within_min / 2.0
        minutes = half if half >= wait_min else max(0.0, use_within_min - wait_min)
    return rate_m2_per_hour * minutes / 60.0


def mix_covers(
    mix_kg: float, kg_per_m2: float, coats: int, mixing: MixingTable, use_within_min: float, wait_min: float
) -> Cover:
    """How many m2 a mix of `mix_kg` covers, for a layer of `kg_per_m2` in all its `coats`.

    With two coats from one mix the figure is finished area; with two mixes it is area of one coat. Where the first
    coat would not be firm before the mix is past use, each coat is counted with mixes of its own.
    """
    together = coats if mixing.two_coats == "one mix" and use_within_min > wait_min else 1
    per_m2 = kg_per_m2 * together / coats
    by_mix = mix_kg / per_m2
    by_time = layable_m2(mixing.laying_m2_per_hour, use_within_min, wait_min, together)
    coat = "both coats" if together > 1 else "one coat"
    how = f"{mix_kg:g} kg / {per_m2:.3g} kg/m2 ({coat}) = {by_mix:.1f} m2; in {use_within_min:g} min at "
    how += f"{mixing.laying_m2_per_hour:g} m2/h = {by_time:.1f} m2"
    return Cover(min(by_mix, by_time), together, "the mix" if by_mix <= by_time else "working time", how)


def room_mixes(work: Work, materials: Mapping[str, Material], mixing: MixingTable) -> tuple[RoomMix, ...]:
    """Bags, water and mixes of every plaster layer, room by room in the order of the needs."""
    return tuple(_room_mix(*found, mixing) for found in _plaster_layers(work, materials))


def _plaster_layers(work: Work, materials: Mapping[str, Material]) -> Iterator[tuple[_Coat, Material, float, float]]:
    """Each coat of plaster that is mixed with water, with its m2 and net kg."""
    sums: dict[_Coat, tuple[float, float]] = {}
    for need in work.needs:
        material = materials[need.material]
        if need.layer and need.per == "m2" and material.use_within_min and material.kg_per_m2_mm:
            layer = work.build_ups[need.build_up].layers[need.layer - 1]
            coat = _Coat(need.room, need.material, layer.thickness_mm, layer.coats, layer.waste_pct)
            m2, kg = sums.get(coat, (0.0, 0.0))
            sums[coat] = (m2 + need.quantity, kg + need.amount)
    for coat, (m2, kg) in sums.items():
        yield coat, materials[coat.material], m2, kg


def _room_mix(coat: _Coat, material: Material, m2: float, kg: float, mixing: MixingTable) -> RoomMix:
    mix_kg, wait_min = mixing.bags_per_mix * material.pack_size, material.second_coat_after_min
    cover = mix_covers(mix_kg, kg / m2, coat.coats, mixing, material.use_within_min, wait_min)
    together = "one mix" if cover.coats_together > 1 else "two mixes"
    waste = material.waste_pct if coat.waste_pct is None else coat.waste_pct
    bags = kg * (1.0 + waste / 100.0) / material.pack_size
    return RoomMix(
        room=coat.room,
        material=material.slug,
        thickness_mm=coat.thickness_mm,
        coats=coat.coats,
        area_m2=m2,
        kg=kg,
        bags=bags,
        water_l=bags * material.water_l_per_pack,
        m2_per_mix=cover.m2,
        mixes=ceil(m2 / cover.m2 - _NEARLY) * coat.coats // cover.coats_together,
        two_coats=together if coat.coats > 1 else "",
        limited_by=cover.limited_by,
        how=cover.how,
    )
