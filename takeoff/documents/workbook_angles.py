"""Sheet Angles and beads: every edge in metres, those that are alike on one row, with what is bedded on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.workbook_areas import AngleRow
from takeoff.documents.workbook_cells import Cell, Link, Styles, begin_sheet, put_table
from takeoff.documents.workbook_layout import ANGLE_COLUMNS, ANGLES, ROOMS
from takeoff.documents.workbook_places import Places
from takeoff.measure.model import Edge
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_angles"]

SAYS = "Edges of one room that are alike share a row. 'Opening angle' is the arris round a plastered reveal."


def write_angles(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Angles and beads."""
    sheet = begin_sheet(book, styles, ANGLES, SAYS, ANGLE_COLUMNS, frozen=2)
    put_table(book, sheet, styles, ANGLE_COLUMNS, [_row(angle, places) for angle in places.angles])


def _row(angle: AngleRow, places: Places) -> list[Cell]:
    edge = angle.edges[0]
    room = places.room_row.get(edge.room)
    return [
        edge.room if room is None else Link(ROOMS, room, edge.room),
        edge.kind,
        edge.opening,
        len(angle.edges),
        angle.each,
        angle.total,
        angle.takes,
        ", ".join(e.ref for e in angle.edges),
        "; ".join(dict.fromkeys(" / ".join(e.surfaces) for e in angle.edges if e.surfaces)),
        "; ".join(dict.fromkeys(_working(e) for e in angle.edges)),
    ]


def _working(edge: Edge) -> str:
    return f"curved: {edge.how}" if edge.curved else edge.how
