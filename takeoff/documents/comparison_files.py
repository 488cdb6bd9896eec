"""The files that tell what a later issue of a drawing changes: plan, variation sheet, table, JSON."""

from __future__ import annotations

import csv
import io

from takeoff.documents.comparison import CHANGE_WORDS, FIGURES, comparison_docx, comparison_json, comparison_pdf
from takeoff.documents.comparison_plan import comparison_pages, page_names
from takeoff.documents.csv_document import BYTE_ORDER_MARK
from takeoff.documents.page import to_pdf, to_svg
from takeoff.documents.safe_text import csv_safe
from takeoff.revision.compare import Comparison

__all__ = ["CHANGE_COLUMNS", "comparison_files"]

CHANGE_COLUMNS = (
    "change", "room", "rooms before", "rooms after", "moved", "differs",
    *(f"{words} {side} ({unit})" for _, words, unit in FIGURES for side in ("before", "after", "more or less")),
    "price before", "price after", "price more or less",
)  # fmt: skip


def comparison_files(comparison: Comparison) -> dict[str, bytes | str]:
    """Contents by file name. The same comparison gives the same bytes."""
    pages = comparison_pages(comparison)
    drawn = dict(zip(page_names(comparison.after.plan), map(to_svg, pages), strict=True))
    return {
        "changes.pdf": to_pdf(pages, f"Changes to {comparison.before.drawing.file}"),
        **drawn,
        "variation.pdf": comparison_pdf(comparison),
        "variation.docx": comparison_docx(comparison),
        "changes.csv": _table(comparison),
        "changes.json": comparison_json(comparison),
    }


def _table(comparison: Comparison) -> str:
    """One row a change, as CSV like the quantities'."""
    out = io.StringIO(newline="")
    out.write(BYTE_ORDER_MARK)
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(CHANGE_COLUMNS)
    for change in comparison.changes:
        words = (
            CHANGE_WORDS[change.kind], change.title, " ".join(change.before), " ".join(change.after), change.moved,
            "; ".join(change.differs),
        )  # fmt: skip
        sides = (change.old, change.new, change.difference)
        figures = [f"{getattr(side, name):.3f}" for name, _, _ in FIGURES for side in sides]
        money = ["" if side.price is None else f"{side.price:.2f}" for side in sides]
        writer.writerow([*map(csv_safe, words), *figures, *money])
    return out.getvalue()
