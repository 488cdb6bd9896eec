"""One room in full: every figure with how it came about."""

from __future__ import annotations

from takeoff.record import Takeoff
from takeoff.review.views.costs import room_price
from takeoff.review.views.faces import edge_rows, quantity_rows, surface_rows
from takeoff.review.views.found import finding_rows
from takeoff.review.views.supplies import hour_rows, material_rows
from takeoff.review.views.traces import Traces
from takeoff.review.views.values import Json, place_in

__all__ = ["room_detail"]


def room_detail(takeoff: Takeoff, ref: str, traces: Traces) -> Json | None:
    """The answer of /api/room/REF; None where there is no such room."""
    room = traces.rooms.get(ref)
    if room is None:
        return None
    place = place_in(takeoff.plan)
    return {
        "ref": ref,
        "surfaces": surface_rows(takeoff, room, traces, place),
        "edges": edge_rows(takeoff, ref, traces, place),
        "quantities": quantity_rows(takeoff, ref, traces),
        "materials": material_rows(takeoff, ref, traces),
        "hours": hour_rows(takeoff, ref, traces),
        "price": room_price(takeoff, ref),
        "findings": finding_rows(takeoff, ref),
        "cautions": [
            {"title": notice.title, "says": notice.says, "source": notice.source}
            for notice in takeoff.work.notices
            if not notice.about or ref in notice.about
        ],
        "boards": _has_boards(takeoff, ref),
    }


def _has_boards(takeoff: Takeoff, room: str) -> bool:
    """Whether sheets are laid in the room."""
    return any(
        line.material.kind == "board" and any(share.room == room for share in line.shares)
        for line in takeoff.order.lines
    )
