"""The catalogue: shipped materials and the job file's own. Sources of the values are in ``data/materials.toml``."""

from __future__ import annotations

from decimal import Decimal

import pytest

from takeoff.data import load
from takeoff.errors import JobError
from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from tests.work import by_hand as hand

SHIPPED = catalogue(Job())


def test_no_prices_are_shipped() -> None:
    assert not [m.slug for m in SHIPPED.values() if m.price is not None]


def test_waste_is_told_by_cause() -> None:
    finish = SHIPPED["finish"]
    assert finish.waste_parts == (("mixing", 4.0), ("droppings", 6.0))
    assert finish.waste_pct == 10
    for material in SHIPPED.values():
        assert material.waste_pct == pytest.approx(sum(pct for _, pct in material.waste_parts)), material.slug
        assert material.waste_parts, material.slug


def test_a_board_weighs_what_its_sheet_does() -> None:
    """12.5 mm board, 2400 x 1200: 23-25 kg (data sheets, from memory)."""
    board = SHIPPED["board-12-5"]
    assert (board.pack, board.pack_size) == ("2400 x 1200 sheet", pytest.approx(2.88))
    assert 23 <= board.pack_kg <= 25
    acoustic = SHIPPED["acoustic-board-12-5"]
    assert acoustic.pack_kg / acoustic.pack_size >= 10, "EN 520 data sheet: 800 kg/m3 x 12.5 mm at least"


def test_every_kind_has_a_density_for_its_waste() -> None:
    assert {m.kind for m in SHIPPED.values()} <= set(load("materials")["debris"])
    assert all(m.waste_kg_per_m3 > 0 for m in SHIPPED.values())


def test_the_job_file_changes_price_pack_and_waste() -> None:
    tables = {
        "finish": {"price": "8.4", "supplier": "the yard", "price_date": "2025-02-01", "waste": 7},
        "board-12-5": {"sizes_mm": [[3000, 1200], [2400, 1200]]},
        "angle-bead": {"lengths_m": [3.0]},
        "undercoat": {"pack_size": 20, "pack_kg": 20, "pack": "20 kg bag"},
    }
    found = catalogue(hand.job(materials=tables))
    assert (found["finish"].price, found["finish"].waste_pct) == (Decimal("8.4"), 7)
    assert found["finish"].waste_parts == (("set in the job file", 7.0),)
    board = found["board-12-5"]
    assert (board.pack, board.pack_size) == ("3000 x 1200 sheet", pytest.approx(3.6))
    assert board.pack_kg == pytest.approx(8.3 * 3.6), "the weight follows the sheet"
    assert (found["angle-bead"].pack, found["angle-bead"].pack_size) == ("3.0 m length", 3.0)
    assert (found["undercoat"].pack, found["undercoat"].pack_kg) == ("20 kg bag", 20)
    assert "set in the job file" in dict(found["undercoat"].sources)["pack_size"]


def test_waste_of_a_kind_by_cause_in_the_job_file() -> None:
    found = catalogue(hand.job(waste={"finish": {"mixing": 2, "last_bag": 3}}))
    assert found["finish"].waste_parts == (("mixing", 2.0), ("last bag", 3.0))
    assert found["undercoat"].waste_pct == 5


def test_waste_of_an_unknown_kind_is_an_error() -> None:
    with pytest.raises(JobError, match=r"waste\.plaster: no material is of that kind.*finish"):
        catalogue(hand.job(waste={"plaster": {"mixing": 2}}))
