"""A spreadsheet program as the outside judge: LibreOffice works every formula out again."""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from openpyxl.cell import Cell
from openpyxl.workbook import Workbook

Cells = dict[tuple[str, str], object]

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
needs_soffice = pytest.mark.skipif(SOFFICE is None, reason="LibreOffice (soffice) is not installed here")


def formulas(content: bytes) -> Cells:
    """Every formula, by (sheet, address)."""
    cells = _cells(openpyxl.load_workbook(io.BytesIO(content)))
    return {(cell.parent.title, cell.coordinate): cell.value for cell in cells if cell.data_type == "f"}


def shown(content: bytes) -> Cells:
    """Every value as a preview without a calculator shows it."""
    cells = _cells(openpyxl.load_workbook(io.BytesIO(content), data_only=True))
    return {(cell.parent.title, cell.coordinate): cell.value for cell in cells}


def recalculated(book: Workbook, folder: Path) -> Cells:
    """Every value of `book` worked out anew. Saving with openpyxl drops the values that the file came with,
    so that LibreOffice, which otherwise hands them on as they are, has to calculate."""
    source = folder / "source.xlsx"
    book.save(source)
    out = folder / "out"
    assert SOFFICE is not None
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [SOFFICE, profile, "--headless", "--convert-to", "xlsx", "--outdir", out, source]
    subprocess.run(command, check=True, capture_output=True, timeout=240)
    return shown((out / "source.xlsx").read_bytes())


def differences(content: bytes, again: Cells) -> dict[tuple[str, str], tuple[object, object]]:
    """Formula cells whose value in `content` is not the one worked out again, with both."""
    first = shown(content)
    return {
        key: (first.get(key), again.get(key)) for key in formulas(content) if not _alike(first.get(key), again.get(key))
    }


def _alike(one: object, other: object) -> bool:
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return abs(one - other) <= 1e-6 + 1e-9 * abs(one)
    return (one or "") == (other or "")


def _cells(book: Workbook) -> Iterator[Cell]:
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            yield from (cell for cell in row if cell.value is not None)
