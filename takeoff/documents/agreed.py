"""What every sheet of changes has at its end and beside its sums: what is not priced, and the place to sign."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.documents.paper import Block, Para, Table
from takeoff.price.model import Price

__all__ = ["known_part", "to_be_agreed"]


def known_part(prices: Iterable[Price]) -> list[Block]:
    """Says what is missing where one of the `prices` is of the known part only; nothing where all are complete."""
    missing = dict.fromkeys(what for price in prices if not price.complete for what in price.missing)
    if not missing:
        return []
    return [Para("Prices are of the known part only. Missing: " + "; ".join(missing) + ".", bold=True)]


def to_be_agreed(work: str) -> list[Block]:
    """The place to sign before the `work` goes on."""
    return [
        Para(f"To be agreed before {work} goes on.", bold=True),
        Table((("For the customer", "For the contractor"), ("Signed:", "Signed:"), ("Date:", "Date:")), (1, 1)),
    ]
