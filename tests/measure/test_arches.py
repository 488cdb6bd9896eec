"""Openings with an arched head, against the plain geometry of circles and a curve added up by small steps."""

from __future__ import annotations

from itertools import pairwise
from math import asin, dist, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from takeoff.errors import JobError
from takeoff.job import job_from
from takeoff.materials.beads import bead_pieces
from takeoff.measure.arches import Arch
from takeoff.measure.model import Measured
from takeoff.measure.rooms import measure
from takeoff.work.model import Need
from tests.measure.plans import opening, plan, rectangle


def with_arch(rise: float, width: float = 1.2, height: float = 2.1, room: float = 2.4, **more: object) -> Measured:
    """A room 4.2 x 3.0 m with a plain opening in its first wall, 0.1 m thick, whose head is an arch."""
    job = job_from({"openings": {"O1": {"arch_rise": rise}}, **more})
    return measure(plan(rectangle(4.2, 3.0, room), openings=[opening("O1", (1.5, -0.05), width, height, 0.0)]), job)


def test_a_half_round_head_takes_off_a_half_disc() -> None:
    """1.2 wide, 2.1 to the crown, so it springs at 1.5: 1.2 x 1.5 and half of pi 0.6^2."""
    measured = with_arch(0.6)
    wall = measured.surfaces[0]
    assert wall.gross_m2 - wall.net_m2 == pytest.approx(1.2 * 1.5 + pi * 0.36 / 2, abs=0.001)
    assert "arched, springs at 1.50, rises 0.60" in wall.deductions[0].reason
    assert Polygon(wall.holes[0]).area == pytest.approx(wall.deductions[0].area_m2)


def test_the_reveal_and_the_arris_of_the_head_follow_the_curve() -> None:
    """Half the way round a circle of 0.6 m is pi 0.6 = 1.885 m; the jambs are straight for 1.5 m."""
    measured = with_arch(0.6)
    head = next(s for s in measured.surfaces if s.part == "head")
    assert (head.length_m, head.radius_m) == (pytest.approx(pi * 0.6, abs=0.002), pytest.approx(0.6))
    assert head.net_m2 == pytest.approx(pi * 0.6 * 0.1, abs=0.001)
    arrises = [e for e in measured.edges if e.kind == "opening angle"]
    assert sorted(e.length_m for e in arrises) == pytest.approx([1.5, 1.5, pi * 0.6], abs=0.002)
    assert [e.curved for e in arrises] == [False, False, True]


def test_the_arch_takes_the_flexible_bead_and_the_jambs_the_straight_one() -> None:
    measured = with_arch(0.6)
    arrises = [e for e in measured.edges if e.kind == "opening angle"]
    needs = [Need("angle-bead", "R1", e.ref, e.length_m, "m", 1.0, e.length_m, "") for e in arrises]
    pieces = bead_pieces(needs, measured.edges, ["angle-bead", "arch-bead"])
    assert [(p.bead, round(p.length_m, 2)) for p in pieces] == [
        ("angle-bead", 1.5),
        ("angle-bead", 1.5),
        ("arch-bead", 1.88),
    ]


@given(st.floats(0.4, 3.0), st.floats(0.02, 1.0))
def test_a_flat_arch_by_the_formulas_of_a_circle(width: float, share: float) -> None:
    """Of a chord w and a rise h the radius is (w^2/4 + h^2) / 2h; the arc is 2 r asin(w / 2r), up to half the circle.
    What lies over the chord is half the radius times arc less chord, plus half the chord times the rise (Machinery
    handbooks' table of segments, from memory)."""
    rise = share * width / 2
    arch = Arch(0.0, width, 1.0, rise)
    radius = (width**2 / 4 + rise**2) / (2 * rise)
    arc = 2 * radius * asin(min(1.0, width / 2 / radius))
    segment = (radius * (arc - width) + width * rise) / 2
    curve = arch.curve()
    assert arch.radius_m == pytest.approx(radius)
    assert sum(dist(a, b) for a, b in pairwise(curve)) == pytest.approx(arc, rel=0.005)
    assert Polygon(curve).area == pytest.approx(segment, rel=0.05, abs=0.001)
    assert arch.beside_m2 == pytest.approx(width * rise - segment, abs=1e-7)  # near half a circle asin loses digits
    assert max(y for _, y in curve) <= 1.0 + rise + 1e-9


def test_an_arch_that_reaches_over_the_ceiling_is_cut_off_there() -> None:
    """Under a ceiling of 2.0 m the crown of a half circle that springs at 1.5 is cut at 0.5 over its middle: the chord
    there is 2 sqrt(0.6^2 - 0.5^2); area and arc by steps of a millimetre across."""
    measured = with_arch(0.6, room=2.0)
    wall = measured.surfaces[0]
    half = sqrt(0.36 - 0.25)
    steps = [min(0.5, sqrt(0.36 - (n / 1000 - 0.6) ** 2)) for n in range(1201)]
    over = sum((a + b) / 2 for a, b in pairwise(steps)) / 1000
    assert wall.deductions[0].area_m2 == pytest.approx(1.2 * 1.5 + over, abs=0.002)
    head = next(s for s in measured.surfaces if s.part == "head")
    assert head.length_m == pytest.approx(2 * 0.6 * asin(0.5 / 0.6), abs=0.02)
    top = next(e for e in measured.edges if e.kind == "wall to ceiling" and "R1-W1" in e.surfaces)
    assert top.length_m == pytest.approx(4.2 - 2 * half, abs=0.02)


def test_the_part_over_a_height_of_the_rule_is_that_of_the_arch() -> None:
    """A rule that keeps work over 3.5 m apart: of an arch that springs at 3.0 and rises 1.0, what lies over 3.5 is a
    segment with its centre 0.5 below."""
    measured = with_arch(1.0, width=2.0, height=4.0, room=5.0)
    wall = measured.surfaces[0]
    angle = pi / 3  # cos = 0.5 / 1.0
    segment = angle - sqrt(3) / 4
    assert wall.over_height_m2 == pytest.approx(4.2 * 1.5 - segment, abs=0.002)


def test_under_a_rule_that_leaves_small_openings_in_the_arch_counts_by_its_own_area() -> None:
    """0.8 wide, 0.75 high with a round head of 0.4: 0.28 + 0.2513 = 0.531 m2 is over 0.50; its rectangle is 0.60."""
    small = with_arch(0.4, width=0.8, height=0.65, measure={"rule": "net", "smallest_void": 0.5})
    assert small.surfaces[0].net_m2 == pytest.approx(4.2 * 2.4)  # 0.8 x 0.25 + 0.2513 = 0.451 stays in, 0.52 would not
    large = with_arch(0.4, width=0.8, height=0.75, measure={"rule": "net", "smallest_void": 0.5})
    assert large.surfaces[0].net_m2 == pytest.approx(4.2 * 2.4 - 0.8 * 0.35 - pi * 0.16 / 2, abs=0.001)


@pytest.mark.parametrize(("rise", "width", "height"), [(0.7, 1.2, 2.1), (0.5, 1.2, 0.4)])
def test_an_arch_that_does_not_go_with_its_opening_is_told(rise: float, width: float, height: float) -> None:
    with pytest.raises(JobError, match="arch"):
        with_arch(rise, width, height)
