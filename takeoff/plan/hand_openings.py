"""Openings that a person marks in the job file, [[opening]]: put in the wall where they stand.

Terms:
  row     one [[opening]] of the job file.
  bare    a gap in a wall that nothing on the drawing explains; a row that stands in it says that it is an opening.
  leaf    one of the parallel faces that make up a wall, cavity walls have three or four.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index
from takeoff.geometry.vectors import left_of
from takeoff.job import Job
from takeoff.job_tables import MarkedOpening
from takeoff.plan.gaps import Gaps
from takeoff.plan.inset import taken_already
from takeoff.plan.jambs import THICKEST, THINNEST
from takeoff.plan.model import Opening, Room
from takeoff.plan.openings import Candidate

__all__ = ["check_marked", "marked_openings", "marked_rooflights", "place_of"]

_REACH = 0.5
"""A wall farther from the place given is not meant, metres."""
_OTHER_WIDTH = 0.35
"""A bare gap may be so much wider or narrower than the opening told, as a share."""
_PAST = 0.05
"""The place given may lie so far beyond a wall line's end, metres."""
_LEAF = 0.16
"""Faces of one wall lie no farther apart beyond the first two, metres: a leaf or a cavity (common practice)."""
_SLANT = 0.03


def place_of(row: MarkedOpening, drawing: Drawing) -> Floats:
    """Where a row stands, in the plan's own frame."""
    return np.array(row.at, dtype=float) - np.array(drawing.origin) * drawing.metres_per_unit


def marked_openings(
    drawing: Drawing, job: Job, gaps: Gaps, walls: Floats, found: Sequence[Candidate]
) -> list[Candidate]:
    """The openings that `job` marks in walls: in a bare gap, or in the nearest of the wall lines `walls` (r, 4).

    Raises `JobError` where no wall is near, the wall is shorter than the opening, or an opening is found already.
    """
    marked: list[Candidate] = []
    for number, row in enumerate(job.opening):
        if row.kind == "rooflight":
            continue
        at = place_of(row, drawing)
        candidate = _in_gap(row, number, at, gaps) or _in_wall(row, number, at, walls, job)
        if taken_already(candidate, [*found, *marked]):
            raise job.error(
                ("opening", number, "at"),
                "there is an opening already",
                "a place of its own; to change what is found write [openings.REF]",
            )
        marked.append(candidate)
    return marked


def _in_gap(row: MarkedOpening, number: int, at: Floats, gaps: Gaps) -> Candidate | None:
    """The row in the gap that holds its place and is about as wide."""
    if not len(gaps):
        return None
    holds = np.flatnonzero(shapely.contains_xy(gaps.strips(0.0, 0.1), *at))
    holds = holds[np.abs(gaps.width[holds] - row.width) <= _OTHER_WIDTH * row.width]
    if not len(holds):
        return None
    gap = int(holds[np.argmin(np.abs(gaps.width[holds] - row.width))])
    bridges = gaps.bridges[gap] if gaps.thick[gap] > 0 else gaps.bridges[gap][:1]
    axis = tuple(gaps.axis[gap].tolist())
    return Candidate((gap,), axis, row.width, float(gaps.thick[gap]), bridges, row.kind, "job", row=number)


def _in_wall(row: MarkedOpening, number: int, at: Floats, walls: Floats, job: Job) -> Candidate:
    """The row in the wall nearest to its place."""
    run = _nearest(at, walls)
    if run < 0:
        raise job.error(
            ("opening", number, "at"), f"no wall within {_REACH} m", "a place in a wall, metres on the sheet"
        )
    start, unit, length = _frame(walls[run])
    if length + _PAST < row.width:
        raise job.error(
            ("opening", number, "width"), f"the wall there is {length:.2f} m long", "the width from jamb to jamb"
        )
    along = min(max(float((at - start) @ unit), row.width / 2), length - row.width / 2)
    low, high = _body(at, start, unit, along, walls)
    middle = start + unit * along + left_of(unit) * (low + high) / 2
    half = unit * row.width / 2
    axis = (*(middle - half).tolist(), *(middle + half).tolist())
    return Candidate((), axis, row.width, high - low, np.zeros((0, 4)), row.kind, "job", unbroken=True, row=number)


def _frame(run: Floats) -> tuple[Floats, Floats, float]:
    way = run[2:] - run[:2]
    length = float(np.hypot(*way))
    return run[:2], way / max(length, 1e-9), length


