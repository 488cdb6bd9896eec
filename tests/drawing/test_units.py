"""The unit: found against the shared corpus's truth, and on drawings of which one witness speaks at a time.

What buildings usually measure (leaves of 0.6 to 1.0 m, walls of 0.1 to 0.3 m): common practice.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from takeoff.drawing.model import in_metres
from takeoff.drawing.read import read_drawing
from takeoff.drawing.units import METRES, settle_unit
from tests.drawing.conftest import corpus

Make = Callable[..., Path]


def truth(path: Path) -> float | None:
    value = json.loads(path.with_suffix(".truth.json").read_text())["metres_per_unit"]
    return None if value is None else float(value)


KNOWN = [path for path in corpus("bim/*.dxf") + corpus("drawn/*.dxf") if truth(path) is not None]
UNKNOWN = [path for path in corpus("drawn/*.dxf") if truth(path) is None]


@pytest.mark.skipif(not KNOWN, reason="the shared corpus is not beside the project")
def test_corpus_units_are_right_without_a_query() -> None:
    found = {path.stem: settle_unit(read_drawing(path), None) for path in KNOWN}
    assert {name: f.metres_per_unit for name, f in found.items()} == {p.stem: truth(p) for p in KNOWN}
    assert [name for name, f in found.items() if f.queries] == []


@pytest.mark.skipif(not UNKNOWN, reason="the shared corpus is not beside the project")
def test_corpus_drawings_without_a_unit_are_asked() -> None:
    for path in UNKNOWN:
        (query,) = settle_unit(read_drawing(path), None).queries
        assert (query.kind, query.concerns) == ("unit-unclear", "unit")
        assert query.answer.startswith("[drawing]\nunit = ")


@pytest.mark.skipif(not KNOWN, reason="the shared corpus is not beside the project")
@pytest.mark.parametrize("claimed", [None, 1, 2, 4, 5, 6])
def test_any_unit_under_any_claim_is_right_or_asked(claimed: int | None) -> None:
    """Every corpus drawing redrawn in each unit and claiming each: never wrong in silence, seldom asked."""
    asked = total = 0
    for path in KNOWN[::2]:
        drawing = read_drawing(path)
        for unit, metres in METRES.items():
            redrawn = replace(in_metres(drawing, (truth(path) or 1) / metres), insunits=claimed)
            finding = settle_unit(redrawn, None)
            total += 1
            asked += bool(finding.queries)
            assert finding.unit == unit or finding.queries, (path.stem, unit)
    assert asked <= total * 0.08


def house(document: Any, k: float, *, doors: bool = True, printed: Callable[[Any, float], None] | None = None) -> None:
    """A plain house of two rooms, 8 x 5 m over all, walls 0.3 and 0.1 m, one unit being `k` metres."""
    model = document.modelspace()

    def box(x0: float, y0: float, x1: float, y1: float) -> None:
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
        for a, b in pairwise(corners):
            model.add_line((a[0] / k, a[1] / k), (b[0] / k, b[1] / k))

    box(0, 0, 8, 5)
    box(0.3, 0.3, 4.3, 4.7)
    box(4.4, 0.3, 7.7, 4.7)
    if doors:
        for x, y in ((1, 0.3), (5, 0.3), (2, 4.7)):
            model.add_line((x / k, y / k), (x / k, (y + 0.8) / k))
            model.add_arc((x / k, y / k), 0.8 / k, 0, 90)
    if printed:
        printed(model, k)


def dimension_in(unit: str) -> Callable[[Any, float], None]:
    """An overall dimension of 8 m typed in the manner of `unit`."""
    typed = {"ft": "26'-3\"", "m": "8.00 m", "mm": "8000 mm"}[unit]

    def draw(model: Any, k: float) -> None:
        model.add_linear_dim(base=(0, -1 / k), p1=(0, 0), p2=(8 / k, 0), text=typed).render()

    return draw


def area_in_room(model: Any, k: float) -> None:
    outline = [(0.3, 0.3), (4.3, 0.3), (4.3, 4.7), (0.3, 4.7)]
    model.add_lwpolyline([(x / k, y / k) for x, y in outline], close=True)
    model.add_text("17.60 m2", height=0.2 / k).set_placement((2 / k, 2 / k))


def size_in_room(model: Any, k: float) -> None:
    model.add_text("13'1 x 14'5", height=0.2 / k).set_placement((2 / k, 2 / k))
    model.add_text("10'10 x 14'5", height=0.2 / k).set_placement((6 / k, 2 / k))


@pytest.mark.parametrize("unit", METRES)
@pytest.mark.parametrize(
    "witness", [dimension_in("ft"), dimension_in("m"), dimension_in("mm"), area_in_room, size_in_room, None],
    ids=["feet", "metres", "millimetres", "area", "size", "doors"],
)  # fmt: skip
def test_one_firm_witness_is_enough(make: Make, unit: str, witness: Callable[[Any, float], None] | None) -> None:
    def draw(document: Any) -> None:
        document.header["$INSUNITS"] = 4 if unit != "mm" else 1
        house(document, METRES[unit], doors=witness is None, printed=witness)

    finding = settle_unit(read_drawing(make(draw)), None)
    assert (finding.unit, finding.queries) == (unit, ())
    claim = next(row for row in finding.evidence if row.witness == "$INSUNITS")
    assert claim.unit != unit and claim.weight < max(row.weight for row in finding.evidence)


def test_contradicting_print_is_asked(make: Make) -> None:
    """Doors say metres, a dimension says inches."""

    def draw(document: Any) -> None:
        house(document, 1.0)
        document.modelspace().add_linear_dim(base=(0, -1), p1=(0, 0), p2=(8, 0), text='8"').render()

    (query,) = settle_unit(read_drawing(make(draw)), None).queries
    assert "speaks for" in query.says and query.says.endswith(".")


def test_too_little_is_asked(make: Make) -> None:
    finding = settle_unit(read_drawing(make(lambda d: d.modelspace().add_line((0, 0), (700, 30)))), None)
    assert [query.kind for query in finding.queries] == ["unit-unclear"]


def test_the_job_file_wins_and_a_disagreement_is_noted(make: Make) -> None:
    drawing = read_drawing(make(lambda document: house(document, 0.001)))
    agreed, against = settle_unit(drawing, "mm"), settle_unit(drawing, "cm")
    assert (agreed.unit, against.unit, against.metres_per_unit) == ("mm", "cm", 0.01)
    assert agreed.queries == against.queries == ()
    assert "rather" not in agreed.evidence[0].says
    assert "speaks rather for mm" in against.evidence[0].says


def test_the_evidence_speaks_plainly(make: Make) -> None:
    evidence = settle_unit(read_drawing(make(lambda document: house(document, 0.01))), None).evidence
    (doors,) = [row for row in evidence if row.witness == "door swings"]
    assert doors.says == "3 door swings, their leaf mostly 80 units wide"
    assert all(0 <= row.weight <= 1 and row.unit in METRES for row in evidence)
    assert [row.weight for row in evidence] == sorted((row.weight for row in evidence), reverse=True)


def nested_outlines(model: Any, k: float, step: float, kind: str) -> None:
    """Outlines in 15 stacks, `step` metres inside one another: hatching of floors and what it leaves when it is taken
    apart."""
    for stack in range(15):
        left, right = (0.35, 4.25) if stack % 2 else (4.45, 7.65)
        for n in range(200):
            inset = n * step
            if right - left < 2 * inset + 0.1:
                break
            x0, y0, x1, y1 = left + inset, 0.35 + inset, right - inset, 4.65 - inset
            ring = [(x / k, y / k) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
            if kind == "hatch":
                hatch = model.add_hatch(dxfattribs={"layer": "PATT"})
                hatch.paths.add_polyline_path(ring, is_closed=True)
                hatch.set_pattern_fill("ANSI31")
            elif kind == "polyline":
                model.add_polyline2d(ring, close=True, dxfattribs={"layer": "PATT"})
            else:
                for a, b in pairwise([*ring, ring[0]]):
                    model.add_line(a, b, dxfattribs={"layer": "PATT"})


@pytest.mark.parametrize(("version", "kind"), [("R2010", "hatch"), ("R12", "polyline"), ("R12", "line")])
@pytest.mark.parametrize("step", [0.013, 0.017, 0.02, 0.03])
def test_nested_outlines_are_no_walls_ten_times_too_thin(make: Make, version: str, kind: str, step: float) -> None:
    """Lines 17 mm apart would be walls of 170 mm in centimetres: a pattern says nothing of walls. Once read as cm."""

    def draw(document: Any) -> None:
        house(document, 0.001, doors=False)
        nested_outlines(document.modelspace(), 0.001, step, kind)
        for name, x in (("Living", 2000), ("Kitchen", 6000)):
            document.modelspace().add_text(name, height=200).set_placement((x, 2500))

    finding = settle_unit(read_drawing(make(draw, version)), None)
    assert (finding.unit, finding.queries) == ("mm", ())
