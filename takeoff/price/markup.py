"""Percentages on the running total, in a stated order, in `Decimal` to the penny.

The order matters: 1 % for tools, then 2 % for water on the sum with tools, then 25 % overheads and profit on all of it
is how published rate analyses do it (civilatwork.blogspot.com/2019/09, CPWD analysis of rates: see the tests).
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from takeoff.price.model import Step

__all__ = ["PENNY", "chain", "money", "percent_of", "rounded_up"]

PENNY = Decimal("0.01")


def money(value: Decimal | float | int | str) -> Decimal:
    """`value` to the penny, halves up."""
    exact = value if isinstance(value, Decimal) else Decimal(str(value))
    return exact.quantize(PENNY, ROUND_HALF_UP)


def percent_of(value: Decimal, percent: Decimal) -> Decimal:
    """`percent` per cent of `value`, to the penny."""
    return money(value * percent / 100)


def rounded_up(value: Decimal, step: Decimal) -> Decimal:
    """`value` rounded up to a multiple of `step`."""
    return money((value / step).to_integral_value(ROUND_CEILING) * step)


def chain(start: Decimal, additions: Sequence[tuple[str, Decimal | None, Decimal | None]]) -> tuple[Step, ...]:
    """Add each (name, percent, sum) in order: a percentage goes on the running total, a sum is added as it is.

    Returns one `Step` per addition, the last one's `total` being the result.
    """
    steps: list[Step] = []
    total = money(start)
    for name, percent, fixed in additions:
        amount = percent_of(total, percent) if percent is not None else money(fixed or 0)
        steps.append(Step(name, percent, total, amount, total + amount))
        total += amount
    return tuple(steps)
