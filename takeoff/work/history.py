"""What finished rooms really took, kept in one SQLite file, and what that says of the constants.

A row is one task in one finished room: its measured quantity, its factors, the hours it took; or one material: packs
allowed and packs used. A proposal is the median of hours / (quantity x factors) over the rooms, so that one bad day
does not move it; its low and high are the median less and plus 1.28 robust standard deviations (1.4826 x the median
absolute deviation, the usual consistency factor for the normal distribution), which hold about 8 of 10 rooms.
Fewer than `ENOUGH` rooms propose nothing: the shipped constant is then the better guess, and the report says so.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from takeoff.errors import TakeoffError
from takeoff.work.model import Operation

__all__ = ["ENOUGH", "Proposal", "proposals", "record_hours", "record_packs", "used_packs"]

ENOUGH = 5
"""Rooms from which a constant is proposed (a judgement: below this the median absolute deviation is itself a guess)."""
ROBUST_SIGMA = 1.4826
EIGHT_OF_TEN = 1.2816
OUTLIER_SIGMAS = 3.5

SCHEMA = """
CREATE TABLE IF NOT EXISTS hours (
    job TEXT NOT NULL, room TEXT NOT NULL, task TEXT NOT NULL, unit TEXT NOT NULL, day TEXT NOT NULL,
    quantity REAL NOT NULL CHECK (quantity > 0), factors REAL NOT NULL CHECK (factors > 0),
    hours REAL NOT NULL CHECK (hours > 0), PRIMARY KEY (job, room, task));
CREATE TABLE IF NOT EXISTS packs (
    job TEXT NOT NULL, room TEXT NOT NULL, material TEXT NOT NULL, day TEXT NOT NULL,
    allowed REAL NOT NULL CHECK (allowed > 0), used REAL NOT NULL CHECK (used >= 0), PRIMARY KEY (job, room, material));
"""


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the rooms so far say of one task's constant, hours per unit."""

    task: str
    unit: str
    rooms: int
    likely: float
    low: float
    high: float
    outliers: tuple[str, ...]
    """'job room' of the rooms far off the others: looked at, not dropped."""
    enough: bool

    def as_toml(self) -> str:
        """The rows for the job file; a comment when there are too few rooms."""
        if not self.enough:
            return f"# {self.task}: only {self.rooms} of {ENOUGH} rooms so far, so far {self.likely:.3f} h/{self.unit}"
        values = f"low = {self.low:.3f}\nlikely = {self.likely:.3f}\nhigh = {self.high:.3f}"
        return f"[labour.{self.task}]  # {self.rooms} rooms\n{values}"


def record_hours(
    path: Path, job: str, room: str, day: str, hours: Mapping[str, float], done: Iterable[Operation]
) -> None:
    """Note what each task (slug -> hours) took in `room`, against the `done` operations of the takeoff.

    Recording the same job, room and task again replaces the row. Raises `TakeoffError` for a task that the room did
    not have, or when the file cannot be used.
    """
    rows = []
    by_task: dict[str, list[Operation]] = {}
    for operation in done:
        if operation.room == room:
            by_task.setdefault(operation.task, []).append(operation)
    for task, taken in hours.items():
        if task not in by_task:
            known = ", ".join(sorted(by_task)) or "none"
            raise TakeoffError(f"{room} has no task {task!r} to record hours against; it has: {known}.")
        operations = by_task[task]
        quantity = sum(o.quantity for o in operations)
        weighted = sum(o.quantity * o.multiplier for o in operations)
        if not quantity or taken <= 0:
            raise TakeoffError(f"{task} in {room}: hours must be more than nought, and there must be a quantity to do.")
        rows.append((job, room, task, operations[0].unit, day, quantity, weighted / quantity, taken))
    with closing(_open(path)) as history, history:
        history.executemany("INSERT OR REPLACE INTO hours VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows)


def record_packs(
    path: Path, job: str, room: str, day: str, used: Mapping[str, float], allowed: Mapping[str, float]
) -> None:
    """Note the packs used in `room` against those allowed (exact share). Raises `TakeoffError` as `record_hours`."""
    rows = []
    for material, packs in used.items():
        if not allowed.get(material):
            known = ", ".join(sorted(allowed)) or "none"
            raise TakeoffError(f"{room} was allowed no {material!r}; it has: {known}.")
        rows.append((job, room, material, day, allowed[material], packs))
    with closing(_open(path)) as history, history:
        history.executemany("INSERT OR REPLACE INTO packs VALUES (?, ?, ?, ?, ?, ?)", rows)


def proposals(path: Path) -> list[Proposal]:
    """A proposal per task recorded so far, in order of name."""
    with closing(_open(path)) as history:
        rows = history.execute(
            "SELECT task, unit, job || ' ' || room, hours / (quantity * factors) FROM hours ORDER BY task, job, room"
        ).fetchall()
    tasks: dict[tuple[str, str], list[tuple[str, float]]] = {}
    for task, unit, where, constant in rows:
        tasks.setdefault((task, unit), []).append((where, constant))
    return [_proposal(task, unit, seen) for (task, unit), seen in tasks.items()]


def used_packs(path: Path) -> list[tuple[str, int, float]]:
    """Per material: rooms recorded, and the median of packs used over packs allowed."""
    with closing(_open(path)) as history:
        rows = history.execute("SELECT material, used / allowed FROM packs ORDER BY material, job, room").fetchall()
    materials: dict[str, list[float]] = {}
    for material, ratio in rows:
        materials.setdefault(material, []).append(ratio)
    return [(material, len(ratios), median(ratios)) for material, ratios in materials.items()]


def _proposal(task: str, unit: str, seen: list[tuple[str, float]]) -> Proposal:
    values = [constant for _, constant in seen]
    middle = median(values)
    sigma = ROBUST_SIGMA * median(abs(v - middle) for v in values)
    outliers = tuple(where for where, v in seen if sigma and abs(v - middle) > OUTLIER_SIGMAS * sigma)
    reach = EIGHT_OF_TEN * sigma
    low, high = max(middle - reach, min(values)), min(middle + reach, max(values))
    return Proposal(task, unit, len(seen), middle, low, high, outliers, len(seen) >= ENOUGH)


def _open(path: Path) -> sqlite3.Connection:
    try:
        history = sqlite3.connect(path)
        history.executescript(SCHEMA)
    except sqlite3.Error as fault:
        raise TakeoffError(
            f"Cannot use the history file {path}: {fault}. Check the folder, or name another file."
        ) from fault
    return history
