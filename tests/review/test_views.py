"""What the page is shown, against the takeoff it comes from, without a server."""

from __future__ import annotations

import base64
from pathlib import Path

import numpy as np
import pytest

from takeoff.job import read_job
from takeoff.pipeline import read_plan
from takeoff.record import Takeoff
from takeoff.review.figures import rough_figures
from takeoff.review.views.drawn import drawn_lines
from takeoff.review.views.openings import angle_rows, opening_rows
from takeoff.review.views.rooms import room_rows

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture(scope="module")
def house() -> Takeoff:
    job = read_job(SAMPLES / "new_house.toml")
    drawing, plan = read_plan(SAMPLES / "new_house.dxf", job)
    return rough_figures(drawing, plan, job)


def test_lines_come_back_where_they_were_drawn(house: Takeoff) -> None:
    """Float32 keeps a house to well under a millimetre."""
    told = drawn_lines(house.drawing, house.plan)
    ends = np.frombuffer(base64.b64decode(told["segments"]), "<f4").reshape(-1, 4)
    entity = np.frombuffer(base64.b64decode(told["entity_of"]), "<u4")
    assert np.abs(ends - house.drawing.segments.ends).max() < 1e-4
    assert (entity == house.drawing.segments.entity).all()
    assert len(told["entities"]) == len(house.drawing.entities)
    assert sum(layer["entities"] for layer in told["layers"]) == len(told["entities"])


def test_rooms_are_told_in_metres_on_the_drawings_axes(house: Takeoff) -> None:
    rows = {row["ref"]: row for row in room_rows(house)}
    x, y = house.plan.origin_m
    for room in house.plan.rooms:
        row = rows[room.ref]
        assert row["outline"][0] == pytest.approx([room.outline[0][0] + x, room.outline[0][1] + y], abs=1e-4)
        assert row["area_m2"] == pytest.approx(room.floor_area_m2, abs=1e-4)
    measured = [row for row in rows.values() if row["measured"]]
    assert sum(row["hours"] for row in measured) == pytest.approx(sum(o.hours for o in house.work.operations), abs=0.01)
    assert house.price is not None
    assert sum(row["price"] for row in measured) == house.price.before_tax


def test_the_outlines_supports_add_up_to_its_length(house: Takeoff) -> None:
    for row, room in zip(room_rows(house), house.plan.rooms, strict=True):
        metres = [float(says.split()[0]) for says in row["why_sure"] if " m of its outline " in says]
        assert sum(metres) == pytest.approx(sum(s.length_m for s in room.sides), abs=0.01 * len(metres))


def test_an_opening_lies_along_its_line(house: Takeoff) -> None:
    for row in opening_rows(house.plan):
        (x0, y0), (x1, y1) = row["line"]
        if row["kind"] != "rooflight":
            assert row["at"] == pytest.approx([(x0 + x1) / 2, (y0 + y1) / 2], abs=1e-3), row["ref"]


def test_angles_are_those_measured(house: Takeoff) -> None:
    rows = angle_rows(house)
    for kind, total in (("external", "external_corners"), ("internal", "internal_corners")):
        counted = sum(getattr(r, total) for r in house.measured.rooms if r.measured)
        assert sum(1 for row in rows if row["kind"] == kind) == counted
