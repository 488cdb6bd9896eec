"""The arithmetic of the sheets Openings, Deductions, Surfaces, Angles and Rooms: each formula with its present value.

A cell is live where the takeoff shows what it rests on: a wall's height on the room's, a reveal's length on the
opening's width. Where the measured figure is another (a clipped opening, a sloping wall) it stays a plain
figure that may be edited. `TIE` says when two figures are the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from takeoff.documents.workbook_cells import TOP, Cell, Live, cell_at, number_of
from takeoff.documents.workbook_layout import (
    ANGLE_COLUMNS,
    DEDUCTION_COLUMNS,
    OPENING_COLUMNS,
    OPENINGS,
    ROOM_COLUMNS,
    ROOMS,
    SURFACE_COLUMNS,
)
from takeoff.measure.model import Deduction, Edge, Surface
from takeoff.measure.rules import rule_of
from takeoff.plan.model import Opening
from takeoff.record import Takeoff

__all__ = [
    "TIE",
    "AngleRow",
    "CutRow",
    "OpeningRow",
    "SurfaceRow",
    "angle_rows",
    "cut_rows",
    "default_height",
    "opening_rows",
    "room_heights",
    "rows_of_rooms",
    "same",
    "smallest_deducted",
    "surface_rows",
]

TIE = 0.0005
"""m or m2: figures nearer than this are one figure (half of what a third decimal shows)."""
VOID = "void"
RULED_OUT = "the rule does not count this reveal"


def same(one: float, other: float) -> bool:
    """Whether two lengths or areas are one figure."""
    return abs(one - other) <= TIE


@dataclass(frozen=True, slots=True)
class OpeningRow:
    opening: Opening
    row: int
    height: Cell

    @property
    def width_cell(self) -> str:
        return cell_at(OPENING_COLUMNS, "Width (m)", self.row, OPENINGS)

    @property
    def height_cell(self) -> str:
        return cell_at(OPENING_COLUMNS, "Height (m)", self.row, OPENINGS)

    def length(self, metres: float) -> Cell:
        """`metres` as what it is of this opening: its width, its height, or a round of jambs and head."""
        wide, high = self.opening.width_m, number_of(self.height)
        for formula, now in (
            (f"={self.width_cell}", wide),
            (f"={self.height_cell}", high),
            (f"=2*{self.height_cell}+{self.width_cell}", 2 * high + wide),
            (f"=2*({self.height_cell}+{self.width_cell})", 2 * (high + wide)),
        ):
            if same(metres, now):
                return Live(formula, now)
        return metres


@dataclass(frozen=True, slots=True)
class CutRow:
    """One opening's effect on one surface."""

    surface: str
    opening: str
    width: Cell
    height: Cell
    area: Cell
    part_pct: float | None
    off: Cell
    why: str


@dataclass(frozen=True, slots=True)
class SurfaceRow:
    surface: Surface
    row: int
    length: Cell
    height: Cell
    gross: Cell
    off: Cell
    net: Cell


@dataclass(frozen=True, slots=True)
class AngleRow:
    """Edges of one room that are alike, with how many there are."""

    edges: tuple[Edge, ...]
    row: int
    each: Cell
    total: Live
    takes: str


def smallest_deducted(takeoff: Takeoff) -> float:
    """m2: an opening of this area or less stays in, by the rule of the takeoff."""
    return rule_of(takeoff.job).smallest_void_m2


def default_height(takeoff: Takeoff) -> float | None:
    """m: the ceiling height of rooms that nothing gives one; None where no room rests on it."""
    used = (room.height_m for room in takeoff.measured.rooms if room.height_from == "default")
    return next(used, takeoff.job.heights.default)


def room_heights(takeoff: Takeoff) -> dict[str, Cell]:
    """The height cell of each room in the quantities; the default's own cell where the height is the default."""
    default = default_height(takeoff)
    cells: dict[str, Cell] = {}
    for room in takeoff.measured.rooms:
        if room.room not in takeoff.covered_rooms:
            continue
        rests = room.height_from == "default" and default is not None and same(room.height_m, default)
        cells[room.room] = Live("=default_height", room.height_m) if rests else room.height_m
    return cells


def opening_rows(takeoff: Takeoff) -> dict[str, OpeningRow]:
    """By ref, in the order of the plan. A height that nobody gave is the one measured with, else its kind's default."""
    measured = {d.opening: d.height_m for s in takeoff.measured.surfaces for d in s.deductions}
    defaults = takeoff.job.heights
    rows = {}
    for row, opening in enumerate(takeoff.plan.openings, TOP):
        usual = {"door": defaults.door, "window": defaults.window, "opening": defaults.opening}.get(opening.kind)
        height: Cell = opening.height_m
        if height is None:
            height = measured.get(opening.ref, usual if usual is not None else opening.width_m)
            if usual is not None and same(height, usual):
                height = Live(f"=default_{opening.kind}", usual)
        rows[opening.ref] = OpeningRow(opening, row, height)
    return rows


def cut_rows(takeoff: Takeoff, openings: Mapping[str, OpeningRow], limit: float) -> tuple[CutRow, ...]:
    """Every deduction, surface by surface. What it lost otherwise (a stair well) is a row of its own."""
    rows: list[CutRow] = []
    for surface in takeoff.measured.surfaces:
        for cut in surface.deductions:
            rows.append(_cut(surface, cut, openings.get(cut.opening), TOP + len(rows), limit))
        lost = surface.gross_m2 - surface.net_m2 - sum(d.area_m2 for d in surface.deductions)
        if not same(lost, 0.0):
            what, why = (surface.opening, RULED_OUT) if surface.kind == "reveal" else (VOID, "void, as drawn")
            rows.append(CutRow(surface.ref, what, None, None, lost, None, lost, why))
    return tuple(rows)


