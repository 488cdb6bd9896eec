"""Whole packs: rounded once, never short, never a pack too many. Properties of rounding, no outside source needed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.materials.packs import packs_each_surface, packs_once

amounts = st.floats(0.01, 5000)
sizes = st.floats(0.1, 500)
wastes = st.floats(0, 50)


@given(amounts, sizes, wastes)
def test_enough_and_not_a_pack_more(net: float, size: float, waste: float) -> None:
    packs = packs_once(net, size, waste)
    assert packs.whole * size >= packs.with_waste * (1 - 1e-6) - 1e-6 * size
    assert (packs.whole - 1) * size < packs.with_waste
    assert packs.with_waste == pytest.approx(net * (1 + waste / 100))


@given(st.lists(amounts, min_size=1, max_size=20), sizes, wastes)
def test_rounding_each_surface_never_orders_less(nets: list[float], size: float, waste: float) -> None:
    assert packs_each_surface(nets, size, waste).whole >= packs_once(sum(nets), size, waste).whole


def test_an_amount_that_fills_its_packs_takes_no_further_one() -> None:
    """0.1 x 3 is 0.30000000000000004 in binary: still three packs of 0.1."""
    assert packs_once(0.1 + 0.1 + 0.1, 0.1, 0).whole == 3
    assert packs_once(125, 25, 0).whole == 5
