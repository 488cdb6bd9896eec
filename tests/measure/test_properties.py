"""What must hold for every room, checked on rooms drawn at random, and areas worked out again by another library.

The other library is Clipper (through pyclipper): whole-number polygon arithmetic that shares nothing with the
float geometry used by the project.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pyclipper
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.job import job_from
from takeoff.measure.model import Measured
from takeoff.measure.profile import Profile
from takeoff.measure.rooms import measure
from tests.measure.plans import RoomSpec, plan
from tests.measure.strategies import Drawn, outlines, rooms

NO_JOB = job_from({})
RULES = ("net", "void-0.50", "void-1.00", "is1200-12", "straight-through")
SCALE = 1_000_000
"""Clipper works in whole numbers: micrometres."""

many = settings(max_examples=100, deadline=None)


def clipper_area(subject: list[tuple[float, float]], clips: list[list[tuple[float, float]]], operation: int) -> float:
    """Area in m2 of `subject` with `clips` by Clipper."""
    worker = pyclipper.Pyclipper()
    worker.AddPath(pyclipper.scale_to_clipper(subject, SCALE), pyclipper.PT_SUBJECT, True)
    if clips:
        worker.AddPaths(pyclipper.scale_to_clipper(clips, SCALE), pyclipper.PT_CLIP, True)
    paths = worker.Execute(operation, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    return sum(pyclipper.Area(path) for path in paths) / SCALE**2


def figures(measured: Measured) -> list[float]:
    """All that must not change when the same room is drawn elsewhere, turned or mirrored."""
    room = measured.rooms[0]
    lengths = dict.fromkeys(("external angle", "internal angle", "opening angle", "wall to ceiling", "stop"), 0.0)
    for edge in measured.edges:
        lengths[edge.kind] += edge.length_m
    return [
        room.wall_gross_m2,
        room.wall_net_m2,
        room.ceiling_m2,
        room.reveal_m2,
        room.internal_corners,
        room.external_corners,
        *lengths.values(),
        len(measured.queries),
        sum(s.narrow for s in measured.surfaces),
        *sorted(s.gross_m2 for s in measured.surfaces),
        *sorted(s.net_m2 for s in measured.surfaces),
    ]


@many
@given(outlines())
def test_internal_less_external_corners_is_four(outline: tuple[tuple[float, float], ...]) -> None:
    """A closed square-cornered outline turns once right round: four more corners inwards than outwards."""
    room = measure(plan(RoomSpec(outline)), NO_JOB).rooms[0]
    assert room.internal_corners - room.external_corners == 4
    assert room.internal_corners + room.external_corners == len(outline)


@many
@given(rooms(), st.floats(-500, 500), st.floats(-500, 500), st.floats(0, 360), st.integers(0, 20), st.integers(2, 4))
def test_the_same_room_drawn_otherwise_measures_the_same(
    drawn: Drawn, dx: float, dy: float, degrees: float, corner: int, parts: int
) -> None:
    """Moved, turned, mirrored, begun at another corner, its sides split, its openings as sides or on sides."""
    expected = pytest.approx(figures(measure(drawn.plan(), NO_JOB)), abs=1e-6)
    for other in (drawn.moved(dx, dy), drawn.turned(degrees), drawn.mirrored(), drawn.begun_at(corner)):
        assert figures(measure(other.plan(), NO_JOB)) == expected
    assert figures(measure(drawn.split(parts).plan(broken=False), NO_JOB)) == expected
    assert figures(measure(drawn.plan(broken=False), NO_JOB)) == expected


@many
@given(rooms(), st.sampled_from(RULES))
def test_net_never_exceeds_gross_and_the_bill_adds_up(drawn: Drawn, rule: str) -> None:
    measured = measure(drawn.plan(), job_from({"measure": {"rule": rule}}))
    room = measured.rooms[0]
    for surface in measured.surfaces:
        assert 0 <= surface.net_m2 <= surface.gross_m2 + 1e-9
        assert 0 <= surface.over_height_m2 <= surface.net_m2 + 1e-9
    for row in measured.quantities:
        assert row.net == pytest.approx(row.gross - row.deducted)
        assert 0 <= row.net <= row.gross + 1e-9
    # Each surface stands in the bill once: by the square metre, or narrow and then by the metre.
    squares = sum(q.net for q in measured.quantities if q.unit == "m2")
    by_metre = {q.surface for q in measured.quantities if q.unit == "m" and q.surface}
    apart = sum(s.net_m2 for s in measured.surfaces if s.ref in by_metre)
    assert squares + apart == pytest.approx(room.wall_net_m2 + room.ceiling_m2 + room.reveal_m2)


@many
@given(rooms())
def test_areas_by_another_library(drawn: Drawn) -> None:
    """Ceiling from the outline; each wall from its unrolled outline less its openings; both by Clipper."""
    measured = measure(drawn.plan(), NO_JOB)
    perimeter = sum(math.dist(p, q) for p, q in pairwise([*drawn.outline, drawn.outline[0]]))
    assert measured.rooms[0].wall_gross_m2 == pytest.approx(perimeter * drawn.height)
    for surface in measured.surfaces:
        if surface.kind == "reveal":
            continue
        area = clipper_area(list(surface.outline), [list(hole) for hole in surface.holes], pyclipper.CT_DIFFERENCE)
        assert surface.net_m2 == pytest.approx(area, abs=1e-4)


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    steps = draw(st.lists(st.floats(0.1, 3.0), min_size=1, max_size=4))
    heights = draw(st.lists(st.floats(0.5, 5.0), min_size=len(steps) + 1, max_size=len(steps) + 1))
    places = [sum(steps[:n]) for n in range(len(steps) + 1)]
    return Profile(tuple(zip(places, heights, strict=True)))


@many
@given(profiles(), st.floats(-1, 8), st.floats(0.05, 6), st.floats(0, 4), st.floats(0.05, 4))
def test_bands_under_a_raking_top_by_another_library(
    profile: Profile, lo: float, width: float, bottom: float, tall: float
) -> None:
    """The area of an opening clipped by a raking ceiling, against Clipper's intersection of the two shapes."""
    band = [(lo, bottom), (lo + width, bottom), (lo + width, bottom + tall), (lo, bottom + tall)]
    expected = clipper_area(list(profile.outline()), [band], pyclipper.CT_INTERSECTION)
    assert profile.area(lo, lo + width, bottom, bottom + tall) == pytest.approx(expected, abs=1e-4)
    assert profile.area() == pytest.approx(clipper_area(list(profile.outline()), [], pyclipper.CT_UNION), abs=1e-4)