def _cut(surface: Surface, cut: Deduction, opening: OpeningRow | None, row: int, limit: float) -> CutRow:
    width: Cell = cut.width_m
    height: Cell = cut.height_m
    if opening and same(cut.width_m, opening.opening.width_m):
        width = Live(f"={opening.width_cell}", opening.opening.width_m)
    if opening and same(cut.height_m, number_of(opening.height)):
        height = Live(f"={opening.height_cell}", number_of(opening.height))
    spans = number_of(width) * number_of(height)

    def at(heading: str) -> str:
        return cell_at(DEDUCTION_COLUMNS, heading, row)

    area = Live(f"={at('Width (m)')}*{at('Height (m)')}", spans)
    part = _part(cut, spans, limit)
    if part is None:
        return CutRow(surface.ref, cut.opening, width, height, area, None, cut.area_m2, cut.reason)
    formula = f"=IF({at('Area (m2)')}<=smallest_deducted,0,{at('Area (m2)')}*{at('Part deducted (%)')}/100)"
    taken = 0.0 if spans <= limit else spans * part / 100
    return CutRow(surface.ref, cut.opening, width, height, area, part, Live(formula, taken), cut.reason)


def _part(cut: Deduction, spans: float, limit: float) -> float | None:
    """Per cent of the opening that is deducted once it is over the limit; None where the rule is not of that form."""
    if spans <= limit:
        return 100.0 if same(cut.area_m2, 0.0) else None
    whole = same(cut.area_m2, spans)
    return 100.0 if whole else 100.0 * cut.area_m2 / spans


def surface_rows(
    takeoff: Takeoff, openings: Mapping[str, OpeningRow], heights: Mapping[str, Cell], cuts: Sequence[CutRow]
) -> dict[str, SurfaceRow]:
    """By ref, in the order measured."""
    off: dict[str, float] = {}
    for cut in cuts:
        off[cut.surface] = off.get(cut.surface, 0.0) + number_of(cut.off)
    room_row = rows_of_rooms(takeoff)
    rows = {}
    for row, surface in enumerate(takeoff.measured.surfaces, TOP):
        length, height = _sizes(surface, openings.get(surface.opening), heights, room_row)
        rows[surface.ref] = _surface(surface, row, length, height, off.get(surface.ref, 0.0))
    return rows


def _surface(surface: Surface, row: int, length: Cell, height: Cell, off: float) -> SurfaceRow:
    def at(heading: str) -> str:
        return cell_at(SURFACE_COLUMNS, heading, row)

    spans = number_of(length) * number_of(height)
    gross: Cell = surface.gross_m2
    if same(spans, surface.gross_m2):
        gross = Live(f"={at('Length (m)')}*{at('Height or depth (m)')}", spans)
    taken = Live(f"=SUMIFS(cut_area,cut_surface,{at('Surface')})", off)
    net = Live(f"={at('Gross (m2)')}-{at('Taken off (m2)')}", number_of(gross) - off)
    return SurfaceRow(surface, row, length, height, gross, taken, net)


def rows_of_rooms(takeoff: Takeoff) -> dict[str, int]:
    """The row of each room on the sheet Rooms."""
    return {room.ref: row for row, room in enumerate(takeoff.plan.rooms, TOP)}


def _sizes(
    surface: Surface, opening: OpeningRow | None, heights: Mapping[str, Cell], room_row: Mapping[str, int]
) -> tuple[Cell, Cell]:
    if surface.kind == "reveal" and opening:
        return opening.length(surface.length_m), surface.height_m
    return surface.length_m, _room_height(surface.height_m, surface.room, heights, room_row)


def _room_height(metres: float, room: str, heights: Mapping[str, Cell], room_row: Mapping[str, int]) -> Cell:
    if room in room_row and room in heights and same(metres, number_of(heights[room])):
        return Live(f"={cell_at(ROOM_COLUMNS, 'Height (m)', room_row[room], ROOMS)}", number_of(heights[room]))
    return metres


def angle_rows(
    takeoff: Takeoff, openings: Mapping[str, OpeningRow], heights: Mapping[str, Cell], takes: Mapping[str, str]
) -> tuple[AngleRow, ...]:
    """Edges that are alike in room, kind, opening, length and bead (`takes`, by edge ref) share a row."""
    alike: dict[tuple[object, ...], list[Edge]] = {}
    for edge in takeoff.measured.edges:
        key = (edge.room, edge.kind, edge.opening, round(edge.length_m, 4), edge.curved, takes.get(edge.ref, ""))
        alike.setdefault(key, []).append(edge)
    room_row = rows_of_rooms(takeoff)
    rows = []
    for row, edges in enumerate(_room_by_room(alike.values(), room_row), TOP):
        first = edges[0]
        opening = openings.get(first.opening)
        each = opening.length(first.length_m) if opening else first.length_m
        if not isinstance(each, Live) and first.kind.endswith("ternal angle"):
            each = _room_height(first.length_m, first.room, heights, room_row)
        formula = f"={cell_at(ANGLE_COLUMNS, 'Number', row)}*{cell_at(ANGLE_COLUMNS, 'Each (m)', row)}"
        total = Live(formula, len(edges) * number_of(each))
        rows.append(AngleRow(tuple(edges), row, each, total, takes.get(first.ref, "")))
    return tuple(rows)


def _room_by_room(groups: Iterable[list[Edge]], room_row: Mapping[str, int]) -> list[list[Edge]]:
    return sorted(groups, key=lambda edges: room_row.get(edges[0].room, len(room_row)))
