"""Why a room's outline is as sure as it is, in plain sentences."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from takeoff.documents.safe_text import clean
from takeoff.plan.model import Room
from takeoff.query import Query

__all__ = ["why_sure"]

SUPPORTS = {
    "drawn": "rests on drawn lines",
    "opening": "is closed across openings",
    "healed": "is closed across small gaps in the lines",
    "assumed": "was decided by you",
}
SAME_AREA = 0.02
"""A printed area this near is taken to agree, as a share of it."""


def why_sure(room: Room, queries: Iterable[Query]) -> list[str]:
    """What bears witness for and against the outline of `room`; queries that doubt it last."""
    lengths: dict[str, float] = defaultdict(float)
    for side in room.sides:
        lengths[side.support] += side.length_m
    whole = sum(lengths.values()) or 1.0
    said = [
        f"{lengths[support]:.2f} m of its outline ({lengths[support] / whole:.0%}) {words}."
        for support, words in SUPPORTS.items()
        if lengths[support]
    ]
    said.append(f"Its name is printed inside: {clean(room.name)}." if room.labels else "No name is printed inside.")
    if room.printed_area_m2:
        said.append(_printed(room.floor_area_m2, room.printed_area_m2))
    return said + [clean(q.says) for q in queries if room.ref in q.about and q.concerns in ("outline", "plan", "unit")]


def _printed(measured: float, printed: float) -> str:
    apart = (measured - printed) / printed
    if abs(apart) <= SAME_AREA:
        return f"The printed area, {printed:.2f} m2, agrees with the measured {measured:.2f} m2."
    return f"The printed area is {printed:.2f} m2, the measured {measured:.2f} m2: {apart:+.0%}."
