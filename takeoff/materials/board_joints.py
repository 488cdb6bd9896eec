"""The joints of a laid face: where two pieces meet, and which of their edges do. Face millimetres.

Terms:
  tapered   both edges are the sheets' own long edges.
  cut       a long joint with at least one edge that was cut.
  end       the ends of two sheets, which have no taper.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from takeoff.materials.board_choice import Choice
from takeoff.materials.board_faces import Part
from takeoff.materials.board_offcuts import Cut, Stack
from takeoff.materials.board_pieces import Draft
from takeoff.materials.board_tolerances import SAME_PLACE_MM

__all__ = ["FaceJoint", "joints_of"]

SHORT_MM = 1.0


@dataclass(frozen=True, slots=True)
class FaceJoint:
    kind: str
    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def length(self) -> float:
        return abs(self.x1 - self.x0) + abs(self.y1 - self.y0)


def joints_of(choice: Choice, stack: Stack, cuts: Mapping[str, Cut]) -> tuple[FaceJoint, ...]:
    """All joints of a surface: long ones from the left, then end joints column by column."""
    by_column: dict[int, list[Draft]] = {}
    for draft in choice.drafts:
        by_column.setdefault(draft.row.column, []).append(draft)
    found: list[FaceJoint] = []
    for number, x in enumerate(choice.joints):
        left, right = by_column.get(number, []), by_column.get(number + 1, [])
        found += _long(x, left, right, stack, cuts)
    for drafts in by_column.values():
        found += _ends(drafts)
    return tuple(found)


def _long(
    x: float, left: Sequence[Draft], right: Sequence[Draft], stack: Stack, cuts: Mapping[str, Cut]
) -> Iterator[FaceJoint]:
    for a in left:
        for lo, hi in _side(a.part, x, right_side=True):
            for b in right:
                for lo2, hi2 in _side(b.part, x, right_side=False):
                    y0, y1 = max(lo, lo2), min(hi, hi2)
                    if y1 - y0 >= SHORT_MM:
                        own = _factory(a, cuts, stack)[1] and _factory(b, cuts, stack)[0]
                        yield FaceJoint("tapered" if own else "cut", x, y0, x, y1)


def _side(part: Part, x: float, right_side: bool) -> Iterator[tuple[float, float]]:
    """Where the part's side at x is, from y to y."""
    for t in part.trapezoids:
        if abs((t.x1 if right_side else t.x0) - x) < SAME_PLACE_MM:
            yield (t.low1, t.high1) if right_side else (t.low0, t.high0)


def _factory(draft: Draft, cuts: Mapping[str, Cut], stack: Stack) -> tuple[bool, bool]:
    """Whether the left and right edges of a piece, as it is fixed, are its sheet's own long edges."""
    cut = cuts[draft.blank.ref]
    if cut.across:
        return False, False
    least = stack.sheets[cut.sheet].width - stack.spec.width_tolerance
    left, right = cut.x < SAME_PLACE_MM, cut.x + draft.blank.width > least - SAME_PLACE_MM
    return (right, left) if cut.turned else (left, right)


def _ends(drafts: Sequence[Draft]) -> Iterator[FaceJoint]:
    for n, below in enumerate(drafts):
        for above in drafts[n + 1 :]:
            if abs(below.part.y1 - above.part.y0) < SAME_PLACE_MM:
                for x0, x1 in _shared(below.part, above.part):
                    yield FaceJoint("end", x0, above.part.y0, x1, above.part.y0)


def _shared(below: Part, above: Part) -> Iterator[tuple[float, float]]:
    y = above.y0
    for a in below.trapezoids:
        if max(abs(a.high0 - y), abs(a.high1 - y)) > SAME_PLACE_MM:
            continue
        for b in above.trapezoids:
            if max(abs(b.low0 - y), abs(b.low1 - y)) > SAME_PLACE_MM:
                continue
            x0, x1 = max(a.x0, b.x0), min(a.x1, b.x1)
            if x1 - x0 >= SHORT_MM:
                yield x0, x1
