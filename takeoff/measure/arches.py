"""Arched heads of openings, as the job file gives them. Metres.

Terms:
  crown      the highest point of an arch: the opening's head.
  rise       how far the crown lies over the springing.
  springing  the height at which the curve starts; the jambs are straight up to there.
  chords     the straight pieces that an arch is taken as, nowhere farther from its curve than `SAGITTA_M`.

An arch is part of one circle: of half of it where it rises half its width.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import acos, atan, ceil, cos, sin

from takeoff.job import Job
from takeoff.measure._figures import metres
from takeoff.plan.model import Opening

__all__ = ["Arch", "arch_of", "check_arches"]

Point = tuple[float, float]

SAGITTA_M = 0.0005
"""Less than a trowel leaves; it makes an arched door smaller by less than 0.001 m2."""


@dataclass(frozen=True, slots=True)
class Arch:
    """The head of an opening that is `width` wide with its middle at `middle` along the wall."""

    middle: float
    width: float
    springing: float
    rise: float

    @property
    def radius_m(self) -> float:
        """Of the circle through both springings and the crown."""
        return (self.width**2 / 4 + self.rise**2) / (2 * self.rise)

    @property
    def half_angle(self) -> float:
        """Half of what the arch takes of its circle, radians."""
        return 2 * atan(2 * self.rise / self.width)

    def curve(self) -> tuple[Point, ...]:
        """(along, height) of the ends of its chords, from the left springing to the right."""
        radius, half = self.radius_m, self.half_angle
        count = max(2, ceil(half / acos(max(0.0, 1 - SAGITTA_M / radius))))
        turns = (half - 2 * half * n / count for n in range(count + 1))
        centre = self.springing + self.rise - radius
        return tuple((self.middle - radius * sin(turn), centre + radius * cos(turn)) for turn in turns)

    @property
    def beside_m2(self) -> float:
        """Area of wall beside the curve, up to the crown: what the opening lacks of a rectangle."""
        half = self.half_angle
        return self.width * self.rise - self.radius_m**2 * (half - sin(half) * cos(half))

    @property
    def says(self) -> str:
        return f"arched, springs at {metres(self.springing)}, rises {metres(self.rise)}: mean height"


def arch_of(opening: Opening, middle: float, head: float, job: Job) -> Arch | None:
    """The arch that the job file gives the opening with its `middle` along a wall; None for a straight head."""
    row = job.openings.get(opening.ref)
    if row is None or row.arch_rise is None:
        return None
    return Arch(middle, opening.width_m, head - row.arch_rise, row.arch_rise)


def check_arches(openings: Sequence[Opening], heights: Mapping[str, float], job: Job) -> None:
    """Raises `JobError` where an ``arch_rise`` does not go with its opening. `heights` by ref, as taken."""
    for opening in openings:
        row = job.openings.get(opening.ref)
        if row is None or row.arch_rise is None:
            continue
        at = ("openings", opening.ref, "arch_rise")
        if opening.kind == "rooflight":
            raise job.error(at, "a rooflight has no arch", "no arch_rise here")
        most = min(opening.width_m / 2, heights[opening.ref])
        if row.arch_rise > most + 1e-6:
            wrong = f"the arch rises more than half the opening's width of {metres(opening.width_m)}"
            if most < opening.width_m / 2:
                wrong = f"the arch rises more than the opening's height of {metres(heights[opening.ref])}"
            right = f"at most {metres(most)}; height is measured to the crown"
            raise job.error(at, wrong, right)
