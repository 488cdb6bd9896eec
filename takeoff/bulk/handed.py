"""A handed house: the mirror image of its type, left for right. Quantities stay; places on the plan change sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.measure.model import Edge, Measured
from takeoff.plan.model import Opening, Plan, Point, Room, Side, Storey
from takeoff.query import Query

__all__ = ["handed_drawing", "handed_measured", "handed_plan", "handed_queries"]

HANDED = "handed (mirrored)"


def handed_drawing(drawing: Drawing) -> Drawing:
    """The line work that a marked plan shows, x for -x."""
    ends = drawing.segments.ends * np.array([-1.0, 1.0, -1.0, 1.0])
    return replace(drawing, file=f"{drawing.file}, {HANDED}", segments=replace(drawing.segments, ends=ends))


def handed_plan(plan: Plan) -> Plan:
    """`plan` mirrored; refs stay, and outlines run counter-clockwise again."""
    return replace(
        plan,
        storeys=tuple(_storey(storey) for storey in plan.storeys),
        rooms=tuple(_room(room) for room in plan.rooms),
        openings=tuple(_opening(opening) for opening in plan.openings),
        spaces=tuple(replace(space, at=_over(space.at)) for space in plan.spaces),
        queries=handed_queries(plan.queries),
    )


def handed_measured(measured: Measured) -> Measured:
    """`measured` with its angles at their mirrored places; every quantity stays."""
    return replace(measured, edges=tuple(_edge(edge) for edge in measured.edges))


def handed_queries(queries: Sequence[Query]) -> tuple[Query, ...]:
    return tuple(replace(query, at=_over(query.at)) if query.at else query for query in queries)


def _over(at: Point) -> Point:
    return -at[0], at[1]


def _ring(points: Sequence[Point]) -> tuple[Point, ...]:
    """The points mirrored and in the other order, so that the ring turns as before; the first stays the first."""
    mirrored = [_over(point) for point in points]
    return (mirrored[0], *reversed(mirrored[1:])) if mirrored else ()


def _storey(storey: Storey) -> Storey:
    x0, y0, x1, y1 = storey.bounds
    title = f"{storey.title or storey.ref}, {HANDED}"
    return replace(storey, title=title, bounds=(-x1, y0, -x0, y1))


def _room(room: Room) -> Room:
    return replace(
        room,
        outline=_ring(room.outline),
        holes=tuple(_ring(hole) for hole in room.holes),
        sides=tuple(_side(side) for side in room.sides),
        label_at=_over(room.label_at),
    )


def _side(side: Side) -> Side:
    points = tuple(_over(point) for point in reversed(side.points))
    return replace(side, start=_over(side.end), end=_over(side.start), points=points)


def _opening(opening: Opening) -> Opening:
    one, other = opening.jambs
    return replace(opening, at=_over(opening.at), jambs=(_over(other), _over(one)))


def _edge(edge: Edge) -> Edge:
    return replace(edge, at=_over(edge.at)) if edge.at else edge
