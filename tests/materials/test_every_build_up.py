"""Every shipped build-up from a surface to its order: what it is made of is bought and weighed. Rooms invented."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Material
from takeoff.materials.supply import supply
from takeoff.work.assign import plan_work
from takeoff.work.library import library
from takeoff.work.needs import applies
from tests.work import by_hand as hand

SHIPPED = library(Job())
SURFACES = {
    "wall": hand.wall("R1-W1", 4.2, 2.4),
    "pier": hand.wall("R1-W2", 0.6, 2.4),
    "ceiling": hand.ceiling("R1-C1", 4.2, 3.1),
    "reveal": hand.reveal("R1-V1", "", 1.2, 0.15),
}


def _of_stock(material: Material, stock: Mapping[str, Material]) -> str:
    """The shipped material that `material` is, or is a sheet or length of."""
    return next(s for s, base in stock.items() if material.slug == s or material.title.startswith(f"{base.title},"))


@pytest.mark.parametrize(
    ("slug", "background"), [(slug, background) for slug, b in SHIPPED.items() for background in b.backgrounds]
)
def test_what_a_build_up_is_made_of_is_in_the_order(slug: str, background: str) -> None:
    """On each background it may go on: every layer of surfaces is bought, with its waste, and nothing else is."""
    build_up = SHIPPED[slug]
    kinds = [kind for kind in ("wall", "ceiling") if kind in build_up.surfaces]
    surfaces = [SURFACES[kind] for kind in kinds]
    rows = {s.ref: {"build_up": slug, "background": background} for s in surfaces}
    job, plan, site = hand.job(surfaces=rows), hand.plan("R1"), hand.measured(surfaces)
    work = plan_work(plan, site, job)
    supplied = supply(plan, site, work, job, laid=True)
    wanted = {
        layer.material
        for layer in build_up.layers
        if layer.per in ("m2", "m joint", "m perimeter") and any(applies(layer, kind, background) for kind in kinds)
    }
    stock = catalogue(job)
    bought = {_of_stock(line.material, stock) for line in supplied.order.lines}
    assert bought == wanted
    for line in supplied.order.lines:
        assert line.packs >= 1 and line.weight_kg > 0 and line.with_waste >= line.net > 0
        assert line.left_over == pytest.approx(line.packs * line.material.pack_size - line.with_waste)
    assert {o.task for o in supplied.work.operations} - {"carry", "clear", "protect"}
    told = {notice.title for notice in work.notices}
    assert all(words in told for words in build_up.cautions if words.startswith(("Lifting", "Cables", "Dust"))), told
