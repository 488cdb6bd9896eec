"""The hand-built rooms taken through the real stages to a price, for the tests of quotation and schedule."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from takeoff.job import job_from
from takeoff.materials.supply import supply
from takeoff.measure.rooms import measure
from takeoff.pipeline import price_up
from takeoff.query import numbered
from takeoff.record import Takeoff
from takeoff.work.assign import plan_work
from tests.documents import building

JOB: dict[str, Any] = {
    "job": {"name": "Row of rooms", "existing": True, "date": "2026-03-02", "prepared_for": "Demo customer"},
    "gang": {"people": 2},
    "price": {
        "currency": "GBP",
        "labour_rate": 28,
        "waste_rate": 180,
        "markups": [{"name": "overheads", "percent": 10}, {"name": "profit", "percent": 12}],
        "tax": 20,
        "tax_name": "VAT",
        "provisional": [{"what": "Ceiling in the hall", "amount": 250}],
        "payments": [{"when": "on start", "percent": 30}, {"when": "done", "percent": 70}],
        "exclusions": ["Parking permits."],
    },
}
PRICES = {
    "materials": {
        slug: {"price": 10}
        for slug in ("undercoat", "bonding-undercoat", "finish", "scrim", "screw-55", "bonding-agent", "angle-bead")
    }
}
"""Invented, for these tests only."""


def priced(rooms: int = 2, /, **tables: Any) -> Takeoff:
    """The row of `rooms` under `JOB` with `tables` over it, priced."""
    job = job_from({**JOB, **tables})
    base = building.takeoff(rooms, job)
    measured = measure(base.plan, job)
    supplied = supply(base.plan, measured, plan_work(base.plan, measured, job), job, laid=True)
    work, order = supplied.work, supplied.order
    asked = numbered([*measured.queries, *work.queries, *order.queries])
    return price_up(
        replace(
            base, measured=measured, work=work, order=order, beads=supplied.beads, boards=supplied.boards, queries=asked
        )
    )
