"""Sheets Programme and Price: days as bars, and the sum with every step, live."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from takeoff.documents.day_plan import StageDays, services_words, stage_days
from takeoff.documents.words import kg_text
from takeoff.documents.workbook_cells import (
    HEADER,
    TOP,
    Cell,
    Live,
    Styles,
    begin_sheet,
    cell_at,
    put_headings,
    put_table,
)
from takeoff.documents.workbook_job_layout import PRICE, PRICE_COLUMNS, PROGRAMME, PROGRAMME_COLUMNS
from takeoff.documents.workbook_places import Places
from takeoff.price.model import Price, PriceLine
from takeoff.programme.model import Programme, Services
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

__all__ = ["write_price", "write_programme"]

LINE = 13.5
"""Height of a line of text, in points."""
DAY_WIDTH = 3.2
MOST_DAYS = 250
"""Days drawn as columns; a longer programme is cut there and says so."""


def write_programme(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Programme: a row per stage of a room, its days marked, then deliveries and conditions."""
    programme = takeoff.programme
    assert programme is not None
    sure = "no shorter programme exists" if programme.proven else f"at most {programme.gap:.0%} longer than it could be"
    cut = f" Only the first {MOST_DAYS} days are drawn." if programme.days > MOST_DAYS else ""
    says = (
        f"{programme.days} working days ({sure}); ready to decorate about day {programme.ready_to_decorate_day}.{cut}"
    )
    sheet = begin_sheet(book, styles, PROGRAMME, says, PROGRAMME_COLUMNS, frozen=3)
    put_headings(sheet, styles, PROGRAMME_COLUMNS, HEADER)
    wide = len(PROGRAMME_COLUMNS)
    days = min(programme.days, MOST_DAYS)
    sheet.set_column(wide, wide + max(days - 1, 0), DAY_WIDTH)
    for day in range(1, days + 1):
        sheet.write_number(HEADER, wide + day - 1, day, styles.heading)
    row = TOP
    for services in programme.services:
        _others(sheet, styles, services, row, wide, days)
        row += 1
    for stage in stage_days(takeoff):
        _bar(sheet, styles, stage, row, wide, days)
        row += 1
    _deliveries(sheet, styles, programme, row + 1, wide, days)
    for number, condition in enumerate(programme.conditions, row + 3):
        sheet.write_string(number, 0, condition, styles.note)


def _others(sheet: Worksheet, styles: Styles, services: Services, row: int, wide: int, days: int) -> None:
    """The days of other trades in a room: no hours of ours, boards wait for the last of them."""
    texts = (services.room, "services", f"{services.title} ({services_words(services)})")
    for column, text in enumerate(texts):
        sheet.write_string(row, column, text, styles.body())
    mark = styles.of(align="center", border=1)
    for day in range(max(1, min(services.from_day, services.done_day)), min(services.done_day, days) + 1):
        sheet.write_string(row, wide + day - 1, "V", mark)


