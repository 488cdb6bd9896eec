"""CP-SAT (OR-tools): a programme of fewer days than a given one, or the proof that there is none."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from takeoff.materials.searching import search
from takeoff.programme.lists import days_of
from takeoff.programme.tasks import DAY, Task

__all__ = ["solve"]


def solve(
    tasks: Sequence[Task], placed: Sequence[int], people: int, day: int, bound: int, effort: float
) -> tuple[list[int], int]:
    """Fewest days, no worse than `placed` and no fewer than `bound`: the starts, and the bound that was proved."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    starts, last = _model(model, tasks, placed, people, day, bound)
    model.minimize(last)
    solver = search(effort)
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return list(placed), bound
    return [int(solver.value(start)) for start in starts], round(solver.best_objective_bound)


def _model(
    model: Any, tasks: Sequence[Task], placed: Sequence[int], people: int, day: int, bound: int
) -> tuple[list[Any], Any]:
    """The variables of each task's start and of the days in all. The hands are counted by the quarter, and by the day
    as well: a day's work in one sum is what proves most."""
    most = days_of(placed)
    last = model.new_int_var(bound, most, "days")
    starts: list[Any] = []
    quarters, hands, days, loads = [], [], [], []
    for task, at in zip(tasks, placed, strict=True):
        on = model.new_int_var(task.from_day, most - 1, "")
        within = model.new_int_var(0, day - task.attended if task.people else 0, "")
        start = model.new_int_var(0, most * DAY, "")
        model.add(start == on * DAY + within)
        model.add(last >= on + 1)
        model.add_hint(on, at // DAY)
        model.add_hint(within, at % DAY)
        for before, wait in task.after:
            model.add(start >= starts[before] + tasks[before].length + wait)
        if task.people:
            quarters.append(model.new_fixed_size_interval_var(start, task.length, ""))
            hands.append(task.people)
            days.append(model.new_fixed_size_interval_var(on, 1, ""))
            loads.append(task.length * task.people)
        starts.append(start)
    model.add_cumulative(quarters, hands, people)
    model.add_cumulative(days, loads, people * day)
    return starts, last
