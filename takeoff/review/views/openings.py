"""Openings on the plan, those that a person took out too, so that they can be put back; and the angles of the walls."""

from __future__ import annotations

from takeoff.documents.safe_text import clean
from takeoff.plan.model import Opening, Plan
from takeoff.record import Takeoff
from takeoff.review.views.values import Json, Place, maybe, path_of, place_in, rounded

__all__ = ["angle_rows", "opening_rows"]


def opening_rows(plan: Plan, ignored: tuple[Opening, ...] = ()) -> list[Json]:
    """One row an opening; those `ignored` by the job file last."""
    place = place_in(plan)
    return [_opening(o, place, False) for o in plan.openings] + [_opening(o, place, True) for o in ignored]


def _opening(opening: Opening, place: Place, ignored: bool) -> Json:
    return {
        "ref": opening.ref,
        "kind": opening.kind,
        "style": opening.style,
        "tag": clean(opening.tag),
        "plan": opening.plan,
        "at": place(opening.at),
        "line": path_of(opening.jambs, place),
        "width_m": rounded(opening.width_m),
        "height_m": maybe(opening.height_m),
        "sill_m": maybe(opening.sill_m),
        "wall_thickness_m": maybe(opening.wall_thickness_m),
        "size_from": opening.size_from,
        "height_from": opening.height_from,
        "rooms": list(opening.rooms),
        "ignored": ignored,
        "handles": list(opening.handles),
    }


def angle_rows(takeoff: Takeoff) -> list[Json]:
    """Upright angles of the walls, where they stand on the plan."""
    place = place_in(takeoff.plan)
    kinds = {"external angle": "external", "internal angle": "internal"}
    return [
        {"room": e.room, "at": place(e.at), "kind": kinds[e.kind], "length_m": rounded(e.length_m)}
        for e in takeoff.measured.edges
        if e.kind in kinds and e.at is not None
    ]