@many
@given(outlines(), st.integers(0, 30), st.floats(0.2, 2.0), st.floats(0.1, 3.0), st.floats(0.5, 9.0))
def test_a_room_under_a_slope_closes(
    outline: tuple[tuple[float, float], ...], side: int, low: float, rise: float, run: float
) -> None:
    """Gauss's theorem: the faces of a closed body, each area times its outward direction, add up to nothing.

    Floor, walls and ceiling pieces together; a wrong area of any of them leaves a rest.
    """
    wall = side % len(outline) + 1
    slope = {"low_side": f"S{wall}", "low_height": low, "high_height": low + rise, "run": run}
    sheet = plan(RoomSpec(outline))
    measured = measure(sheet, job_from({"rooms": {"R1": {"slope": slope}}}))
    sides = {s.ref: s for s in sheet.rooms[0].sides}
    x = y = z = 0.0
    for surface in measured.surfaces:
        if surface.kind == "wall":
            s = sides[surface.side]
            x += surface.net_m2 * (s.end[1] - s.start[1]) / s.length_m
            y -= surface.net_m2 * (s.end[0] - s.start[0]) / s.length_m
        elif surface.part == "flat":
            z += surface.net_m2
        else:
            s, length = sides[f"R1-S{wall}"], math.hypot(run, rise)
            x += surface.net_m2 * rise / length * (s.end[1] - s.start[1]) / s.length_m
            y -= surface.net_m2 * rise / length * (s.end[0] - s.start[0]) / s.length_m
            z += surface.net_m2 * run / length
    floor = clipper_area(list(outline), [], pyclipper.CT_UNION)
    assert (x, y) == (pytest.approx(0.0, abs=1e-6), pytest.approx(0.0, abs=1e-6))
    assert z == pytest.approx(floor, abs=1e-4)
