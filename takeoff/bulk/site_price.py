"""What a site costs: each delivery priced as a whole, its price shared among its plots by what each of them costs.

A plot's price is the sum of its rooms' in the price of its delivery, so that plots, stages, deliveries and site agree
to the penny. Where a rate or the price of a pack is missing there is no price of what hangs on it, and that is listed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from takeoff.bulk.together import PlotWork, measured_together
from takeoff.job import Job
from takeoff.job_tables import Plant
from takeoff.materials.model import plot_of
from takeoff.materials.supply import Supply
from takeoff.price.build import make_price
from takeoff.price.model import Price

__all__ = ["added", "gang_days", "plot_prices", "price_together"]


def price_together(plots: Sequence[PlotWork], supply: Supply, job: Job) -> Price:
    """The price of all `plots` with the order that is made for them. Plant and provisional sums of `job` are for a
    house, as in a job file: they count once for each plot."""
    sums = {name: _for_each(getattr(job.price, name), len(plots)) for name in ("plant", "provisional")}
    for_all = job.model_copy(update={"price": job.price.model_copy(update=sums)})
    hours = sum(operation.hours for operation in supply.work.operations)
    return make_price(measured_together(plots), supply.work, supply.order, for_all, gang_days(hours, job))


def _for_each(rows: Sequence[Plant], plots: int) -> tuple[Plant, ...]:
    told = f" x {plots} plots" if plots > 1 else ""
    return tuple(row.model_copy(update={"what": row.what + told, "amount": row.amount * plots}) for row in rows)


def gang_days(hours: float, job: Job) -> float:
    """Days of the whole gang that `hours` of labour take; with several houses in hand no coat keeps it waiting."""
    return hours / (job.gang.people * job.gang.hours_per_day)


def plot_prices(price: Price) -> dict[str, Decimal | None]:
    """Before tax, by plot; None throughout where the price is not complete."""
    plots: dict[str, Decimal | None] = {}
    for room in price.rooms:
        plot = plot_of(room.room)
        plots[plot] = (plots.get(plot) or Decimal(0)) + room.net if price.complete else None
    return plots


def added(prices: Iterable[Decimal | None]) -> Decimal | None:
    """The sum, or None as soon as one is not known."""
    whole = Decimal(0)
    for price in prices:
        if price is None:
            return None
        whole += price
    return whole
