"""Sheet Surfaces: every face that is covered, with its working, its rule, its build-up and where it came from."""

from __future__ import annotations

from typing import TYPE_CHECKING

from takeoff.documents.workbook_cells import TOP, Cell, Link, Styles, begin_sheet, handles_shown, put_table
from takeoff.documents.workbook_cells import range_of as range_
from takeoff.documents.workbook_layout import ROOMS, SURFACE_COLUMNS, SURFACES
from takeoff.documents.workbook_places import Places
from takeoff.measure.model import Surface
from takeoff.measure.rules import rule_of
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["write_surfaces"]

SAYS = "One row a wall run, ceiling, reveal or pier. Pick another build-up from the list and the materials follow."


def write_surfaces(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Surfaces."""
    sheet = begin_sheet(book, styles, SURFACES, SAYS, SURFACE_COLUMNS, frozen=2)
    assigned = {a.surface: a for a in takeoff.work.assignments}
    rule = rule_of(takeoff.job).title
    rows = []
    for ref, row in places.surfaces.items():
        surface, given = row.surface, assigned.get(ref)
        cells: list[Cell] = [ref, _room(surface.room, places), surface.kind, row.length, row.height]
        cells += [row.gross, row.off, row.net, places.surface_labels.get(ref, "")]
        cells += [given.background, given.decided_by] if given else ["", ""]
        cells += [_openings(surface), _rule(surface, rule), _of_note(surface)]
        cells += [surface.over_height_m2, surface.how, handles_shown(surface.handles)]
        rows.append(cells)
    end = put_table(book, sheet, styles, SURFACE_COLUMNS, rows)
    labels = tuple(dict.fromkeys(take.label for take in places.takes if take.measure == "m2"))
    if labels and sum(map(len, labels)) + len(labels) < LONGEST_LIST and not any("," in label for label in labels):
        sheet.data_validation(range_(SURFACE_COLUMNS, "Build-up", TOP, end - 1), _choice(labels))


LONGEST_LIST = 255
"""Characters that a list of choices may have (ECMA-376 dataValidation formula as a quoted list)."""


def _choice(labels: tuple[str, ...]) -> dict[str, object]:
    return {
        "validate": "list",
        "source": list(labels),
        "error_type": "warning",
        "error_title": "Not on the sheet Build-ups",
        "error_message": "No coverage is known under this name, so nothing would be counted for this surface.",
    }


def _room(ref: str, places: Places) -> Cell:
    row = places.room_row.get(ref)
    return ref if row is None else Link(ROOMS, row, ref)


def _openings(surface: Surface) -> str:
    return surface.opening or ", ".join(cut.opening for cut in surface.deductions)


def _rule(surface: Surface, rule: str) -> str:
    """Why each opening is in or out, else the rule by name."""
    return "; ".join(f"{cut.opening} {cut.reason}" for cut in surface.deductions) or rule


def _of_note(surface: Surface) -> str:
    notes = [surface.part] if surface.part else []
    if surface.curved:
        notes.append(f"curved, radius {surface.radius_m:.2f} m" if surface.radius_m else "curved")
    if surface.narrow:
        notes.append("narrow")
    if surface.external:
        notes.append("outer wall")
    if surface.wall_type != "unknown":
        notes.append(surface.wall_type)
    if surface.thickness_m:
        notes.append(f"{surface.thickness_m * 1000:.0f} mm")
    return ", ".join(notes)
