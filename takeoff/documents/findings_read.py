"""Findings read back from the workbook that was filled in on site."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from takeoff.data import load
from takeoff.errors import JobError
from takeoff.job import Job, job_from

__all__ = ["COLUMNS", "SHEET", "with_findings"]

SHEET = "Findings"
COLUMNS = (
    "Room", "Place", "Finding", "Hacked off to", "Amount", "Unit", "Depth mm", "At least", "At most", "Note",
)  # fmt: skip
"""Headings of the sheet, in order; the reader finds them by name."""

_NEEDED = {"Room", "Place", "Finding", "Amount"}
"""Headings without which the table is not found again; a workbook of before may lack the others."""

KEYS = {
    "Room": "room", "Place": "place", "Finding": "kind", "Hacked off to": "background", "Amount": "amount",
    "Depth mm": "thickness_mm", "At least": "low", "At most": "high", "Note": "note",
}  # fmt: skip


def with_findings(job: Job, workbook: Path) -> Job:
    """`job` with the filled-in rows of the workbook's findings sheet in place of its own findings.

    A row counts when it has an amount. Raises `JobError` naming the sheet's row where a row cannot be used.
    """
    rows = [_row(cells, f"{workbook}, sheet {SHEET}, row {number}") for number, cells in _filled(workbook)]
    data = job.model_dump(mode="json", exclude_unset=True)
    data["findings"] = rows
    where = f"{workbook}, sheet {SHEET}"
    fresh = job_from(data, where)
    fresh.adopt(job, where)
    return fresh


def _filled(workbook: Path) -> list[tuple[int, dict[str, Any]]]:
    """(sheet row number, heading -> value) of every row with an amount."""
    from zipfile import BadZipFile

    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        book = load_workbook(workbook, read_only=True, data_only=True)
    except (OSError, BadZipFile, InvalidFileException, KeyError, ValueError) as fault:
        raise JobError(f"Cannot read the workbook {workbook}: {fault}. Give the .xlsx that takeoff wrote.") from fault
    if SHEET not in book.sheetnames:
        raise JobError(f"{workbook} has no sheet {SHEET!r}. Give the .xlsx that takeoff wrote.")
    table = list(book[SHEET].iter_rows(values_only=True))
    head = next((n for n, row in enumerate(table) if row and {str(c) for c in row} >= _NEEDED), None)
    if head is None:
        raise JobError(f"{workbook}, sheet {SHEET}: the headings {', '.join(COLUMNS)} are gone. Put them back.")
    names = [str(c) for c in table[head]]
    rows = [(n, dict(zip(names, row, strict=False))) for n, row in enumerate(table[head + 1 :], head + 2)]
    return [(n, cells) for n, cells in rows if cells.get("Amount") not in (None, "")]


def _row(cells: dict[str, Any], where: str) -> dict[str, Any]:
    """One row as a [[findings]] table. The kind may be given by its slug or by its title."""
    kinds = load("findings")["kinds"]
    titles = {kind["title"]: slug for slug, kind in kinds.items()}
    row = {key: cells[name] for name, key in KEYS.items() if cells.get(name) not in (None, "")}
    for needed in ("room", "kind"):
        if needed not in row:
            raise JobError(f"{where}: has an amount but no {needed}. Fill in the {needed} or clear the amount.")
    kind = str(row["kind"]).strip()
    if kind not in kinds and kind not in titles:
        raise JobError(f"{where}: no such finding {kind!r}; right would be one of: {', '.join(titles)}.")
    row["kind"] = titles.get(kind, kind)
    if not isinstance(row["amount"], int | float):
        raise JobError(
            f"{where}: the amount {row['amount']!r} is no number. Write digits only, the unit has its own column."
        )
    return row
