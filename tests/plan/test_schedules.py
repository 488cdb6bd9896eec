"""Opening sizes from schedules, lists and tags. Drawings are invented; US codes and feet are held against the
definition of the foot (0.3048 m, international agreement of 1959) and the codes spelt out in the truth files."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from takeoff.plan.labels import read_labels
from takeoff.plan.layers import layer_roles
from takeoff.plan.schedules import OpeningLabel, mark_key, opening_labels, read_schedules, tag_size
from tests.plan.sheets import Draw, corpus, sheet, stack, write

FOOT, INCH = 0.3048, 0.0254
Sizes = tuple[float | None, float | None, float | None]


def sizes(text: str, metres_per_unit: float | None = None) -> Sizes | None:
    found = tag_size(text, metres_per_unit)
    return None if found is None else (found.width_m, found.height_m, found.sill_m)


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("900x2100", (0.9, 2.1, None)),
        ("900 x 2100 mm", (0.9, 2.1, None)),
        ("0.90/2.10", (0.9, 2.1, None)),
        ("90/210", (0.9, 2.1, None)),
        ("88,5/2,01", (0.885, 2.01, None)),  # below a metre in cm, from there in m: DIN 1356-1, from memory
        ("1,01/76", (1.01, 0.76, None)),
        ("88,5/201", (0.885, 2.01, None)),
        ("D 1.2x2.1", (1.2, 2.1, None)),  # texts like this: trade.md 6.10
        ("V 0.75x0.9", (0.75, 0.9, None)),  # the same
        ("F1 120/150 BRH 90", (1.2, 1.5, 0.9)),
        ("W1 1200x1500", (1.2, 1.5, None)),
        ("V-1 1.20x1.00/0.90", (1.2, 1.0, 0.9)),
        ("W 0.60 x 1.70 s 0.70", (0.6, 1.7, 0.7)),
        ("1,01/2,135", (1.01, 2.135, None)),
        ("M0921", (0.9, 2.1, None)),
        ("C1515", (1.5, 1.5, None)),
        ("MH:2190", (None, 2.19, None)),
        ("H2窗：2160", (None, 2.16, None)),
        ("H1窗台：940", (None, None, 0.94)),
        ("BRH 90", (None, None, 0.9)),
        ("3'-0\" x 6'-8\"", (3 * FOOT, 6 * FOOT + 8 * INCH, None)),
        ("2'6 x 6'8", (2.5 * FOOT, 6 * FOOT + 8 * INCH, None)),
        ("2668", (2.5 * FOOT, 6 * FOOT + 8 * INCH, None)),
        ("16070 O.H. DOOR", (16 * FOOT, 7 * FOOT, None)),
        ("5050 XO", (5 * FOOT, 5 * FOOT, None)),
    ],
)
def test_sizes_written_in_tags(text: str, size: Sizes) -> None:
    found = sizes(text)
    assert found is not None
    assert found == tuple(None if s is None else pytest.approx(s, abs=6e-5) for s in size)


@pytest.mark.parametrize(
    "text",
    ["D01", "W3", "1:100", "1/100", "2x4", "1660", "1010", "12.5 m2", "A-A", "3600", "HALL", "", "20x20", "9000x9000"],
)
def test_what_states_no_opening(text: str) -> None:
    assert tag_size(text) is None


@given(st.integers(1, 9), st.integers(0, 9), st.integers(2, 9), st.integers(0, 9))
def test_codes_in_a_drawing_in_inches(feet: int, inches: int, high_feet: int, high_inches: int) -> None:
    """Digits are feet and inches of width, feet and inches of height (truth file: 3068 = 3'0 x 6'8)."""
    found = tag_size(f"{feet}{inches}{high_feet}{high_inches}", INCH)
    height = high_feet * FOOT + high_inches * INCH
    assert found is not None
    assert (found.width_m, found.height_m) == (
        pytest.approx(feet * FOOT + inches * INCH, abs=6e-5),
        pytest.approx(height, abs=6e-5),
    )


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("2668", "door"),
        ("6068 S.G.D.", "door"),
        ("2050 SH", "window"),
        ("W1 1200x1500", "window"),
        ("D1 900x2100", "door"),
        ("C1515", "window"),
        ("900x2100", ""),
    ],
)
def test_what_kind_of_opening_a_tag_says(text: str, kind: str) -> None:
    found = tag_size(text)
    assert found is not None
    assert found.kind == kind


def test_marks_are_compared_without_dashes_and_noughts() -> None:
    assert mark_key("D-01") == mark_key("d1") == mark_key("D 001") == "D1"
    assert mark_key("W12a") == "W12A"


def table(space: Any, rows: list[list[str]], x: float = 0.0, y: float = 0.0, step: float = 4.0) -> None:
    for n, row in enumerate(rows):
        for m, text in enumerate(row):
            if text:
                write(space, text, x + step * m, y - 0.6 * n)


def scheduled(draw: Draw, metres_per_unit: float = 1.0) -> dict[str, Sizes]:
    return {m: (s.width_m, s.height_m, s.sill_m) for m, s in read_schedules(sheet(draw, metres_per_unit)).sizes.items()}


@pytest.mark.parametrize(
    "heading",
    [
        ["Mark", "Width", "Height", "Sill"],
        ["Door No.", "W", "H", "Cill"],
        ["Nr.", "Breite", "Höhe", "Brüstung"],
        ["Repère", "Largeur", "Hauteur", "Allège"],
        ["Clave", "Ancho", "Alto", "Alféizar"],
        ["Código", "Largura", "Altura", "Peitoril"],
        ["Sigla", "Larghezza", "Altezza", "Davanzale"],
        ["Ozn.", "Szerokość", "Wysokość", "Parapet"],
        ["Merk", "Breedte", "Hoogte", "Borstwering"],
        ["编号", "宽度", "高度", "窗台高"],
    ],
)
def test_schedules_of_many_languages(heading: list[str]) -> None:
    found = scheduled(
        lambda space: table(space, [heading, ["W01", "1200", "1500", "900"], ["W02", "600", "1050", "1050"]])
    )
    assert found == {"W1": (1.2, 1.5, 0.9), "W2": (0.6, 1.05, 1.05)}


@pytest.mark.parametrize(
    ("heading", "row", "size"),
    [
        (["No.", "Size (mm)", "Qty"], ["D01", "910 x 2100", "2"], (0.91, 2.1, None)),
        (["No.", "Width (m)", "Height (m)"], ["D01", "0,91", "2,10"], (0.91, 2.1, None)),
        (["Mark", "Width", "Height"], ["D01", "3'-0\"", "6'-8\""], (0.9144, 2.032, None)),
        (["Mark", "Size", "Type"], ["D01", "2668", "flush"], (0.762, 2.032, None)),
        (["Pos", "Rohbaumaß", "Anzahl"], ["T1", "101/213,5", "3"], (1.01, 2.135, None)),
        (["Mark", "Width", "Height"], ["D01", "90", "210"], (0.9, 2.1, None)),
    ],
)
def test_units_of_schedules(heading: list[str], row: list[str], size: Sizes) -> None:
    found = scheduled(lambda space: table(space, [heading, row, ["D77", *row[1:]]]))
    assert len(found) == 2
    assert found["D77"] == tuple(None if s is None else pytest.approx(s, abs=6e-5) for s in size)


def test_a_turned_schedule() -> None:
    rows = [["Mark", "D01", "D02"], ["Width", "910", "762"], ["Height", "2100", "2040"]]
    assert scheduled(lambda space: table(space, rows)) == {"D1": (0.91, 2.1, None), "D2": (0.762, 2.04, None)}


def test_headings_in_two_lines() -> None:
    rows = [
        ["No.", "Opening size", "", "Type"],
        ["", "Width", "Height", ""],
        ["D01", "910", "2100", "flush"],
        ["D02", "762", "2040", "glazed"],
    ]
    assert scheduled(lambda space: table(space, rows)) == {"D1": (0.91, 2.1, None), "D2": (0.762, 2.04, None)}


def test_a_column_of_places_is_not_taken_for_the_marks() -> None:
    rows = [
        ["No.", "Position", "Width", "Height", "Type"],
        ["D01", "Hall / kitchen", "838", "2040", "New"],
        ["D02", "Porch", "910", "2100", "Old"],
    ]
    assert scheduled(lambda space: table(space, rows)) == {"D1": (0.838, 2.04, None), "D2": (0.91, 2.1, None)}


def test_two_schedules_one_below_the_other() -> None:
    def draw(space: Any) -> None:
        table(space, [["No.", "Width", "Height"], ["D01", "910", "2100"]])
        table(space, [["No.", "Width", "Height", "Cill"], ["W01", "1200", "1050", "1050"]], y=-3)

    assert scheduled(draw) == {"D1": (0.91, 2.1, None), "W1": (1.2, 1.05, 1.05)}


def test_a_list_of_types() -> None:
    def draw(space: Any) -> None:
        for n, text in enumerate(["D1 - 900 x 2100 flush door", "D2: 0.80 x 2.10 glazed door"]):
            write(space, text, 0, -0.5 * n)
        write(space, "W1", 0, -1.0)
        write(space, "1200x1050 casement", 3, -1.0)

    assert scheduled(draw) == {"D1": (0.9, 2.1, None), "D2": (0.8, 2.1, None), "W1": (1.2, 1.05, None)}


def test_a_room_s_size_beside_a_door_s_tag_is_no_list() -> None:
    """KITCHEN 10'-0" x 10'-8" printed level with the tag of its door, as in a house whose drawing has no schedule."""

    def draw(space: Any) -> None:
        for n, (tag, size) in enumerate([("D1", "3.00 x 3.20"), ("D1", "3.60 x 4.10"), ("W2", "2.40 x 2.60")]):
            write(space, tag, 5.0 * n, -4.0 * n)
            write(space, size, 5.0 * n + 1.5, -4.0 * n)

    assert scheduled(draw) == {}


