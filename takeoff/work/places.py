"""Where a finding lies: the surfaces that its place names."""

from __future__ import annotations

from takeoff.measure.model import Surface
from takeoff.work.scheme import Scheme

__all__ = ["PLACES", "place_refs", "surfaces_at"]

PLACES = ("walls", "ceiling", "room")
"""Places that every room has, beside the refs of its surfaces, edges and openings."""


def place_refs(room: str, scheme: Scheme) -> set[str]:
    """Refs of the room's own places: surfaces, edges and openings."""
    refs = {s.ref for s in scheme.surfaces_of.get(room, ())} | {e.ref for e in scheme.edges_of.get(room, ())}
    return refs | {ref for side in scheme.rooms[room].sides for ref in side.openings}


def surfaces_at(room: str, place: str, scheme: Scheme) -> list[Surface]:
    """The surfaces that a place means: 'room' means its walls, an edge those that meet there, an opening its reveals
    (its walls where it has none). Empty where the room is left out of the quantities."""
    own = scheme.surfaces_of.get(room, [])
    if place == "ceiling":
        return [s for s in own if s.kind == "ceiling"]
    walls = [s for s in own if s.kind in ("wall", "pier")]
    if place in PLACES:
        return walls
    edge = next((e for e in scheme.edges_of.get(room, ()) if e.ref == place), None)
    if edge is not None:
        return [s for s in own if s.ref in edge.surfaces] or walls
    reveals = [s for s in own if s.ref == place or s.opening == place]
    return reveals or [s for s in walls if any(d.opening == place for d in s.deductions)] or walls
