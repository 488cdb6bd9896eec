"""Where everything stands in the workbook, and what it shows: worked out once, before the first sheet is written."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from takeoff.documents.workbook_areas import (
    AngleRow,
    CutRow,
    OpeningRow,
    SurfaceRow,
    angle_rows,
    cut_rows,
    opening_rows,
    room_heights,
    rows_of_rooms,
    smallest_deducted,
    surface_rows,
)
from takeoff.documents.workbook_cells import TOP, Cell
from takeoff.documents.workbook_order import LineRow, RateRow, line_rows, rate_rows
from takeoff.documents.workbook_takes import Take, edge_labels, surface_labels, take_rows
from takeoff.record import Takeoff

__all__ = ["Places", "places_of"]


@dataclass(frozen=True)
class Places:
    """Rows are 0-based."""

    smallest_deducted: float
    heights: Mapping[str, Cell]
    """Height of each measured room."""
    room_row: Mapping[str, int]
    openings: Mapping[str, OpeningRow]
    cuts: tuple[CutRow, ...]
    surfaces: Mapping[str, SurfaceRow]
    surface_labels: Mapping[str, str]
    first_surface: Mapping[str, int]
    """By room."""
    angles: tuple[AngleRow, ...]
    first_angle: Mapping[str, int]
    """By room."""
    takes: tuple[Take, ...]
    rates: Mapping[str, RateRow]
    """By material."""
    lines: tuple[LineRow, ...]
    query_row: Mapping[str, int]
    queries_about: Mapping[str, tuple[str, ...]]
    """Query refs by the ref of what they are about."""


def places_of(takeoff: Takeoff) -> Places:
    """The places and figures of the workbook of `takeoff`."""
    limit = smallest_deducted(takeoff)
    heights, openings = room_heights(takeoff), opening_rows(takeoff)
    cuts = cut_rows(takeoff, openings, limit)
    surfaces = surface_rows(takeoff, openings, heights, cuts)
    angles = angle_rows(takeoff, openings, heights, edge_labels(takeoff))
    labels = surface_labels(takeoff)
    takes, rates = take_rows(takeoff, surfaces, angles, labels), rate_rows(takeoff)
    about: dict[str, list[str]] = defaultdict(list)
    for query in takeoff.queries:
        for ref in query.about:
            about[ref].append(query.ref)
    return Places(
        smallest_deducted=limit,
        heights=heights,
        room_row=rows_of_rooms(takeoff),
        openings=openings,
        cuts=cuts,
        surfaces=surfaces,
        surface_labels=labels,
        first_surface=_first((row.surface.room, row.row) for row in surfaces.values()),
        angles=angles,
        first_angle=_first((angle.edges[0].room, angle.row) for angle in angles),
        takes=takes,
        rates=rates,
        lines=line_rows(takeoff, takes, rates),
        query_row={query.ref: row for row, query in enumerate(takeoff.queries, TOP)},
        queries_about={ref: tuple(refs) for ref, refs in about.items()},
    )


def _first(rows: Iterable[tuple[str, int]]) -> dict[str, int]:
    first: dict[str, int] = {}
    for room, row in rows:
        first.setdefault(room, row)
    return first
