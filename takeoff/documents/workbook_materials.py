"""Sheets Build-ups, Materials and Materials by room: from covered areas to whole packs, and each room's exact share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.stock_words import counted_as
from takeoff.documents.workbook_cells import (
    TOP,
    Cell,
    Column,
    Columns,
    Link,
    Live,
    Styles,
    begin_sheet,
    cell_at,
    number_of,
    put_table,
)
from takeoff.documents.workbook_layout import (
    BUILD_UP_COLUMNS,
    BUILD_UPS,
    BY_ROOM,
    BY_ROOM_COLUMNS,
    MATERIAL_COLUMNS,
    MATERIALS,
    RATES,
    ROOM_COLUMNS,
    ROOMS,
)
from takeoff.documents.workbook_order import LineRow, RateRow, room_shares
from takeoff.documents.workbook_places import Places
from takeoff.documents.workbook_takes import Take, material_names
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_build_ups", "write_by_room", "write_materials"]


def write_build_ups(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Build-ups."""
    says = "What each build-up or bead takes of each material, before waste. Change a coverage and the order follows."
    sheet = begin_sheet(book, styles, BUILD_UPS, says, BUILD_UP_COLUMNS)
    names = material_names(takeoff)
    units = {line.material.slug: line.material.unit for line in takeoff.order.lines}
    rows = [_take(take, names.get(take.material, take.material), units.get(take.material, "")) for take in places.takes]
    put_table(book, sheet, styles, BUILD_UP_COLUMNS, rows)


def _take(take: Take, name: str, unit: str) -> list[Cell]:
    if take.rate is None:
        return [take.label, name, "", "", "", "", take.amount, unit, take.how, take.source]
    of = f"{take.measure} {take.kind}".strip()
    per = f"{unit}/{take.measure or take.kind}"
    return [take.label, name, take.covers, of, take.rate, per, take.amount, unit, take.how, take.source]


def write_materials(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Materials."""
    says = (
        "The order. Net, waste and packs are worked out here; waste, pack sizes and prices stand on the sheet Rates. "
        + counted_as(takeoff)
    )
    sheet = begin_sheet(book, styles, MATERIALS, says, MATERIAL_COLUMNS)
    names = material_names(takeoff)
    titles = {delivery.ref: delivery.title for delivery in takeoff.order.deliveries}
    put_table(book, sheet, styles, MATERIAL_COLUMNS, [_line(row, names, titles) for row in places.lines])


def _line(row: LineRow, names: dict[str, str], deliveries: dict[str, str]) -> list[Cell]:
    material = row.line.material
    delivery = deliveries.get(row.line.delivery, row.line.delivery)
    cells: list[Cell] = [names[material.slug], Link(RATES, row.rate.row, material.kind or "rates"), delivery]
    cells += [row.part_pct, row.net, material.unit, row.waste, row.with_waste, material.pack, row.pack_size, row.extra]
    cells += [row.packs, row.left_over, row.weight, row.price, row.cost, row.line.caution, row.line.how]
    return cells


def write_by_room(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Materials by room: a column per material, in packs, exact, waste included."""
    says = (
        "Each room's exact share in packs, waste included. Packs are rounded up once for the whole order, never here."
    )
    names = material_names(takeoff)
    columns = Columns(*BY_ROOM_COLUMNS, *(_share_column(rate, names) for rate in places.rates.values()))
    sheet = begin_sheet(book, styles, BY_ROOM, says, columns, frozen=2)
    cells = {
        room: cell_at(ROOM_COLUMNS, "Room", row, ROOMS)
        for room, row in places.room_row.items()
        if room in places.heights
    }
    shares = room_shares(
        takeoff, places.rates, places.takes, places.surfaces, places.angles, places.surface_labels, cells
    )
    rows = []
    for number, room in enumerate(r for r in takeoff.plan.rooms if r.ref in cells):
        mine = [shares[room.ref, slug] for slug in places.rates]
        weight = _weight(number, mine, columns, list(places.rates.values()))
        rows.append([Link(ROOMS, places.room_row[room.ref], room.ref), room.name, weight, *mine])
    put_table(book, sheet, styles, columns, rows)


def _share_column(rate: RateRow, names: dict[str, str]) -> Column:
    material = rate.material
    return Column(f"{names[material.slug]} ({material.pack})", 12, "#,##0.00;-#,##0.00;", total=True)


def _weight(number: int, shares: list[Cell], columns: Columns, rates: list[RateRow]) -> Cell:
    """kg to carry to the room: packs times what a pack weighs, material by material."""
    headings = [column.heading for column in columns[len(BY_ROOM_COLUMNS) :]]
    terms = [
        f"{cell_at(columns, heading, TOP + number)}*{rate.cell('Pack weighs (kg)')}"
        for heading, rate in zip(headings, rates, strict=True)
    ]
    now = sum(number_of(share) * rate.material.pack_kg for share, rate in zip(shares, rates, strict=True))
    return Live("=" + "+".join(terms), now) if terms else 0.0
