"""The documents of a site: workbook, JSON, a buying list for each delivery, a folder for each type, handed ones too."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any

from msgspec.json import Encoder
from msgspec.json import format as indented

from takeoff.bulk.handed import handed_drawing, handed_measured, handed_plan, handed_queries
from takeoff.bulk.model import Summary
from takeoff.bulk.site import Saving, Site, SiteDelivery, SitePlot
from takeoff.bulk.site_price import added
from takeoff.bulk.site_workbook import site_workbook
from takeoff.documents.buying import load_blocks
from takeoff.documents.marked_plan import marked_plan_pages, marked_plan_pdf, marked_plan_svgs
from takeoff.documents.paper import Block, Heading, Para, paper_pdf
from takeoff.documents.write_all import make_documents
from takeoff.files import write_together
from takeoff.materials.model import OrderLine
from takeoff.record import Takeoff

__all__ = ["site_document", "site_lines", "write_site"]

SCHEMA_VERSION = 1
_PLAIN = re.compile(r"[^\w.-]+")
DECIMALS = 6


def write_site(site: Site, folder: Path) -> list[Path]:
    """Write all documents of `site` into `folder`, all or none. Returns their paths."""
    files: dict[Path, bytes | str] = {
        folder / "site.xlsx": site_workbook(site),
        folder / "site.json": indented(Encoder().encode(site_document(site)), indent=1),
    }
    for number, delivery in enumerate(site.deliveries, 1):
        files[folder / f"buying-list-{number:02d}-{_plain(delivery.name)}.pdf"] = _buying_list(site, delivery)
    for variant, takeoff in site.takeoffs.items():
        own = folder / "types" / _plain(variant.name)
        files |= {own / name: content for name, content in make_documents(takeoff).items()}
        if any(plot.row.handed and plot.variant == variant for plot in site.plots):
            files |= {own / f"handed-{name}": content for name, content in _handed_plan(takeoff).items()}
    write_together(files)
    return list(files)


def _plain(name: str) -> str:
    return _PLAIN.sub("-", name).strip("-.") or "unnamed"


def _handed_plan(takeoff: Takeoff) -> Mapping[str, bytes | str]:
    """The marked plan of the mirror image."""
    drawing, plan = handed_drawing(takeoff.drawing), handed_plan(takeoff.plan)
    pages = marked_plan_pages(drawing, plan, handed_measured(takeoff.measured), handed_queries(takeoff.queries))
    drawn = marked_plan_svgs(plan, pages)
    named = {f"marked-plan-{ref}.svg" if len(drawn) > 1 else "marked-plan.svg": svg for ref, svg in drawn.items()}
    return {"marked-plan.pdf": marked_plan_pdf(drawing, pages), **named}


def _buying_list(site: Site, delivery: SiteDelivery) -> bytes:
    """What to order for one delivery, for which plots, and what that saves."""
    title = f"Buying list {site.development.file.development.name}: {delivery.name}".strip()
    order = delivery.supply.order
    blocks: list[Block] = [Heading(title, 0), Para(f"For plots {', '.join(map(_told, delivery.plots))}.")]
    blocks.append(Para("Whole packs, rounded up once for this delivery. Boards and beads are cut over all its plots."))
    blocks += load_blocks(order.lines, f"Delivery: {delivery.name}", site.currency)
    if delivery.supply.beads:
        blocks += [Para(f"{run.bead}: {run.how}.", small=True) for run in delivery.supply.beads.runs]
    saved = [_saved(saving) for saving in delivery.savings if saving.apart > saving.together + 1e-9]
    if saved:
        blocks += [Heading("Less than plot by plot"), *(Para(text) for text in saved)]
    if delivery.cost_saved > 0:
        blocks.append(Para(f"In money, of what is priced: {site.currency}{delivery.cost_saved:,.2f} less.", bold=True))
    blocks += [Para(text, bold=True) for text in dict.fromkeys(line.caution for line in order.lines if line.caution)]
    if order.unpriced:
        blocks.append(Para("No price known for: " + ", ".join(order.unpriced) + ". Ask your merchant.", bold=True))
    return paper_pdf(blocks, title)


def _told(plot: SitePlot) -> str:
    return f"{plot.row.plot} ({plot.variant.name}{', handed' if plot.row.handed else ''})"


def _saved(saving: Saving) -> str:
    less = saving.apart - saving.together
    packs = saving.packs_saved
    name = {"board": "sheet", "bead": "length"}.get(saving.kind, "pack")
    told = f", {packs} {name}{'s' if packs > 1 else ''}" if packs > 0 else ""
    bought = f"{saving.together:.1f} instead of {saving.apart:.1f} {saving.unit}"
    return f"{saving.material}: {bought}, {less:.1f} less{told}"


def site_lines(site: Site) -> list[str]:
    """What the site comes to and what ordering together saves, for the screen."""
    price = added(plot.before_tax for plot in site.plots)
    summaries = [plot.summary for plot in site.plots]
    hours, days = sum(s.hours for s in summaries), sum(plot.days for plot in site.plots)
    rooms, saved = sum(s.rooms for s in summaries), _saved_in_all(site.deliveries)
    lines = [
        f"{len(site.plots)} plots: {rooms} rooms, {hours:,.0f} hours, {days:,.0f} gang days",
        f"Each delivery as a whole, against plot by plot: {site.currency}{saved['cost']} less of what is priced, "
        f"{saved['boards']} sheets and {saved['bead_lengths']} lengths of bead fewer",
    ]
    if price is None:
        return [*lines, "Not priced, since these are not known: " + "; ".join(site.missing)]
    return [*lines, f"Price before tax: {site.currency}{price:,.2f}"]


def site_document(site: Site) -> dict[str, Any]:
    """The site as plain lists and dicts, described in docs/development-file.md."""
    return {
        "schema": SCHEMA_VERSION,
        "development": site.development.file.development.model_dump(),
        "types": [
            {
                "variant": variant.name, "type": variant.type, "options": list(variant.options),
                "sha256": takeoff.drawing.sha256,
                **_totals(next(plot.summary for plot in site.plots if plot.variant == variant)),
                "price_before_tax": _money(added(p.before_tax for p in site.plots if p.variant == variant)),
            }
            for variant, takeoff in site.takeoffs.items()
        ],
        "plots": [
            {
                "plot": plot.row.plot, "address": plot.row.address, "variant": plot.variant.name,
                "handed": plot.row.handed, "stage": plot.row.stage, "delivery": plot.row.comes_with,
                **_totals(plot.summary), "gang_days": round(plot.days, DECIMALS),
                "price_before_tax": _money(plot.before_tax),
            }
            for plot in site.plots
        ],
        "stages": list(_stages(site)),
        "deliveries": [
            {
                "delivery": delivery.name,
                "plots": [plot.row.plot for plot in delivery.plots],
                "materials": [_line(line) for line in delivery.supply.order.lines],
                "savings": [_saving(saving) for saving in delivery.savings],
                "saved": _saved_in_all([delivery]),
                "missing": list(delivery.price.missing),
                **_sum(delivery.plots),
            }
            for delivery in site.deliveries
        ],
        "currency": site.currency,
        "site": {**_sum(site.plots), "saved": _saved_in_all(site.deliveries), "missing": list(site.missing)},
    }  # fmt: skip


def _stages(site: Site) -> Iterable[dict[str, Any]]:
    for name in dict.fromkeys(plot.row.stage for plot in site.plots):
        own = [plot for plot in site.plots if plot.row.stage == name]
        yield {"stage": name, "plots": [plot.row.plot for plot in own], **_sum(own)}


def _totals(summary: Summary) -> dict[str, float]:
    return {
        "rooms": summary.rooms,
        "floor_m2": summary.floor_m2,
        "wall_net_m2": summary.walls_m2,
        "ceiling_m2": summary.ceilings_m2,
        "reveal_m2": summary.reveals_m2,
        "hours": summary.hours,
    }


def _sum(plots: Iterable[SitePlot]) -> dict[str, Any]:
    own = list(plots)
    each = [{**_totals(plot.summary), "gang_days": plot.days} for plot in own]
    sums = {key: round(sum(totals[key] for totals in each), DECIMALS) for key in each[0]}
    return {**sums, "price_before_tax": _money(added(plot.before_tax for plot in own))}


def _saved_in_all(deliveries: Sequence[SiteDelivery]) -> dict[str, Any]:
    """What ordering together saves: in money of what is priced, in sheets and in lengths."""
    return {
        "cost": _money(sum((delivery.cost_saved for delivery in deliveries), Decimal(0))),
        "boards": sum(delivery.packs_saved("board") for delivery in deliveries),
        "bead_lengths": sum(delivery.packs_saved("bead") for delivery in deliveries),
    }


def _line(line: OrderLine) -> dict[str, Any]:
    return {
        "material": line.material.slug,
        "title": line.material.title,
        "net": round(line.net, DECIMALS),
        "waste_pct": round(line.waste_pct, DECIMALS),
        "with_waste": round(line.with_waste, DECIMALS),
        "unit": line.material.unit,
        "packs": line.packs,
        "pack": line.material.pack,
        "weight_kg": round(line.weight_kg, DECIMALS),
        "cost": _money(line.cost),
        "how": line.how,
    }


def _saving(saving: Saving) -> dict[str, Any]:
    return {
        "material": saving.material,
        "unit": saving.unit,
        "together": round(saving.together, DECIMALS),
        "plot_by_plot": round(saving.apart, DECIMALS),
        "packs_together": saving.packs_together,
        "packs_plot_by_plot": saving.packs_apart,
        "cost_together": _money(saving.cost_together),
        "cost_plot_by_plot": _money(saving.cost_apart),
    }


def _money(amount: Decimal | None) -> str | None:
    return None if amount is None else f"{amount:.2f}"
