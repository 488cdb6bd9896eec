"""The arithmetic of the sheets Materials and Materials by room: net, waste, packs, weight, cost, rooms' shares."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from takeoff.documents.workbook_areas import AngleRow, SurfaceRow
from takeoff.documents.workbook_cells import HEADER, TOP, Cell, Live, cell_at, number_of
from takeoff.documents.workbook_layout import MATERIAL_COLUMNS, RATE_COLUMNS, RATES, SETTINGS
from takeoff.documents.workbook_takes import Take
from takeoff.materials.model import OrderLine
from takeoff.record import Takeoff

__all__ = ["RATE_HEADER", "LineRow", "line_rows", "room_shares"]

RATE_HEADER = HEADER + len(SETTINGS) + 3
"""Heading row (0-based) of the materials on the sheet Rates, below the settings."""
WHOLE = 6
"""Decimals to which packs are rounded before rounding up, so that 7.0000000001 bags are 7."""


@dataclass(frozen=True, slots=True)
class LineRow:
    """One order line on the sheet Materials (`row`) and on the sheet Rates (`rate_row`)."""

    line: OrderLine
    row: int
    rate_row: int
    waste_pct: float
    """Such that net and with-waste are the order's."""
    net: Live
    waste: Live
    with_waste: Live
    pack_size: Live
    extra: int
    """Packs beyond rounding up: cutting, deliveries apart."""
    packs: Live
    left_over: Live
    weight: Live
    price: Live
    cost: Live

    def rate(self, heading: str) -> str:
        """Address of the line's cell on the sheet Rates."""
        return cell_at(RATE_COLUMNS, heading, self.rate_row, RATES)


def line_rows(takeoff: Takeoff, takes: Sequence[Take]) -> tuple[LineRow, ...]:
    """Every order line in the order's own sequence."""
    taken: dict[str, float] = defaultdict(float)
    for take in takes:
        taken[take.material] += number_of(take.amount)
    return tuple(_line(line, number, taken[line.material.slug]) for number, line in enumerate(takeoff.order.lines))


def _line(line: OrderLine, number: int, net: float) -> LineRow:
    row, rate_row = TOP + number, RATE_HEADER + 1 + number
    material = line.material

    def at(heading: str) -> str:
        return cell_at(MATERIAL_COLUMNS, heading, row)

    def rate(heading: str) -> str:
        return cell_at(RATE_COLUMNS, heading, rate_row, RATES)

    waste = _waste(line)
    gross = net * (1 + waste / 100)
    counted = math.ceil(round(gross / material.pack_size, WHOLE))
    packs = line.packs
    price, price_cell = material.price, rate("Price per pack")
    cost: float | str = "" if price is None else packs * float(price)
    return LineRow(
        line,
        row,
        rate_row,
        waste_pct=waste,
        net=Live(f"=SUMIFS(take_amount,take_material,{at('Material')})", net),
        waste=Live(f"={rate('Waste (%)')}", waste),
        with_waste=Live(f"={at('Net')}*(1+{at('Waste (%)')}/100)", gross),
        pack_size=Live(f"={rate('Pack holds')}", material.pack_size),
        extra=packs - counted,
        packs=Live(f"=ROUNDUP(ROUND({at('With waste')}/{at('Pack holds')},{WHOLE}),0)+{at('Extra packs')}", packs),
        left_over=Live(
            f"={at('Packs to buy')}*{at('Pack holds')}-{at('With waste')}", packs * material.pack_size - gross
        ),
        weight=Live(f"={at('Packs to buy')}*{rate('Pack weighs (kg)')}", packs * material.pack_kg),
        price=Live(f'=IF({price_cell}="","",{price_cell})', "" if price is None else float(price)),
        cost=Live(f'=IF({at("Price per pack")}="","",{at("Packs to buy")}*{at("Price per pack")})', cost),
    )


def _waste(line: OrderLine) -> float:
    """Per cent of waste that leads from net to with-waste: the line's own, unless it was laid out or cut."""
    if line.net <= 0 or math.isclose(line.net * (1 + line.waste_pct / 100), line.with_waste, rel_tol=1e-6):
        return line.waste_pct
    return (line.with_waste / line.net - 1) * 100


def room_shares(
    takeoff: Takeoff,
    lines: Iterable[LineRow],
    takes: Iterable[Take],
    surfaces: Mapping[str, SurfaceRow],
    angles: Iterable[AngleRow],
    labels: Mapping[str, str],
    room_cell: Mapping[str, str],
) -> dict[tuple[str, str], Cell]:
    """By (room, material): the room's share in packs, waste included; `room_cell` holds where its ref stands."""
    covered: dict[tuple[str, str], float] = defaultdict(float)
    for ref, row in surfaces.items():
        covered[row.surface.room, labels.get(ref, "")] += number_of(row.net)
    for angle in angles:
        covered[angle.edges[0].room, angle.takes] += number_of(angle.total)
    of: dict[str, list[Take]] = defaultdict(list)
    for take in takes:
        if take.measure:
            of[take.material].append(take)
    shares: dict[tuple[str, str], Cell] = {}
    for line in lines:
        slug = line.line.material.slug
        nets = {share.room: share.net for share in line.line.shares}
        for room, cell in room_cell.items():
            terms = [(t, covered[room, t.label]) for t in of[slug] if (room, t.label) in covered]
            rest = nets[room] - sum(t.in_room(c, room) for t, c in terms) if room in nets else 0.0
            shares[room, slug] = _share(line, room, cell, terms, rest)
    return shares


def _share(line: LineRow, room: str, room_cell: str, terms: Sequence[tuple[Take, float]], rest: float) -> Cell:
    parts, net = [], 0.0
    for take, covered in terms:
        names = ("surface_net", "surface_room", "surface_takes")
        if take.measure == "m":
            names = ("angle_total", "angle_room", "angle_takes")
        rate = repr(take.uneven.get(room, 0.0)) if take.uneven else take.rate_cell
        parts.append(f"SUMIFS({names[0]},{names[1]},{room_cell},{names[2]},{take.label_cell})*{rate}")
        net += take.in_room(covered, room)
    if abs(rest) > 1e-5 * max(abs(net), 1e-3):
        parts.append(repr(rest))
        net += rest
    if not parts:
        return 0.0
    packs = net * (1 + line.waste_pct / 100) / line.line.material.pack_size
    formula = f"=({'+'.join(parts)})*(1+{line.rate('Waste (%)')}/100)/{line.rate('Pack holds')}"
    return Live(formula, packs)
