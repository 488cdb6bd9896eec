"""The folder of documents: every document is made first, then all are written, or none.

A document is one line in `DOCUMENTS`: its name and a function that makes its files.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from pathlib import Path

from takeoff.collector import put_off
from takeoff.documents.board_picture import board_pictures
from takeoff.documents.buying import buying_pdf
from takeoff.documents.csv_document import to_csv
from takeoff.documents.json_document import to_json
from takeoff.documents.marked_plan import marked_plan_pages, marked_plan_pdf, marked_plan_svgs
from takeoff.documents.quotation import quotation_docx, quotation_pdf
from takeoff.documents.site_schedule import schedule_pdf
from takeoff.documents.workbook import write_workbook
from takeoff.errors import OutputError
from takeoff.files import write_together
from takeoff.materials.catalogue import catalogue
from takeoff.record import Takeoff

__all__ = ["DOCUMENTS", "PRICED", "make_documents", "write_documents"]

Files = Mapping[str, bytes | str]
"""Contents by file name."""


def _workbook(takeoff: Takeoff) -> Files:
    return {"takeoff.xlsx": write_workbook(takeoff)}


def _marked_plan(takeoff: Takeoff) -> Files:
    pages = marked_plan_pages(takeoff.drawing, takeoff.plan, takeoff.measured, takeoff.queries)
    drawn = marked_plan_svgs(takeoff.plan, pages)
    named = {f"marked-plan-{ref}.svg" if len(drawn) > 1 else "marked-plan.svg": svg for ref, svg in drawn.items()}
    return {"marked-plan.pdf": marked_plan_pdf(takeoff.drawing, pages), **named}


def _json(takeoff: Takeoff) -> Files:
    return {"takeoff.json": to_json(takeoff)}


def _quantities(takeoff: Takeoff) -> Files:
    return {"quantities.csv": to_csv(takeoff)}


def _quotation(takeoff: Takeoff) -> Files:
    return {"quotation.pdf": quotation_pdf(takeoff), "quotation.docx": quotation_docx(takeoff)}


def _buying_list(takeoff: Takeoff) -> Files:
    return {"buying-list.pdf": buying_pdf(takeoff)}


def _site_schedule(takeoff: Takeoff) -> Files:
    return {"site-schedule.pdf": schedule_pdf(takeoff)}


def _board_layouts(takeoff: Takeoff) -> Files:
    names = {room.ref: room.name for room in takeoff.plan.rooms}
    titles = {slug: material.title for slug, material in catalogue(takeoff.job).items()}
    drawn = board_pictures(takeoff.boards, takeoff.measured.surfaces, names, titles)
    return {f"boards-{room}.svg": svg for room, svg in drawn.items()}


DOCUMENTS: Mapping[str, Callable[[Takeoff], Files]] = {
    "workbook": _workbook,
    "marked-plan": _marked_plan,
    "quantities": _quantities,
    "json": _json,
}


PRICED: Mapping[str, Callable[[Takeoff], Files]] = {
    "quotation": _quotation,
    "buying-list": _buying_list,
    "site-schedule": _site_schedule,
    "board-layouts": _board_layouts,
}
"""Documents of a takeoff that has its programme and price."""


@put_off()
def make_documents(takeoff: Takeoff, only: Collection[str] = ()) -> dict[str, bytes | str]:
    """The contents of the documents named in `only` (all when empty), by file name.

    Raises `OutputError` for a document that there is not.
    """
    there = {**DOCUMENTS, **PRICED} if takeoff.price and takeoff.programme else DOCUMENTS
    if unknown := sorted(set(only) - set(there)):
        raise OutputError(f"No document is called {unknown[0]}; one of: {', '.join(there)}.")
    made: dict[str, bytes | str] = {}
    for name, make in there.items():
        if not only or name in only:
            made.update(make(takeoff))
    return made


def write_documents(takeoff: Takeoff, folder: Path, only: Collection[str] = ()) -> list[Path]:
    """Write the documents named in `only` (all when empty) into `folder`, all or none. Returns their paths.

    Raises `OutputError` when one cannot be written; the folder is then as it was.
    """
    made = {folder / name: content for name, content in make_documents(takeoff, only).items()}
    write_together(made)
    return list(made)
