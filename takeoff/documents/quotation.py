"""The quotation: scope room by room in plain words, and no price without its assumptions on the same paper."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.data import load
from takeoff.documents.decided import decided
from takeoff.documents.paper import Block, Bullets, Heading, Para, Table, paper_docx, paper_pdf
from takeoff.documents.words import finding_words, money_text, room_title, signed_money, surface_groups
from takeoff.plan.model import Room
from takeoff.price.model import Alternative, Price
from takeoff.price.parts import preparation_costs
from takeoff.record import Takeoff

__all__ = ["quotation_blocks", "quotation_docx", "quotation_pdf"]

BEADED = ("external angle", "opening angle")


def quotation_pdf(takeoff: Takeoff) -> bytes:
    """The quotation as PDF. Needs a priced takeoff."""
    return paper_pdf(quotation_blocks(takeoff), _title(takeoff))


def quotation_docx(takeoff: Takeoff) -> bytes:
    """The same as an editable .docx."""
    return paper_docx(quotation_blocks(takeoff), _title(takeoff))


def quotation_blocks(takeoff: Takeoff) -> list[Block]:
    """The quotation of a priced takeoff, block by block."""
    price = takeoff.price
    assert price is not None
    return [
        *_head(takeoff),
        *_sum(takeoff, price),
        *_alternatives(takeoff),
        *_scope(takeoff),
        Heading("What is included"),
        Bullets(tuple(load("quotation")["included"])),
        *_assumed(takeoff),
        Heading("What is not included"),
        Bullets((*load("quotation")["exclusions"], *takeoff.job.price.exclusions)),
        *_provisional(takeoff, price),
        *_terms(takeoff),
        Heading("Cautions"),
        Bullets(takeoff.work.cautions),
        *_signatures(),
    ]


def _title(takeoff: Takeoff) -> str:
    return f"Quotation {takeoff.job.job.reference}".strip() + (
        f": {takeoff.job.job.name}" if takeoff.job.job.name else ""
    )


def _head(takeoff: Takeoff) -> Iterable[Block]:
    job = takeoff.job.job
    rows = [
        ("For", job.prepared_for), ("Site", job.site), ("From", job.prepared_by),
        ("Date", job.date), ("Reference", job.reference),
    ]  # fmt: skip
    yield Heading(_title(takeoff), 0)
    yield from (Para(f"{name}: {value}") for name, value in rows if value)
    yield Para(load("quotation")["survey"], bold=True)
    yield Para(f"Drawing: {takeoff.drawing.file}, fingerprint {takeoff.drawing.sha256[:12]}.", small=True)


def _sum(takeoff: Takeoff, price: Price) -> Iterable[Block]:
    table = takeoff.job.price
    yield Heading("Price")
    if not price.complete:
        yield Para("This is not a price yet. Still missing: " + "; ".join(price.missing) + ".", bold=True)
    tax = "none added: reverse charge" if table.reverse_charge else money_text(price.tax, price.currency)
    rows = [
        ("What", "Amount"),
        ("Plastering and drylining as described below", money_text(price.before_tax, price.currency)),
        (f"{table.tax_name} at {table.tax:g} %", tax),
        ("Total" if price.complete else "Total of what is known so far", money_text(price.total, price.currency)),
    ]
    yield Table(tuple(rows), (3, 1), (1,), strong_last=True)
    yield from (Para(note) for note in price.notes if "Not a complete price" not in note)
    by_room = {room.ref: room_title(room) for room in takeoff.plan.rooms}
    rooms = [(by_room.get(r.room, r.room), money_text(r.net, price.currency)) for r in price.rooms]
    yield Table((("Room", f"Before {table.tax_name}"), *rooms), (3, 1), (1,))


def _alternatives(takeoff: Takeoff) -> Iterable[Block]:
    """The other ways of doing it side by side, each against the job as priced."""
    if not takeoff.alternatives:
        return
    stands, *others = takeoff.alternatives
    currency = takeoff.job.price.currency
    before = f"Before {takeoff.job.price.tax_name}"
    rows = [(*_alternative(stands, currency), "")]
    rows += [(*_alternative(o, currency), signed_money(o.before_tax - stands.before_tax, currency)) for o in others]
    yield Heading("The same rooms done another way")
    yield Table((("Way", "Hours", "Days", before, "More or less"), *rows), (3, 0.8, 0.7, 1.4, 1.4), (1, 2, 3, 4))
    if not all(way.complete for way in takeoff.alternatives):
        yield Para("Sums are of the known part only: prices are missing.", bold=True)
    yield Para("Each way is worked out in full. The work described below is the first; say which is wanted.")


def _alternative(way: Alternative, currency: str) -> tuple[str, str, str, str]:
    name = f"{way.name[0].upper()}{way.name[1:]}"
    return name, f"{way.hours:.0f}", str(way.days), money_text(way.before_tax, currency)


def _scope(takeoff: Takeoff) -> Iterable[Block]:
    yield Heading("The work, room by room")
    for storey in takeoff.plan.storeys:
        rooms = [r for r in takeoff.plan.rooms if r.plan == storey.ref]
        if len(takeoff.plan.storeys) > 1 and rooms:
            yield Para(storey.title or f"Plan {storey.ref}", bold=True)
        for room in rooms:
            yield from _room_scope(takeoff, room)


def _room_scope(takeoff: Takeoff, room: Room) -> Iterable[Block]:
    groups = surface_groups(takeoff, room.ref)
    if not groups:
        return
    findings = [f for f in takeoff.work.findings if f.room == room.ref]
    height = next((m.height_m for m in takeoff.measured.rooms if m.room == room.ref), None)
    beads = _beaded_m(takeoff, room)
    lines = [*finding_words(findings), *(group.words() for group in groups)]
    if beads:
        lines.append(f"Beads to external angles and round openings, {beads:.2f} m")
    yield Heading(f"{room_title(room)}, floor {room.floor_area_m2:.2f} m2, height {height:.2f} m", 2)
    yield Bullets(tuple(lines))


def _beaded_m(takeoff: Takeoff, room: Room) -> float:
    """Metres of angles in the room that get a bead: none where the old angles are taken as sound."""
    beads = {line.material.slug for line in takeoff.order.lines if line.material.kind == "bead"}
    beaded = {n.surface for n in takeoff.work.needs if n.room == room.ref and n.material in beads}
    return sum(e.length_m for e in takeoff.measured.edges if e.ref in beaded and e.kind in BEADED)


def _assumed(takeoff: Takeoff) -> Iterable[Block]:
    yield Heading("What this price assumes")
    settled = [f"Agreed as it stands: {q.says}" for q in takeoff.accepted]
    open_ones = [f"Still open ({q.ref}): {q.says}" for q in takeoff.queries]
    rules = f"Measured under the rule '{takeoff.measured.rule}' (see the workbook)."
    yield Bullets((rules, *decided(takeoff), *settled, *open_ones))
    if open_ones:
        yield Para("The price may change with the answers to the open points. They are numbered on the marked plan.")


def _provisional(takeoff: Takeoff, price: Price) -> Iterable[Block]:
    sums = [line for line in price.lines if line.kind == "provisional"]
    allowed = [o for o in takeoff.work.operations if o.allowance]
    if not sums and not allowed:
        return
    yield Heading("Provisional: what cannot be seen yet")
    rows = [(line.what, money_text(line.amount, price.currency)) for line in sums]
    if rows:
        yield Table((("Provisional sum", "Amount, in the price"), *rows), (3, 1), (1,))
    if allowed:
        yield from _allowed(takeoff, price)


def _allowed(takeoff: Takeoff, price: Price) -> Iterable[Block]:
    """The allowances room by room, in the price at their share of the additions."""
    named = {room.ref: room_title(room) for room in takeoff.plan.rooms}
    costs = preparation_costs(takeoff.work, takeoff.order, takeoff.job)
    more = price.before_tax / price.prime_cost if price.prime_cost else None
    rows = [
        (named[room], f"{hours:.1f}", money_text(None if cost is None or more is None else cost * more, price.currency))
        for room, (hours, cost) in costs.items()
    ]
    before = f"In the price, before {takeoff.job.price.tax_name}"
    yield Table((("Preparation in rooms not yet looked at", "Hours", before), *rows), (3, 0.8, 1.6), (1, 2))
    yield Para(
        "These are allowances, counted twice because before the visit preparation commonly takes twice what was "
        "allowed. It is measured room by room when it can be seen; more or less is agreed on a variation sheet first."
    )


def _terms(takeoff: Takeoff) -> Iterable[Block]:
    table = takeoff.job.price
    yield Heading("Validity and payment")
    yield Para(f"This quotation stands for {table.validity_days} days from its date.")
    if table.payments:
        rows = [(p.when, f"{p.percent:g} %") for p in table.payments]
        yield Table((("When", "Part of the price"), *rows), (3, 1), (1,))
    else:
        yield Para("Payment on completion unless agreed otherwise in writing.")
    if takeoff.programme is not None and takeoff.programme.days:
        yield Para(
            f"About {takeoff.programme.days} working days for {takeoff.job.gang.people} "
            f"{'person' if takeoff.job.gang.people == 1 else 'people'}; dry enough to decorate from about day "
            f"{takeoff.programme.ready_to_decorate_day}, if the rooms are ventilated."
        )


def _signatures() -> Iterable[Block]:
    yield Heading("Agreed")
    yield Table(
        (("For the customer", "For the contractor"), ("Name:", "Name:"), ("Signed:", "Signed:"), ("Date:", "Date:")),
        (1, 1),
    )
