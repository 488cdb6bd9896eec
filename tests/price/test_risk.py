"""The simulation against the closed form of its distribution, and what it says of the drivers."""

from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest

from takeoff.errors import JobError
from takeoff.job import Job, job_from
from takeoff.job_tables import PriceTable, RiskTable
from takeoff.materials.catalogue import catalogue
from takeoff.materials.model import Order, OrderLine
from takeoff.measure.model import Measured, RoomMeasure
from takeoff.price.build import make_price
from takeoff.price.model import PriceLine
from takeoff.price.risk import Unknown, _drawer, simulate
from takeoff.work.model import Finding, Need, Operation, Work

MEASURED = Measured("net", (RoomMeasure("R1", 2.4, "job", 40, 36, 12, 1, 4, 0),), (), (), ())


def operation(task: str, quantity: float, hours: tuple[float, float, float], finding: str = "") -> Operation:
    return Operation(f"R1-{task}", "R1", task, task, "wall finish", quantity, "m2", *hours, finding=finding)


def work(*operations: Operation, findings: tuple[Finding, ...] = ()) -> Work:
    return Work({}, (), (), operations, findings=findings)


def job(**price: object) -> Job:
    return Job(price=PriceTable(labour_rate=Decimal(30), **price), risk=RiskTable(runs=40_000, seed=3))


def triangular_quantile(p: float, low: float, mode: float, high: float) -> float:
    """Inverse distribution function of the triangular distribution (Evans, Hastings and Peacock, Statistical
    Distributions, chapter on the triangular distribution; formula from memory)."""
    cut = (mode - low) / (high - low)
    if p < cut:
        return low + np.sqrt(p * (high - low) * (mode - low))
    return high - np.sqrt((1 - p) * (high - low) * (high - mode))


def test_one_unknown_gives_the_quantiles_of_its_distribution() -> None:
    risk = simulate(MEASURED, work(operation("finish", 100, (0.2, 0.27, 0.4))), Order(()), (), job(), 3)
    for p, got in ((0.5, risk.hours.p50), (0.8, risk.hours.p80), (0.9, risk.hours.p90)):
        assert got == pytest.approx(100 * triangular_quantile(p, 0.2, 0.27, 0.4), rel=0.01)
    assert risk.hours.mean == pytest.approx(100 * (0.2 + 0.27 + 0.4) / 3, rel=0.005)
    assert risk.cost.p80 == pytest.approx(30 * risk.hours.p80, rel=1e-3)


def test_draws_stay_in_their_range_and_are_seeded() -> None:
    first = _drawer(5000, 7)(Unknown("a", "", 0.5, 1.0, 2.0), [])
    again = _drawer(5000, 7)(Unknown("a", "", 0.5, 1.0, 2.0), [])
    other = _drawer(5000, 8)(Unknown("a", "", 0.5, 1.0, 2.0), [])
    assert first.min() >= 0.5 and first.max() <= 2.0
    assert (first == again).all()
    assert (first != other).any()


def test_the_widest_unknown_drives_the_spread() -> None:
    finding = Finding("F1", "R1", "walls", "loose-plaster", 10, "m2", low=2, high=30, state="allowance")
    narrow, wide = operation("finish", 100, (0.26, 0.27, 0.28)), operation("hack-off", 10, (0.4, 0.45, 0.5), "F1")
    risk = simulate(MEASURED, work(narrow, wide, findings=(finding,)), Order(()), (), job(), 3)
    assert "F1" in risk.drivers[0].what
    assert risk.drivers[0].share > 0.8
    assert sum(d.share for d in risk.drivers) <= 1.02


def test_heights_by_default_widen_the_spread() -> None:
    measured = replace(MEASURED, rooms=(replace(MEASURED.rooms[0], height_from="default"),))
    one = operation("finish", 100, (0.27, 0.27, 0.27))
    known = simulate(MEASURED, work(one), Order(()), (), job(), 3)
    default = simulate(measured, work(one), Order(()), (), job(), 3)
    assert known.hours.p90 == known.hours.p50
    assert default.hours.p90 > default.hours.p50


def test_contingency_brings_the_price_to_the_level_asked_for() -> None:
    one = work(operation("finish", 100, (0.2, 0.27, 0.5)))
    price = make_price(MEASURED, one, Order(()), job(contingency="P80"), 3)
    assert price.risk is not None
    assert price.before_tax == pytest.approx(Decimal(str(price.risk.cost.p80)), abs=Decimal("0.01"))


def test_missing_rates_are_listed_and_never_nought() -> None:
    price = make_price(MEASURED, work(operation("finish", 100, (0.2, 0.27, 0.5))), Order(()), Job(), 3)
    assert not price.complete
    assert any("labour_rate" in m for m in price.missing)
    assert [line.amount for line in price.lines] == [None]
    assert "Not a complete price" in price.notes[0]


def test_tax_rounding_and_reverse_charge() -> None:
    one = work(operation("finish", 100, (0.2, 0.27, 0.5)))
    taxed = make_price(MEASURED, one, Order(()), job(tax=Decimal(20), round_to=Decimal(5)), 3)
    assert taxed.before_tax == Decimal("810.00")
    assert (taxed.tax, taxed.total) == (Decimal("162.00"), Decimal("972.00"))
    reverse = make_price(MEASURED, one, Order(()), job(tax=Decimal(20), reverse_charge=True), 3)
    assert reverse.tax == 0
    assert "Reverse charge" in reverse.notes[0]


def test_fewer_runs_than_ten_thousand_are_refused_with_what_would_be_right() -> None:
    assert RiskTable(runs=10_000).runs == 10_000
    with pytest.raises(JobError, match="runs: 9999 will not do; right would be: 10,000 or more"):
        job_from({"risk": {"runs": 9999}})


def test_materials_follow_the_amounts_that_are_not_yet_known() -> None:
    """One finding of 10 m2 that may be 0 to 20, all the undercoat being for it and labour costing nothing: the cost
    spreads as the amount does."""
    finding = Finding("F1", "R1", "walls", "loose-plaster", 10, "m2", low=0, high=20, state="allowance")
    need = Need("undercoat", "R1", "walls", 10, "m2", 9.13, 91.3, "", finding="F1")
    steady = operation("finish", 10, (0.27, 0.27, 0.27), "F1")
    material = replace(catalogue(Job())["undercoat"], price=Decimal(25))
    order = Order((OrderLine(material, 91.3, 0, 91.3, 4, 8.7, 100, (), cost=Decimal(100)),))
    lines = (PriceLine("materials", "undercoat", "", 4, "bag", Decimal(25), Decimal(100)),)
    with_needs = Work({}, (), (need,), (steady,), findings=(finding,))
    free = Job(price=PriceTable(labour_rate=Decimal(0)), risk=RiskTable(runs=40_000, seed=3))
    spread = simulate(MEASURED, with_needs, order, lines, free, 1).cost
    # With waste of 0.97 to 1.08 beside it, the 90 of 100 of a triangle from 0 over 100 to 200 is close to 200 - 100 x
    # sqrt(2 x 0.1) = 155.
    assert spread.p90 == pytest.approx(triangular_quantile(0.9, 0, 100, 200), rel=0.03)
    assert spread.mean == pytest.approx(100 * (0.97 + 1.0 + 1.08) / 3, rel=0.01)
