"""The arithmetic of the sheets Materials and Materials by room: net, waste, packs, weight, cost, rooms' shares."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from takeoff.documents.workbook_areas import AngleRow, SurfaceRow
from takeoff.documents.workbook_cells import HEADER, TOP, Cell, Live, cell_at, number_of
from takeoff.documents.workbook_layout import MATERIAL_COLUMNS, RATE_COLUMNS, RATES, SETTINGS
from takeoff.documents.workbook_takes import SPARE, Take
from takeoff.materials.model import Material, OrderLine, RoomShare
from takeoff.record import Takeoff

__all__ = ["RATE_HEADER", "LineRow", "RateRow", "line_rows", "rate_rows", "room_shares"]

RATE_HEADER = HEADER + len(SETTINGS) + 3
"""Heading row (0-based) of the materials on the sheet Rates, below the settings."""
UNPRICED = "no price yet"
WHOLE = 6
"""Decimals to which packs are rounded before rounding up, so that 7.0000000001 bags are 7, and what is left over."""


@dataclass(frozen=True, slots=True)
class RateRow:
    """One material of the order on the sheet Rates."""

    material: Material
    row: int
    waste_pct: float
    """Such that net and with-waste of the whole order agree."""

    def cell(self, heading: str) -> str:
        """Address of the material's cell under `heading`."""
        return cell_at(RATE_COLUMNS, heading, self.row, RATES)


@dataclass(frozen=True, slots=True)
class LineRow:
    """One order line on the sheet Materials."""

    line: OrderLine
    row: int
    rate: RateRow
    part_pct: float
    """Of the material's net that this line delivers."""
    net: Live
    waste: Cell
    with_waste: Live
    pack_size: Live
    extra: int
    """Packs beyond rounding up: cutting, rounding on each surface."""
    packs: Live
    left_over: Live
    weight: Live
    price: Live
    cost: Live


def rate_rows(takeoff: Takeoff) -> dict[str, RateRow]:
    """Every material of the order, by slug, in the order's own sequence."""
    lines: dict[str, list[OrderLine]] = defaultdict(list)
    for line in takeoff.order.lines:
        lines[line.material.slug].append(line)
    return {
        slug: RateRow(
            some[0].material, row, _waste(sum(li.net for li in some), sum(li.with_waste for li in some), some[0])
        )
        for row, (slug, some) in enumerate(lines.items(), RATE_HEADER + 1)
    }


def _waste(net: float, with_waste: float, line: OrderLine) -> float:
    """Per cent of waste that leads from net to with-waste: the line's own, unless it was laid out or cut."""
    if net <= 0 or math.isclose(net * (1 + line.waste_pct / 100), with_waste, rel_tol=1e-6):
        return line.waste_pct
    return (with_waste / net - 1) * 100


def line_rows(takeoff: Takeoff, takes: Sequence[Take], rates: Mapping[str, RateRow]) -> tuple[LineRow, ...]:
    """Every order line in the order's own sequence."""
    taken: dict[str, float] = defaultdict(float)
    ordered: dict[str, float] = defaultdict(float)
    for take in takes:
        taken[take.material] += number_of(take.amount)
    for line in takeoff.order.lines:
        ordered[line.material.slug] += line.net
    rows = []
    for row, line in enumerate(takeoff.order.lines, TOP):
        slug = line.material.slug
        part = 100.0 if ordered[slug] == line.net else 100 * line.net / ordered[slug]
        rows.append(_line(line, row, rates[slug], part, taken[slug] * part / 100))
    return tuple(rows)


