"""Walls that the drawing lacks and the job file draws, [[wall]].

They become line work of the drawing, so that documents show them and figures can be traced to them; they are fabric
without being looked at for what furniture, stairs or doors may look like.

Terms:
  face    one of the two long lines of such a wall, half its thickness off the line given.
  carry   a face is carried on, or cut back, to the first wall line that it meets near its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from takeoff.drawing.model import Drawing, Entity, Layer, Segments
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.vectors import left_of
from takeoff.job import Job
from takeoff.plan.jambs import first_hits
from takeoff.plan.linework import FABRIC, Lines, joined
from takeoff.plan.model import Room

__all__ = ["check_walls", "hand_entities", "with_walls", "with_walls_met"]

KIND = "WALL OF THE JOB FILE"
"""Kind of its entity: no DXF type."""
_LAYER = "walls of the job file"
_SHORTEST = 0.05
"""Metres."""
_REACH = 0.35
"""A face is carried on, or cut back, so far to meet a wall, metres: its line may end in the middle of that wall."""


def with_walls(drawing: Drawing, job: Job) -> Drawing:
    """`drawing` (metres) with the walls that `job` draws: an entity each, "wall 1" and so on, on a layer of their own.

    Raises `JobError` for a wall without length.
    """
    if not job.wall:
        return drawing
    origin = np.array(drawing.origin) * drawing.metres_per_unit
    faces = []
    for number, row in enumerate(job.wall):
        line = np.array(row.line, dtype=float) - origin
        if float(np.hypot(*(line[1] - line[0]))) < _SHORTEST:
            raise job.error(("wall", number, "line"), "its two ends are one place", "two points apart, in metres")
        faces.append(_faces(line, row.thickness))
    layer = len(drawing.layers)
    count = len(drawing.entities)
    entities = tuple(Entity(f"wall {n}", KIND, layer) for n in range(1, len(faces) + 1))
    ends = np.concatenate([drawing.segments.ends, *faces])
    owner = np.repeat(np.arange(count, count + len(faces), dtype=np.int32), 2)
    return replace(
        drawing,
        layers=(*drawing.layers, Layer(_LAYER)),
        entities=(*drawing.entities, *entities),
        segments=Segments(
            ends,
            np.concatenate([drawing.segments.entity, owner]),
            np.concatenate([drawing.segments.arc, np.full(len(owner), -1, dtype=np.int32)]),
        ),
    )


def _faces(line: Floats, thickness: float) -> Floats:
    """Both faces (2, 4) of a wall along `line` (2, 2)."""
    way = line[1] - line[0]
    off = left_of(way) / float(np.hypot(*way)) * thickness / 2
    return np.stack([np.concatenate(line + off), np.concatenate(line - off)])


def hand_entities(drawing: Drawing) -> Mask:
    """The entities (mask) that the job file draws."""
    return np.asarray(drawing.kinds == KIND)


def with_walls_met(drawing: Drawing, fabric: Lines) -> Lines:
    """`fabric` with the walls of the job file, their faces carried to the walls that they meet."""
    by_hand = hand_entities(drawing)
    own = np.flatnonzero(by_hand[drawing.segments.entity])
    if not len(own):
        return fabric
    faces, entity = drawing.segments.ends[own], drawing.segments.entity[own].astype(np.int64)
    parts = [fabric]
    for wall in np.unique(entity).tolist():
        others = np.concatenate([fabric.ends, faces[entity != wall]])
        lines = _met(faces[entity == wall], others)
        none = np.full(len(lines), -1, dtype=np.int64)
        kind = np.full(len(lines), FABRIC, dtype=np.int64)
        parts.append(Lines(lines, kind, np.full(len(lines), wall, dtype=np.int64), none, none))
    return joined(*parts)


def _met(faces: Floats, others: Floats) -> Floats:
    """The faces (2, 4) carried to the lines `others`, with a line across each end that meets none."""
    carried = faces.copy()
    caps = []
    for end in (0, 1):
        tip, tail = faces[:, 2 * end : 2 * end + 2], faces[:, 2 - 2 * end : 4 - 2 * end]
        out = tip - tail
        length = np.hypot(out[:, 0], out[:, 1])
        out = out / length[:, None]
        back = np.minimum(_REACH, length / 2)
        hit, far = _first(tip - out * back[:, None], out, back + _REACH, others)
        met = hit >= 0
        carried[met, 2 * end : 2 * end + 2] = (tip - out * (back - far)[:, None])[met]
        if not met.any():
            caps.append(np.concatenate(tip))
    return np.vstack([carried, *caps])


def _first(origins: Floats, ways: Floats, reach: Floats, runs: Floats) -> tuple[Index, Floats]:
    hit, far = first_hits(origins, ways, reach, runs, start=0.0)
    return hit, np.where(hit >= 0, far, 0.0)


def check_walls(job: Job, rooms: Sequence[Room]) -> None:
    """Raises `JobError` for a wall of the job file that bounds no room."""
    used = {handle for room in rooms for side in room.sides for handle in side.handles}
    for number, _ in enumerate(job.wall):
        if f"wall {number + 1}" not in used:
            raise job.error(
                ("wall", number, "line"), "the wall bounds no room", "a line from wall to wall, in metres on the sheet"
            )
