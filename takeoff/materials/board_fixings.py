"""Screws, adhesive and noggings of a laid surface, piece by piece. Face millimetres.

Terms:
  line      a stud, joist or other framing that a piece is fixed to.
  spacing   distance between screws along a line: the values and their sources are in build_ups.toml ([fixings]).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil
from typing import Any

from shapely import get_parts

from takeoff.data import load
from takeoff.materials.board_choice import Choice
from takeoff.materials.board_faces import Face, Part
from takeoff.materials.board_joints import FaceJoint
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_tolerances import SAME_PLACE_MM
from takeoff.materials.boards_model import Fixings
from takeoff.work.fixings import adhesive_kg_per_m2

__all__ = ["fixings_of", "framing_lines"]

SAME_LINE_MM = 60.0
"""Two lines nearer than this are one: a screw goes into either."""


def fixings_of(choice: Choice, joints: Sequence[FaceJoint], spec: BoardSpec, angles: tuple[bool, bool]) -> Fixings:
    """What fixing the boards of one surface takes. `angles`: an external angle at its left, at its right end."""
    surface = choice.face.surface
    fixed = spec.fixed_to(surface.ref)
    if fixed == "dabs":
        kg = sum(_adhesive_kg(d.part, spec) for d in choice.drafts)
        how = f"{len(choice.drafts)} pieces on dabs: {kg:.1f} kg of adhesive"
        return Fixings(surface.ref, surface.room, 0, kg, 0.0, 0, how)
    lines = framing_lines(choice, spec)
    rule = load("build_ups")["fixings"][f"{fixed}-{'ceiling' if surface.kind == 'ceiling' else 'wall'}"]
    close = _close_lines(choice.face, angles)
    screws = sum(_screws(d.part, choice, lines, rule, close) for d in choice.drafts)
    unsupported = list(_unsupported(choice, joints, spec))
    noggings_m = sum(unsupported) / 1000.0
    bays = sum(ceil(length / choice.support.centres - 1e-6) for length in unsupported) if choice.support.centres else 0
    closer = f", {rule['angle_mm']} mm at external angles" if any(angles) and "angle_mm" in rule else ""
    how = (
        f"{len(choice.drafts)} pieces, screws at {rule['field_mm']} mm{closer}: {screws}; "
        f"noggings {noggings_m:.2f} m in {bays} bays"
    )
    return Fixings(surface.ref, surface.room, screws, 0.0, noggings_m, bays, how)


def framing_lines(choice: Choice, spec: BoardSpec) -> tuple[float, ...]:
    """Places of studs or joists: x where they run along the sheets, y where across. On walls also ends and jambs."""
    face, support = choice.face, choice.support
    if not support.centres:
        return ()
    extent = face.width if support.lengthwise else face.length
    start = support.start
    if start is None:
        start = (choice.joints[0] if choice.joints else 0.0) if support.lengthwise else (choice.ends.framing or 0.0)
    first = start % support.centres
    grid = [first + n * support.centres for n in range(int((extent - first) // support.centres) + 1)]
    fixed = [0.0, extent]
    if face.surface.kind != "ceiling":
        sides = [(g.x0, g.x1) if support.lengthwise else (g.y0, g.y1) for g in face.gaps]
        fixed += [side for pair in sides for side in pair if 0 < side < extent]
    lines: list[float] = []
    for place in (*sorted(set(fixed)), *grid):
        if all(abs(place - other) >= SAME_LINE_MM for other in lines):
            lines.append(place)
    return tuple(sorted(lines))


def _close_lines(face: Face, angles: tuple[bool, bool]) -> tuple[float, ...]:
    """Upright framing at external angles, as x or y of the face: where screws go closer."""
    if face.surface.kind == "ceiling":
        return ()
    extent = face.width if face.direction == "up" else face.length
    left, right = (0.0, extent) if face.direction == "up" else (extent, 0.0)
    return tuple(place for place, close in ((left, angles[0]), (right, angles[1])) if close)


def _screws(part: Part, choice: Choice, lines: Sequence[float], rule: dict[str, Any], close: Sequence[float]) -> int:
    """Screws of one piece: along each line that it covers, its own edges counted though they share a line."""
    lengthwise = choice.support.lengthwise or not choice.support.centres
    lo, hi = (part.x0, part.x1) if lengthwise else (part.y0, part.y1)
    own = sorted({lo, hi, *(line for line in lines if lo + SAME_LINE_MM <= line <= hi - SAME_LINE_MM)})
    end_mm = float(rule.get("end_mm", 0))
    total = 0
    for line in own:
        at_edge = min(max(line, lo + SAME_PLACE_MM), hi - SAME_PLACE_MM)
        at_angle = any(abs(line - place) < SAME_LINE_MM for place in close)
        spacing = float(rule["angle_mm"] if at_angle and "angle_mm" in rule else rule["field_mm"])
        is_end = not lengthwise and end_mm > 0 and line in (lo, hi)
        for length in _covered(part, at_edge, lengthwise):
            rows = ceil(length / (end_mm if is_end else spacing) - 1e-9) + 1
            total += max(0, rows - 2) if lengthwise and end_mm else rows
    if lengthwise and end_mm:
        total += 2 * (ceil(part.width / end_mm - 1e-9) + 1)
    return total


def _covered(part: Part, place: float, lengthwise: bool) -> Iterator[float]:
    """Lengths of a line that the part covers."""
    if lengthwise:
        for t in part.trapezoids:
            if t.x0 <= place <= t.x1:
                cut = t.cut(max(t.x0, place - SAME_PLACE_MM / 2), min(t.x1, place + SAME_PLACE_MM / 2))
                if cut is not None:
                    yield cut.high0 - cut.low0
        return
    spans = sorted((t.x0, t.x1) for t in part.trapezoids if min(t.low0, t.low1) <= place <= max(t.high0, t.high1))
    at: float | None = None
    for (x0, x1), following in zip(spans, [*spans[1:], (None, None)], strict=True):
        at = x0 if at is None else at
        if following[0] is None or following[0] > x1 + SAME_PLACE_MM:
            yield x1 - at
            at = None


def _adhesive_kg(part: Part, spec: BoardSpec) -> float:
    """By dab rows of a piece of this size (NBS-based specification 2014, K10 cl. 620), for the area that it covers."""
    return adhesive_kg_per_m2(spec.thickness, part.length, part.width) * part.area / 1e6


def _unsupported(choice: Choice, joints: Sequence[FaceJoint], spec: BoardSpec) -> Iterator[float]:
    """Lengths of edges between framing that need noggings."""
    face, support = choice.face, choice.support
    if not support.centres:
        return
    for joint in joints:
        if joint.kind == "end":
            if support.lengthwise or choice.ends.off_framing(joint.y0, support.centres):
                yield joint.length
        elif support.nogging_at_joints:
            yield joint.length
    if face.surface.kind == "ceiling" and spec.fixed_to(face.surface.ref) == "timber":
        yield from _perimeter_across(face, lengthwise=support.lengthwise)


def _perimeter_across(face: Face, lengthwise: bool) -> Iterator[float]:
    """Edges of a ceiling that run across its joists: perimeter noggings (NHBC 9.2.4, 2022)."""
    for polygon in get_parts(face.shape).tolist():
        for (x0, y0), (x1, y1) in pairwise(polygon.exterior.coords):
            dx, dy = abs(x1 - x0), abs(y1 - y0)
            if (dx > dy) == lengthwise:
                yield max(dx, dy)
