"""The unit where little speaks for it: bare walls, or walls and names, in every unit under every claim.

The truth is the generator's own. A wrong unit must be asked about; a swing or a print settles it without.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest

from takeoff.drawing.units import METRES, settle_unit
from tests.draughtsman.cases import draw, make
from tests.draughtsman.run import read_case

CLAIMS = (None, 1, 2, 4, 5, 6)
"""$INSUNITS: none, inches, feet, millimetres, centimetres, metres."""
PLANS = (("house", 501), ("skew house", 502), ("flats", 501), ("corridor", 502))


@cache
def settled(what: str, unit: str) -> tuple[tuple[str, bool], ...]:
    """(unit found, whether asked) of each plan under each claim."""
    found = []
    for kind, seed in PLANS:
        case = make(kind, seed)
        manner = replace(
            case.manner, labels="name" if what == "names" else "none", dims="", attributes=False, walls="lines",
            door="swing" if what == "doors" else "rectangle", furniture=0, stairs=False)
        bare = what == "bare walls"
        buildings = tuple(replace(b, openings=() if bare else b.openings, stairs=()) for b in case.buildings)
        strokes = tuple(s for b in buildings for s in draw(b, manner, Random(1)))
        page = replace(case.page, unit=unit, claims=0)
        drawing = read_case(replace(case, buildings=buildings, manner=manner, strokes=strokes, page=page))
        findings = [settle_unit(replace(drawing, insunits=claim), None) for claim in CLAIMS]
        found += [(f.unit, bool(f.queries)) for f in findings]
    return tuple(found)


@pytest.mark.parametrize("unit", METRES)
@pytest.mark.parametrize("what", ["bare walls", "names", "doors"])
def test_a_wrong_unit_is_never_taken_in_silence(what: str, unit: str) -> None:
    found = settled(what, unit)
    assert all(asked for told, asked in found if told != unit)
    assert sum(told == unit for told, _ in found) >= 0.9 * len(found)


@pytest.mark.parametrize("unit", METRES)
def test_swings_settle_it_without_a_question(unit: str) -> None:
    assert set(settled("doors", unit)) == {(unit, False)}


def test_units_near_each_other_are_asked_about_with_what_fits_both() -> None:
    """Bare walls in centimetres may as well be in inches: 2.54 times as large is still a house."""
    case = make("house", 501)
    buildings = tuple(replace(b, openings=()) for b in case.buildings)
    manner = replace(case.manner, labels="none", dims="", walls="lines", stairs=False)
    strokes = tuple(s for b in buildings for s in draw(b, manner, Random(1)))
    page = replace(case.page, unit="cm", claims=1)
    finding = settle_unit(read_case(replace(case, strokes=strokes, page=page)), None)
    (asked,) = finding.queries
    assert finding.unit == "cm"
    assert "cm and in about as well" in asked.says or "in and cm about as well" in asked.says
    assert {row.witness for row in finding.evidence} >= {"wall thickness", "$INSUNITS"}
