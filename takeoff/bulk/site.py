"""A site from its development file: each variant taken off once, quantities by plot, one order for each delivery."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from takeoff.bulk.development import Development, PlotRow, Variant
from takeoff.bulk.model import Summary
from takeoff.bulk.one import summary_of
from takeoff.bulk.site_price import added, gang_days, plot_prices, price_together
from takeoff.bulk.together import ordered_together, work_of
from takeoff.drawing.model import Drawing
from takeoff.errors import DrawingError
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Material, OrderLine
from takeoff.materials.supply import Supply
from takeoff.pipeline import measured_up, plan_of, read_drawings, together
from takeoff.price.model import Price
from takeoff.record import Takeoff

__all__ = ["Saving", "Site", "SiteDelivery", "SitePlot", "make_site"]

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class SitePlot:
    row: PlotRow
    variant: Variant
    summary: Summary
    days: float
    """Of the whole gang."""
    before_tax: Decimal | None = None
    """Its share of the price of its delivery; None where a rate or the price of a pack is missing."""


@dataclass(frozen=True, slots=True)
class Saving:
    """One material of a delivery, ordered together and plot by plot: packs of any size, in the material's own unit."""

    material: str
    """Title of the material, whatever the size of its sheets or lengths."""
    unit: str
    net: float
    together: float
    """Bought, in `unit`."""
    apart: float
    kind: str
    """'board', 'bead' ...: packs of these are sheets and lengths."""
    packs_together: int
    packs_apart: int
    cost_together: Decimal | None
    cost_apart: Decimal | None
    """None when a price is not known."""

    @property
    def packs_saved(self) -> int:
        return self.packs_apart - self.packs_together

    @property
    def cost_saved(self) -> Decimal | None:
        if self.cost_together is None or self.cost_apart is None:
            return None
        return self.cost_apart - self.cost_together


@dataclass(frozen=True, slots=True)
class SiteDelivery:
    name: str
    plots: tuple[SitePlot, ...]
    supply: Supply
    savings: tuple[Saving, ...]
    price: Price

    @property
    def before_tax(self) -> Decimal | None:
        return self.price.before_tax if self.price.complete else None

    @property
    def cost_saved(self) -> Decimal:
        """By ordering together: of the materials whose prices are known."""
        return sum((s.cost_saved for s in self.savings if s.cost_saved is not None), Decimal(0))

    def packs_saved(self, kind: str) -> int:
        """Sheets of 'board', lengths of 'bead' that ordering together saves."""
        return sum(s.packs_saved for s in self.savings if s.kind == kind)


@dataclass(frozen=True)
class Site:
    development: Development
    takeoffs: Mapping[Variant, Takeoff]
    """Each variant, as `takeoff measure` makes it."""
    alone: Mapping[Variant, Supply]
    """The order of one plot of each variant by itself, from the stock and at the prices of the deliveries."""
    plots: tuple[SitePlot, ...]
    deliveries: tuple[SiteDelivery, ...]
    order_job: Job
    """The settings that deliveries are ordered and priced by."""

    @property
    def currency(self) -> str:
        return self.order_job.price.currency

    @property
    def missing(self) -> tuple[str, ...]:
        """What no price is known for, each once."""
        return tuple(dict.fromkeys(what for delivery in self.deliveries for what in delivery.price.missing))


