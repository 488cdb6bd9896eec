"""All rooms at a glance: outlines, names, sizes, how sure each is, and its share of hours and price."""

from __future__ import annotations

from collections import defaultdict

from takeoff.documents.safe_text import clean
from takeoff.plan.model import Room
from takeoff.record import Takeoff
from takeoff.review.views.sureness import why_sure
from takeoff.review.views.values import Json, Place, maybe, path_of, place_in, rounded

__all__ = ["room_rows"]


def room_rows(takeoff: Takeoff) -> list[Json]:
    """One row a room, in the plan's order."""
    place = place_in(takeoff.plan)
    hours = hours_by_room(takeoff)
    prices = {row.room: row.net for row in takeoff.price.rooms} if takeoff.price else {}
    return [
        {
            **_shape(room, takeoff, place),
            "price": prices.get(room.ref),
            "hours": maybe(hours.get(room.ref)),
        }
        for room in takeoff.plan.rooms
    ]


def hours_by_room(takeoff: Takeoff) -> dict[str, float]:
    hours: dict[str, float] = defaultdict(float)
    for operation in takeoff.work.operations:
        hours[operation.room] += operation.hours
    return dict(hours)


def _shape(room: Room, takeoff: Takeoff, place: Place) -> Json:
    measured = takeoff.measured.by_room.get(room.ref)
    return {
        "ref": room.ref,
        "name": clean(room.name),
        "number": clean(room.number),
        "kind": room.kind,
        "plan": room.plan,
        "outline": path_of(room.outline, place),
        "holes": [path_of(hole, place) for hole in room.holes],
        "label_at": place(room.label_at),
        "area_m2": rounded(room.floor_area_m2),
        "perimeter_m": rounded(room.perimeter_m),
        "height_m": maybe(measured.height_m if measured else room.height_m),
        "height_from": measured.height_from if measured else room.height_from,
        "sure": rounded(room.confidence),
        "why_sure": why_sure(room, takeoff.queries),
        "measured": room.ref in takeoff.covered_rooms,
        "printed_area_m2": maybe(room.printed_area_m2),
        "handles": list(room.handles),
    }
