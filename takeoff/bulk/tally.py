"""How far a run is: counts, and the time left by the bytes that are left."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from takeoff.bulk.model import Outcome

__all__ = ["Tally", "spoken"]

BESIDE_ITS_BYTES = 100_000
"""What a drawing costs whatever its size, in bytes that cost as much to read (documents of one small house)."""
FIRST = 3
"""Drawings worked on before a pace is told."""


@dataclass
class Tally:
    """Counts of a run over drawings whose files have `sizes` bytes. Drawings known from an earlier run cost nothing, so
    they are left out of the pace."""

    sizes: Sequence[int]
    clock: Callable[[], float] = time.monotonic
    done: int = 0
    without: int = 0
    """Of these, refused or given up."""
    known: int = 0
    """Of these, taken from the store."""
    begun: float = field(init=False)
    left: int = field(init=False)
    worked: int = 0
    """Cost, in bytes, of what is left and of what was worked on."""

    def __post_init__(self) -> None:
        self.begun = self.clock()
        self.left = sum(self.sizes) + len(self.sizes) * BESIDE_ITS_BYTES

    def add(self, number: int, outcome: Outcome, known: bool) -> None:
        """Count drawing `number`."""
        cost = self.sizes[number] + BESIDE_ITS_BYTES
        self.done += 1
        self.without += outcome.state != "done"
        self.known += known
        self.left -= cost
        self.worked += 0 if known else cost

    def left_s(self) -> float | None:
        """Seconds left at the pace so far; None before there is one."""
        if self.done - self.known < FIRST:
            return None
        return (self.clock() - self.begun) * self.left / self.worked

    def says(self) -> str:
        """One line for the person who waits."""
        parts = [f"{self.done:,} of {len(self.sizes):,} drawings"]
        if self.known:
            parts.append(f"{self.known:,} known from before")
        if self.without:
            parts.append(f"{self.without:,} without a takeoff")
        left = self.left_s()
        if left is not None and self.done < len(self.sizes):
            parts.append(f"about {spoken(left)} left")
        return ", ".join(parts)


def spoken(seconds: float) -> str:
    """A stretch of time as people say it: '40 s', '12 min', '3 h 20 min'."""
    if seconds < 90:
        return f"{max(1, round(seconds))} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes // 60} h {minutes % 60} min"
