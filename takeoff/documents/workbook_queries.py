"""Sheet Queries: what a person must settle, where, and how to answer, with room to write the answer by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.workbook_cells import Cell, Link, Styles, begin_sheet, put_table
from takeoff.documents.workbook_layout import OPENINGS, QUERIES, QUERY_COLUMNS, ROOMS, SURFACES
from takeoff.documents.workbook_places import Places
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_queries"]


MOST_REFS = 2
"""Refs shown of what a query is about; the marked plan and the question itself tell of the others."""


def write_queries(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Queries. Places are in metres on the drawing's own axes."""
    says = "What the drawing does not settle. Until you answer, the takeoff goes on as each line says."
    if not takeoff.queries:
        says = "The drawing settled everything that was asked of it."
    sheet = begin_sheet(book, styles, QUERIES, says, QUERY_COLUMNS)
    east, north = takeoff.plan.origin_m
    rows = []
    for query in takeoff.queries:
        at: list[Cell] = [query.at[0] + east, query.at[1] + north] if query.at else ["", ""]
        rows.append([query.ref, query.concerns, _about(query.about, places), query.says, *at, query.answer, None])
    put_table(book, sheet, styles, QUERY_COLUMNS, rows)


def _about(refs: tuple[str, ...], places: Places) -> Cell:
    """The refs, linked to the first that has a row."""
    more = len(refs) - MOST_REFS
    text = ", ".join(refs) if more <= 1 else f"{', '.join(refs[:MOST_REFS])} and {more} more"
    for ref in refs:
        if ref in places.room_row:
            return Link(ROOMS, places.room_row[ref], text)
        if ref in places.openings:
            return Link(OPENINGS, places.openings[ref].row, text)
        if ref in places.surfaces:
            return Link(SURFACES, places.surfaces[ref].row, text)
    return text
