"""Walls that a text calls low. The plan is invented: two rooms of 4 x 3 m with a wall of 0.1 m between them, whose
faces are 3 m long; heights of low walls and the words for them are common practice."""

from __future__ import annotations

from typing import Any

import pytest

from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.job_tables import SurfaceRow
from takeoff.measure.model import Measured
from takeoff.measure.rooms import measure
from takeoff.plan.understand import understand
from tests.plan.sheets import box, sheet, write


def two_rooms(space: Any, note: str, at: tuple[float, float]) -> None:
    box(space, -0.3, -0.3, 8.7, 3.6)
    box(space, 0, 0, 4, 3)
    box(space, 4.1, 0, 4, 3)
    write(space, "Living", 2, 1.5)
    write(space, "Dining", 6, 1.5)
    write(space, note, *at, 0.1)


def measured_with(note: str, at: tuple[float, float], job: Job | None = None) -> Measured:
    job = job or Job()
    plan = understand(sheet(lambda space: two_rooms(space, note, at)), UnitFinding("m", 1.0, ()), job)
    return measure(plan, job)


def asked(note: str, at: tuple[float, float]) -> list[tuple[tuple[str, ...], str]]:
    return [(q.about, q.answer) for q in measured_with(note, at).queries if q.kind == "low-wall"]


@pytest.mark.parametrize(
    ("note", "height"),
    [
        ("dwarf wall h=1100", "1.10"), ("Dwarf wall", "1.10"), ("low wall 900 high", "0.90"), ("muret h=1.00", "1.00"),
        ("Brüstung H=100", "1.00"), ("muretto h 110", "1.10"), ("half height wall 1.2m", "1.20"),
        ("murete h=1.05 m", "1.05"), ("niska ścianka h=120", "1.20"), ("矮墙 H=1050", "1.05"),
        ("garde-corps h=1.02", "1.02"),
    ],
)
def test_a_wall_that_a_text_calls_low_is_asked_about_on_both_its_faces(note: str, height: str) -> None:
    ((about, answer),) = asked(note, (4.6, 2.3))
    assert {ref.split("-")[0] for ref in about} == {"R1", "R2"}
    assert answer.count(f"height = {height}") == 2


def test_a_bare_height_tells_only_where_it_stands_in_the_wall() -> None:
    assert len(asked("h=1100", (4.05, 1.5))) == 1
    assert asked("h=1100", (4.6, 2.3)) == []


@pytest.mark.parametrize("note", ["worktop h=900", "h=2400", "BRH 90", "balustrade", "wall type 3", "W1 1200x1050"])
def test_other_heights_beside_a_wall_ask_nothing(note: str) -> None:
    assert asked(note, (4.6, 2.3)) == []


def test_the_answer_measures_the_faces_to_that_height_and_settles_it() -> None:
    """3 m of wall, 1.1 m high, on both faces: 2 x 3.30 m2; everything else goes up to the ceiling."""
    ((about, _),) = asked("dwarf wall h=1100", (4.6, 2.3))
    walls = [ref for ref in about if "-" in ref]
    job = Job(surfaces={ref: SurfaceRow(height=1.1) for ref in walls})
    found = measured_with("dwarf wall h=1100", (4.6, 2.3), job)
    assert not [q for q in found.queries if q.kind == "low-wall"]
    faces = {s.ref: s.gross_m2 for s in found.surfaces if s.kind == "wall"}
    assert [faces[ref] for ref in walls] == [pytest.approx(3.3), pytest.approx(3.3)]
    assert sum(faces.values()) == pytest.approx(2 * (4 + 4 + 3) * 2.4 + 2 * 3.3)
