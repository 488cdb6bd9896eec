"""The sheets of the workbook and their columns. Each column is described in docs/workbook.md; a test sees to that.

Named ranges, for formulas: ``surface_*``, ``angle_*``, ``cut_*`` (deductions), ``take_*`` (build-ups), ``room_*``,
``line_*`` (materials), ``opening_*``; single cells ``smallest_deducted`` and ``default_*`` on the sheet Rates.
"""

from __future__ import annotations

from takeoff.documents.workbook_cells import Column, Columns

__all__ = [
    "ANGLES",
    "ANGLE_COLUMNS",
    "ASSUMPTIONS",
    "ASSUMPTION_COLUMNS",
    "BUILD_UPS",
    "BUILD_UP_COLUMNS",
    "BY_ROOM",
    "BY_ROOM_COLUMNS",
    "DEDUCTIONS",
    "DEDUCTION_COLUMNS",
    "MATERIALS",
    "MATERIAL_COLUMNS",
    "OPENINGS",
    "OPENING_COLUMNS",
    "QUERIES",
    "QUERY_COLUMNS",
    "RATES",
    "RATE_COLUMNS",
    "ROOMS",
    "ROOM_COLUMNS",
    "SETTINGS",
    "SETTING_COLUMNS",
    "SUMMARY",
    "SUMMARY_COLUMNS",
    "SURFACES",
    "SURFACE_COLUMNS",
]

SUMMARY = "Summary"
ROOMS = "Rooms"
SURFACES = "Surfaces"
OPENINGS = "Openings"
DEDUCTIONS = "Deductions"
ANGLES = "Angles and beads"
BUILD_UPS = "Build-ups"
MATERIALS = "Materials"
BY_ROOM = "Materials by room"
QUERIES = "Queries"
ASSUMPTIONS = "Assumptions and cautions"
RATES = "Rates"

M = M2 = "#,##0.00"
M2_OR_BLANK = "#,##0.00;-#,##0.00;"
KG = "#,##0.0"
COUNT = "#,##0"
MONEY = "#,##0.00"

SUMMARY_COLUMNS = Columns(Column("What", 40), Column("Amount", 12, M2), Column("Unit", 26), Column("See", 22))

ROOM_COLUMNS = Columns(
    Column("Room", 6, name="room_ref"),
    Column("Name", 17),
    Column("Storey", 13),
    Column("Height (m)", 7, M, editable=True),
    Column("Height from", 9),
    Column("Floor (m2)", 8, M2, total=True),
    Column("Round the walls (m)", 8, M, total=True),
    Column("Walls gross (m2)", 8, M2, total=True, name="room_gross"),
    Column("Openings off (m2)", 9, M2, total=True, name="room_off"),
    Column("Walls net (m2)", 8, M2, total=True, name="room_walls"),
    Column("Ceiling net (m2)", 8, M2, total=True, name="room_ceiling"),
    Column("Reveals net (m2)", 8, M2, total=True, name="room_reveals"),
    Column("All net (m2)", 8, M2, total=True, name="room_net"),
    Column("External angles (m)", 8, M, total=True),
    Column("Angles round openings (m)", 9, M, total=True),
    Column("Corners in / out", 8),
    Column("Openings", 18),
    Column("Angles", 7),
    Column("Queries", 8),
    Column("Sure (%)", 6, "0"),
)

SURFACE_COLUMNS = Columns(
    Column("Surface", 12, name="surface_ref"),
    Column("Room", 6, name="surface_room"),
    Column("Kind", 8, name="surface_kind"),
    Column("Length (m)", 7, M, editable=True),
    Column("Height or depth (m)", 7, M, editable=True),
    Column("Gross (m2)", 8, M2, editable=True, total=True, name="surface_gross"),
    Column("Taken off (m2)", 8, M2, total=True, name="surface_off"),
    Column("Net (m2)", 8, M2, total=True, name="surface_net"),
    Column("Build-up", 22, name="surface_takes", editable=True),
    Column("Background", 12),
    Column("Decided by", 14),
    Column("Openings", 9),
    Column("Rule", 20),
    Column("Of note", 16, name="surface_note"),
    Column("Over the height limit (m2)", 9, M2_OR_BLANK, total=True, name="surface_over"),
    Column("Working as measured", 16),
    Column("Drawing handles", 12),
)

OPENING_COLUMNS = Columns(
    Column("Opening", 9),
    Column("Kind", 9, name="opening_kind"),
    Column("Mark", 9),
    Column("Storey", 12),
    Column("Rooms", 9),
    Column("Width (m)", 8, M, editable=True),
    Column("Height (m)", 8, M, editable=True),
    Column("Area (m2)", 8, M2),
    Column("Sill (m)", 7, M),
    Column("Wall (mm)", 7, COUNT),
    Column("Style", 10),
    Column("Width from", 10),
    Column("Height from", 10),
    Column("Drawing handles", 24),
)

