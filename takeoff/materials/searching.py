"""CP-SAT (OR-tools) as everything here uses it: what it may spend is counted, not timed."""

from __future__ import annotations

from typing import Any

__all__ = ["search"]


def search(effort: float) -> Any:
    """A solver with one worker and a fixed seed that spends at most `effort` in its deterministic time, about seconds
    of a quick machine: the same input gives the same answer.
    """
    from ortools.sat.python import cp_model

    found = cp_model.CpSolver()
    found.parameters.num_workers = 1
    found.parameters.random_seed = 1
    found.parameters.max_deterministic_time = effort
    return found
