"""Openings placed in wall runs, and how their sides are finished.

Terms:
  lo, hi     the opening's sides along the wall from its left end; sill, head: its bottom and top over the floor.
  frame      the window or door frame standing in the thickness of the wall.
  lining     timber that covers the jambs and head: then there is nothing to plaster.
  reveal     the plastered return from the wall's face to the frame, or through the whole wall.
  splay      how much farther than at its frame an opening reaches, on either side, in the wall's face: its jambs lean.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from shapely import LineString, Point

from takeoff.job import Job
from takeoff.job_tables import OpeningKindRow
from takeoff.measure._figures import metres
from takeoff.measure.arches import Arch, arch_of
from takeoff.measure.profile import Profile
from takeoff.measure.rules import Common
from takeoff.measure.runs import Run
from takeoff.plan.model import Opening, Side

__all__ = [
    "Finish", "Placed", "default_height", "place", "said_flag", "said_reveal_depth", "stated_height", "to_ceiling",
]

FLUSH_M = 0.005
"""A frame this near the face leaves no reveal."""


@dataclass(frozen=True, slots=True)
class Finish:
    """How an opening's sides are finished on one face."""

    depth_m: float
    """Of the plastered reveal; 0: none."""
    other_depth_m: float
    """Of the reveal on the other face."""
    head: bool
    cill: bool
    through: bool
    """The reveal goes through the whole wall: counted once, not from both rooms."""
    how: str
    thickness_known: bool = True


@dataclass(frozen=True, slots=True)
class Placed:
    """An opening where it lies in a wall run, clipped to the run's ends."""

    opening: Opening
    side: Side
    lo: float
    hi: float
    sill: float
    head: float
    finish: Finish
    arch: Arch | None = None
    """Its head, where that is no straight one."""
    splay_m: float = 0.0

    @property
    def jamb_top(self) -> float:
        """Height over the floor up to which its jambs are straight."""
        return self.head if self.arch is None else self.arch.springing

    @property
    def width_m(self) -> float:
        """In the wall's face."""
        return self.hi - self.lo


def place(run: Run, profile: Profile, openings: Mapping[str, Opening], job: Job, common: Common) -> tuple[Placed, ...]:
    """The openings of `run`, left to right. Those that lie wholly beyond its ends are left out."""
    found: dict[str, Placed] = {}
    for side, start in zip(run.sides, run.starts, strict=True):
        for ref in side.openings:
            opening = openings.get(ref)
            if opening is None or opening.kind == "rooflight" or ref in found:
                continue
            middle = run.length_m - (start + _along(side, opening))
            splay = _splay(side, opening)
            lo = max(0.0, middle - opening.width_m / 2 - splay)
            hi = min(run.length_m, middle + opening.width_m / 2 + splay)
            if hi - lo > FLUSH_M:
                top = profile.height_at(middle)
                height = top if to_ceiling(opening) else stated_height(opening, job)
                sill = _sill(opening, job, top - height)
                finish = _finish(opening, side, run, job, common)
                arch = arch_of(opening, middle, sill + height, job)
                found[ref] = Placed(opening, side, lo, hi, sill, sill + height, finish, arch, splay)
    return tuple(sorted(found.values(), key=lambda p: (p.lo, p.opening.ref)))


def _splay(side: Side, opening: Opening) -> float:
    """The splay of the opening on this side of its wall, where its width is as drawn."""
    own = side.support == "opening" and len(side.openings) == 1 and opening.size_from in ("symbol", "gap")
    return opening.splay_m if own and side.length_m > opening.width_m + opening.splay_m else 0.0


def stated_height(opening: Opening, job: Job) -> float:
    """The opening's height in metres: its own, else the default of its kind."""
    return opening.height_m if opening.height_m is not None else default_height(opening, job)


def to_ceiling(opening: Opening) -> bool:
    """Whether an opening without a height of its own is taken to go up to the ceiling: a glazed screen."""
    return opening.height_m is None and opening.style == "screen"


