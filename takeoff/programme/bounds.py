"""How short a programme can be at least: by the work there is, and by the longest chain.

Each bound holds by itself:
  work    all the work over what the gang can do in a day.
  chain   every task as early as its waits allow, with hands without end.
  ends    work that cannot start before its chain, and work that must leave time for its tail, do not fit the first
          and the last days: for each day, what may lie before or after it must fit what the gang can do there.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from takeoff.programme.lists import chain
from takeoff.programme.tasks import DAY, Task

__all__ = ["fewest_days"]


def fewest_days(tasks: Sequence[Task], people: int, day: int) -> int:
    """No placing of `tasks` takes fewer days than this."""
    heads = [start // DAY for start in chain(tasks, day)]
    days = max(ceil(sum(t.length * t.people for t in tasks) / (people * day)), max(heads) + 1)
    after = _days_after(tasks, day)
    while _too_much(tasks, heads, after, days, people * day):
        days += 1
    return days


def _days_after(tasks: Sequence[Task], day: int) -> list[int]:
    """How many days, at least, must follow the day on which each task starts: its chain forwards, looked at from the
    end. Taken from the chain that starts with the task in the first quarter of a day."""
    followers: list[list[tuple[int, int]]] = [[] for _ in tasks]
    for n, task in enumerate(tasks):
        for before, wait in task.after:
            followers[before].append((n, wait))
    latest = [0] * len(tasks)
    for n in range(len(tasks) - 1, -1, -1):
        latest[n] = min(
            (_latest(tasks[n], latest[f], wait, day) for f, wait in followers[n]), default=_end(tasks[n], day)
        )
    return [-(start // DAY) for start in latest]


def _end(task: Task, day: int) -> int:
    """Latest start, counted from the morning of the last day."""
    return (day - task.attended) if task.people else -task.length


def _latest(task: Task, follower: int, wait: int, day: int) -> int:
    """Latest start of `task` when a follower starts at `follower` at the latest."""
    at = follower - wait - task.length
    within, morning = at % DAY, at - at % DAY
    if not task.people:
        return morning
    return morning + min(within, day - task.attended)


def _too_much(tasks: Sequence[Task], heads: Sequence[int], after: Sequence[int], days: int, a_day: int) -> bool:
    """True where some stretch of a programme of `days` would have to hold more work than the gang can do in it."""
    last = [days - 1 - n for n in after]
    if any(first > final for first, final in zip(heads, last, strict=True)):
        return True
    for begin in range(days):
        load = [0] * days
        for task, first, final in zip(tasks, heads, last, strict=True):
            if first >= begin:
                load[final] += task.length * task.people
        held = 0
        for n in range(begin, days):
            held += load[n]
            if held > a_day * (n - begin + 1):
                return True
    return False
