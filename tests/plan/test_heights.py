"""Ceiling heights from texts, attributes and layer names. Texts are invented after the habits of each country (common
practice); heights of the corpus are held against the building models' own and the truth files."""

from __future__ import annotations

from typing import Any

import pytest
from shapely.geometry import Polygon

from takeoff.plan._height_texts import height_in
from takeoff.plan.heights import HeightFinding, find_heights, layer_opening
from takeoff.plan.labels import assign, read_labels
from takeoff.plan.layers import layer_roles
from tests.plan.sheets import Draw, corpus, sheet, stack, write

ROOMS = [Polygon([(0, 0), (4, 0), (4, 4), (0, 4)]), Polygon([(5, 0), (9, 0), (9, 4), (5, 4)])]


def heights(draw: Draw, metres_per_unit: float = 1.0) -> HeightFinding:
    drawing = sheet(draw, metres_per_unit)
    roles = layer_roles(drawing)
    labels = read_labels(drawing, roles)
    return find_heights(drawing, roles, assign(ROOMS, labels), labels, ["R1", "R2"])


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("CH=2785", 2.785),
        ("CH 2400", 2.4),
        ("C.H.=2.40M", 2.4),
        ("Ceiling height 2.85", 2.85),
        ("2.40 CEILING HT", 2.4),
        ("CLG 2.30", 2.3),
        ("9'-0\" CLG HT", 2.7432),
        ("CLG. HT. 8'-6\"", 2.5908),  # the foot is 0.3048 m (international agreement, 1959)
        ("RH 2,50", 2.5),
        ("lichte Höhe 2,50 m", 2.5),
        ("LRH = 2,62", 2.62),
        ("HSP: 2.50", 2.5),
        ("hauteur sous plafond 2,50m", 2.5),
        ("Altura libre 2.60", 2.6),
        ("PD=2,80", 2.8),
        ("Pé-direito 2,80 m", 2.8),
        ("H.L. 2.60", 2.6),
        ("altezza utile 2,70", 2.7),
        ("wys. 2.60", 2.6),
        ("plafondhoogte 2600", 2.6),
        ("takhöjd 2.4 m", 2.4),
        ("净高2700", 2.7),
        ("天井高 2400", 2.4),
        ("ارتفاع السقف 3.20", 3.2),
    ],
)
def test_ceiling_heights_of_many_countries(text: str, metres: float) -> None:
    found = height_in(text)
    assert found is not None
    assert (found.kind, found.value_m) == ("ceiling", pytest.approx(metres, abs=1e-4))


@pytest.mark.parametrize(
    ("text", "kind", "metres"),
    [
        ("h=2.90", "bare", 2.9),
        ("H: 2.50", "bare", 2.5),
        ("H2.50", "bare", 2.5),
        ("H=250", "bare", 2.5),
        ("H=2580", "bare", 2.58),
        ("U/S BEAM 2.20", "beam", 2.2),
        ("UK UZ 2,20", "beam", 2.2),
        ("viga 2.30", "beam", 2.3),
        ("ارتفاع الكمر 5.40", "beam", 5.4),
        ("MH:2150", "door", 2.15),
        ("H2窗：2160", "window", 2.16),
        ("H1窗台：940", "sill", 0.94),
        ("BRH 90", "sill", 0.9),
        ("Hmin=1.20", "lowest", 1.2),
        ("Hmax 3.10", "highest", 3.1),
        ("handrail 1100", "other", 1.1),
        ("storey height 2.75", "other", 2.75),
    ],
)
def test_other_heights_are_told_apart(text: str, kind: str, metres: float) -> None:
    found = height_in(text)
    assert found is not None
    assert (found.kind, found.value_m) == (kind, pytest.approx(metres))


@pytest.mark.parametrize(
    "text",
    [
        "+2.70",
        "CEILING +5.050",
        "h=0.90",
        "H=2.5%",
        "D01",
        "900x2100",
        "12.5 m2",
        '5/8" TYPE X BOARD ON CEILING',
        "1:50",
        "HALL 2",
        "2668",
        "CH 1",
        "CH. 2",
        "Ch 3",
        "Bedroom 3",
        "BOARD ON CEILING AND WALL BETWEEN GARAGE AND HOUSE 12.5",
    ],
)
def test_what_states_no_ceiling_height(text: str) -> None:
    found = height_in(text)
    assert found is None or found.kind not in {"ceiling", "bare"}


def test_bare_figures_of_three_digits_follow_the_drawings_unit() -> None:
    in_mm, in_cm = height_in("H1地台：130", in_mm=True), height_in("H1地台：130")
    assert in_mm is not None and in_mm.value_m == pytest.approx(0.13)
    assert in_cm is not None and in_cm.value_m == pytest.approx(1.3)


def test_each_room_takes_its_own_height() -> None:
    def draw(space: Any) -> None:
        stack(space, ["KITCHEN", "CH=2.40"], 2, 2)
        stack(space, ["HALL", "CH=2.75"], 7, 2)

    found = heights(draw)
    assert [(r.height_m, r.height_from) for r in found.rooms] == [(2.4, "drawing"), (2.75, "drawing")]
    assert found.rooms[0].text == "CH=2.40"
    assert len(found.rooms[0].handles) == 1
    assert found.queries == ()


def test_a_room_without_a_height_is_left_to_the_default() -> None:
    found = heights(lambda space: stack(space, ["KITCHEN", "CH=2.40"], 2, 2))
    assert [(r.height_m, r.height_from) for r in found.rooms] == [(2.4, "drawing"), (None, "default")]


