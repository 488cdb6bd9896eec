"""What was found and what is asked, as plain text for the screen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from takeoff.documents.words import money_text
from takeoff.drawing.model import Drawing
from takeoff.plan.model import Opening, Plan, Room
from takeoff.query import Query
from takeoff.record import Takeoff
from takeoff.work.history import Proposal

__all__ = ["asked_text", "bought_text", "found_text", "history_text", "price_text"]

WIDE = 96


def found_text(drawing: Drawing, plan: Plan) -> str:
    """Plans, rooms with sizes, unit and evidence, openings, heights, layers used and ignored."""
    parts = [
        f"{drawing.file}: {drawing.format}",
        _unit(plan),
        *(_storey(plan, storey.ref, storey.title) for storey in plan.storeys),
        _layers(plan),
        _left_out(drawing),
        _spaces(plan),
    ]
    return "\n\n".join(part for part in parts if part)


def _unit(plan: Plan) -> str:
    rows = [f"Unit: {plan.unit} (1 unit = {plan.metres_per_unit:g} m), because:"]
    rows += [f"  {e.witness} for {e.unit}: {e.says}" for e in plan.unit_evidence]
    return "\n".join(rows)


def _storey(plan: Plan, ref: str, title: str) -> str:
    rooms = [r for r in plan.rooms if r.plan == ref]
    openings = {o.ref: o for o in plan.openings}
    head = f"Plan {ref}{': ' + title if title else ''}, {len(rooms)} rooms"
    if not rooms:
        return head
    name_width = max(4, *(len(r.name) for r in rooms))
    rows = [
        f"  {'ref':5}{'name':{name_width}}  {'floor m2':>9}  {'round m':>8}  {'height m':>8}  {'sure':>5}  openings"
    ]
    rows += [_room(room, name_width, openings) for room in rooms]
    return "\n".join([head, *rows, *_openings(plan, ref)])


def _openings(plan: Plan, ref: str) -> list[str]:
    """One line for each kind of opening: how many, and of each style which."""
    by_kind: dict[str, dict[str, list[str]]] = {}
    for opening in (o for o in plan.openings if o.plan == ref):
        by_kind.setdefault(opening.kind, {}).setdefault(opening.style, []).append(opening.ref)
    rows = []
    for kind, styles in sorted(by_kind.items()):
        count = sum(map(len, styles.values()))
        told = [f"{style} {' '.join(refs)}" for style, refs in sorted(styles.items()) if style]
        rest = [f"no style told {' '.join(styles[''])}"] if "" in styles and told else []
        rows.append(f"  {count} {kind}{'s' if count > 1 else ''}" + (": " + "; ".join(told + rest) if told else ""))
    return rows


def _room(room: Room, name_width: int, openings: dict[str, Opening]) -> str:
    refs = [ref for side in room.sides for ref in side.openings]
    height = f"{room.height_m:.2f}" if room.height_m else "?"
    tags = " ".join(f"{r} {openings[r].width_m:.2f}" for r in dict.fromkeys(refs) if r in openings)
    return (
        f"  {room.ref:5}{room.name:{name_width}}  {room.floor_area_m2:9.2f}  {room.perimeter_m:8.2f}  "
        f"{height:>8}  {room.confidence:5.0%}  {tags}"
    )


def _layers(plan: Plan) -> str:
    if not plan.layer_use:
        return ""
    uses: dict[str, list[str]] = {}
    for layer, use in sorted(plan.layer_use.items()):
        uses.setdefault(use, []).append(layer)
    return "Layers:\n" + "\n".join(f"  {use}: {', '.join(names)}" for use, names in sorted(uses.items()))


def _left_out(drawing: Drawing) -> str:
    if not drawing.left_out:
        return ""
    rows = [f"  {row.reason}: {row.what}, {row.count}" for row in drawing.left_out]
    return "Left out of the drawing (counted):\n" + "\n".join(rows)


def _spaces(plan: Plan) -> str:
    if not plan.spaces:
        return ""
    counts = Counter(space.reason for space in plan.spaces)
    return "Closed spaces that are no rooms: " + ", ".join(f"{n} {reason}" for reason, n in sorted(counts.items()))


def bought_text(takeoff: Takeoff) -> str:
    """The order in short: one row per material."""
    lines = takeoff.order.lines
    if not lines:
        return "Nothing to buy."
    wide = max(len(line.material.title) for line in lines)
    rows = [
        f"  {line.material.title:{wide}}  {line.net:10.1f} {line.material.unit:3} + {line.waste_pct:4.1f} % waste"
        f"  {line.packs:5d} x {line.material.pack}"
        for line in lines
    ]
    return "To buy:\n" + "\n".join(rows)


def price_text(takeoff: Takeoff) -> str:
    """Price, days and risk in short, and what is still missing. Needs a priced takeoff."""
    price, programme = takeoff.price, takeoff.programme
    assert price is not None and programme is not None and price.risk is not None
    hours = sum(o.hours for o in takeoff.work.operations)
    rows = [f"{hours:.1f} hours of work, {programme.days} working days for {takeoff.job.gang.people}"]
    if price.complete:
        rows.append(f"Price before tax {money_text(price.before_tax, price.currency)}, with tax {price.total:,.2f}")
    else:
        rows.append("Not a price yet; missing: " + "; ".join(price.missing))
    risk = price.risk
    most = f"{risk.hours.p80:.1f} hours and {risk.days.p80:.1f} days"
    rows.append(f"In {risk.runs} simulated jobs, 8 of 10 took no more than {most}")
    rows += [f"  ask: {driver.ask} ({driver.share:.0%} of the spread)" for driver in risk.drivers]
    return "\n".join(rows)


def history_text(proposals: Sequence[Proposal], packs: Sequence[tuple[str, int, float]]) -> str:
    """What finished rooms say of labour constants and packs."""
    rows = [proposal.as_toml() for proposal in proposals]
    rows += [f"# look at {', '.join(p.outliers)}: far off the other rooms in {p.task}" for p in proposals if p.outliers]
    rows += [f"# {material}: {ratio:.0%} of the packs allowed, in {n} rooms" for material, n, ratio in packs]
    return "\n".join(rows) or "Nothing is recorded yet."


def asked_text(queries: Sequence[Query]) -> str:
    """The queries, each with its place and how to answer."""
    if not queries:
        return "Nothing is asked."
    rows = [f"To settle ({len(queries)}):"]
    for query in queries:
        rows.append(f"  {query.ref:4} {query.says}")
        if query.answer:
            rows += [f"         {line}" for line in query.answer.splitlines()]
    return "\n".join(rows)
