"""Placing by lists: tasks in an order of urgency, each at the earliest place that fits; many orders, the best kept.

The orders come from a fixed seed: the same job gives the same days anywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush
from random import Random

from takeoff.programme.tasks import DAY, Task, tails

__all__ = ["best_of", "chain", "days_of", "place_by"]

SEED = 1
SHAKEN = 0.03
"""Of the tasks in each step, by up to half the longest tail; found by trying on jobs of 20 to 50 days."""


def days_of(starts: Sequence[int]) -> int:
    """Days that a placing takes."""
    return max(starts) // DAY + 1


def chain(tasks: Sequence[Task], day: int) -> list[int]:
    """The placing with hands without end: each task as early as its waits and the working day allow."""
    starts: list[int] = []
    for task in tasks:
        starts.append(_within_day(_earliest(task, tasks, starts), task, day))
    return starts


def best_of(tasks: Sequence[Task], people: int, day: int, bound: int, orders: int) -> list[int]:
    """The shortest placing met on a climb through so many `orders`, from the longest tail first; done at `bound` days.

    Each step shakes the urgency of a few tasks and keeps the new order unless it is worse.
    """
    urgency = [-float(tail) for tail in tails(tasks)]
    best = place_by(urgency, tasks, people, day)
    random, reach = Random(SEED), -min(urgency)
    few = max(1, round(len(tasks) * SHAKEN))
    for _ in range(orders - 1):
        if days_of(best) <= bound:
            break
        shaken = list(urgency)
        for _ in range(few):
            shaken[int(random.random() * len(shaken))] += reach * (random.random() - 0.5)
        placed = place_by(shaken, tasks, people, day)
        if _worth(placed, tasks) <= _worth(best, tasks):
            urgency, best = shaken, placed
    return best


def _worth(starts: Sequence[int], tasks: Sequence[Task]) -> tuple[int, int]:
    """Days, then how much is left for the last of them: less is nearer to a day saved."""
    last = days_of(starts)
    return last, sum(t.length * t.people for s, t in zip(starts, tasks, strict=True) if s // DAY + 1 == last)


def place_by(urgency: Sequence[float], tasks: Sequence[Task], people: int, day: int) -> list[int]:
    """Starts of the tasks, the smallest `urgency` first among those whose predecessors are placed."""
    starts, hands = [0] * len(tasks), _Hands(people, day)
    left = [len(task.after) for task in tasks]
    followers: list[list[int]] = [[] for _ in tasks]
    for n, task in enumerate(tasks):
        for before, _ in task.after:
            followers[before].append(n)
    ready: list[tuple[float, int]] = []
    for n, count in enumerate(left):
        if not count:
            heappush(ready, (urgency[n], n))
    while ready:
        _, n = heappop(ready)
        starts[n] = hands.take(_earliest(tasks[n], tasks, starts), tasks[n])
        for follower in followers[n]:
            left[follower] -= 1
            if not left[follower]:
                heappush(ready, (urgency[follower], follower))
    return starts


def _earliest(task: Task, tasks: Sequence[Task], starts: Sequence[int]) -> int:
    """First quarter that its day and its predecessors allow; the predecessors are placed."""
    at = task.from_day * DAY
    for before, wait in task.after:
        at = max(at, starts[before] + tasks[before].length + wait)
    return at


def _within_day(at: int, task: Task, day: int) -> int:
    """`at`, or the next morning where the task would run over the working day. Other trades come in the morning."""
    within = at % DAY
    latest = day - task.attended if task.people else 0
    return at if within <= latest else at + DAY - within


class _Hands:
    """The gang's hands, quarter by quarter, and how much of each day is taken."""

    def __init__(self, people: int, day: int) -> None:
        self._people, self._day = people, day
        self._busy: dict[int, int] = {}
        self._taken: dict[int, int] = {}

    def take(self, at: int, task: Task) -> int:
        """The first start from `at` on where the task lies within a day and hands are free; takes them."""
        at = _within_day(at, task, self._day)
        if not task.people:
            return at
        work = task.length * task.people
        while True:
            if self._taken.get(at // DAY, 0) + work > self._people * self._day:
                at += DAY - at % DAY
                continue
            full = self._last_full(at, task)
            if full is None:
                break
            at = _within_day(full + 1, task, self._day)
        for quarter in range(at, at + task.length):
            self._busy[quarter] = self._busy.get(quarter, 0) + task.people
        self._taken[at // DAY] = self._taken.get(at // DAY, 0) + work
        return at

    def _last_full(self, at: int, task: Task) -> int | None:
        """The last quarter of the task, started at `at`, in which too few hands are free."""
        most = self._people - task.people
        return next((q for q in range(at + task.length - 1, at - 1, -1) if self._busy.get(q, 0) > most), None)