def test_a_general_note_holds_for_rooms_without_their_own() -> None:
    def draw(space: Any) -> None:
        stack(space, ["KITCHEN", "CH=2.70"], 2, 2)
        write(space, "ALL CEILINGS 2.40 m UNLESS NOTED", 20, -5)

    assert [r.height_m for r in heights(draw).rooms] == [2.7, 2.4]


def test_general_notes_that_disagree_say_nothing() -> None:
    def draw(space: Any) -> None:
        write(space, "CEILING HEIGHT 2.40", 20, -5)
        write(space, "CEILING HEIGHT 2.70", 20, -9)

    assert [r.height_m for r in heights(draw).rooms] == [None, None]


def test_a_bare_height_is_a_ceilings_only_where_no_words_are_used() -> None:
    assert heights(lambda space: write(space, "h=2.26", 2, 2)).rooms[0].height_m == 2.26

    def both(space: Any) -> None:
        write(space, "h=2.26", 2, 2)
        write(space, "CH=2.50", 7, 2)

    assert [r.height_m for r in heights(both).rooms] == [None, 2.5]


def test_a_height_with_a_width_is_a_beam() -> None:
    assert heights(lambda space: stack(space, ["H=2280", "W=235"], 2, 2)).rooms[0].height_m is None


def test_a_bare_height_on_a_door_layer_is_a_doors() -> None:
    assert heights(lambda space: write(space, "h=2.10", 2, 2, layer="A-DOOR")).rooms[0].height_m is None


@pytest.mark.parametrize("figure_at", [-1.2, 1.2])
def test_words_and_figure_in_separate_texts(figure_at: float) -> None:
    """Beside each other on one line, in either order, as where writing runs from the right."""

    def draw(space: Any) -> None:
        write(space, "ارتفاع السقف", 2, 2, 0.2)
        write(space, "5.80", 2 + figure_at, 2, 0.2)

    assert heights(draw).rooms[0].height_m == 5.8


def test_the_height_attribute_of_a_rooms_symbol() -> None:
    def draw(space: Any) -> None:
        block = space.doc.blocks.new("ROOMTAG")
        for n, tag in enumerate(["NAME", "AREA", "HEIGHT", "UNIT_HEIGHT"]):
            block.add_attdef(tag, (0, -0.4 * n), dxfattribs={"height": 0.2})
        space.add_blockref("ROOMTAG", (2, 3)).add_auto_attribs(
            {"NAME": "Study", "AREA": "15.00", "HEIGHT": "3", "UNIT_HEIGHT": "m"}
        )

    assert heights(draw).rooms[0].height_m == 3.0


def test_different_heights_in_one_room_are_asked_about() -> None:
    def draw(space: Any) -> None:
        for n, value in enumerate(["2.40", "2.70", "2.70"]):
            write(space, f"CH={value}", 0.8, 0.6 + n)

    found = heights(draw)
    assert found.rooms[0].height_m == 2.7
    (asked,) = found.queries
    assert (asked.kind, asked.about) == ("height-conflict", ("R1",))
    assert "2.40, 2.70 m" in asked.says
    assert "height = 2.7" in asked.answer


def test_one_height_rounded_differently_is_no_conflict() -> None:
    def draw(space: Any) -> None:
        write(space, "CH=2.58", 1, 1)
        write(space, "CH=2585", 1, 3)

    assert heights(draw).queries == ()


@pytest.mark.parametrize(
    ("lines", "low", "high"),
    [
        (["Sloping ceiling:", "1.50 at back wall", "rising to 2.50"], "1.5", "2.5"),
        (["Dachschräge"], "1.2", "2.4"),
        (["Hmin=1.10", "Hmax=2.90"], "1.1", "2.9"),
    ],
)
def test_a_sloping_ceiling_is_asked_about_with_the_answer_ready(lines: list[str], low: str, high: str) -> None:
    found = heights(lambda space: stack(space, lines, 2, 2))
    (asked,) = found.queries
    assert asked.kind == "ceiling-slopes"
    assert f"low_height = {low}\nhigh_height = {high}" in asked.answer


def test_a_slope_in_per_cent_is_a_floors_or_a_drains() -> None:
    assert heights(lambda space: write(space, "slope ceiling 2%", 2, 2)).queries == ()


@pytest.mark.parametrize(
    ("layer", "size"),
    [
        ("DRZWI_H200cm", (2.0, None)),
        ("OKNO_H140cm_Ho85cm", (1.4, 0.85)),
        ("WINDOW H=1200 SILL=900", (1.2, 0.9)),
        ("Fenster h 1,25 m", (1.25, None)),
        ("A-DOOR", (None, None)),
        ("WALL_H270cm", (None, None)),
        ("windows_high", (None, None)),
    ],
)
def test_sizes_in_layer_names_of_openings(layer: str, size: tuple[float | None, float | None]) -> None:
    assert layer_opening(layer) == (
        pytest.approx(size[0]) if size[0] else None,
        pytest.approx(size[1]) if size[1] else None,
    )


def test_heights_of_the_corpus() -> None:
    """Truth: heights of the building models' rooms where the drawing prints them (to 10 mm), and the files' own."""
    stated = right = 0
    for truth in corpus("*/*.dxf"):
        roles = layer_roles(truth.drawing)
        labels = read_labels(truth.drawing, roles)
        refs = [f"R{n}" for n in range(len(truth.polygons))]
        found = find_heights(truth.drawing, roles, assign(truth.polygons, labels), labels, refs)
        for entry, height in zip(truth.rooms, found.rooms, strict=True):
            true = entry.get("height_m") or entry.get("ceiling_height_mm", 0) / 1000
            if true:
                stated += 1
                right += height.height_m is not None and abs(height.height_m - true) < 0.011
    assert stated > 100
    assert right == stated
