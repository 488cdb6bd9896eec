"""Sheet Summary: the job on one page, for the phone and the kitchen table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from takeoff.documents.safe_text import clean
from takeoff.documents.workbook_assumptions import NOT_A_SURVEY
from takeoff.documents.workbook_cells import (
    LINE_POINTS,
    Cell,
    Column,
    Link,
    Live,
    Styles,
    begin_sheet,
    number_of,
    put,
    put_headings,
)
from takeoff.documents.workbook_layout import (
    ANGLES,
    ASSUMPTIONS,
    COUNT,
    M2,
    MATERIALS,
    MONEY,
    QUERIES,
    ROOMS,
    SUMMARY,
    SUMMARY_COLUMNS,
    SURFACES,
    M,
)
from takeoff.documents.workbook_places import Places
from takeoff.documents.workbook_sheet import BulkSheet
from takeoff.documents.workbook_takes import material_names
from takeoff.measure.rules import rule_of
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_summary"]

SAYS = "Totals follow the other sheets. Press an underlined cell to jump there."
EDGES = {
    "external angle": "External angles",
    "internal angle": "Internal angles",
    "opening angle": "Angles round plastered openings",
    "wall to ceiling": "Joints of wall and ceiling",
    "stop": "Free edges and edges against frames",
}
CAUTION_LINE = 96
"""Characters of a caution that fit on one line across the sheet."""


@dataclass(frozen=True, slots=True)
class _Row:
    what: str
    amount: Cell
    unit: str
    number: str
    see: Cell


def write_summary(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Summary."""
    particulars = _particulars(takeoff)
    header = len(particulars) + 3
    sheet = begin_sheet(book, styles, SUMMARY, SAYS, SUMMARY_COLUMNS, frozen=0, header=header)
    sheet.set_portrait()
    for row, (label, text) in enumerate(particulars, 2):
        sheet.write_string(row, 0, label, styles.of(bold=True))
        sheet.write_string(row, 1, clean(text), styles.of(quote_prefix=True))
    put_headings(sheet, styles, SUMMARY_COLUMNS, header)
    row = header + 1
    for title, rows in (
        ("Measured", _measured(places)),
        ("To buy", _bought(takeoff, places)),
        ("To settle before you rely on it", _asked(takeoff)),
    ):
        row = _section(sheet, styles, row, title, list(rows))
    _cautions(sheet, styles, row, takeoff)


def _particulars(takeoff: Takeoff) -> list[tuple[str, str]]:
    job, plan = takeoff.job.job, takeoff.plan
    rows = [
        ("Job", job.name),
        ("Reference", job.reference),
        ("Site", job.site),
        ("Prepared for", job.prepared_for),
        ("Prepared by", job.prepared_by),
        ("Date", job.date),
        ("Drawing", f"{takeoff.drawing.file} ({takeoff.drawing.format})"),
        ("Drawing unit", f"{plan.unit} (one unit is {plan.metres_per_unit:g} m)"),
        ("Rule of measurement", rule_of(takeoff.job).title),
    ]
    return [row for row in rows if row[1]]


def _section(sheet: BulkSheet, styles: Styles, row: int, title: str, rows: list[_Row]) -> int:
    """Write one section; returns the row after it."""
    if not rows:
        return row
    for number in range(len(SUMMARY_COLUMNS)):
        sheet.write_string(row, number, "" if number else title, styles.of(bold=True, bg_color="#F2F2F2", top=1))
    for at, entry in enumerate(rows, row + 1):
        cells = (entry.what, entry.amount, entry.unit, entry.see)
        for number, cell in enumerate(cells):
            put(sheet, at, number, cell, styles.column(Column("", 0, entry.number if number == 1 else "")))
    return row + len(rows) + 2


