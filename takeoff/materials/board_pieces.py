"""The pieces of a face once its joints are chosen, and what must be cut for each. Millimetres.

Terms:
  draft   a piece before it has a sheet: its part of the face and its blank.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from takeoff.materials.board_ends import Ends, Row
from takeoff.materials.board_faces import Face, Part, Trapezoid
from takeoff.materials.board_offcuts import Blank, Rect
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_tolerances import SAME_PLACE_MM

__all__ = ["Draft", "drafts_of"]

FEW_STEPS = 3
"""A free place of more rectangles is under a slope or a curve: only the largest rectangle within it is used."""


@dataclass(frozen=True, slots=True)
class Draft:
    row: Row
    part: Part
    blank: Blank


def drafts_of(face: Face, rows: Sequence[Row], ends: Ends, spec: BoardSpec) -> tuple[Draft, ...]:
    """The pieces of the face, column by column from the left, each from its lower end."""
    surface, known = face.surface, face.known.pieces
    key = (tuple(row.hi for row in rows[:-1]), ends.joints)
    if key not in known:
        pairs = zip(rows, ends.joints, strict=True)
        known[key] = [(row, part) for row, joints in pairs for part in face.cut(row.part, joints)]
        known[key] = [Draft(row, part, _blank(face, row, part, spec)) for row, part in known[key]]
    return tuple(
        Draft(d.row, d.part, d.blank.named(f"{surface.ref}-{n}", surface.room)) for n, d in enumerate(known[key], 1)
    )


def _blank(face: Face, row: Row, part: Part, spec: BoardSpec) -> Blank:
    """Without a name."""
    left = row.lo > 0 and part.x0 <= row.lo + SAME_PLACE_MM and not spec.cut_edge_joints
    right = row.hi < face.width and part.x1 >= row.hi - SAME_PLACE_MM and not spec.cut_edge_joints
    slope, hanging = _slope(part)
    places = [] if slope else _free_places(part)
    return Blank(
        ref="",
        room="",
        width=part.width,
        length=part.length,
        left=left,
        right=right,
        notches=tuple(rect for place in places for rect in _usable(place)),
        free=tuple(_box(place) for place in places),
        slope=slope,
        either_way=face.surface.kind == "reveal" and not left and not right,
        hanging=hanging,
    )


def _slope(part: Part) -> tuple[tuple[float, float] | None, bool]:
    """Heights of a sloping end as seen with that end up, and whether it is the lower end."""
    if len(part.trapezoids) != 1:
        return None, False
    t, length = part.trapezoids[0], part.length
    low = abs(t.low0 - t.low1) < SAME_PLACE_MM
    high = abs(t.high0 - t.high1) < SAME_PLACE_MM
    if low and not high:
        return (t.high0 - part.y0, t.high1 - part.y0), False
    if high and not low:
        return (length - (t.low1 - part.y0), length - (t.low0 - part.y0)), True
    return None, False


def _free_places(part: Part) -> list[list[Rect]]:
    """Free rectangles of the part's box that touch each other, place by place."""
    places: list[list[Rect]] = []
    for rect in sorted(_free_rectangles(part)):
        met = [place for place in places if any(_touch(rect, other) for other in place)]
        places = [place for place in places if place not in met]
        places.append([*(r for place in met for r in place), rect])
    return places


def _touch(a: Rect, b: Rect) -> bool:
    beside = max(a[0], b[0]) < min(a[2], b[2]) + SAME_PLACE_MM
    return beside and min(a[3], b[3]) - max(a[1], b[1]) > SAME_PLACE_MM


def _usable(place: Sequence[Rect]) -> Sequence[Rect]:
    """Rectangles to cut from a free place: its own where they are few, else the largest within it."""
    if len(place) <= FEW_STEPS:
        return place
    best: Rect = place[0]
    for first, (x0, y0, _, y1) in enumerate(place):
        for _, low, x1, high in place[first:]:
            y0, y1 = max(y0, low), min(y1, high)
            if y1 > y0 and (x1 - x0) * (y1 - y0) > (best[2] - best[0]) * (best[3] - best[1]):
                best = (x0, y0, x1, y1)
    return [best]


def _box(place: Sequence[Rect]) -> Rect:
    return min(r[0] for r in place), min(r[1] for r in place), max(r[2] for r in place), max(r[3] for r in place)


def _free_rectangles(part: Part) -> Iterator[Rect]:
    """Free rectangles of the part's box, in the frame of the box; those of neighbouring slabs joined where alike."""
    if part.is_rectangle:
        return
    waiting: list[Rect] = []
    for slab in _by_slab(part):
        x0, x1 = slab[0].x0 - part.x0, slab[0].x1 - part.x0
        found: list[Rect] = []
        for y0, y1 in _free(slab, part):
            joined = next(
                (w for w in waiting if abs(w[1] - y0) < SAME_PLACE_MM and abs(w[3] - y1) < SAME_PLACE_MM), None
            )
            if joined is not None and abs(joined[2] - x0) < SAME_PLACE_MM:
                waiting.remove(joined)
                found.append((joined[0], joined[1], x1, joined[3]))
            else:
                found.append((x0, y0, x1, y1))
        yield from waiting
        waiting = found
    yield from waiting


def _by_slab(part: Part) -> list[list[Trapezoid]]:
    slabs: dict[tuple[float, float], list[Trapezoid]] = {}
    for t in part.trapezoids:
        slabs.setdefault((t.x0, t.x1), []).append(t)
    return [sorted(slabs[key], key=lambda t: t.low0 + t.low1) for key in sorted(slabs)]


def _free(slab: Sequence[Trapezoid], part: Part) -> Iterator[tuple[float, float]]:
    """Level stretches of a slab's box that hold none of the part, from below, in the frame of the box."""
    at = part.y0
    for t in slab:
        if min(t.low0, t.low1) - at > SAME_PLACE_MM:
            yield at - part.y0, min(t.low0, t.low1) - part.y0
        at = max(t.high0, t.high1)
    if part.y1 - at > SAME_PLACE_MM:
        yield at - part.y0, part.y1 - part.y0
