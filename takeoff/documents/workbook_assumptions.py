"""Sheet Assumptions and cautions: what the figures rest on, and what to mind on site."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from takeoff.data import load
from takeoff.documents.rules_in_use import rules_in_use
from takeoff.documents.stock_words import counted_as, laid_words
from takeoff.documents.workbook_cells import Styles, begin_sheet, put_table
from takeoff.documents.workbook_layout import ASSUMPTION_COLUMNS, ASSUMPTIONS
from takeoff.documents.workbook_places import Places
from takeoff.measure.rules import rule_of
from takeoff.record import Takeoff

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook

__all__ = ["NOT_A_SURVEY", "assumptions", "cautions", "write_assumptions"]

NOT_A_SURVEY = (
    "This takeoff measures a drawing. It is not a survey of the building: check sizes, backgrounds and dangers "
    "on site, and keep to the local codes."
)
STATUS = {"seen": "read in the source", "memory": "from memory: check it before you rely on it in a contract"}
Row = tuple[str, str, str]
"""Kind, what, where from."""


def write_assumptions(book: Workbook, styles: Styles, takeoff: Takeoff, places: Places) -> None:
    """Write the sheet Assumptions and cautions."""
    sheet = begin_sheet(book, styles, ASSUMPTIONS, NOT_A_SURVEY, ASSUMPTION_COLUMNS)
    put_table(book, sheet, styles, ASSUMPTION_COLUMNS, [*cautions(takeoff), *assumptions(takeoff)])


def cautions(takeoff: Takeoff) -> list[Row]:
    """Every caution once: of the job, then of the build-ups in use, then their limits."""
    notices = takeoff.work.notices
    rows: list[Row] = []
    if not any(notice.slug == "not-a-survey" for notice in notices):
        rows.append(("Caution", NOT_A_SURVEY, ""))
    rows += [("Caution", f"{n.title}{_rooms(n.about, takeoff)}: {n.says}", n.source) for n in notices]
    rows += [("Caution", text, "") for text in takeoff.work.cautions if not notices]
    told = {notice.title for notice in notices}
    for build_up in takeoff.work.build_ups.values():
        rows += [("Caution", text, build_up.title) for text in build_up.cautions if text not in told]
        rows += [("Limit", text, build_up.title) for text in build_up.limits]
    return list({row[1]: row for row in reversed(rows)}.values())[::-1]


def _rooms(refs: tuple[str, ...], takeoff: Takeoff) -> str:
    """Which rooms a caution is for, unless it is for all."""
    return f" ({_listed(refs)})" if refs and set(refs) != takeoff.covered_rooms else ""


def assumptions(takeoff: Takeoff) -> list[Row]:
    """What the figures rest on, from the unit to the prices."""
    return [*_drawing(takeoff), *_heights(takeoff), *_measuring(takeoff), *_outlines(takeoff), *_materials(takeoff)]


def _drawing(takeoff: Takeoff) -> Iterator[Row]:
    plan = takeoff.plan
    yield "Drawing", f"{takeoff.drawing.file}, {takeoff.drawing.format}", f"SHA-256 {takeoff.drawing.sha256}"
    yield "Unit", f"Taken as {plan.unit}: one unit is {plan.metres_per_unit:g} m", ""
    for evidence in plan.unit_evidence:
        yield "Unit", f"{evidence.says} (for {evidence.unit})", evidence.witness
    for row in takeoff.drawing.left_out:
        yield "Left out", f"{row.count} x {row.what}", row.reason
    uses: dict[str, list[str]] = {}
    for layer, use in plan.layer_use.items():
        uses.setdefault(use, []).append(layer)
    for use, layers in uses.items():
        yield "Layers", f"{use}: {', '.join(layers)}", "drawing"
    for reason, count in Counter(space.reason for space in plan.spaces).items():
        yield "No room", f"{count} closed spaces taken for: {reason}", "drawing"


def _heights(takeoff: Takeoff) -> Iterator[Row]:
    rooms = [r.room for r in takeoff.measured.rooms if r.height_from == "default" and r.room in takeoff.covered_rooms]
    if rooms:
        yield "Height", f"Ceiling height by default in {_listed(rooms)}", "sheet Rates"
    for kind, name in (("door", "Doors"), ("window", "Windows"), ("opening", "Plain openings")):
        refs = [o.ref for o in takeoff.plan.openings if o.kind == kind and o.height_from == "default"]
        if refs:
            yield "Height", f"{name} of a height by default: {_listed(refs)}", "sheet Rates"
    refs = [o.ref for o in takeoff.plan.openings if o.size_from == "default"]
    if refs:
        yield "Width", f"Openings of a width by default: {_listed(refs)}", "sheet Openings"


def _measuring(takeoff: Takeoff) -> Iterator[Row]:
    rule = rule_of(takeoff.job)
    yield "Rule", f"{rule.title}. {rule.meaning}", f"rule '{rule.slug}'"
    for given in load("rules")["rules"][rule.slug]["values"]:
        keys = ", ".join(key.replace("_m2", " (m2)").replace("_m", " (m)").replace("_", " ") for key in given["keys"])
        yield "Rule", f"{keys}: {STATUS.get(given['status'], given['status'])}", given["source"]
    depth = takeoff.job.measure.window_reveal
    if depth is None:
        frame = takeoff.job.measure.frame_depth * 1000
        yield (
            "Reveals",
            f"Window reveals reckoned from the wall's thickness and a frame {frame:.0f} mm deep",
            "job file",
        )
    else:
        yield "Reveals", f"Window reveals {depth * 1000:.0f} mm deep throughout", "job file"
    unmeasured = [r.ref for r in takeoff.plan.rooms if r.ref not in takeoff.covered_rooms]
    if unmeasured:
        yield (
            "Not measured",
            f"Rooms left out of the quantities: {_listed(unmeasured)}",
            "kind of room, or job file",
        )


def _outlines(takeoff: Takeoff) -> Iterator[Row]:
    for support, what in (("healed", "small gaps in the lines closed"), ("assumed", "lines assumed")):
        rooms = [r.ref for r in takeoff.plan.rooms if any(side.support == support for side in r.sides)]
        if rooms:
            yield "Outline", f"Outlines with {what}: {_listed(rooms)}", "drawing"


def _materials(takeoff: Takeoff) -> Iterator[Row]:
    by_default = [a.surface for a in takeoff.work.assignments if a.decided_by == "default"]
    if by_default:
        yield "Background", f"{len(by_default)} surfaces have background and build-up by default", "sheet Surfaces"
    from_memory = [li.material.title for li in takeoff.order.lines if "memory" in li.material.source.lower()]
    if from_memory:
        yield (
            "Materials",
            f"Values from memory, to be checked against the supplier: {'; '.join(from_memory)}",
            "sheet Rates",
        )
    yield from rules_in_use(takeoff)
    yield "Order", counted_as(takeoff), "" if takeoff.beads is not None else "takeoff quote lays them"
    yield from ((kind, words, "boards laid, beads cut") for kind, words in laid_words(takeoff))
    unpriced = [li.material.title for li in takeoff.order.lines if li.material.price is None]
    if unpriced:
        yield "Prices", f"No price known: {'; '.join(unpriced)}", "sheet Rates"
    notes = {row.kind: row.note for row in takeoff.job.accept}
    for query in takeoff.accepted:
        yield "Accepted", query.says, notes.get(query.kind, "") or "job file"


def _listed(refs: Iterable[str], most: int = 30) -> str:
    """The refs with commas, cut after `most` with the count of the others."""
    names = list(refs)
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
