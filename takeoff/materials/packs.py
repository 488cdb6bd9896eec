"""From net amounts to whole packs, in the order that an estimator can follow by hand.

Terms:
  net          what the measured surfaces take.
  with waste   net x (1 + waste).
  exact        packs before rounding; whole packs are rounded up once, at the end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

__all__ = ["Packs", "packs_each_surface", "packs_once"]

_NEARLY = 1e-9
"""Packs: an amount that fills its packs to the last grain calls for no further pack."""


@dataclass(frozen=True, slots=True)
class Packs:
    net: float
    waste_pct: float
    with_waste: float
    exact: float
    whole: int


def packs_once(net: float, pack_size: float, waste_pct: float) -> Packs:
    """Packs of `pack_size` (same unit as `net`) rounded up once: net, plus waste, by the pack, up."""
    with_waste = net * (1.0 + waste_pct / 100.0)
    exact = with_waste / pack_size
    return Packs(net, waste_pct, with_waste, exact, _up(exact))


def packs_each_surface(nets: Iterable[float], pack_size: float, waste_pct: float) -> Packs:
    """Packs rounded up on each surface, then waste added, then rounded up again.

    The order of Estimating in Building Construction, Example 16-3: it never orders fewer than `packs_once`.
    """
    nets = tuple(nets)
    whole_each = sum(_up(net / pack_size) for net in nets)
    exact = whole_each * (1.0 + waste_pct / 100.0)
    return Packs(sum(nets), waste_pct, exact * pack_size, exact, _up(exact))


def _up(packs: float) -> int:
    return ceil(packs - _NEARLY)