def default_height(opening: Opening, job: Job) -> float:
    """Height of an opening of this kind where nothing says: ``[heights]`` of the job file; a rooflight is square."""
    by_kind = {"door": job.heights.door, "window": job.heights.window, "opening": job.heights.opening}
    return by_kind.get(opening.kind, opening.width_m)


def _sill(opening: Opening, job: Job, highest: float) -> float:
    """The cill's height: told, else the usual one of a window, or lower where the window must fit under the ceiling."""
    if opening.sill_m is not None:
        return opening.sill_m
    return max(0.0, min(job.heights.sill, highest)) if opening.kind == "window" else 0.0


def _along(side: Side, opening: Opening) -> float:
    """Where the opening's middle lies on `side`, in metres from the side's start."""
    if side.support == "opening" and len(side.openings) == 1:
        return side.length_m / 2
    line = LineString(side.points or (side.start, side.end))
    return float(line.project(Point(opening.at), normalized=True)) * side.length_m


def _finish(opening: Opening, side: Side, run: Run, job: Job, common: Common) -> Finish:
    head = said_flag(opening, job, "head_plastered", True)
    cill = said_flag(opening, job, "cill_plastered", False)
    outside = _outside(opening, side, run)
    thickness = opening.wall_thickness_m or side.thickness_m or run.widest().thickness_m
    wall = thickness or (common.unknown_external_wall_m if outside else common.unknown_internal_wall_m)
    depth = said_reveal_depth(opening, job)
    if opening.style == "screen" and depth is None:
        return Finish(0.0, 0.0, head, cill, False, "glazed screen: no plastered reveal")
    framed = outside and opening.style != "overhead" and wall >= common.lined_door_max_wall_m
    if said_flag(opening, job, "lining", opening.kind == "door" and not framed and depth is None):
        return Finish(0.0, 0.0, head, cill, False, "lined: no plastered reveal")
    through = opening.kind == "opening"
    if depth is not None:
        return Finish(depth, depth, head, cill, through, f"reveal {metres(depth)} deep as the job file says")
    here, other, how = _depths(wall, through, outside, job)
    here, other = (d if d > FLUSH_M else 0.0 for d in (here, other))
    known = thickness is not None
    return Finish(here, other, head, cill, through, how if known else f"{how}, wall thickness taken", known)


def _depths(wall: float, through: bool, outside: bool, job: Job) -> tuple[float, float, str]:
    """Depths of the reveal on this face and on the other, and the working."""
    if through:
        return wall, wall, f"the whole wall, {metres(wall)}"
    frame = min(wall, job.measure.frame_depth)
    if not outside:
        each = (wall - frame) / 2
        return each, each, f"half of wall {metres(wall)} less frame {metres(frame)}"
    setback = job.measure.frame_setback
    if setback is None:
        setback = max(0.0, (wall / 3 - frame) / 2)
    setback = min(setback, wall - frame)
    here = wall - setback - frame
    return here, setback, f"wall {metres(wall)} less frame {metres(frame)} set back {metres(setback)}"


def _outside(opening: Opening, side: Side, run: Run) -> bool:
    """Whether the wall's other face is outdoors: of a window with one room it is, of a door it must be known."""
    told = side.external if side.external is not None else run.widest().external
    if told is not None:
        return told
    return opening.kind == "window" and len(opening.rooms) < 2


def said_flag(opening: Opening, job: Job, key: str, otherwise: bool) -> bool:
    """What the job file says on the yes-or-no `key` of this opening, then of its kind."""
    return next((bool(said) for row in _rows(opening, job) if (said := getattr(row, key)) is not None), otherwise)


def said_reveal_depth(opening: Opening, job: Job) -> float | None:
    """The depth of reveal in metres that the job file sets for this opening, then for its kind, or None."""
    said = next((row.reveal_depth for row in _rows(opening, job) if row.reveal_depth is not None), None)
    return job.measure.window_reveal if said is None and opening.kind == "window" else said


def _rows(opening: Opening, job: Job) -> list[OpeningKindRow]:
    by_kind = {str(kind): row for kind, row in job.opening_kinds.items()}
    rows = (job.openings.get(opening.ref), by_kind.get(opening.kind))
    return [row for row in rows if row is not None]
