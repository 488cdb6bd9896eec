"""The job simulated: each unknown drawn from its range, many times, to show what hours, days and cost are likely.

Unknowns: the labour constant of each task (low, likely, high; the same in every room of one run), each allowance
before the visit, ceiling heights taken by default, and the waste of materials. Each is drawn from a triangular
distribution between its low and high with its likely value as the peak. They are drawn independently.

The drivers are ranked by the share of the spread of cost that each explains: the squared correlation of the unknown
with the cost, which for independent unknowns that add up nearly sums to one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
import numpy.typing as npt

from takeoff.job import Job
from takeoff.materials.model import Order
from takeoff.measure.model import Measured
from takeoff.price.lines import labour_hour_cost
from takeoff.price.model import Driver, PriceLine, Risk, Spread
from takeoff.price.parts import materials_by
from takeoff.work.model import Finding, Need, Operation, Work

__all__ = ["Unknown", "simulate"]

Floats = npt.NDArray[np.float64]

HEIGHT_RANGE = (0.95, 1.0, 1.12)
"""Of a ceiling height taken by default, as a share of it: 2.28 to 2.69 m for 2.40 m (common practice)."""
WASTE_RANGE = (0.97, 1.0, 1.08)
"""Of the materials bought, as a share of what is ordered (common practice)."""
HEIGHT_STAGES = ("board", "scrim", "key", "undercoat", "bond", "wall finish", "strip")
DRIVERS = 3
_TALL = "walls of rooms whose height is taken by default"


@dataclass(frozen=True, slots=True)
class Unknown:
    """One uncertain value as a multiplier of its likely value."""

    what: str
    ask: str
    low: float
    likely: float
    high: float


def simulate(
    measured: Measured, work: Work, order: Order, lines: tuple[PriceLine, ...], job: Job, base_days: float
) -> Risk:
    """P50, P80, P90 and mean of hours, days and cost before mark-ups, and the unknowns that drive the cost.

    `base_days` is the programme's length at the likely hours; days follow the hours at the gang's daily hours.
    Where no rates are known the cost is nought throughout and the drivers are ranked by hours instead.
    """
    draw = _drawer(job.risk.runs, job.risk.seed)
    draws: list[tuple[Unknown, Floats]] = []
    height = draw(_height_unknown(measured), draws)
    waste = draw(Unknown("waste of materials", "How far is the carry, and who cuts?", *WASTE_RANGE), draws)
    hours = np.zeros(job.risk.runs)
    likely = 0.0
    constants: dict[str, Floats] = {}
    amounts: dict[str, Floats] = {}
    findings = {f.ref: f for f in work.findings}
    by_default = {m.room for m in measured.rooms if m.height_from == "default"}
    for operation in work.operations:
        constant = constants.get(operation.task)
        if constant is None:
            constant = constants[operation.task] = draw(_constant(operation), draws)
        amount = amounts.get(operation.finding)
        if amount is None:
            amount = amounts[operation.finding] = _amount(findings.get(operation.finding), draw, draws)
        tall = height if operation.room in by_default and operation.stage in HEIGHT_STAGES else 1.0
        hours += operation.hours * constant * amount * tall
        likely += operation.hours
    more = _more_materials(measured, work, order, job, amounts, height)
    cost = _cost(hours, waste, more, lines, labour_hour_cost(job))
    days = base_days + (hours - likely) / (job.gang.people * job.gang.hours_per_day)
    drivers = _drivers(draws, cost if cost.std() > 0 else hours)
    return Risk(job.risk.runs, job.risk.seed, _spread(hours), _spread(np.maximum(days, 0)), _spread(cost), drivers)


Draw = Callable[[Unknown, list[tuple[Unknown, Floats]]], Floats]


def _drawer(runs: int, seed: int) -> Draw:
    """A function that draws an unknown's multipliers and notes them."""
    random = np.random.Generator(np.random.PCG64(seed))

    def draw(unknown: Unknown, noted: list[tuple[Unknown, Floats]]) -> Floats:
        # The inverse of the triangular distribution, written out so that the bytes do not hang on the library's method.
        u = random.random(runs)
        low, mode, high = unknown.low, unknown.likely, unknown.high
        if high <= low:
            return np.ones(runs)
        cut = (mode - low) / (high - low)
        rising = low + np.sqrt(u * (high - low) * (mode - low))
        falling = high - np.sqrt((1 - u) * (high - low) * (high - mode))
        values: Floats = np.where(u < cut, rising, falling)
        noted.append((unknown, values))
        return values

    return draw


