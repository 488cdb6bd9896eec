"""The workbook of a site: plots, stages, deliveries, what to order for each and what ordering together saves."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from decimal import Decimal

from takeoff.bulk.model import Summary
from takeoff.bulk.site import Saving, Site, SiteDelivery, SitePlot
from takeoff.bulk.site_price import added
from takeoff.documents.workbook_book import BulkBook
from takeoff.documents.workbook_cells import TOP, Cell, Column, Columns, Live, Styles, begin_sheet, cell_at, put_table
from takeoff.documents.workbook_sheet import BulkSheet
from takeoff.materials.model import OrderLine

__all__ = ["site_workbook"]

KINDS = {
    "materials": "Materials", "labour": "Labour", "plant": "Plant and access", "waste": "Waste carried away",
    "provisional": "Provisional sums",
}  # fmt: skip
"""Kinds of cost lines, for people."""
CREATED = datetime.datetime(2000, 1, 1)
"""Instead of the clock, so that the same site gives the same bytes."""
PLOTS, STAGES, DELIVERIES, PRICE, ORDER, SAVED, TYPES, QUERIES = (
    "Plots", "Stages", "Deliveries", "Price", "Order", "Saved together", "Types", "To settle",
)  # fmt: skip
AREA, COUNT, HOURS, MASS, MONEY, PERCENT = "#,##0.00", "#,##0", "#,##0.0", "#,##0", "#,##0.00", "0.0"

_FIGURES = (
    Column("Floors (m2)", 11, AREA, total=True, name="plot_floors"),
    Column("Walls net (m2)", 11, AREA, total=True, name="plot_walls"),
    Column("Ceilings net (m2)", 11, AREA, total=True, name="plot_ceilings"),
    Column("Reveals net (m2)", 11, AREA, total=True, name="plot_reveals"),
    Column("Hours", 10, HOURS, total=True, name="plot_hours"),
    Column("Gang days", 9, HOURS, total=True, name="plot_days"),
)
_PRICED = Column("Price before tax", 12, MONEY, total=True, name="plot_price")
_UNPRICED = "not priced"
_PLOTS = Columns(
    Column("Plot", 8),
    Column("Address", 30),
    Column("Type", 16),
    Column("Handed", 10),
    Column("Options", 22),
    Column("Stage", 16, name="plot_stage"),
    Column("Delivery", 24, name="plot_delivery"),
    Column("Rooms", 8, COUNT, total=True, name="plot_rooms"),
    *_FIGURES,
    _PRICED,
)


def _grouped(heading: str) -> Columns:
    return Columns(
        Column(heading, 26),
        Column("Plots", 8, COUNT, total=True),
        *(Column(c.heading, c.width, c.number, total=True) for c in (*_FIGURES, _PRICED)),
    )


_PRICE = Columns(
    Column("Delivery", 24),
    Column("What", 44),
    Column("Amount", 13, MONEY),
    Column("Working", 60),
)
_ORDER = Columns(
    Column("Delivery", 24, name="order_delivery"),
    Column("Material", 36),
    Column("Net", 10, AREA),
    Column("Unit", 6),
    Column("With waste", 10, AREA),
    Column("Packs to buy", 9, COUNT),
    Column("Pack", 18),
    Column("kg per pack", 9, AREA),
    Column("Weight (kg)", 10, MASS, total=True),
    Column("Price per pack", 10, MONEY, editable=True),
    Column("Cost", 11, MONEY, total=True),
)
_SAVED = Columns(
    Column("Delivery", 24),
    Column("Material", 30),
    Column("Unit", 6),
    Column("Net", 10, AREA),
    Column("Bought together", 11, AREA),
    Column("Bought plot by plot", 11, AREA),
    Column("Saved", 10, AREA),
    Column("Saved (%)", 9, PERCENT),
    Column("Packs together", 9, COUNT),
    Column("Packs plot by plot", 9, COUNT),
    Column("Packs saved", 9, COUNT),
    Column("Cost together", 11, MONEY, total=True),
    Column("Cost plot by plot", 11, MONEY, total=True),
    Column("Cost saved", 11, MONEY, total=True),
)
_TYPES = Columns(
    Column("Type", 24),
    Column("Title", 34),
    Column("Drawing", 24),
    Column("Plots", 8, COUNT, total=True),
    Column("Of these handed", 9, COUNT, total=True),
    Column("Rooms", 8, COUNT),
    *(Column(c.heading, c.width, c.number) for c in _FIGURES),
    Column("Price of all before tax", 12, MONEY, total=True),
)
_QUERIES = Columns(
    Column("Type", 24), Column("Ref", 6), Column("Kind", 22), Column("About", 20), Column("What to settle", 90)
)


def site_workbook(site: Site) -> bytes:
    """The workbook of `site`. The same site gives the same bytes."""
    book = BulkBook()
    book.set_properties({"title": site.development.file.development.name or "Site", "created": CREATED})
    for name in (PLOTS, STAGES, DELIVERIES, PRICE, ORDER, SAVED, TYPES, QUERIES):
        book.add_worksheet(name, BulkSheet)
    styles = Styles(book)

    def table(name: str, says: str, columns: Columns, rows: Iterable[Sequence[Cell]]) -> None:
        put_table(book, begin_sheet(book, styles, name, says, columns), styles, columns, list(rows))

    gang = site.order_job.gang
    says = (
        "A handed plot is the mirror image of its type: same quantities. Gang days: hours over "
        f"{gang.people} plasterer{'s' if gang.people > 1 else ''} of {gang.hours_per_day:g} h a day. "
        f"Prices{f' in {site.currency}' if site.currency else ''}: each plot's share of its delivery; blank where "
        f"a rate or the price of a pack is missing (see {PRICE})."
    )
    table(PLOTS, says, _PLOTS, map(_plot, site.plots))
    by_stage, by_delivery = [p.row.stage for p in site.plots], [p.row.comes_with for p in site.plots]
    says = "Live: sums of the sheet of plots."
    table(STAGES, says, _grouped("Stage"), _groups("plot_stage", by_stage, site.plots))
    table(DELIVERIES, says, _grouped("Delivery"), _groups("plot_delivery", by_delivery, site.plots))
    says = "Each delivery priced as a whole; what no price is known for is listed, never taken as nought."
    table(PRICE, says, _PRICE, _prices(site))
    order = [(delivery, line) for delivery in site.deliveries for line in delivery.supply.order.lines]
    says = "Whole packs, rounded up once for a delivery. Boards and beads are cut over all its plots."
    table(ORDER, says, _ORDER, (_line(TOP + n, *row) for n, row in enumerate(order)))
    savings = [(delivery, saving) for delivery in site.deliveries for saving in delivery.savings]
    says = "What a delivery buys as a whole, against what its plots would buy each alone, in the material's own unit."
    table(SAVED, says, _SAVED, (_saving(TOP + n, *row) for n, row in enumerate(savings)))
    table(TYPES, "Each type with its options, taken off once.", _TYPES, _types(site))
    table(QUERIES, "What the drawings do not say; answer it in the settings.", _QUERIES, _queries(site))
    return book.packed()


def _figures(summary: Summary) -> tuple[float, ...]:
    return summary.floor_m2, summary.walls_m2, summary.ceilings_m2, summary.reveals_m2, summary.hours


def _plot(plot: SitePlot) -> Sequence[Cell]:
    row = plot.row
    handed = "handed" if row.handed else ""
    told = (row.plot, row.address, row.type, handed, ", ".join(plot.variant.options), row.stage, row.comes_with)
    return *told, plot.summary.rooms, *_figures(plot.summary), plot.days, _money(plot.before_tax)


def _groups(column: str, titles: Sequence[str], plots: Sequence[SitePlot]) -> Iterable[Sequence[Cell]]:
    """A row for each of the `titles` that the plots have in `column`, in their order."""
    for number, title in enumerate(dict.fromkeys(titles)):
        own = [plot for plot, named in zip(plots, titles, strict=True) if named == title]
        here = f"({column}=A{TOP + number + 1})" if title else f'({column}="")'
        each = [(*_figures(plot.summary), plot.days) for plot in own]
        live = [
            Live(f"=SUMPRODUCT({here}*{c.name})", sum(figures))
            for c, figures in zip(_FIGURES, zip(*each, strict=True), strict=True)
        ]
        price = _money(added(plot.before_tax for plot in own))
        priced = f'=IF(SUMPRODUCT({here}*ISBLANK(plot_price))>0,"{_UNPRICED}",SUMPRODUCT({here}*plot_price))'
        whole = Live(priced, _UNPRICED if price is None else price)
        yield title, Live(f"=SUMPRODUCT({here}*1)", len(own)), *live, whole


def _prices(site: Site) -> Iterable[Sequence[Cell]]:
    """How the price of each delivery comes about: its costs by kind, what is added, and what is missing."""
    for delivery in site.deliveries:
        price = delivery.price
        for kind, title in KINDS.items():
            lines = [line for line in price.lines if line.kind == kind]
            if lines:
                amount = added(line.amount for line in lines)
                yield delivery.name, title, _UNPRICED if amount is None else _money(amount), ""
        for what in price.missing:
            yield delivery.name, f"Not known: {what}", _UNPRICED, "set it in [settings] of the development file"
        if price.complete:
            for step in price.steps:
                percent = f"{step.percent:g} % on {step.on:,.2f}" if step.percent is not None else "a sum"
                yield delivery.name, step.name, float(step.amount), percent
            yield delivery.name, "Price before tax", float(price.before_tax), ""
            yield delivery.name, site.order_job.price.tax_name, float(price.tax), ""
            yield delivery.name, "Price with tax", float(price.total), ""


def _line(row: int, delivery: SiteDelivery, line: OrderLine) -> Sequence[Cell]:
    packs, each, price = (cell_at(_ORDER, h, row) for h in ("Packs to buy", "kg per pack", "Price per pack"))
    material = line.material
    cost = "no price yet" if line.cost is None else float(line.cost)
    return (
        delivery.name, material.title, line.net, material.unit, line.with_waste, line.packs, material.pack,
        material.pack_kg, Live(f"={packs}*{each}", line.weight_kg),
        None if material.price is None else float(material.price),
        Live(f'=IF({price}="","no price yet",{packs}*{price})', cost),
    )  # fmt: skip


def _saving(row: int, delivery: SiteDelivery, saving: Saving) -> Sequence[Cell]:
    def at(heading: str) -> str:
        return cell_at(_SAVED, heading, row)

    saved = saving.apart - saving.together
    percent = 100.0 * saved / saving.apart if saving.apart else 0.0
    together, apart = _money(saving.cost_together), _money(saving.cost_apart)
    less = apart - together if together is not None and apart is not None else ""
    apart_at, together_at = at("Cost plot by plot"), at("Cost together")
    return (
        delivery.name, saving.material, saving.unit, saving.net, saving.together, saving.apart,
        Live(f"={at('Bought plot by plot')}-{at('Bought together')}", saved),
        Live(f"=IF({at('Bought plot by plot')}=0,0,100*{at('Saved')}/{at('Bought plot by plot')})", percent),
        saving.packs_together, saving.packs_apart,
        Live(f"={at('Packs plot by plot')}-{at('Packs together')}", saving.packs_saved),
        together, apart,
        Live(f'=IF(COUNT({together_at}:{apart_at})=2,{apart_at}-{together_at},"")', less),
    )  # fmt: skip


def _money(amount: Decimal | None) -> float | None:
    return None if amount is None else float(amount)


def _types(site: Site) -> Iterable[Sequence[Cell]]:
    for variant in site.takeoffs:
        own = [plot for plot in site.plots if plot.variant == variant]
        row = site.development.file.types[variant.type]
        handed = sum(plot.row.handed for plot in own)
        summary = own[0].summary
        days, price = own[0].days, _money(added(plot.before_tax for plot in own))
        yield variant.name, row.title, row.drawing, len(own), handed, summary.rooms, *_figures(summary), days, price


def _queries(site: Site) -> Iterable[Sequence[Cell]]:
    for variant, takeoff in site.takeoffs.items():
        for query in takeoff.queries:
            yield variant.name, query.ref, query.kind, " ".join(query.about), query.says