def _measured(places: Places) -> Iterator[_Row]:
    rows = places.surfaces.values()
    net: Counter[str] = Counter()
    gross = off = 0.0
    for row in rows:
        net[row.surface.kind] += number_of(row.net)  # type: ignore[assignment]
        if row.surface.kind in ("wall", "pier"):
            gross, off = gross + number_of(row.gross), off + number_of(row.off)
    yield _Row("Rooms measured", len(places.heights), "", COUNT, Link(ROOMS, 0, ROOMS))
    yield _Row("Walls, gross", Live("=SUM(room_gross)", gross), "m2", M2, Link(SURFACES, 0, SURFACES))
    yield _Row("Openings taken off", Live("=SUM(room_off)", off), "m2", M2, Link(SURFACES, 0, SURFACES))
    yield _Row("Walls, net", Live("=SUM(room_walls)", gross - off), "m2", M2, Link(ROOMS, 0, ROOMS))
    yield _Row("Ceilings, net", Live("=SUM(room_ceiling)", net["ceiling"]), "m2", M2, Link(ROOMS, 0, ROOMS))
    yield _Row("Reveals, net", Live("=SUM(room_reveals)", net["reveal"]), "m2", M2, Link(ROOMS, 0, ROOMS))
    yield _Row("All surfaces, net", Live("=SUM(room_net)", sum(net.values())), "m2", M2, Link(ROOMS, 0, ROOMS))
    yield from _noted(places)
    kinds: dict[str, float] = {}
    for angle in places.angles:
        kinds[angle.edges[0].kind] = kinds.get(angle.edges[0].kind, 0.0) + number_of(angle.total)
    for kind, metres in kinds.items():
        live = Live(f'=SUMIFS(angle_total,angle_kind,"{kind}")', metres)
        yield _Row(EDGES.get(kind, kind), live, "m", M, Link(ANGLES, 0, ANGLES))


def _noted(places: Places) -> Iterator[_Row]:
    """What is measured apart within the totals above: curved, narrow, above the height limit."""
    see = Link(SURFACES, 0, SURFACES)
    for word, said in (("curved", "of these, curved"), ("narrow", "of these, narrow faces")):
        some = [r for r in places.surfaces.values() if getattr(r.surface, word)]
        if some:
            net = sum(number_of(r.net) for r in some)
            yield _Row(f"  {said}", Live(f'=SUMIFS(surface_net,surface_note,"*{word}*")', net), "m2", M2, see)
    over = sum(r.surface.over_height_m2 for r in places.surfaces.values())
    if over:
        yield _Row("  of these, above the height limit", Live("=SUM(surface_over)", over), "m2", M2, see)


def _bought(takeoff: Takeoff, places: Places) -> Iterator[_Row]:
    names = material_names(takeoff)
    packs: Counter[str] = Counter()
    for line in places.lines:
        packs[line.line.material.slug] += line.line.packs
    for slug, rate in places.rates.items():
        live = Live(f"=SUMIFS(line_packs,line_material,{rate.cell('Material')})", packs[slug])
        yield _Row(names[slug], live, rate.material.pack, COUNT, Link(MATERIALS, 0, MATERIALS))
    if not places.lines:
        return
    see = Link(MATERIALS, 0, MATERIALS)
    weight = sum(number_of(line.weight) for line in places.lines)
    yield _Row("Weight of the order", Live("=SUM(line_kg)", weight), "kg", COUNT, see)
    order = takeoff.order
    yield _Row("Waste to carry away, about", order.waste_kg, "kg", COUNT, see)
    yield _Row("  loose in a skip, about", order.waste_m3, "m3", M2, see)
    costs = [number_of(line.cost) for line in places.lines if not isinstance(line.cost.value, str)]
    known: float | str = sum(costs) if costs else ""
    cost = Live('=IF(COUNT(line_cost)=0,"",SUM(line_cost))', known)
    yield _Row("Cost of what has a price", cost, "" if costs else "no price is known", MONEY, see)
    unpriced = sum(rate.material.price is None for rate in places.rates.values())
    missing = Live("=ROWS(rate_price)-COUNT(rate_price)", unpriced)
    yield _Row("Materials without a price", missing, "", COUNT, see)


def _asked(takeoff: Takeoff) -> Iterator[_Row]:
    counts = Counter(query.concerns for query in takeoff.queries)
    for concern, count in counts.items():
        see = Link(QUERIES, 0, QUERIES)
        yield _Row(f"Queries on {concern}", Live(f'=COUNTIF(query_concerns,"{concern}")', count), "", COUNT, see)


def _cautions(sheet: BulkSheet, styles: Styles, row: int, takeoff: Takeoff) -> None:
    warnings = takeoff.work.cautions
    if not any(notice.slug == "not-a-survey" for notice in takeoff.work.notices):
        warnings = (NOT_A_SURVEY, *warnings)
    style = styles.of(text_wrap=True, border=4, border_color="#808080")
    put(sheet, row, 0, Link(ASSUMPTIONS, 0, ASSUMPTIONS), styles.column(Column("", 0)))
    for at, text in enumerate(warnings, row + 1):
        sheet.merge_range(at, 0, at, len(SUMMARY_COLUMNS) - 1, "", style)
        put(sheet, at, 0, text, styles.column(Column("", 0)))
        sheet.set_row(at, LINE_POINTS * (1 + len(text) // CAUTION_LINE))
