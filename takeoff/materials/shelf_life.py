"""Shelf life against the programme: bags that would be out of date before the last of them is used."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from takeoff.materials.model import Material

__all__ = ["outrun_shelf_life"]


def outrun_shelf_life(materials: Iterable[Material], delivered: date, used_until: date) -> tuple[str, ...]:
    """One plain sentence for each material that, fresh when `delivered`, is out of date before `used_until`."""
    sentences = []
    for material in materials:
        if not material.shelf_life_days:
            continue
        keeps_until = delivered + timedelta(days=material.shelf_life_days)
        if keeps_until < used_until:
            late = (used_until - keeps_until).days
            sentences.append(
                f"{material.title}: keeps about {material.shelf_life_days} days; fresh on {delivered.isoformat()} "
                f"it keeps to {keeps_until.isoformat()}, but is used until {used_until.isoformat()}, {late} days "
                "too late. Have it delivered in parts, and read the date on each bag."
            )
    return tuple(sentences)