def _line(line: OrderLine, row: int, rate: RateRow, part: float, net: float) -> LineRow:
    def at(heading: str) -> str:
        return cell_at(MATERIAL_COLUMNS, heading, row)

    material, packs = line.material, line.packs
    own = _waste(line.net, line.with_waste, line)
    shared = math.isclose(own, rate.waste_pct, abs_tol=1e-6)
    waste: Cell = Live(f"={rate.cell('Waste (%)')}", rate.waste_pct) if shared else own
    gross = net * (1 + number_of(waste) / 100)
    counted = math.ceil(round(gross / material.pack_size, WHOLE))
    rounded_up = f"=ROUNDUP(ROUND({at('With waste')}/{at('Pack holds')},{WHOLE}),0)+{at('Extra packs')}"
    left_over = f"=ROUND({at('Packs to buy')}*{at('Pack holds')}-{at('With waste')},{WHOLE})"
    price, price_cell = material.price, rate.cell("Price per pack")
    return LineRow(
        line,
        row,
        rate,
        part_pct=part,
        net=Live(f"=SUMIFS(take_amount,take_material,{at('Material')})*{at('Part (%)')}/100", net),
        waste=waste,
        with_waste=Live(f"={at('Net')}*(1+{at('Waste (%)')}/100)", gross),
        pack_size=Live(f"={rate.cell('Pack holds')}", material.pack_size),
        extra=packs - counted,
        packs=Live(rounded_up, packs),
        left_over=Live(left_over, round(packs * material.pack_size - gross, WHOLE) + 0.0),
        weight=Live(f"={at('Packs to buy')}*{rate.cell('Pack weighs (kg)')}", packs * material.pack_kg),
        price=Live(f'=IF({price_cell}="","",{price_cell})', "" if price is None else float(price)),
        cost=Live(
            f'=IF({at("Price per pack")}="","{UNPRICED}",{at("Packs to buy")}*{at("Price per pack")})',
            UNPRICED if price is None else packs * float(price),
        ),
    )


def room_shares(
    takeoff: Takeoff,
    rates: Mapping[str, RateRow],
    takes: Iterable[Take],
    surfaces: Mapping[str, SurfaceRow],
    angles: Iterable[AngleRow],
    labels: Mapping[str, str],
    room_cell: Mapping[str, str],
) -> dict[tuple[str, str], Cell]:
    """By (room, material): the room's share in packs, waste included; `room_cell` holds where its ref stands."""
    covered: dict[tuple[str, str, str], float] = defaultdict(float)
    for ref, row in surfaces.items():
        for kind in ("", row.surface.kind):
            covered[row.surface.room, labels.get(ref, ""), kind] += number_of(row.net)
    for angle in angles:
        covered[angle.edges[0].room, angle.takes, ""] += number_of(angle.total)
    of: dict[str, list[Take]] = defaultdict(list)
    for take in takes:
        if take.measure:
            of[take.material].append(take)
    ordered = {(s.room, li.material.slug): s for li in takeoff.order.lines for s in li.shares}
    shares: dict[tuple[str, str], Cell] = {}
    for slug, rate in rates.items():
        for room, cell in room_cell.items():
            key = room, slug
            terms = [(t, covered[room, t.label, t.kind]) for t in of[slug] if (room, t.label, t.kind) in covered]
            shares[key] = _share(rate, room, cell, terms, ordered.get(key))
    return shares


def _share(
    rate: RateRow, room: str, room_cell: str, terms: Sequence[tuple[Take, float]], ordered: RoomShare | None
) -> Cell:
    parts, net = [], 0.0
    for take, covered in terms:
        ranges, kind = ("surface_net", "surface_room", "surface_takes"), f',surface_kind,"{take.kind}"'
        if take.measure == "m":
            ranges = ("angle_total", "angle_room", "angle_takes")
        coverage = repr(take.uneven.get(room, 0.0)) if take.uneven else take.rate_cell
        criteria = f"{ranges[1]},{room_cell},{ranges[2]},{take.label_cell}{kind if take.kind else ''}"
        parts.append(f"SUMIFS({ranges[0]},{criteria})*{coverage}")
        net += take.in_room(covered, room)
    rest = ordered.net - net if ordered else 0.0
    if abs(rest) > SPARE * max(abs(net), 1e-3):
        parts.append(repr(rest))
        net += rest
    if not parts:
        return 0.0
    waste, factor = rate.waste_pct, f"(1+{rate.cell('Waste (%)')}/100)"
    if ordered and ordered.net and not math.isclose(ordered.with_waste, ordered.net * (1 + waste / 100), rel_tol=1e-6):
        waste = (ordered.with_waste / ordered.net - 1) * 100
        factor = repr(1 + waste / 100)
    packs = net * (1 + waste / 100) / rate.material.pack_size
    return Live(f"=({'+'.join(parts)})*{factor}/{rate.cell('Pack holds')}", packs)
