"""Free places in pieces, and which other pieces may lie there: for the bounds. Millimetres.

Terms:
  box     the rectangle round a piece. A notched piece counts with its whole box.
  host    a place that a piece leaves free in its box, such as that of a door; a guest is a piece that may lie there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from takeoff.materials.board_offcuts import Blank
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_scales import Scale
from takeoff.materials.board_tolerances import SAME_PLACE_MM, SPECK_MM

__all__ = ["Guest", "Host", "guest_of", "hosts_of", "kept_share"]

Guest = tuple[float, float, int]
"""Width, length, and how many factory edges it needs."""


@dataclass(frozen=True, slots=True)
class Host:
    width: float
    length: float
    edges: int
    """Factory edges that it can offer: 0 or 1."""
    beyond: float = 0.0
    """How far a guest may reach out of it along the sheet; what lies there is no free place."""
    beside: float = 0.0
    """The same across the sheet."""
    far: float = 0.0
    """How far from it the factory edge is that it offers."""

    def takes(self, guest: Guest) -> bool:
        """Whether a guest can lie here, if only in part."""
        width, length, edges = guest
        fits = length <= self.length + self.beyond + SAME_PLACE_MM and edges <= self.edges
        return fits and width <= self.width + self.beside + SAME_PLACE_MM and (not edges or width > self.far)

    def outside(self, guest: Guest) -> tuple[float, float]:
        """How much of a guest's width, and of its length, must lie out of the free place."""
        width, length, edges = guest
        return max(0.0, width - self.width, self.far if edges else 0.0), max(0.0, length - self.length)


def guest_of(blank: Blank) -> Guest:
    return blank.width, blank.length, blank.left + blank.right


def kept_share(guest: Guest, host: Host, along: Scale, across: Scale, facing: bool) -> float:
    """Share of what a guest counts that it still needs outside of the free place.

    Where two hosts can face each other a guest may lie in both, and nothing is kept of what reaches out sideways.
    """
    width, length = host.outside(guest)
    counts_across, counts_along = across.at(guest[0]), along.at(guest[1])
    kept_across = across.at(width) / counts_across if width >= SPECK_MM and counts_across > 0 and not facing else 0.0
    kept_along = along.at(length) / counts_along if length >= SPECK_MM and counts_along > 0 else 0.0
    return max(kept_across, kept_along)


def hosts_of(blanks: Sequence[Blank], spec: BoardSpec) -> Iterator[Host]:
    """What the blanks leave free: notches, and the rectangle over the lower corner of a slope."""
    for blank in blanks:
        shortest = spec.shortest(blank.width, blank.length, blank.left and blank.right)
        aside = 0.0 if blank.left and blank.right else spec.widest - blank.width
        if blank.slope is not None:
            height = blank.length - min(blank.slope)
            yield Host(blank.width, height, 1, spec.longest - blank.length, aside)
        for x0, y0, x1, y1 in blank.free:
            open_ended = y0 <= SAME_PLACE_MM or y1 >= blank.length - SAME_PLACE_MM
            beyond = shortest - blank.length if open_ended else 0.0
            at_left, at_right = x0 <= SAME_PLACE_MM, x1 >= blank.width - SAME_PLACE_MM
            if not (at_left or at_right):
                yield Host(x1 - x0, y1 - y0, int(spec.cut_edge_joints), beyond)
            elif (at_left and blank.left) or (at_right and blank.right) or not (blank.left or blank.right):
                yield Host(x1 - x0, y1 - y0, 1, beyond, 0.0 if blank.left or blank.right else aside)
            else:
                narrowest = min(s.width for s in spec.sizes if s.width >= blank.width - SAME_PLACE_MM)
                far = 0.0 if spec.cut_edge_joints else narrowest - blank.width
                yield Host(x1 - x0, y1 - y0, 1, beyond, aside, far)
