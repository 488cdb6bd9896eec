"""The unit of a drawing, weighed from everything in it that bears on it; see `settle_unit`.

Architects' files often claim a wrong unit or none. So every witness (door swings, wall thickness, dimension text,
printed areas ...) says how well each unit fits what it saw, and the fits are added up. What the file claims is one
weak witness among the others.
"""

from __future__ import annotations

import math

from takeoff.drawing.lengths import METRES
from takeoff.drawing.model import Drawing, UnitEvidence, UnitFinding
from takeoff.drawing.unit_print import dimensions, named_sizes, printed_areas, printed_sizes, stated_lengths
from takeoff.drawing.unit_shapes import Opinion, door_swings, overall_size, text_heights, wall_thickness
from takeoff.query import Query, query

__all__ = ["METRES", "settle_unit"]

_CLAIMS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}
"""$INSUNITS (DXF reference, HEADER section) that name a unit known here."""
_CLAIM_POWER = 0.9
"""Of 24 real and drawn files 11 claim a wrong unit or none: a claim makes its unit about 2.5 times as likely."""
_ARCHITECTURAL = "4"
"""$LUNITS for feet and inches, where one drawing unit is an inch (DXF reference)."""
_CLEAR = 1.5
"""The best unit must fit e^1.5, 4.5 times, better than the next, or it is asked."""
_CLEAR_BY_HABIT = 2.5
"""The same where no print and no door swing bears witness, unless the fit is good in itself (`_GOOD`)."""
_GOOD = -1.2
_CONFLICT = 3.0
"""A witness that fits another unit e^3, 20 times, better contradicts."""
_OVERWHELMING = 12.0
"""A lead so large that one contradicting witness is taken to have misread."""
_POOR = -3.8
"""Where no print speaks and no door swings: a fit under this means that nothing fits, and it is asked."""


def settle_unit(drawing: Drawing, told: str | None) -> UnitFinding:
    """The unit of `drawing` (in drawing units), what spoke for it, and a query where it is not clear.

    `told`, from the job file, settles it; what the drawing says to the contrary stays in the evidence.
    """
    opinions = _heard(drawing)
    total = {unit: sum(opinion.fit[unit] for opinion in opinions) for unit in METRES}
    order = sorted(METRES, key=lambda unit: -total[unit])
    evidence = tuple(_row(opinion) for opinion in sorted(opinions, key=lambda o: -o.lead()))
    if told:
        return _told(told, order[0], evidence)
    unit = order[0]
    doubt = _doubt(opinions, total, order)
    queries = (_asked(unit, order[1], doubt),) if doubt else ()
    return UnitFinding(unit, METRES[unit], evidence, queries)


def _heard(drawing: Drawing) -> list[Opinion]:
    """The opinions of all witnesses that have anything to say."""
    found = [
        *dimensions(drawing),
        *printed_areas(drawing),
        printed_sizes(drawing),
        named_sizes(drawing),
        stated_lengths(drawing),
        door_swings(drawing),
        wall_thickness(drawing),
        overall_size(drawing),
        text_heights(drawing),
        *_claims(drawing),
        _script(drawing),
    ]
    return [opinion for opinion in found if opinion is not None]


def _claims(drawing: Drawing) -> list[Opinion]:
    """What the file's header claims."""
    claimed = _CLAIMS.get(drawing.insunits or 0)
    found = []
    if claimed:
        fit = {unit: 0.0 if unit == claimed else -_CLAIM_POWER for unit in METRES}
        found.append(Opinion("$INSUNITS", fit, f"the file's $INSUNITS is {drawing.insunits}, which claims {claimed}"))
    if drawing.extra.get("$LUNITS") == _ARCHITECTURAL:
        fit = {unit: 0.0 if unit == "in" else -2.0 for unit in METRES}
        found.append(Opinion("$LUNITS", fit, "lengths are shown in feet and inches ($LUNITS 4)"))
    return found


def _script(drawing: Drawing) -> Opinion | None:
    """Letters of countries that draw in metric units only."""
    foreign = sum(not t.value.isascii() and any(ord(c) > 0x36F for c in t.value) for t in drawing.texts)
    if foreign < 3:
        return None
    fit = {unit: -2.5 if unit in ("in", "ft") else 0.0 for unit in METRES}
    return Opinion("language", fit, f"{foreign} texts are in a script whose countries draw in metric units")


def _row(opinion: Opinion) -> UnitEvidence:
    """The evidence row of an opinion: its weight is 0 for no preference, near 1 for a strong one."""
    return UnitEvidence(opinion.witness, opinion.best(), opinion.says, round(1 - math.exp(-opinion.lead()), 3))


def _doubt(opinions: list[Opinion], total: dict[str, float], order: list[str]) -> str:
    """Why the unit is not clear, '' where it is."""
    unit, second = order[:2]
    lead = total[unit] - total[second]
    against = [o for o in opinions if o.fit[o.best()] - o.fit[unit] >= _CONFLICT]
    if against and lead < _OVERWHELMING:
        return f"{against[0].says}, which speaks for {against[0].best()}"
    firm = any((o.exact or o.witness == "door swings") and o.best() == unit and o.lead() > 1 for o in opinions)
    fit = sum(o.fit[unit] for o in opinions if not o.witness.startswith("$"))
    if lead < (_CLEAR if firm or fit > _GOOD else _CLEAR_BY_HABIT):
        return f"what is drawn fits {unit} and {second} about as well"
    if not firm and fit < _POOR:
        return "nothing that is drawn or printed fits any unit well"
    return ""


def _asked(unit: str, second: str, doubt: str) -> Query:
    return query(
        "unit-unclear",
        f"The drawing's unit is not clear: taken as {unit}, but {doubt}. Check one known length on the marked plan and "
        f"set the unit in the job file ({unit}, {second} or what is true).",
        answer=f'[drawing]\nunit = "{unit}"',
    )


def _told(told: str, found: str, evidence: tuple[UnitEvidence, ...]) -> UnitFinding:
    says = f"the job file says {told}"
    if told != found:
        says += f", though the drawing itself speaks rather for {found}"
    return UnitFinding(told, METRES[told], (UnitEvidence("job file", told, says, 1.0), *evidence))