def test_a_mark_with_two_sizes_is_left_out() -> None:
    def draw(space: Any) -> None:
        table(
            space, [["No.", "Width", "Height"], ["D01", "910", "2100"], ["D02", "762", "2040"], ["D01", "610", "2040"]]
        )

    assert scheduled(draw) == {"D2": (0.762, 2.04, None)}


def test_each_size_names_the_texts_it_came_from() -> None:
    rows = [["No.", "Width", "Height"], ["D01", "910", "2100"]]
    found = read_schedules(sheet(lambda space: table(space, rows))).sizes
    assert found["D1"].text == "D01 910 2100"
    assert len(found["D1"].handles) == 3
    assert found["D1"].kind == "door"


def test_texts_of_a_plan_make_no_schedule() -> None:
    def draw(space: Any) -> None:
        for n, name in enumerate(["KITCHEN", "HALL", "BATH"]):
            stack(space, [name, f"{101 + n}", "12.5 m2"], 6.0 * n, 0)
        for n in range(4):
            write(space, "3600", 3.0 * n, -9)

    assert scheduled(draw) == {}


def near_openings(draw: Draw, metres_per_unit: float = 1.0) -> list[OpeningLabel]:
    drawing = sheet(draw, metres_per_unit)
    return list(opening_labels(drawing, read_labels(drawing, layer_roles(drawing))))


