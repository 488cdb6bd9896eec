"""Rooms of the worked examples as plans, so that the examples run through the whole of measuring."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from takeoff.drawing.lengths import METRES, read_lengths
from takeoff.job import job_from
from takeoff.measure.model import Measured
from takeoff.measure.rooms import measure
from tests.measure.plans import RoomSpec, Xy, opening, plan

FOOT = METRES["ft"]
SQUARE_FOOT = FOOT**2


@dataclass(frozen=True)
class Cut:
    """So many openings of one size, in metres."""

    kind: str
    number: int
    width: float
    height: float


def length(printed: str) -> float:
    """A length as the source prints it, in metres."""
    metres = read_lengths(printed).lengths[0].metres()
    assert metres is not None
    return metres


def box_room(length_m: float, width_m: float, height_m: float, cuts: Sequence[Cut] = (), rule: str = "net") -> Measured:
    """A rectangular room with its openings laid along the walls, measured; reveals left out as the sources do."""
    return outline_room([(0, 0), (length_m, 0), (length_m, width_m), (0, width_m)], height_m, cuts, rule)


def outline_room(outline: Sequence[Xy], height_m: float, cuts: Sequence[Cut] = (), rule: str = "net") -> Measured:
    """The same for any outline, counter-clockwise."""
    walls = list(zip(outline, [*outline[1:], outline[0]], strict=True))
    free = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in walls]
    whole, openings = list(free), []
    for cut in cuts:
        for _ in range(cut.number):
            wall = max(range(len(walls)), key=lambda i: free[i])
            assert cut.width <= free[wall] + 1e-9
            at = (whole[wall] - free[wall] + cut.width / 2) / whole[wall]
            free[wall] -= cut.width
            (x0, y0), (x1, y1) = walls[wall]
            ref = f"{'D' if cut.kind == 'door' else 'W'}{len(openings) + 1}"
            middle = (x0 + (x1 - x0) * at, y0 + (y1 - y0) * at)
            openings.append(opening(ref, middle, cut.width, cut.height, 0.0))
    sheet = plan(RoomSpec(outline, height_m), openings=openings, broken=False)
    return measure(sheet, job_from({"measure": {"rule": rule, "window_reveal": 0.0}}))