DEDUCTION_COLUMNS = Columns(
    Column("Surface", 13, name="cut_surface"),
    Column("Opening", 9),
    Column("Width (m)", 9, M, editable=True),
    Column("Height (m)", 9, M, editable=True),
    Column("Area (m2)", 9, M2, editable=True),
    Column("Part deducted (%)", 10, "0", editable=True),
    Column("Taken off (m2)", 10, M2, total=True, name="cut_area"),
    Column("Why", 60),
)

ANGLE_COLUMNS = Columns(
    Column("Room", 7, name="angle_room"),
    Column("Kind", 16, name="angle_kind"),
    Column("Opening", 9),
    Column("Number", 8, COUNT, editable=True),
    Column("Each (m)", 8, M, editable=True),
    Column("Total (m)", 9, M, total=True, name="angle_total"),
    Column("Bead or scrim", 24, name="angle_takes", editable=True),
    Column("Refs", 20),
    Column("Between", 24),
    Column("Working as measured", 20),
)

BUILD_UP_COLUMNS = Columns(
    Column("Build-up", 28),
    Column("Material", 26, name="take_material"),
    Column("Covers", 10, M2),
    Column("Of", 8),
    Column("Coverage", 10, "0.000", editable=True),
    Column("Coverage in", 11),
    Column("Net amount", 11, KG, name="take_amount"),
    Column("Unit", 7),
    Column("Working of the coverage", 26),
    Column("Source", 32),
)

MATERIAL_COLUMNS = Columns(
    Column("Material", 30, name="line_material"),
    Column("Kind", 11),
    Column("Delivery", 11),
    Column("Part (%)", 6, "0.##", editable=True),
    Column("Net", 9, KG),
    Column("Unit", 6),
    Column("Waste (%)", 7, "0.0", editable=True),
    Column("With waste", 9, KG),
    Column("Pack", 16),
    Column("Pack holds", 8, "0.##"),
    Column("Extra packs", 7, "0", editable=True),
    Column("Packs to buy", 8, COUNT, name="line_packs"),
    Column("Left over", 9, KG),
    Column("Weight (kg)", 10, COUNT, total=True, name="line_kg"),
    Column("Price per pack", 9, MONEY),
    Column("Cost", 11, MONEY, total=True, name="line_cost"),
    Column("Lifting", 16),
    Column("Working as ordered", 26),
)

BY_ROOM_COLUMNS = Columns(
    Column("Room", 7),
    Column("Name", 20),
    Column("To carry in (kg)", 9, COUNT, total=True),
)
"""A column per material follows."""

QUERY_COLUMNS = Columns(
    Column("Query", 7),
    Column("Concerns", 12, name="query_concerns"),
    Column("About", 21),
    Column("What to settle", 54),
    Column("East (m)", 11, M),
    Column("North (m)", 11, M),
    Column("How to answer in the job file", 34),
    Column("Your answer", 26, editable=True),
)

ASSUMPTION_COLUMNS = Columns(Column("Kind", 18), Column("What", 80), Column("Where from", 46))

SETTING_COLUMNS = Columns(
    Column("Setting", 40),
    Column("Value", 10, M, editable=True),
    Column("Unit", 8),
    Column("What it does", 9, "@"),
)

SETTINGS = (
    (
        "default_height",
        "Ceiling height by default",
        "m",
        "Rooms with 'default' under Height from follow it.",
    ),
    ("default_door", "Door height by default", "m", "Doors with 'default' under Height from follow it."),
    (
        "default_window",
        "Window height by default",
        "m",
        "Windows with 'default' under Height from follow it.",
    ),
    ("default_opening", "Plain opening height by default", "m", "Plain openings likewise."),
    (
        "smallest_deducted",
        "Openings up to this area stay in",
        "m2",
        "Larger ones are taken off on the sheet Deductions.",
    ),
)
"""Single cells on the sheet Rates: named range, label, unit, what it does."""

RATE_COLUMNS = Columns(
    Column("Material", 40),
    Column("Pack", 18),
    Column("Unit", 7),
    Column("Pack holds", 9, "0.##", editable=True),
    Column("Pack weighs (kg)", 9, "0.##", editable=True),
    Column("Waste (%)", 8, "0.0", editable=True),
    Column("Price per pack", 10, MONEY, editable=True, name="rate_price"),
    Column("Price date", 11, editable=True),
    Column("Supplier", 14, editable=True),
    Column("Source", 46),
)
