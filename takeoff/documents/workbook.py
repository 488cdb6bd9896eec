"""The workbook (.xlsx): every figure of the takeoff as live sheets, from the surfaces to the order.

A sheet is one module ``workbook_*.py`` with a function ``(book, styles, takeoff, places) -> None`` and one line in
`SHEETS`; its columns are described in docs/workbook.md.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable

from xlsxwriter.workbook import Workbook

from takeoff.documents.safe_text import clean
from takeoff.documents.workbook_angles import write_angles
from takeoff.documents.workbook_assumptions import write_assumptions
from takeoff.documents.workbook_book import BulkBook
from takeoff.documents.workbook_cells import Styles
from takeoff.documents.workbook_job import write_findings, write_hours
from takeoff.documents.workbook_job_layout import FINDINGS, HOURS, PRICE, PROGRAMME
from takeoff.documents.workbook_layout import (
    ANGLES,
    ASSUMPTIONS,
    BUILD_UPS,
    BY_ROOM,
    DEDUCTIONS,
    MATERIALS,
    OPENINGS,
    QUERIES,
    RATES,
    ROOMS,
    SUMMARY,
    SURFACES,
)
from takeoff.documents.workbook_materials import write_build_ups, write_by_room, write_materials
from takeoff.documents.workbook_openings import write_deductions, write_openings
from takeoff.documents.workbook_places import Places, places_of
from takeoff.documents.workbook_price import write_price, write_programme
from takeoff.documents.workbook_queries import write_queries
from takeoff.documents.workbook_rates import write_rates
from takeoff.documents.workbook_rooms import write_rooms
from takeoff.documents.workbook_sheet import BulkSheet
from takeoff.documents.workbook_summary import write_summary
from takeoff.documents.workbook_surfaces import write_surfaces
from takeoff.record import Takeoff

__all__ = ["PRICED", "SHEETS", "write_workbook"]

Sheet = Callable[[Workbook, Styles, Takeoff, Places], None]

SHEETS: tuple[tuple[str, Sheet], ...] = (
    (SUMMARY, write_summary),
    (ROOMS, write_rooms),
    (MATERIALS, write_materials),
    (BY_ROOM, write_by_room),
    (QUERIES, write_queries),
    (ASSUMPTIONS, write_assumptions),
    (SURFACES, write_surfaces),
    (OPENINGS, write_openings),
    (DEDUCTIONS, write_deductions),
    (ANGLES, write_angles),
    (BUILD_UPS, write_build_ups),
    (FINDINGS, write_findings),
    (HOURS, write_hours),
    (RATES, write_rates),
)
"""The sheets in the order of their tabs: what is read first stands first."""

PRICED: tuple[tuple[str, Sheet], ...] = ((PRICE, write_price), (PROGRAMME, write_programme))
"""Sheets of a takeoff that has its programme and price: they stand after the summary."""

CREATED = datetime.datetime(2000, 1, 1)
"""Written into every workbook instead of the clock, so that the same takeoff gives the same bytes."""
LONGEST_FOOTER = 120
"""Characters of the job's name in a footer (a footer may have 255 in all)."""


def write_workbook(takeoff: Takeoff) -> bytes:
    """The workbook of `takeoff`. The same takeoff gives the same bytes."""
    book = BulkBook()
    title = clean(takeoff.job.job.name or takeoff.drawing.file, LONGEST_FOOTER)
    book.set_properties({"title": title, "created": CREATED})
    sheets = (SHEETS[0], *PRICED, *SHEETS[1:]) if takeoff.price and takeoff.programme else SHEETS
    for name, _ in sheets:
        sheet = book.add_worksheet(name, BulkSheet)
        sheet.set_footer(f"&L{title.replace('&', '&&')}&C&A&RPage &P of &N")
    styles, places = Styles(book), places_of(takeoff)
    for _, write in sheets:
        write(book, styles, takeoff, places)
    return book.packed()
