"""Printed lengths and areas.

Sources: 1 in = 25.4 mm and 1 ft = 0.3048 m exactly (international yard and pound agreement of 1959), so
1 sq ft = 0.09290304 m2. How sizes are written on drawings: common practice.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.drawing.lengths import Readings, read_lengths


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("13'-6\"", 4114.8),
        ("7ft10in", 2387.6),
        ("7 FT 10 IN.", 2387.6),
        ("5'7", 1701.8),
        ("3'6 1/2\"", 1079.5),
        ("2'-6-1/2\"", 774.7),
        ("10'-0 3/4\"", 3067.05),
        ("58'-0\"", 17678.4),
        ("13’-6”", 4114.8),
        ("7' 10''", 2387.6),
        ("36\"", 914.4),
        ("10.5'", 3200.4),
        ("5/8\"", 15.875),
        ("2.40 m", 2400),
        ("2,40 m", 2400),
        ("1,250 m", 1250),
        ("2400 mm", 2400),
        ("1,250 mm", 1250),
        ("240cm", 2400),
        ("1.234,5 cm", 12345),
    ],
)
def test_one_length_with_its_unit(text: str, millimetres: float) -> None:
    (length,) = read_lengths(text).lengths
    assert length.metres() == pytest.approx(millimetres / 1000, rel=1e-12)
    assert length.text == text


@pytest.mark.parametrize(
    ("text", "value"), [("2400", 2400), ("2,40", 2.4), ("2.40", 2.4), ("1,250", 1250), ("+2.75", 2.75)]
)
def test_a_bare_figure_states_no_unit(text: str, value: float) -> None:
    (length,) = read_lengths(text).lengths
    assert (length.value, length.unit, length.metres()) == (value, None, None)
    assert length.metres(0.001) == pytest.approx(value / 1000)


@pytest.mark.parametrize(
    ("text", "square_metres"),
    [
        ("15.00 m2", 15), ("A: 4,57 m²", 4.57), ("12,5 ㎡", 12.5), ("15 sq.m", 15), ("20,4 qm", 20.4),
        ("855 SQ. FT.", 79.4320992), ("855 sqft", 79.4320992), ("100 ft²", 9.290304), ("1,200 S.F.", 111.483648),
    ],
)  # fmt: skip
def test_areas(text: str, square_metres: float) -> None:
    readings = read_lengths(text)
    assert [a.square_metres() for a in readings.areas] == [pytest.approx(square_metres)]
    assert readings.lengths == ()


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("13'6 x 11'", (4.1148, 3.3528)),
        ("13'-6\" X 11'-0\"", (4.1148, 3.3528)),
        ("12' x 10", (3.6576, 3.048)),
        ("3,20 x 4,10 m", (3.2, 4.1)),
        ("3200×4100 mm", (3.2, 4.1)),
        ("BED  3.20m x 4.10m", (3.2, 4.1)),
    ],
)
def test_pairs(text: str, metres: tuple[float, float]) -> None:
    readings = read_lengths(text)
    (pair,) = readings.pairs
    assert (pair.first.metres(), pair.second.metres()) == pytest.approx(metres)
    assert readings.lengths == ()


def test_bare_pairs_state_no_unit() -> None:
    (pair,) = read_lengths("3.20 x 4.10").pairs
    assert (pair.first.value, pair.first.unit, pair.second.value) == (3.2, None, 4.1)


@pytest.mark.parametrize(
    ("text", "label", "value", "unit"),
    [
        ("CH=2785", "CH", 2785, None), ("h=2.90", "h", 2.9, None), ("H: 2,80 m", "H", 2.8, "m"),
        ("h 2.90", "h", 2.9, None), ("CH 2785", "CH", 2785, None), ("OVERALL WIDTH: 15.00 m", "WIDTH", 15, "m"),
        ("CLG: 9'-0\"", "CLG", 108, "in"),
    ],
)  # fmt: skip
def test_labelled(text: str, label: str, value: float, unit: str | None) -> None:
    readings = read_lengths(text)
    (found,) = readings.labelled
    assert (found.label, found.length.value, found.length.unit) == (label, value, unit)
    assert readings.lengths == ()


@pytest.mark.parametrize("text", ["", "KITCHEN", "W1", "D01", "A4-12b", "H1", "BED 2a", "x", "'", "m2", "/2", "1/0x"])
def test_what_is_no_length_is_passed_over(text: str) -> None:
    readings = read_lengths(text)
    assert not readings.areas and not readings.pairs and not readings.labelled


def test_several_in_one_text_keep_their_order() -> None:
    readings = read_lengths("LIVING 24.5 m² h=2.75 3.50 x 7.00 sill 90 cm")
    assert [a.value for a in readings.areas] == [24.5]
    assert [found.length.value for found in readings.labelled] == [2.75]
    assert [(p.first.value, p.second.value) for p in readings.pairs] == [(3.5, 7.0)]
    assert [(n.value, n.unit) for n in readings.lengths] == [(90, "cm")]


@given(st.integers(0, 200), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up(feet: int, inches: int, sixteenths: int) -> None:
    text = f"{feet}'-{inches} {sixteenths}/16\""
    (length,) = read_lengths(text).lengths
    assert length.metres() == pytest.approx((feet * 12 + inches + sixteenths / 16) * 25.4 / 1000)


@given(st.text(max_size=60))
def test_any_text_is_read_without_complaint(text: str) -> None:
    assert isinstance(read_lengths(text), Readings)
