"""How high a room is, and where: one height, or a sloping ceiling.

Terms:
  low side   the wall above which a sloping ceiling starts.
  depth      horizontal distance of a place from the low side's face, into the room.
  run        horizontal distance over which the ceiling rises; beyond it is level, and behind the low side too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot, inf

from takeoff.job import Job
from takeoff.job_tables import Slope
from takeoff.measure.profile import Profile
from takeoff.measure.rules import Common
from takeoff.measure.runs import Run
from takeoff.plan.model import Room

__all__ = ["Top", "height_of", "top_of", "wall_top"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Top:
    """A room's ceiling height: `high_m` everywhere, unless `run_m` says that it slopes.

    The slope rises from `low_m` along the line through `origin` to `high_m` at `run_m` from it; `inward` is the
    unit direction of the rise, in plan.
    """

    high_m: float
    low_m: float = 0.0
    run_m: float = 0.0
    origin: Point = (0.0, 0.0)
    inward: Point = (0.0, 0.0)

    @property
    def slopes(self) -> bool:
        return self.run_m > 0 and self.low_m != self.high_m

    @property
    def stretch(self) -> float:
        """Length up the slope for each metre in plan: 1 / cos of the pitch."""
        return hypot(self.run_m, self.high_m - self.low_m) / self.run_m if self.slopes else 1.0

    def depth(self, point: Point) -> float:
        """Metres from the low side's line into the room; negative behind it."""
        return (point[0] - self.origin[0]) * self.inward[0] + (point[1] - self.origin[1]) * self.inward[1]

    def height_at_depth(self, depth: float) -> float:
        if not self.slopes:
            return self.high_m
        return self.low_m + (self.high_m - self.low_m) * min(1.0, max(0.0, depth / self.run_m))

    def depth_at_height(self, height: float) -> float:
        """How deep into the room the ceiling passes `height`; inf: it is nowhere higher; -inf: everywhere."""
        heights = (self.low_m, self.high_m) if self.slopes else (self.high_m,)
        if height >= max(heights):
            return inf
        if height <= min(heights):
            return -inf
        return self.run_m * (height - self.low_m) / (self.high_m - self.low_m)


def height_of(room: Room, job: Job, common: Common) -> tuple[float, str]:
    """The room's height in metres and where it is from: 'job', 'drawing' or 'default'.

    The job file's word for the room comes first, then the drawing's, then the job file's default, then 2.4 m.
    """
    row = job.rooms.get(room.ref)
    if row is not None and row.height is not None:
        return row.height, "job"
    if room.height_m is not None:
        return room.height_m, room.height_from
    if job.heights.default is not None:
        return job.heights.default, "job"
    return common.default_height_m, "default"


def top_of(room: Room, runs: Sequence[Run], height_m: float, job: Job) -> Top:
    """The room's ceiling: level at `height_m`, or sloping as the job file says.

    Raises `JobError` when the slope's low side is no wall of the room or the rise has no depth.
    """
    row = job.rooms.get(room.ref)
    if row is None or row.slope is None:
        return Top(height_m)
    slope = row.slope
    start, end = _low_side(room, runs, slope, job)
    length = hypot(end[0] - start[0], end[1] - start[1])
    if length == 0:
        raise job.error(("rooms", room.ref, "slope", "low_side"), f"{slope.low_side} is round", "a straight wall")
    inward = (-(end[1] - start[1]) / length, (end[0] - start[0]) / length)
    top = Top(slope.high_height, slope.low_height, 1.0, start, inward)
    depth = max(top.depth(p) for p in room.outline)
    if depth <= 0:
        raise job.error(
            ("rooms", room.ref, "slope", "low_side"),
            f"no part of the room lies in front of {slope.low_side}",
            "another wall",
        )
    return Top(slope.high_height, slope.low_height, slope.run or depth, start, inward)


def wall_top(run: Run, top: Top, height_m: float | None = None) -> Profile:
    """The top line of the wall `run` under `top`, or level at `height_m` where the job file sets the wall's own."""
    path = run.path()
    if height_m is not None or not top.slopes:
        height = top.high_m if height_m is None else height_m
        return Profile(((0.0, height), (run.length_m, height)))
    points: list[Point] = []
    for (s0, p), (s1, q) in pairwise(path):
        d0, d1 = top.depth(p), top.depth(q)
        cuts = sorted((d - d0) / (d1 - d0) for d in (0.0, top.run_m) if min(d0, d1) < d < max(d0, d1))
        leg = [0.0, *cuts, 1.0]
        points += [(s0 + t * (s1 - s0), top.height_at_depth(d0 + t * (d1 - d0))) for t in leg[1 if points else 0 :]]
    return Profile(tuple(points))


def _low_side(room: Room, runs: Sequence[Run], slope: Slope, job: Job) -> tuple[Point, Point]:
    """Ends of the wall or side that `slope` names, in outline order. 'S3', 'R1-S3', 'W2' and 'R1-W2' all do."""
    named = slope.low_side if "-" in slope.low_side else f"{room.ref}-{slope.low_side}"
    for number, run in enumerate(runs, 1):
        if named == f"{room.ref}-W{number}":
            return run.start, run.end
        for side in run.sides:
            if named == side.ref:
                return side.start, side.end
    walls = ", ".join(f"{room.ref}-W{n}" for n in range(1, len(runs) + 1))
    raise job.error(
        ("rooms", room.ref, "slope", "low_side"), f"{slope.low_side!r} is no wall of this room", f"one of: {walls}"
    )
