"""The order: whole packs once per delivery, exact shares, weights, prices, waste away. Worked by hand beside."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.errors import JobError
from takeoff.materials.model import Order, OrderLine
from takeoff.materials.order import make_order
from takeoff.measure.model import Surface
from takeoff.plan.model import Plan, Storey
from takeoff.work.assign import plan_work
from tests.work import by_hand as hand


def _order(surfaces: list[Surface], plan: Plan | None = None, /, **tables: Any) -> Order:
    site = hand.measured(surfaces)
    job = hand.job(**{"wall_types": {"unknown": {"background": "board"}}, **tables})
    plan = plan or hand.plan(*dict.fromkeys(s.room for s in surfaces))
    return make_order(plan, plan_work(plan, site, job), job)


def _line(order: Order, slug: str, delivery: str = "L1") -> OrderLine:
    return next(v for v in order.lines if v.material.slug == slug and v.delivery == delivery)


ROOMS = [hand.wall(f"R{n}-W1", 4.0, 2.5) for n in (1, 2, 3)]
"""Three rooms with 10 m2 each: 25 kg of finish net, 27.5 kg with waste."""


def test_rooms_are_never_rounded_only_the_whole() -> None:
    """3 x 27.5 = 82.5 kg = 3.3 bags: 4 bags, though each room shows 1.1."""
    line = _line(_order(ROOMS), "finish")
    assert (line.net, line.with_waste) == pytest.approx((75, 82.5))
    assert line.packs == 4
    assert [s.packs for s in line.shares] == pytest.approx([1.1, 1.1, 1.1])
    assert [s.carry for s in line.shares] == [2, 2, 2], "an opened bag moves on to the next room"
    assert line.left_over == pytest.approx(17.5)
    assert line.how == "75.00 kg net + 10 % = 82.50 kg; / 25 kg = 3.30, up to 4"


def test_weights_by_line_delivery_and_room() -> None:
    order = _order(ROOMS)
    assert _line(order, "finish").weight_kg == 100
    assert order.deliveries[0].weight_kg == pytest.approx(sum(v.weight_kg for v in order.lines))
    finish_share = _line(order, "finish").shares[0]
    assert finish_share.weight_kg == pytest.approx(27.5)
    scrim = _line(order, "scrim")
    assert order.rooms[0].weight_kg == pytest.approx(27.5 + scrim.shares[0].with_waste * 0.5 / 90)
    assert order.rooms[0].heaviest_pack_kg == 25


def test_lifting_caution_above_25_kg_only() -> None:
    """HSENI: check loads over 20-25 kg. A 25 kg bag is at the limit; a 2400 x 1200 x 15 mm sheet of 28.8 kg is over."""
    wall = [hand.wall("R1-W1", 4.0, 2.5)]
    order = _order(wall, rooms={"R1": {"wall_background": "timber frame", "wall_build_up": "skim-15"}})
    board = _line(order, "board-15")
    assert board.material.pack_kg == pytest.approx(28.8)
    assert "two people" in board.caution
    assert _line(order, "finish").caution == ""


def test_unknown_prices_are_blank_and_listed_never_nought() -> None:
    prices = {"finish": {"price": "8.40", "price_date": "2025-03-01", "supplier": "the yard"}}
    order = _order(ROOMS, materials=prices)
    finish, scrim = _line(order, "finish"), _line(order, "scrim")
    assert finish.cost == Decimal("33.60"), "4 x 8.40"
    assert (finish.material.price_date, finish.material.supplier) == ("2025-03-01", "the yard")
    assert scrim.cost is None
    assert order.unpriced == (scrim.material.title,)
    assert order.deliveries[0].cost is None, "a sum with a gap is no sum"
    both = _order(ROOMS, materials={**prices, "scrim": {"price": "5"}})
    assert both.unpriced == ()
    assert both.deliveries[0].cost == Decimal("38.60"), "and one roll at 5"


def test_what_is_thrown_away() -> None:
    """7.5 kg mixed and dropped; the 17.5 kg left in an opened bag of plaster will not keep, scrim will."""
    order = _order(ROOMS)
    finish, scrim = _line(order, "finish"), _line(order, "scrim")
    assert finish.waste_kg == pytest.approx(7.5 + 17.5)
    assert finish.waste_m3 == pytest.approx(25 / 600), "600 kg/m3 loose, from memory"
    assert scrim.waste_kg == pytest.approx((scrim.with_waste - scrim.net) * 0.5 / 90)
    assert order.waste_kg == pytest.approx(finish.waste_kg + scrim.waste_kg)


def test_waste_stripped_from_old_walls_is_carried_away_too() -> None:
    hacked = {"room": "R1", "kind": "loose-plaster", "amount": 2, "place": "walls"}
    with_it, without = _order(ROOMS, findings=[hacked]), _order(ROOMS)
    new = sum(v.waste_kg for v in with_it.lines)
    assert with_it.waste_kg == pytest.approx(new + 2 * 22), "22 kg/m2: data/findings.toml"
    assert without.waste_kg < with_it.waste_kg


UP_AND_DOWN = [Storey("P1", "Ground floor", (0, 0, 1, 1)), Storey("P2", "First floor", (0, 2, 1, 3))]


def _by(**tables: Any) -> Order:
    rooms = [hand.room("R1"), hand.room("R2", storey="P2"), hand.room("R3", storey="P2")]
    return _order(ROOMS, hand.plan(*rooms, storeys=UP_AND_DOWN), **tables)


def test_by_storey_each_delivery_is_rounded_once() -> None:
    """27.5 kg: 2 bags below; 55 kg: 3 bags above."""
    order = _by(order={"by": "storey"})
    assert [(d.ref, d.title, d.rooms) for d in order.deliveries] == [
        ("L1", "Ground floor", ("R1",)),
        ("L2", "First floor", ("R2", "R3")),
    ]
    assert [_line(order, "finish", ref).packs for ref in ("L1", "L2")] == [2, 3]
    assert _line(_by(), "finish").packs == 4


@pytest.mark.parametrize("by", ["stage", "plot"])
def test_by_stage_or_plot_with_what_is_not_assigned_apart(by: str) -> None:
    order = _by(order={"by": by}, rooms={"R1": {by: "one"}, "R3": {by: "one"}})
    assert [(d.title, d.rooms) for d in order.deliveries] == [("one", ("R1", "R3")), ("not assigned", ("R2",))]


@pytest.mark.parametrize("by", ["stage", "plot"])
def test_by_stage_or_plot_that_no_room_has_is_an_error(by: str) -> None:
    with pytest.raises(JobError, match=f"order.by: the order goes by {by}, but no room has one"):
        _by(order={"by": by})


@settings(max_examples=25)
@given(st.lists(st.floats(0.5, 40), min_size=1, max_size=6))
def test_shares_add_up_to_the_line(areas: list[float]) -> None:
    order = _order([hand.wall(f"R{n}-W1", area, 1.0) for n, area in enumerate(areas, 1)])
    for line in order.lines:
        assert sum(s.net for s in line.shares) == pytest.approx(line.net)
        assert sum(s.with_waste for s in line.shares) == pytest.approx(line.with_waste)
        assert line.packs * line.material.pack_size == pytest.approx(line.with_waste + line.left_over)
        assert -1e-6 <= line.left_over < line.material.pack_size


def test_waste_of_a_layer_counts_for_that_layer_only() -> None:
    """10 m2 in each of two rooms, 20 % in one and 10 % in the other: 15 % together."""
    own = {"layers": [{"material": "finish", "thickness_mm": 2, "waste": 20}], "backgrounds": ["board"]}
    order = _order(ROOMS[:2], build_ups={"own": own}, rooms={"R1": {"wall_build_up": "own"}})
    line = _line(order, "finish")
    assert line.waste_pct == pytest.approx(15)
    assert line.with_waste == pytest.approx(25 * 1.2 + 25 * 1.1)
    assert [s.with_waste for s in line.shares] == pytest.approx([30.0, 27.5])


def test_a_finding_of_nothing_orders_nothing() -> None:
    nothing = {"room": "R1", "kind": "hole-small", "amount": 0}
    assert _order(ROOMS, findings=[nothing]).lines == _order(ROOMS).lines


def test_an_empty_plan_orders_nothing() -> None:
    order = _order([])
    assert (order.lines, order.rooms, order.unpriced, order.waste_kg) == ((), (), (), 0.0)
