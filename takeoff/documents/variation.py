"""The variation sheet: what was allowed against what was found, room by room, to agree before the work goes on."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from takeoff.documents.paper import Block, Bullets, Heading, Para, Table, paper_docx, paper_pdf
from takeoff.documents.words import finding_words, money_text, room_title, signed_money
from takeoff.price.model import Price
from takeoff.record import Takeoff

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
                _materials(before, after, room.ref),
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
    if not (before.price.complete and after.price.complete):
        missing = dict.fromkeys((*before.price.missing, *after.price.missing))
        blocks.append(Para("Prices are of the known part only. Missing: " + "; ".join(missing) + ".", bold=True))
    for row in rows:
        blocks += _room(row)
    blocks.append(Para("To be agreed before this part of the work goes on.", bold=True))
    blocks.append(
        Table((("For the customer", "For the contractor"), ("Signed:", "Signed:"), ("Date:", "Date:")), (1, 1))
    )
    return blocks


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
    if before is None or after is None:
        return money_text(None, currency)
    return signed_money(after - before, currency)


def _materials(before: Takeoff, after: Takeoff, room: str) -> tuple[tuple[str, float, str], ...]:
    def shares(takeoff: Takeoff) -> dict[tuple[str, str], float]:
        return {
            (line.material.title, line.material.unit): share.with_waste
            for line in takeoff.order.lines
            for share in line.shares
            if share.room == room
        }

    old, new = shares(before), shares(after)
    changes = {key: new.get(key, 0.0) - old.get(key, 0.0) for key in {**old, **new}}
    return tuple((title, round(change, 2), unit) for (title, unit), change in changes.items() if abs(change) >= 0.05)
