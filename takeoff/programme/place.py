"""Pieces placed on days: a climb through quick placings first, and a solver where a shorter programme may exist.

Time is counted in quarter hours. A piece lies within one day. Two bounds tell how short a programme can be: the work
divided by the gang's hours, and the longest chain of pieces with its waits. Where the quick placing meets the bound it
is the best there is; otherwise CP-SAT (OR-tools) searches for fewer days with a fixed seed, one worker and a limit in
its own deterministic time, so that the same job gives the same days on any machine.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.programme.bounds import fewest_days
from takeoff.programme.lists import best_of, days_of
from takeoff.programme.model import Piece
from takeoff.programme.solve import solve
from takeoff.programme.tasks import QUARTERS, Task, tasks_of

__all__ = ["Placing", "place"]

SOLVER_EFFORT = 0.3
"""Deterministic time units of CP-SAT; several times as many seconds on a laptop."""
MOST_SOLVED = 400
"""Pieces beyond which the solver is not asked: it would find nothing in that time."""
ORDERS, PLACED = 400, 40_000
"""Quick placings tried: so many orders, but no more than so many pieces placed in all (a second or two)."""


@dataclass(frozen=True, slots=True)
class Placing:
    """Where each piece starts, in quarter hours of the clock from the first day's start (24 hours a day)."""

    starts: dict[str, int]
    days: int
    bound: int
    """No programme is shorter than this many days."""


def place(pieces: Sequence[Piece], people: int, hours_per_day: float, effort: float = SOLVER_EFFORT) -> Placing:
    """Place `pieces` for a gang of `people`. Pieces longer than a day take their day whole and run over (queried)."""
    if not pieces:
        return Placing({}, 0, 0)
    day = max(1, int(hours_per_day * QUARTERS))
    tasks = tasks_of(pieces, day)
    bound = fewest_days(tasks, people, day)
    starts = best_of(tasks, people, day, bound, max(1, min(ORDERS, PLACED // len(tasks))))
    if days_of(starts) > bound and len(tasks) <= MOST_SOLVED:
        starts, bound = _searched(tasks, starts, people, day, bound, effort)
    named = {piece.ref: start for piece, start in zip(pieces, starts, strict=True)}
    return Placing(named, days_of(starts), bound)


def _searched(
    tasks: Sequence[Task], starts: Sequence[int], people: int, day: int, bound: int, effort: float
) -> tuple[list[int], int]:
    """What the solver makes of a placing, and the bound it proved."""
    better, proven = solve(tasks, starts, people, day, bound, effort)
    return better, max(bound, proven)
