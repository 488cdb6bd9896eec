"""Working days by number, and by date where the job file gives the first."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

__all__ = ["day_name", "span_name"]

WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WORKED = 5
"""Days of the week that are worked, from Monday."""


def day_name(day: int, start: date | None) -> str:
    """'3', or '3, Wed 6 Mar' where the first working day is known; Saturdays and Sundays are not worked."""
    if start is None or day < 1:
        return str(day)
    weeks, left = divmod(day - 1 + min(start.weekday(), WORKED), WORKED)
    monday = start - timedelta(days=start.weekday())
    on = monday + timedelta(days=7 * weeks + left)
    return f"{day}, {WEEK[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def span_name(days: Sequence[int]) -> str:
    """'3' or '3-5': from the first to the last of `days`."""
    return str(days[0]) if days[0] == days[-1] else f"{days[0]}-{days[-1]}"