def test_mark_and_size_of_a_tag_go_together() -> None:
    (found,) = near_openings(lambda space: stack(space, ["W03", "1200x1050", "BRH 90"], 5, 5))
    assert found.mark == "W03"
    assert found.size is not None
    assert (found.size.width_m, found.size.height_m, found.size.sill_m, found.size.kind) == (1.2, 1.05, 0.9, "window")
    assert len(found.handles) == 3


def test_height_and_cill_in_two_lines_in_millimetres() -> None:
    (found,) = near_openings(lambda space: stack(space, ["H2窗：760", "H1窗台：130"], 5000, 5000, 100), 0.001)
    assert found.size is not None
    assert (found.size.height_m, found.size.sill_m) == (pytest.approx(0.76), pytest.approx(0.13))


@pytest.mark.parametrize(
    ("lines", "size"), [(["90", "210"], (0.9, 2.1)), (["88,5", "2,01"], (0.885, 2.01)), (["76", "2.01"], (0.76, 2.01))]
)
def test_width_over_height(lines: list[str], size: tuple[float, float]) -> None:
    (found,) = near_openings(lambda space: stack(space, lines, 5, 5))
    assert found.size is not None
    assert (found.size.width_m, found.size.height_m) == size


@pytest.mark.parametrize(
    "lines",
    [["KITCHEN", "900x2100"], ["90", "1,25"], ["HALL", "12.5 m2"], ["2.18", "2"], ["NOTES", "one", "two", "D1"]],
)
def test_room_labels_and_callouts_are_no_openings(lines: list[str]) -> None:
    assert [o.size for o in near_openings(lambda space: stack(space, lines, 5, 5)) if o.size] == []


def test_codes_of_the_corpus() -> None:
    """Truth: doors and windows listed by their printed codes in the truth file of the house in inches."""
    for truth in corpus("drawn/us-house*.dxf"):
        labels = read_labels(truth.drawing, layer_roles(truth.drawing))
        found = [o.size.text for o in opening_labels(truth.drawing, labels) if o.size]
        for code, count in {
            "3068": 2,
            "2668": 9,
            "2468": 2,
            "6068 S.G.D.": 2,
            "16070 O.H. DOOR": 1,
            "5050 XO": 2,
            "2050 SH": 2,
        }.items():
            assert sum(text == code for text in found) == count, code


def test_heads_and_cills_of_the_corpus() -> None:
    """Truth: window cills and heights and door heights surveyed in the bare flat."""
    for truth in corpus("drawn/cn-survey*.dxf"):
        labels = read_labels(truth.drawing, layer_roles(truth.drawing))
        found = [o.size for o in opening_labels(truth.drawing, labels) if o.size]
        windows = sorted((s.sill_m or 0, s.height_m or 0) for s in found if s.sill_m)
        assert windows == [
            pytest.approx(w) for w in [(0.13, 2.16), (0.94, 1.335), (0.94, 1.335), (0.94, 1.525), (1.92, 0.76)]
        ]
        assert sorted(s.height_m or 0 for s in found if s.kind == "door") == [pytest.approx(2.15), pytest.approx(2.19)]
