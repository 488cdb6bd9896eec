"""The surfaces, edges and quantities of a room, each with its working and what it was drawn as."""

from __future__ import annotations

from takeoff.data import load
from takeoff.measure.model import Edge, Quantity, Surface
from takeoff.measure.runs import open_sides, runs_of
from takeoff.plan.model import Room
from takeoff.record import Takeoff
from takeoff.review.views.traces import Traces
from takeoff.review.views.values import Json, Place, maybe, path_of, rounded
from takeoff.work.model import Assignment

__all__ = ["edge_rows", "quantity_rows", "surface_rows"]

MM = 1000.0


def surface_rows(takeoff: Takeoff, room: Room, traces: Traces, place: Place) -> list[Json]:
    """In the order measured: walls, ceilings, reveals."""
    given = {a.surface: a for a in takeoff.work.assignments}
    titles = {slug: build_up.title for slug, build_up in takeoff.work.build_ups.items()}
    lines = _wall_lines(takeoff, room, place)
    jambs = {o.ref: path_of(o.jambs, place) for o in takeoff.plan.openings}
    rule = rule_title(takeoff)
    return [
        {
            **_surface(surface, rule, traces),
            **_made_of(given.get(surface.ref), titles),
            "line": lines.get(surface.ref) or (jambs.get(surface.opening) if surface.opening else None),
        }
        for surface in takeoff.measured.surfaces
        if surface.room == room.ref
    ]


def rule_title(takeoff: Takeoff) -> str:
    return f"Rule of measurement: {load('rules')['rules'][takeoff.measured.rule]['title']}"


def _wall_lines(takeoff: Takeoff, room: Room, place: Place) -> dict[str, list[list[float]]]:
    """The line of each wall on the plan, from its left end seen from inside: walls are numbered with the runs."""
    runs = runs_of(room, open_sides(takeoff.plan))
    return {f"{room.ref}-W{n}": path_of((p for _, p in run.path()), place) for n, run in enumerate(runs, 1)}


def _surface(surface: Surface, rule: str, traces: Traces) -> Json:
    return {
        "ref": surface.ref,
        "kind": surface.kind,
        "part": surface.part,
        "opening": surface.opening,
        "length_m": rounded(surface.length_m),
        "height_m": rounded(surface.height_m),
        "gross_m2": rounded(surface.gross_m2),
        "deducted_m2": rounded(sum(d.area_m2 for d in surface.deductions)),
        "net_m2": rounded(surface.net_m2),
        "how": f"{surface.how} = {surface.net_m2:.2f} m2",
        "thickness_mm": maybe(surface.thickness_m * MM if surface.thickness_m else None),
        "wall_type": surface.wall_type,
        "handles": traces.handles([surface.ref]),
        "sources": [
            traces.source(f"{surface.ref}, {surface.length_m:.2f} m x {surface.height_m:.2f} m", rule, [surface.ref]),
            *(
                traces.source(f"{d.opening}, {d.width_m:.2f} x {d.height_m:.2f} m", d.reason, [d.opening])
                for d in surface.deductions
            ),
        ],
    }


def _made_of(given: Assignment | None, titles: dict[str, str]) -> Json:
    if given is None:
        return {"background": "", "background_from": "", "build_up": "", "build_up_title": ""}
    return {
        "background": given.background,
        "background_from": given.decided_by,
        "build_up": given.build_up,
        "build_up_title": titles.get(given.build_up, given.build_up),
    }


def edge_rows(takeoff: Takeoff, room: str, traces: Traces, place: Place) -> list[Json]:
    return [_edge(edge, traces, place) for edge in takeoff.measured.edges if edge.room == room]


def _edge(edge: Edge, traces: Traces, place: Place) -> Json:
    between = " and ".join(edge.surfaces)
    what = f"{edge.ref}, {edge.kind}" + (f" of {edge.opening}" if edge.opening else f" at {between}" if between else "")
    return {
        "ref": edge.ref,
        "kind": edge.kind,
        "opening": edge.opening,
        "surfaces": list(edge.surfaces),
        "length_m": rounded(edge.length_m),
        "how": f"{edge.how} = {edge.length_m:.2f} m",
        "at": place(edge.at) if edge.at else None,
        "sources": [traces.source(what, edge.how, [edge.ref])],
    }


def quantity_rows(takeoff: Takeoff, room: str, traces: Traces) -> list[Json]:
    """The rows of the bill; a row of edges comes from all the room's edges of its kind."""
    rule = rule_title(takeoff)
    return [_quantity(row, rule, traces) for row in takeoff.measured.quantities if row.room == room]


def _quantity(row: Quantity, rule: str, traces: Traces) -> Json:
    handles = list(row.handles) or traces.handles([row.surface])
    return {
        "item": row.item,
        "surface": row.surface,
        "unit": row.unit,
        "gross": rounded(row.gross),
        "deducted": rounded(row.deducted),
        "net": rounded(row.net),
        "how": f"{row.how} = {row.net:.2f} {row.unit}",
        "sources": [{"what": f"{row.item} {row.surface}".strip(), "rule": rule, "handles": handles}],
    }
