"""Shelf life against the programme: bags that would be out of date before the last of them is used."""

from __future__ import annotations

from collections.abc import Iterable

from takeoff.materials.model import Material

__all__ = ["outrun_shelf_life"]


def outrun_shelf_life(materials: Iterable[Material], days_on_site: int) -> tuple[str, ...]:
    """One plain sentence for each material that, fresh when delivered, is out of date before it is used up.

    `days_on_site`: days of the calendar from its delivery to the day the last of it is used.
    """
    return tuple(
        f"{m.title} keeps about {m.shelf_life_days} days, but the last of it is used {days_on_site} days after its "
        f"delivery, {days_on_site - m.shelf_life_days} days too late. Have it delivered in parts, and read the date on "
        "each bag."
        for m in materials
        if m.shelf_life_days and m.shelf_life_days < days_on_site
    )
