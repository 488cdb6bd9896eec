"""The sheets about the job itself (findings, hours, programme, price) and their columns: see docs/workbook.md."""

from __future__ import annotations

from takeoff.documents.findings_read import COLUMNS as FINDING_HEADINGS
from takeoff.documents.workbook_cells import Column, Columns

__all__ = [
    "ALLOWED",
    "FINDINGS",
    "FINDING_COLUMNS",
    "HOURS",
    "HOUR_COLUMNS",
    "PRICE",
    "PRICE_COLUMNS",
    "PROGRAMME",
    "PROGRAMME_COLUMNS",
]

FINDINGS = "Findings"
HOURS = "Hours"
PROGRAMME = "Programme"
PRICE = "Price"

N = "#,##0.00"
ALLOWED = "Allowed"

_WIDE = {
    "Room": 7, "Place": 12, "Finding": 52, "Hacked off to": 15, "Amount": 9, "Unit": 7, "Depth mm": 8,
    "At least": 8, "At most": 8,
}  # fmt: skip
_FIGURES = ("Amount", "Depth mm", "At least", "At most")
FINDING_COLUMNS = Columns(
    *(
        Column(heading, _WIDE.get(heading, 34), N if heading in _FIGURES else "", editable=True)
        for heading in FINDING_HEADINGS
    ),
    Column(ALLOWED, 9, N),
)

HOUR_COLUMNS = Columns(
    Column("Room", 7),
    Column("Task", 17),
    Column("What", 42),
    Column("Stage", 13),
    Column("Quantity", 9, N, editable=True),
    Column("Unit", 6),
    Column("Hours each, low", 8, "0.000"),
    Column("Hours each", 8, "0.000", editable=True),
    Column("Hours each, high", 8, "0.000"),
    Column("Factors", 8, "0.00", editable=True),
    Column("Hours", 9, N, total=True, name="job_hours"),
    Column("Why the factors", 34),
    Column("Where", 22),
    Column("Source", 40),
)

PROGRAMME_COLUMNS = Columns(
    Column("Room", 7),
    Column("Stage", 14),
    Column("What", 44),
    Column("Hours", 7, "0.0"),
    Column("People", 7, "0"),
    Column("Mixes", 16),
    Column("Waits for", 30),
)
"""A narrow column per working day follows."""

PRICE_COLUMNS = Columns(
    Column("What", 46),
    Column("Room", 8),
    Column("Quantity", 10, N, editable=True),
    Column("Unit", 18),
    Column("Rate", 10, N, editable=True),
    Column("Amount", 12, N),
    Column("Working", 60),
)