def _nearest(at: Floats, walls: Floats) -> int:
    """Number of the wall line nearest to a place that lies beside it, -1 where none is near; ends of walls are none."""
    if not len(walls):
        return -1
    lines = shapely.linestrings(walls.reshape(-1, 2, 2))
    near = np.flatnonzero((shapely.distance(lines, shapely.Point(at)) <= _REACH) & (shapely.length(lines) >= 2 * _PAST))
    beside = [n for n in near.tolist() if _beside(at, walls[n])]
    return min(beside, key=lambda n: (round(_off(at, walls[n]), 4), -shapely.length(lines[n])), default=-1)


def _beside(at: Floats, run: Floats) -> bool:
    start, unit, length = _frame(run)
    return -_PAST <= float((at - start) @ unit) <= length + _PAST


def _off(at: Floats, run: Floats) -> float:
    start, unit, _ = _frame(run)
    return abs(float(unit[0] * (at - start)[1] - unit[1] * (at - start)[0]))


def _body(at: Floats, start: Floats, unit: Floats, along: float, walls: Floats) -> tuple[float, float]:
    """From where to where the wall reaches across, measured to the left of its line at `start`."""
    offsets = _faces_across(start, unit, along, walls)
    own = float(unit[0] * (at - start)[1] - unit[1] * (at - start)[0])
    below, above = offsets[offsets <= own], offsets[offsets > own]
    if len(below) and len(above) and above[0] - below[-1] <= THICKEST:
        low, high = float(below[-1]), float(above[0])
    else:
        near = float(offsets[np.argmin(np.abs(offsets - own))])
        mates = offsets[(np.abs(offsets - near) >= THINNEST) & ((offsets > near) == (near > own))]
        mate = float(mates[np.argmin(np.abs(mates - near))]) if len(mates) else near
        low, high = min(near, mate), max(near, mate)
    for face in offsets[offsets > high + THINNEST / 4].tolist():
        high = face if face - high <= _LEAF and face - low <= THICKEST else high
    for face in offsets[offsets < low - THINNEST / 4][::-1].tolist():
        low = face if low - face <= _LEAF and high - face <= THICKEST else low
    return low, high


def _faces_across(start: Floats, unit: Floats, along: float, walls: Floats) -> Floats:
    """Where the wall lines parallel to a run lie across it, sorted, at `along`; no farther off than a wall is thick."""
    way = walls[:, 2:] - walls[:, :2]
    length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
    slant = np.abs(way[:, 0] * unit[1] - way[:, 1] * unit[0]) / length
    first, last = ((walls[:, k : k + 2] - start) @ unit for k in (0, 2))
    reaches = (np.minimum(first, last) <= along) & (np.maximum(first, last) >= along)
    middle = (walls[:, :2] + walls[:, 2:]) / 2 - start
    off = unit[0] * middle[:, 1] - unit[1] * middle[:, 0]
    return np.asarray(np.unique(off[(slant < _SLANT) & reaches & (np.abs(off) <= THICKEST)]))


def marked_rooflights(drawing: Drawing, job: Job, rooms: Sequence[Room], first: int) -> tuple[Opening, ...]:
    """The rooflights that `job` marks, refs from ``L{first}`` on.

    Raises `JobError` for one over no room, or without the second side of its hole.
    """
    rows = [(n, row) for n, row in enumerate(job.opening) if row.kind == "rooflight"]
    if not rows:
        return ()
    tree = shapely.STRtree([shapely.Polygon(r.outline, r.holes) for r in rooms])
    found: list[Opening] = []
    for number, row in rows:
        x, y = place_of(row, drawing).tolist()
        home: Index = tree.query(shapely.Point(x, y), predicate="within")
        if not len(home):
            raise job.error(("opening", number, "at"), "no room lies below the rooflight", "a place inside a room")
        if row.height is None:
            raise job.error(("opening", number, "height"), "is missing", "the other side of the hole, in metres")
        room = rooms[int(home[0])]
        found.append(
            Opening(
                ref=f"L{first + len(found)}",
                kind="rooflight",
                plan=room.plan,
                at=(x, y),
                width_m=row.width,
                height_m=row.height,
                sill_m=None,
                wall_thickness_m=None,
                rooms=(room.ref,),
                jambs=((x - row.width / 2, y), (x + row.width / 2, y)),
                size_from="job",
                height_from="job",
                handles=(f"opening {number + 1}",),
            )
        )
    return tuple(found)


def check_marked(job: Job, openings: Sequence[Opening]) -> None:
    """Raises `JobError` for a marked opening in a wall that bounds no room."""
    lost = {handle for o in openings if not o.rooms for handle in o.handles}
    for number, _ in enumerate(job.opening):
        if f"opening {number + 1}" in lost:
            raise job.error(
                ("opening", number, "at"), "the wall there bounds no room", "a place in a wall of a room, in metres"
            )