def _height_unknown(measured: Measured) -> Unknown:
    rooms = [m for m in measured.rooms if m.height_from == "default"]
    low, likely, high = HEIGHT_RANGE if rooms else (1.0, 1.0, 1.0)
    return Unknown(f"ceiling height of {len(rooms)} rooms", "How high are the ceilings?", low, likely, high)


def _constant(operation: Operation) -> Unknown:
    likely = operation.hours_likely or 1.0
    title = operation.title[0].lower() + operation.title[1:]
    ask = f"How many hours per {operation.unit} does your gang take: {title}?"
    if operation.allowance and operation.unit == "h":
        ask = "How much preparation do the rooms really need? Visit, and enter the findings."
    return Unknown(
        f"hours per {operation.unit}: {title}",
        ask,
        operation.hours_low / likely,
        1.0,
        operation.hours_high / likely,
    )


def _amount(finding: Finding | None, draw: Draw, draws: list[tuple[Unknown, Floats]]) -> Floats:
    """Multipliers of what a finding leads to: its range, or one where it was measured or there is none."""
    if finding is None or finding.low is None or finding.high is None or not finding.amount:
        return np.ones(1)
    what = f"{finding.kind} in {finding.room} ({finding.ref})"
    ask = f"How much {finding.kind.replace('-', ' ')} is there in {finding.room}?"
    return draw(Unknown(what, ask, finding.low / finding.amount, 1.0, finding.high / finding.amount), draws)


def _more_materials(
    measured: Measured, work: Work, order: Order, job: Job, amounts: Mapping[str, Floats], height: Floats
) -> Floats:
    """Cost of materials beyond the likely, run by run: of findings by their amount, of walls by heights by default."""
    tall = {m.room for m in measured.rooms if m.height_from == "default"}
    walls = {s.ref for s in measured.surfaces if s.room in tall and s.kind in ("wall", "pier")}

    def group(need: Need) -> str:
        return need.finding or (_TALL if need.surface in walls else "")

    more: Floats = np.zeros(1)
    for name, cost in materials_by(work, order, job, group).items():
        drawn = height if name == _TALL else amounts.get(name, np.ones(1))
        more = more + float(cost) * (drawn - 1.0)
    return more


def _cost(hours: Floats, waste: Floats, more: Floats, lines: tuple[PriceLine, ...], rate: Decimal | None) -> Floats:
    """Cost of each run before mark-ups: labour by its hours, materials by amounts and waste, the rest as it is."""
    known = [(line.kind, float(line.amount)) for line in lines if line.amount is not None]
    materials = sum(amount for kind, amount in known if kind == "materials")
    fixed = sum(amount for kind, amount in known if kind not in ("materials", "labour"))
    return hours * float(rate or 0) + waste * (materials + more) + fixed


def _spread(values: Floats) -> Spread:
    p50, p80, p90 = (round(float(v), 2) for v in np.percentile(values, (50, 80, 90)))
    return Spread(p50, p80, p90, round(float(values.mean()), 2))


def _drivers(draws: list[tuple[Unknown, Floats]], outcome: Floats) -> tuple[Driver, ...]:
    if outcome.std() == 0:
        return ()
    shares = [(float(np.corrcoef(values, outcome)[0, 1] ** 2), n) for n, (_, values) in enumerate(draws)]
    ranked = sorted(shares, key=lambda s: (-s[0], s[1]))[:DRIVERS]
    return tuple(Driver(draws[n][0].what, round(share, 3), draws[n][0].ask) for share, n in ranked)
