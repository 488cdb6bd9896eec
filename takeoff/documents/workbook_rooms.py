"""Sheet Rooms: what each room comes to, from its surfaces and angles; each room links to its rows elsewhere."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from typing import TYPE_CHECKING

from takeoff.documents.workbook_cells import Cell, Link, Live, Styles, begin_sheet, cell_at, number_of, put_table
from takeoff.documents.workbook_layout import ANGLES, OPENINGS, QUERIES, ROOM_COLUMNS, ROOMS, SURFACES
from takeoff.documents.workbook_places import Places
from takeoff.plan.model import Room
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_rooms"]

SAYS = "One row a room. Change a height on the pale ground and everything that rests on it follows."
COVERED = ("wall", "pier", "ceiling", "reveal")


def write_rooms(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Rooms."""
    sheet = begin_sheet(book, styles, ROOMS, SAYS, ROOM_COLUMNS, frozen=2)
    sums = _sums(places)
    titles = {storey.ref: storey.title or storey.ref for storey in takeoff.plan.storeys}
    corners = {r.room: f"{r.internal_corners} / {r.external_corners}" for r in takeoff.measured.rooms}
    sources = {r.room: r.height_from for r in takeoff.measured.rooms if r.room in places.heights}
    rows = []
    for room in takeoff.plan.rooms:
        head: list[Cell] = [_link(SURFACES, places.first_surface.get(room.ref), room.ref), room.name]
        head += [titles.get(room.plan, room.plan), places.heights.get(room.ref)]
        head += [sources.get(room.ref, "not measured"), room.floor_area_m2, room.perimeter_m]
        quantities = _quantities(room.ref, places.room_row[room.ref], sums)
        rows.append([*head, *quantities, corners.get(room.ref, ""), *_links(room, places)])
    put_table(book, sheet, styles, ROOM_COLUMNS, rows)


def _sums(places: Places) -> Mapping[tuple[str, str, str], float]:
    """Present sums by (room, kind, what): gross, off and net of surfaces, total of angles."""
    sums: dict[tuple[str, str, str], float] = defaultdict(float)
    for row in places.surfaces.values():
        for what, cell in (("gross", row.gross), ("off", row.off), ("net", row.net)):
            sums[row.surface.room, row.surface.kind, what] += number_of(cell)
    for angle in places.angles:
        sums[angle.edges[0].room, angle.edges[0].kind, "total"] += angle.total.value  # type: ignore[operator]
    return sums


def _quantities(room: str, row: int, sums: Mapping[tuple[str, str, str], float]) -> list[Cell]:
    ref = cell_at(ROOM_COLUMNS, "Room", row)

    def surfaces(what: str, *kinds: str) -> Live:
        terms = [f'SUMIFS(surface_{what},surface_room,{ref},surface_kind,"{kind}")' for kind in kinds]
        return Live("=" + "+".join(terms), sum(sums.get((room, kind, what), 0.0) for kind in kinds))

    def angles(kind: str) -> Live:
        return Live(f'=SUMIFS(angle_total,angle_room,{ref},angle_kind,"{kind}")', sums.get((room, kind, "total"), 0.0))

    net = sum(sums.get((room, kind, "net"), 0.0) for kind in COVERED)
    return [
        surfaces("gross", "wall", "pier"),
        surfaces("off", "wall", "pier"),
        surfaces("net", "wall", "pier"),
        surfaces("net", "ceiling"),
        surfaces("net", "reveal"),
        Live(f"=SUMIFS(surface_net,surface_room,{ref})", net),
        angles("external angle"),
        angles("opening angle"),
    ]


def _links(room: Room, places: Places) -> list[Cell]:
    openings = tuple(dict.fromkeys(ref for side in room.sides for ref in side.openings))
    first = next((places.openings[ref].row for ref in openings if ref in places.openings), None)
    asked = places.queries_about.get(room.ref, ())
    return [
        _link(OPENINGS, first, ", ".join(openings)),
        _link(ANGLES, places.first_angle.get(room.ref), "see"),
        _link(QUERIES, places.query_row[asked[0]] if asked else None, ", ".join(asked)),
        room.confidence * 100,
    ]


def _link(sheet: str, row: int | None, text: str) -> Cell:
    return text if row is None else Link(sheet, row, text)
