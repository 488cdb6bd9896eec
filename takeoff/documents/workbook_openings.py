"""Sheet Openings: doors, windows, plain openings and rooflights; sheet Deductions: what each takes off each surface."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.workbook_cells import (
    Cell,
    Link,
    Live,
    Styles,
    begin_sheet,
    cell_at,
    handles_shown,
    number_of,
    put_table,
)
from takeoff.documents.workbook_layout import (
    DEDUCTION_COLUMNS,
    DEDUCTIONS,
    OPENING_COLUMNS,
    OPENINGS,
    ROOMS,
    SURFACES,
)
from takeoff.documents.workbook_places import Places
from takeoff.measure.arches import arch_of
from takeoff.measure.rules import rule_of
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_deductions", "write_openings"]


def write_openings(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Openings."""
    says = "Structural sizes, jamb to jamb. Change one and deductions, reveals and beads follow."
    sheet = begin_sheet(book, styles, OPENINGS, says, OPENING_COLUMNS)
    titles = {storey.ref: storey.title or storey.ref for storey in takeoff.plan.storeys}
    rows = []
    for entry in places.openings.values():
        opening = entry.opening
        at = (cell_at(OPENING_COLUMNS, heading, entry.row) for heading in ("Width (m)", "Height (m)"))
        area, style = Live(f"={'*'.join(at)}", opening.width_m * number_of(entry.height)), opening.style
        arch = arch_of(opening, 0.0, number_of(entry.height), takeoff.job)
        if arch is not None:
            area = Live(f"{area.formula}-{arch.beside_m2:.4f}", number_of(area) - arch.beside_m2)
            style = f"{style}, arched".removeprefix(", ")
        wall = None if opening.wall_thickness_m is None else opening.wall_thickness_m * 1000
        cells: list[Cell] = [opening.ref, opening.kind, opening.tag, titles.get(opening.plan, opening.plan)]
        cells += [
            _rooms(opening.rooms, places),
            opening.width_m,
            entry.height,
            area,
            opening.sill_m,
            wall,
            style,
        ]
        cells += [opening.size_from, opening.height_from, handles_shown(opening.handles)]
        rows.append(cells)
    put_table(book, sheet, styles, OPENING_COLUMNS, rows)


def _rooms(refs: tuple[str, ...], places: Places) -> Cell:
    row = next((places.room_row[ref] for ref in refs if ref in places.room_row), None)
    return Link(ROOMS, row, ", ".join(refs)) if row is not None else ", ".join(refs)


def write_deductions(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Deductions."""
    says = (
        f"Rule of measurement: {rule_of(takeoff.job).title}. "
        "An opening of the area on the sheet Rates or less stays in; "
        "the part says how much of a larger one is taken off this surface."
    )
    sheet = begin_sheet(book, styles, DEDUCTIONS, says, DEDUCTION_COLUMNS, frozen=2)
    rows: list[list[Cell]] = []
    for cut in places.cuts:
        surface = Link(SURFACES, places.surfaces[cut.surface].row, cut.surface)
        rows.append([surface, cut.opening, cut.width, cut.height, cut.area, cut.part_pct, cut.off, cut.why])
    put_table(book, sheet, styles, DEDUCTION_COLUMNS, rows)
