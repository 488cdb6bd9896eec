"""Pieces as the placing sees them: numbers only, in quarter hours of the clock.

Terms:
  day    24 hours of the clock, of which the first `day` quarters are worked.
  tail   the longest chain from the start of a task to the end of the job.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from takeoff.programme.model import Piece

__all__ = ["DAY", "QUARTERS", "Task", "tails", "tasks_of"]

QUARTERS = 4
DAY = 24 * QUARTERS
_NEARLY = 1e-9


@dataclass(frozen=True, slots=True)
class Task:
    """One piece. Its predecessors are given by their place in the list, all of them before it."""

    length: int
    """Quarters for which its people are busy; whole days for other trades."""
    attended: int
    """Quarters from its start that must lie within the working day; 0 for other trades."""
    people: int
    after: tuple[tuple[int, int], ...]
    """(predecessor, wait in quarters)."""
    from_day: int = 0


def tasks_of(pieces: Sequence[Piece], day: int) -> list[Task]:
    """The tasks of `pieces` in their order. Pieces longer than a day take it whole and run over (they are queried)."""
    at = {piece.ref: n for n, piece in enumerate(pieces)}
    tasks: list[Task] = []
    reached: list[set[int]] = []
    for piece in pieces:
        waits = {at[ref]: ceil(wait * QUARTERS - _NEARLY) for ref, wait, _ in piece.after}
        implied = set().union(*(reached[n] for n in waits)) if waits else set()
        kept = tuple((n, wait) for n, wait in waits.items() if wait or n not in implied)
        tasks.append(_task(piece, kept, day))
        reached.append({n for n, _ in kept} | implied)
    return tasks


def _task(piece: Piece, after: tuple[tuple[int, int], ...], day: int) -> Task:
    if not piece.people:
        return Task(piece.others_days * DAY, 0, 0, after, piece.from_day)
    length = min(day, max(1, ceil(piece.hours * QUARTERS - _NEARLY)))
    until_set = min(day, ceil(piece.until_set_h * QUARTERS - _NEARLY))
    return Task(length, max(length, until_set), piece.people, after, piece.from_day)


def tails(tasks: Sequence[Task]) -> list[int]:
    """Of each task."""
    found = [0] * len(tasks)
    for n in range(len(tasks) - 1, -1, -1):
        found[n] += tasks[n].length
        for before, wait in tasks[n].after:
            found[before] = max(found[before], wait + found[n])
    return found
