"""One room while it is being measured: its runs, tops and placed openings, before a rule is applied."""

from __future__ import annotations

from dataclasses import dataclass

from takeoff.measure.placing import Placed
from takeoff.measure.profile import Profile
from takeoff.measure.runs import Corner, Run
from takeoff.measure.tops import Top
from takeoff.plan.model import Room

__all__ = ["RoomParts", "Wall"]


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall run with its top line and its openings."""

    ref: str
    """R1-W1: numbered with the runs, so that a wall keeps its ref when another one is found to be open."""
    room: str
    run: Run
    profile: Profile
    placed: tuple[Placed, ...]
    free_top: bool = False
    """The job file sets a height for this wall that stops short of the ceiling: its top is a free edge."""


@dataclass(frozen=True, slots=True)
class RoomParts:
    room: Room
    height_m: float
    height_from: str
    top: Top
    walls: tuple[Wall, ...]
    """One per run, open runs included (`Wall.run.open`)."""
    corners: tuple[Corner, ...]
    measured: bool
