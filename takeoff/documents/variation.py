"""The variation sheet: what was allowed against what was found, room by room, to agree before the work goes on."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from takeoff.documents.agreed import known_part, to_be_agreed
from takeoff.documents.paper import Block, Bullets, Heading, Para, Table, paper_docx, paper_pdf
from takeoff.documents.words import finding_words, room_title, signed_money
from takeoff.price.model import Price
from takeoff.record import Takeoff
from takeoff.revision.compare import material_differences

__all__ = ["RoomVariation", "variation_blocks", "variation_docx", "variation_pdf", "variations"]


@dataclass(frozen=True, slots=True)
class RoomVariation:
    """One room's difference, after less before."""

    room: str
    title: str
    hours_allowed: float
    hours_found: float
    price_allowed: Decimal | None
    price_found: Decimal | None
    allowed: tuple[str, ...]
    found: tuple[str, ...]
    materials: tuple[tuple[str, float, str], ...]
    """(material, amount more or less, unit)."""

    @property
    def changed(self) -> bool:
        """Whether anything differs."""
        return bool(self.materials) or self.hours_allowed != self.hours_found or self.allowed != self.found


def variations(before: Takeoff, after: Takeoff) -> list[RoomVariation]:
    """Every measured room of `after` against the same room of `before`. Both must be priced."""
    rows = []
    for room in after.plan.rooms:
        rows.append(
            RoomVariation(
                room.ref,
                room_title(room),
                _hours(before, room.ref),
                _hours(after, room.ref),
                _price(before.price, room.ref),
                _price(after.price, room.ref),
                tuple(finding_words([f for f in before.work.findings if f.room == room.ref])),
                tuple(finding_words([f for f in after.work.findings if f.room == room.ref])),
                material_differences(before, after, room.ref),
            )
        )
    return rows


def variation_pdf(before: Takeoff, after: Takeoff) -> bytes:
    """The sheet as PDF."""
    return paper_pdf(variation_blocks(before, after), _title(after))


def variation_docx(before: Takeoff, after: Takeoff) -> bytes:
    """The sheet as an editable .docx."""
    return paper_docx(variation_blocks(before, after), _title(after))


def variation_blocks(before: Takeoff, after: Takeoff) -> list[Block]:
    """Totals first, then each room that differs, then the place to sign."""
    assert before.price is not None and after.price is not None
    currency = after.price.currency
    rows = [row for row in variations(before, after) if row.changed]
    blocks: list[Block] = [Heading(_title(after), 0)]
    if not rows:
        return [*blocks, Para("Nothing differs from what was allowed.")]
    table = [
        (
            row.title,
            f"{row.hours_allowed:.1f}",
            f"{row.hours_found:.1f}",
            f"{row.hours_found - row.hours_allowed:+.1f}",
            _difference(row.price_allowed, row.price_found, currency),
        )
        for row in rows
    ]
    hours = sum(row.hours_found - row.hours_allowed for row in rows)
    whole = _difference(before.price.before_tax, after.price.before_tax, currency)
    blocks.append(
        Table(
            (("Room", "Hours allowed", "Hours found", "More or less", "Price before tax"), *table,
             ("Whole job", "", "", f"{hours:+.1f}", whole)),
            (3, 1.2, 1.2, 1.2, 1.8), (1, 2, 3, 4), strong_last=True,
        )
    )  # fmt: skip
    blocks += known_part((before.price, after.price))
    for row in rows:
        blocks += _room(row)
    return [*blocks, *to_be_agreed("this part of the work")]


def _title(takeoff: Takeoff) -> str:
    return f"Variation {takeoff.job.job.reference} {takeoff.job.job.name}".strip()


def _room(row: RoomVariation) -> list[Block]:
    blocks: list[Block] = [Heading(row.title, 2)]
    if row.allowed:
        blocks += [Para("Allowed before:"), Bullets(row.allowed)]
    blocks += [Para("Found:"), Bullets(row.found or ("nothing to prepare",))]
    if row.materials:
        words = [f"{name} {amount:+.1f} {unit}" for name, amount, unit in row.materials]
        blocks.append(Para("Materials more or less: " + "; ".join(words) + "."))
    return blocks


def _hours(takeoff: Takeoff, room: str) -> float:
    return round(sum(o.hours for o in takeoff.work.operations if o.room == room), 2)


def _price(price: Price | None, room: str) -> Decimal | None:
    return next((r.net for r in price.rooms if r.room == room), None) if price else None


def _difference(before: Decimal | None, after: Decimal | None, currency: str) -> str:
    return signed_money(None if before is None or after is None else after - before, currency)
