"""The buying list by delivery: what to order, when it is wanted, what it weighs, what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from takeoff.documents.paper import Block, Heading, Para, Table, paper_pdf
from takeoff.documents.stock_words import counted_as, laid_words
from takeoff.documents.words import kg_text, money_text
from takeoff.materials.model import OrderLine
from takeoff.record import Takeoff

__all__ = ["buying_blocks", "buying_pdf", "load_blocks"]

SMALLEST_WASTE_KG = 0.5
"""Less than this of a kind is no load."""


def buying_pdf(takeoff: Takeoff) -> bytes:
    """The buying list as PDF. Needs a takeoff with its programme."""
    return paper_pdf(buying_blocks(takeoff), f"Buying list {takeoff.job.job.name}".strip())


def buying_blocks(takeoff: Takeoff) -> list[Block]:
    """One table per delivery of the programme, then what has no price."""
    assert takeoff.programme is not None
    blocks: list[Block] = [Heading(f"Buying list {takeoff.job.job.name}".strip(), 0)]
    blocks.append(
        Para("Whole packs, rounded once per delivery. Prices as entered in the job file; blank where not known.")
    )
    places = {load.ref: load.title for load in takeoff.order.deliveries}
    for number, delivery in enumerate(takeoff.programme.deliveries, 1):
        wanted = dict(delivery.lines)
        lines = [
            line
            for line in takeoff.order.lines
            if line.material.slug in wanted and line.packs and line.delivery == delivery.load
        ]
        whose = f"{places[delivery.load]}, " if len(places) > 1 else ""
        title = f"Delivery {number}: {whose}on site before day {delivery.day}"
        blocks += load_blocks(lines, title, takeoff.job.price.currency)
    blocks.append(Para(counted_as(takeoff), small=True))
    blocks += [Para(f"{words}.", small=True) for _, words in laid_words(takeoff)]
    blocks += [Para(text) for text in _waste(takeoff)]
    blocks += [Para(text, bold=True) for text in _heavy(takeoff.order.lines)]
    if takeoff.order.unpriced:
        blocks.append(
            Para("No price known for: " + ", ".join(takeoff.order.unpriced) + ". Ask your merchant.", bold=True)
        )
    return blocks


def _waste(takeoff: Takeoff) -> Iterable[str]:
    """What is carried away, by weight and loose volume, and how much of it each kind of material makes."""
    order = takeoff.order
    if order.waste_kg < SMALLEST_WASTE_KG:
        return
    kinds: dict[str, float] = {}
    for line in order.lines:
        kinds[line.material.kind] = kinds.get(line.material.kind, 0.0) + line.waste_kg
    parts = [*kinds.items(), ("stripped from old surfaces", takeoff.work.waste_kg)]
    listed = ", ".join(f"{kind} {kg_text(kg)}" for kind, kg in parts if kg >= SMALLEST_WASTE_KG)
    yield (
        f"Waste to carry away, about: {kg_text(order.waste_kg)} kg, {order.waste_m3:.1f} m3 loose in a skip "
        f"({listed} kg). Plaster waste at its dry weight; volumes from memory."
    )


def _heavy(lines: Iterable[OrderLine]) -> Iterable[str]:
    """The lifting caution of every pack that calls for one, by what it says after its weight."""
    packs: dict[str, list[str]] = {}
    for line in lines:
        if line.caution:
            weight, _, what_to_do = line.caution.partition(" each, ")
            packs.setdefault(what_to_do, []).append(f"{line.material.title} {weight}")
    for what_to_do, named in packs.items():
        yield f"Each {what_to_do}: {'; '.join(dict.fromkeys(named))}."


def load_blocks(lines: Sequence[OrderLine], title: str, currency: str) -> Iterable[Block]:
    """A heading with the weight and a table with a row for each of `lines`, to tick off."""
    weight = sum(line.weight_kg for line in lines)
    head = ("", "Packs", "Material", "Pack", "kg", "Each", "Cost", "Supplier, price of")
    rows = [
        (
            "[  ]", str(line.packs), line.material.title, line.material.pack, kg_text(line.weight_kg),
            "" if line.material.price is None else f"{line.material.price:.2f}",
            "" if line.cost is None else f"{line.cost:.2f}",
            ", ".join(part for part in (line.material.supplier, line.material.price_date) if part),
        )
        for line in lines
    ]  # fmt: skip
    known = [line.cost for line in lines if line.cost is not None]
    total = money_text(sum(known, Decimal(0)), currency) if known and len(known) == len(lines) else ""
    yield Heading(f"{title}, {kg_text(weight)} kg")
    yield Table(
        (head, *rows, ("", "", "", "", kg_text(weight), "", total, "")),
        (0.6, 1, 4, 2.4, 0.9, 1, 1.3, 2),
        (1, 4, 5, 6),
        True,
    )