def _bar(sheet: Worksheet, styles: Styles, stage: StageDays, row: int, wide: int, days: int) -> None:
    """A stage of a room: what, how long, and a box with its hours on each of its days."""
    lines = max(-(-len(text) // wide_as) for text, wide_as in ((stage.what, 40), (stage.mixes, 14), (stage.waits, 26)))
    sheet.set_row(row, LINE * max(1, lines))
    for column, text in enumerate((stage.room, stage.stage, stage.what)):
        sheet.write_string(row, column, text, styles.body())
    sheet.write_number(row, 3, stage.hours, styles.body("0.0"))
    sheet.write_number(row, 4, stage.people, styles.body("0"))
    sheet.write_string(row, 5, stage.mixes, styles.body())
    sheet.write_string(row, 6, stage.waits, styles.body())
    bar = styles.of(bg_color="#404040", font_color="#FFFFFF", align="center", border=1, num_format='[<0.95]"·";0')
    for day, hours in stage.by_day.items():
        if day <= days:
            sheet.write_number(row, wide + day - 1, hours, bar)


def _deliveries(sheet: Worksheet, styles: Styles, programme: Programme, row: int, wide: int, days: int) -> None:
    sheet.write_string(row, 2, "Deliveries, on site before the day (kg)", styles.body())
    for day, (kg, _) in programme.loads_by_day.items():
        if day <= days:
            sheet.write_string(row, wide + day - 1, kg_text(kg), styles.body(bold=True))


def write_price(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Price: lines, steps, tax; then risk, rooms, storeys and alternatives."""
    price = takeoff.price
    assert price is not None
    says = "Each step is taken on the running total above it."
    if not price.complete:
        says = f"Not a complete price: {len(price.missing)} rates or prices are missing, and blank below."
    sheet = begin_sheet(book, styles, PRICE, says, PRICE_COLUMNS)
    lines = [_line(line, row) for row, line in enumerate(price.lines, TOP)]
    after = put_table(book, sheet, styles, PRICE_COLUMNS, lines, filtered=False)
    row = _steps(sheet, styles, takeoff, price, after)
    for heading, cells in (
        ("How sure it is", _risk(price)),
        ("By room, before tax", _rooms(takeoff, price)),
        ("By storey, before tax", _storeys(takeoff, price)),
        ("Other ways of doing it", _alternatives(takeoff)),
    ):
        rows = list(cells)
        if rows:
            row = _block(sheet, styles, heading, rows, row + 1)


def _line(line: PriceLine, row: int) -> list[Cell]:
    rate = None if line.rate is None else float(line.rate)
    amount: Cell = None
    if line.amount is not None:
        # Materials carry their margin and sums are as entered: only what is quantity x rate is live.
        product = f"={cell_at(PRICE_COLUMNS, 'Quantity', row)}*{cell_at(PRICE_COLUMNS, 'Rate', row)}"
        exact = line.amount == (Decimal(str(line.quantity)) * (line.rate or 0)).quantize(Decimal("0.01"))
        formula = f"=ROUND({product[1:]},2)"
        amount = Live(formula, float(line.amount)) if exact else float(line.amount)
    return [line.what, line.room, line.quantity, line.unit, rate, amount, line.how]


def _steps(sheet: Worksheet, styles: Styles, takeoff: Takeoff, price: Price, row: int) -> int:
    """The sum of the lines and each addition; returns the row after them."""
    letter = PRICE_COLUMNS.letters["Amount"]
    figure, bold = styles.body("#,##0.00"), styles.of(bold=True, num_format="#,##0.00", top=1)
    sheet.write_string(row, 0, "Prime cost", styles.of(bold=True))
    sheet.write_formula(row, 5, f"=SUM({letter}{TOP + 1}:{letter}{row})", bold, float(price.prime_cost))
    running = f"{letter}{row + 1}"
    for step in price.steps:
        row += 1
        sheet.write_string(row, 0, step.name, styles.body())
        if step.percent is not None:
            sheet.write_number(row, 4, float(step.percent), styles.body('0.0" %"'))
            formula = f"=ROUND(({running})*E{row + 1}/100,2)"
            sheet.write_formula(row, 5, formula, figure, float(step.amount))
        else:
            sheet.write_number(row, 5, float(step.amount), figure)
        running = f"{running}+{letter}{row + 1}"
    row += 1
    sheet.write_string(row, 0, "Price before tax", styles.of(bold=True))
    sheet.write_formula(row, 5, f"={running}", bold, float(price.before_tax))
    table = takeoff.job.price
    percent = 0.0 if table.reverse_charge else float(table.tax)
    sheet.write_string(row + 1, 0, table.tax_name + (" (reverse charge: none added)" if table.reverse_charge else ""))
    sheet.write_number(row + 1, 4, percent, styles.body('0.0" %"'))
    sheet.write_formula(row + 1, 5, f"=ROUND({letter}{row + 1}*E{row + 2}/100,2)", figure, float(price.tax))
    total = "Total" if price.complete else "Total of what is known so far"
    sheet.write_string(row + 2, 0, f"{total}, {price.currency}".rstrip(", "), styles.of(bold=True))
    sheet.write_formula(row + 2, 5, f"={letter}{row + 1}+{letter}{row + 2}", bold, float(price.total))
    return row + 3


Plain = tuple[str, str, float | str, str]
"""What, note, figure, unit."""


def _risk(price: Price) -> Iterator[Plain]:
    risk = price.risk
    if risk is None:
        return
    for name, spread, unit in (
        ("hours", risk.hours, "h"),
        ("days", risk.days, "days"),
        ("cost", risk.cost, price.currency),
    ):
        for level, value in (("50", spread.p50), ("80", spread.p80), ("90", spread.p90)):
            yield f"{level} of 100 jobs take no more {name} than", f"{risk.runs} runs, seed {risk.seed}", value, unit
    for driver in risk.drivers:
        yield f"Ask before signing: {driver.ask}", driver.what, driver.share * 100, "% of the spread"


def _rooms(takeoff: Takeoff, price: Price) -> Iterator[Plain]:
    names = {room.ref: room.name for room in takeoff.plan.rooms}
    for room in price.rooms:
        per = f"{room.per_m2:,.2f} per m2 of plaster"
        yield f"{room.room} {names.get(room.room, '')}".strip(), per, float(room.net), price.currency


def _storeys(takeoff: Takeoff, price: Price) -> Iterator[Plain]:
    where = {room.ref: room.plan for room in takeoff.plan.rooms}
    for storey in takeoff.plan.storeys:
        total = sum((r.net for r in price.rooms if where.get(r.room) == storey.ref), Decimal(0))
        yield storey.title or storey.ref, "", float(total), price.currency


def _alternatives(takeoff: Takeoff) -> Iterator[Plain]:
    for other in takeoff.alternatives:
        note = f"{other.hours:.1f} h, {other.days} days" + ("" if other.complete else ", not complete: prices missing")
        yield other.name, note, float(other.before_tax), "before tax"


def _block(sheet: Worksheet, styles: Styles, heading: str, rows: list[Plain], row: int) -> int:
    sheet.write_string(row, 0, heading, styles.heading)
    for number, (what, note, figure, unit) in enumerate(rows, row + 1):
        sheet.write_string(number, 0, what, styles.body())
        sheet.write_string(number, 6, note, styles.body())
        sheet.write_string(number, 3, unit, styles.body())
        if isinstance(figure, str):
            sheet.write_string(number, 5, figure, styles.body())
        else:
            sheet.write_number(number, 5, figure, styles.body("#,##0.00"))
    return row + len(rows) + 1
