"""A picture of the plan on its own: SVG, one file per storey, or PDF, one page per storey."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from takeoff.documents.marked_plan import marked_plan_pages, marked_plan_pdf, marked_plan_svgs
from takeoff.drawing.model import Drawing
from takeoff.errors import OutputError
from takeoff.files import write_whole
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.query import Query

__all__ = ["write_picture"]


def write_picture(
    drawing: Drawing, plan: Plan, queries: Sequence[Query], target: Path, measured: Measured | None = None
) -> list[Path]:
    """Write the marked plan to `target`; with several storeys an SVG gets the storey's ref in its name.

    Raises `OutputError` for an ending other than .svg and .pdf, or when `target` cannot be written.
    """
    ending = target.suffix.lower()
    if ending not in (".svg", ".pdf"):
        raise OutputError(f"{target}: a picture is .svg or .pdf; give the file one of these endings.")
    pages = marked_plan_pages(drawing, plan, measured, queries)
    if ending == ".pdf":
        write_whole(target, marked_plan_pdf(drawing, pages))
        return [target]
    drawn = marked_plan_svgs(plan, pages)
    written = []
    for ref, svg in drawn.items():
        path = target if len(drawn) == 1 else target.with_stem(f"{target.stem}-{ref}")
        write_whole(path, svg)
        written.append(path)
    return written