def make_site(development: Development, say: Say) -> Site:
    """Take off each variant once and order each delivery as a whole.

    Raises `DrawingError` and `JobError` with the type or option that is wrong.
    """
    jobs = {variant: development.job_of(variant) for variant in development.variants}
    order_job = development.order_job(jobs)
    takeoffs = _taken_off(development, jobs, say)
    summaries = {variant: summary_of(takeoff) for variant, takeoff in takeoffs.items()}
    works = {variant: work_of(takeoff) for variant, takeoff in takeoffs.items()}
    bases = _bases(takeoffs)
    alone = {variant: ordered_together([("", takeoffs[variant], works[variant])], order_job) for variant in takeoffs}
    deliveries = []
    for name, rows in development.deliveries.items():
        say(f"Ordering for {name}")
        variants = [development.variant_of(row) for row in rows]
        together = [(row.plot, takeoffs[v], works[v]) for row, v in zip(rows, variants, strict=True)]
        apart = [alone[v].order.lines for v in variants]
        supply = ordered_together(together, order_job)
        price = price_together(together, supply, order_job)
        shares = plot_prices(price)
        own = tuple(
            SitePlot(row, v, summaries[v], gang_days(summaries[v].hours, order_job), shares[row.plot])
            for row, v in zip(rows, variants, strict=True)
        )
        deliveries.append(SiteDelivery(name, own, supply, _savings(supply.order.lines, apart, bases), price))
    by_plot = {plot.row.plot: plot for delivery in deliveries for plot in delivery.plots}
    plots = tuple(by_plot[row.plot] for row in development.file.plots)
    return Site(development, takeoffs, alone, plots, tuple(deliveries), order_job)


def _taken_off(development: Development, jobs: Mapping[Variant, Job], say: Say) -> dict[Variant, Takeoff]:
    """Every variant; a drawing is read once for all that are drawn in it."""
    read: dict[tuple[Path, ...], tuple[Drawing, ...]] = {}
    takeoffs: dict[Variant, Takeoff] = {}
    for variant, job in jobs.items():
        say(f"Taking off {variant.name}")
        path = development.drawing_of(variant)
        files = (path, *(path.parent / name for name in job.drawing.more))
        try:
            if files not in read:
                read[files] = read_drawings(path, job)
            drawing, plan = plan_of(together(read[files], job), job)
            takeoff = measured_up(drawing, plan, job)
        except DrawingError as fault:
            raise DrawingError(f"Type {variant.name}: {fault}") from fault
        if not takeoff.measured.surfaces:
            raise DrawingError(f"Type {variant.name}: no room to plaster was found in {path.name}.")
        takeoffs[variant] = takeoff
    return takeoffs


def _bases(takeoffs: Mapping[Variant, Takeoff]) -> dict[str, tuple[str, str]]:
    """Slug and title of the material that each size on an order is a size of."""
    known: dict[str, Material] = {}
    for takeoff in takeoffs.values():
        known |= catalogue(takeoff.job)
    return {slug: (slug, material.title) for slug, material in known.items()}


def _savings(
    lines: Sequence[OrderLine], apart: Sequence[Sequence[OrderLine]], bases: Mapping[str, tuple[str, str]]
) -> tuple[Saving, ...]:
    """Material by material, in the order of `lines`: what the delivery buys, and what its plots would buy alone."""
    alone = [line for plot in apart for line in plot]
    grouped: dict[tuple[str, str], tuple[list[OrderLine], list[OrderLine]]] = {}
    for line in lines:
        grouped.setdefault(_base(line, bases), ([], []))[0].append(line)
    for line in alone:
        grouped.setdefault(_base(line, bases), ([], []))[1].append(line)
    return tuple(_saving(title, own, others) for (_, title), (own, others) in grouped.items())


def _base(line: OrderLine, bases: Mapping[str, tuple[str, str]]) -> tuple[str, str]:
    """The catalogue's material that a line is a size of: the longest slug that its own begins with."""
    slug = line.material.slug
    while slug not in bases and "-" in slug:
        slug = slug.rpartition("-")[0]
    return bases.get(slug, (line.material.slug, line.material.title))


def _saving(title: str, lines: Sequence[OrderLine], apart: Sequence[OrderLine]) -> Saving:
    def amount(of: Sequence[OrderLine]) -> float:
        return sum(line.packs * line.material.pack_size for line in of)

    return Saving(
        material=title,
        unit=(lines or apart)[0].material.unit,
        net=sum(line.net for line in lines),
        together=amount(lines),
        apart=amount(apart),
        packs_together=sum(line.packs for line in lines),
        packs_apart=sum(line.packs for line in apart),
        kind=(lines or apart)[0].material.kind,
        cost_together=_cost(lines),
        cost_apart=_cost(apart),
    )


def _cost(lines: Sequence[OrderLine]) -> Decimal | None:
    """Of all that is bought of `lines`; None where a price is not known."""
    return added(line.cost for line in lines if line.packs)
