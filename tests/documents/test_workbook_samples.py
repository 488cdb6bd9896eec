"""The workbook of the shipped samples: its formulas come to the figures of the takeoff, whatever the job asks for."""

from __future__ import annotations

import io
import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
import xlsxwriter

from takeoff.documents.workbook import write_workbook
from takeoff.job import job_from
from takeoff.pipeline import take_off
from takeoff.record import Takeoff
from tests.documents import building
from tests.documents.spreadsheet import differences, formulas, needs_soffice, recalculated
from tests.documents.test_workbook import table

SAMPLES = Path(__file__).parents[2] / "samples"
OLD = {"job": {"existing": True}, "heights": {"default": 2.55}, "rooms": {"R1": {"measured": False}}}
JOBS: dict[str, tuple[str, dict[str, Any]]] = {
    "as it is": ("new_house", {}),
    "in two loads, voids up to 1.7 m2 left in": (
        "new_house",
        {"order": {"by": "storey"}, "measure": {"smallest_void": 1.7}},
    ),
    "IS 1200-12": ("new_house", {"measure": {"rule": "is1200-12"}}),
    "measured straight through": ("new_house", {"measure": {"rule": "straight-through"}}),
    "each surface in whole boards": ("new_house", {"order": {"rounding": "each-surface"}}),
    "extension on an old house": ("rear_extension", OLD),
    "old flat with slope, bay and curve": ("upstairs_flat", OLD),
}


def taken(name: str) -> Takeoff:
    sample, tables = JOBS[name]
    return take_off(SAMPLES / f"{sample}.dxf", job_from(tables))


@pytest.mark.parametrize("name", JOBS)
def test_rooms_and_order_are_those_of_the_takeoff(name: str) -> None:
    takeoff = taken(name)
    content = write_workbook(takeoff)
    rooms = {row["Room"]: row for row in table(content, "Rooms")}
    for room in takeoff.measured.rooms:
        if room.room in takeoff.covered_rooms:
            row = rooms[room.room]
            shown = [row[f"{what} (m2)"] for what in ("Walls gross", "Walls net", "Ceiling net", "Reveals net")]
            areas = [room.wall_gross_m2, room.wall_net_m2, room.ceiling_m2, room.reveal_m2]
            assert shown == pytest.approx(areas, abs=0.002), room.room
    for line, row in zip(takeoff.order.lines, table(content, "Materials"), strict=True):
        assert row["Packs to buy"] == line.packs
        assert (row["Net"], row["With waste"]) == pytest.approx((line.net, line.with_waste), rel=1e-3)


@pytest.mark.parametrize("name", JOBS)
def test_shares_of_the_rooms_are_those_of_the_takeoff(name: str) -> None:
    takeoff = taken(name)
    rows = {str(row["Room"]): row for row in table(write_workbook(takeoff), "Materials by room")}
    expected: dict[tuple[str, str], float] = {}
    for line in takeoff.order.lines:
        for share in line.shares:
            key = share.room, f"{line.material.title} ({line.material.pack})"
            expected[key] = expected.get(key, 0.0) + share.packs
    assert expected
    assert {key: rows[key[0]][key[1]] for key in expected} == pytest.approx(expected, rel=1e-3)


@needs_soffice
@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["in two loads, voids up to 1.7 m2 left in", "IS 1200-12", "old flat with slope, bay and curve"]
)
def test_recalculated_it_shows_the_same_figures(name: str, tmp_path: Path) -> None:
    content = write_workbook(taken(name))
    assert len(formulas(content)) > 500
    assert differences(content, recalculated(openpyxl.load_workbook(io.BytesIO(content)), tmp_path)) == {}


def test_a_hundred_rooms_take_no_longer_than_their_plain_cells() -> None:
    """Ratio in one run, since machines differ: the workbook against as many plain numbers through the library."""
    takeoff = building.takeoff(100)
    book = openpyxl.load_workbook(io.BytesIO(write_workbook(takeoff)), read_only=True)
    cells = sum(len(row) for sheet in book.worksheets for row in sheet.iter_rows())
    assert cells > 25_000
    assert _best(lambda: write_workbook(takeoff)) < 1.5 * _best(lambda: _plain(cells))


def _plain(cells: int) -> None:
    book = xlsxwriter.Workbook(io.BytesIO(), {"in_memory": True})
    sheet = book.add_worksheet()
    for number in range(cells):
        sheet.write_number(number // 16, number % 16, number * 1.37)
    book.close()


def _best(work: Any) -> float:
    """Least processor seconds of three."""
    times = []
    for _ in range(3):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)
