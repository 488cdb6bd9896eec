"""Drawings on a sheet told apart. Sheets are invented; grouping is held against exact distances by shapely."""

from __future__ import annotations

from random import Random
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.plan._clusters import clusters_of
from takeoff.plan.layers import layer_roles
from takeoff.plan.storeys import Sheet, SheetRegion, alike_query, read_sheet, sheet_regions
from tests.plan.sheets import Draw, box, brute_components, corpus, house, sheet, write


def regions(draw: Draw) -> tuple[SheetRegion, ...]:
    drawing = sheet(draw)
    return sheet_regions(drawing, layer_roles(drawing))


def whole(draw: Draw) -> Sheet:
    drawing = sheet(draw)
    return read_sheet(drawing, layer_roles(drawing))


def test_five_storeys_side_by_side_are_five_plans_with_their_titles() -> None:
    titles = ["Kellergeschoss", "Grundriss EG", "1. Obergeschoss", "2. Obergeschoss", "Dachgeschoss"]

    def draw(space: Any) -> None:
        for n, title in enumerate(titles):
            house(space, 14.0 * n)
            write(space, title, 14.0 * n + 4.5, -1.5, 0.5)

    found = regions(draw)
    assert [r.kind for r in found] == ["plan"] * 5
    assert [r.title for r in found] == titles


@pytest.mark.parametrize(
    "title",
    [
        "Ground floor plan",
        "Grundriss EG",
        "Plan du rez-de-chaussée",
        "Planta baja",
        "Pavimento térreo",
        "Piano terra",
        "Rzut parteru",
        "Begane grond",
        "一层平面图",
        "1階平面図",
    ],
)
def test_titles_of_plans_in_many_languages(title: str) -> None:
    def draw(space: Any) -> None:
        house(space)
        write(space, title, 4.5, -1.5, 0.5)

    assert [(r.title, r.kind) for r in regions(draw)] == [(title, "plan")]


@pytest.mark.parametrize(
    ("title", "kind"),
    [
        ("Section A-A", "section"),
        ("Schnitt B-B", "section"),
        ("Coupe", "section"),
        ("North elevation", "elevation"),
        ("Südansicht", "elevation"),
        ("Fachada principal", "elevation"),
        ("Detail 3", "detail"),
        ("Site plan", "detail"),
    ],
)
def test_a_titled_drawing_beside_the_plan_is_no_plan(title: str, kind: str) -> None:
    def draw(space: Any) -> None:
        house(space)
        for level in range(4):
            box(space, 20, 2.7 * level, 9, 2.7)
        write(space, title, 24.5, -1.5, 0.5)

    assert [r.kind for r in regions(draw)] == ["plan", kind] or [r.kind for r in regions(draw)] == [kind, "plan"]


def test_an_untitled_section_is_known_by_its_levels() -> None:
    def draw(space: Any) -> None:
        house(space)
        for level in range(4):
            box(space, 20, 2.7 * level, 9, 2.7)
            write(space, f"+{2.7 * level:.2f}", 19.3, 2.7 * level, 0.2)

    assert sorted(r.kind for r in regions(draw)) == ["plan", "section"]


def test_a_mark_of_a_section_inside_a_plan_does_not_make_it_one() -> None:
    def draw(space: Any) -> None:
        house(space)
        write(space, "Section A-A", 2, 3)
        write(space, "Detail 4", 6, 3)

    assert [r.kind for r in regions(draw)] == ["plan"]


def test_what_cannot_be_told_is_a_plan() -> None:
    found = regions(lambda space: [box(space, n * 0.5, 0, 6, 4, "poly") for n in range(3)])
    assert [r.kind for r in found] == ["plan"]


def test_far_hatches_and_lost_lines_are_strays() -> None:
    def draw(space: Any) -> None:
        house(space)
        hatch = space.add_hatch()
        hatch.paths.add_polyline_path([(300, 300), (304, 300), (304, 303), (300, 303)], is_closed=True)
        space.add_line((-80, 0), (-79, 0))

    found = whole(draw)
    assert len(found.regions) == 1
    x0, y0, x1, y1 = found.regions[0].bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((9.0, 7.0))
    assert (found.region_of == -1).sum() == 5, "four sides of the hatch and the lost line"


def test_a_shed_belongs_to_the_plan_beside_it_and_trees_make_no_storeys() -> None:
    def draw(space: Any) -> None:
        house(space)
        for n in range(30):
            box(space, 0.2 * n, 1, 0.1, 5, "0")
        box(space, 13, 2, 2, 2)
        box(space, 13.1, 2.1, 1.8, 1.8)
        for n in range(12):
            for turn in range(3):
                box(space, -30 + 6 * n, -9, 1.1 + 0.1 * turn, 1.1, "0")

    found = whole(draw)
    assert len(found.regions) == 1
    assert (found.region_of == 0).all()


def test_a_storey_drawn_again_is_asked_about_once() -> None:
    def draw(space: Any, *places: float, partition: float = 0.0) -> None:
        for n, x in enumerate(places):
            house(space, x)
            for dy in (0.0, 0.1):
                space.add_line((x + 0.3, 3 + dy + partition * n), (x + 4, 3 + dy + partition * n))
            box(space, x + 1 + n, 5, 0.7 + 0.1 * n, 0.9, "A-FURN")

    def kinds(*places: float, partition: float = 0.0) -> list[tuple[str, tuple[str, ...]]]:
        drawing = sheet(lambda space: draw(space, *places, partition=partition))
        return [(q.kind, q.about) for q in alike_query(drawing, read_sheet(drawing, layer_roles(drawing)))]

    assert kinds(0) == []
    assert kinds(0, 20) == [("plans-alike", ("P1", "P2"))]
    assert kinds(0, 20, 40) == [("plans-alike", ("P1", "P2", "P3"))]


def test_storeys_with_other_partitions_are_not_alike() -> None:
    def draw(space: Any) -> None:
        for n in range(2):
            house(space, 20.0 * n)
            for m in range(8):
                space.add_line((20.0 * n + 4.2, 1 + 0.6 * m + 0.25 * n), (20.0 * n + 8.7, 1 + 0.6 * m + 0.25 * n))

    drawing = sheet(draw)
    assert alike_query(drawing, read_sheet(drawing, layer_roles(drawing))) == []


def test_a_double_page_frame_with_title_block_is_told_from_the_house_in_it() -> None:
    def draw(space: Any) -> None:
        house(space, 5, 5)
        for n in range(8):
            box(space, 6 + 0.4 * n, 6, 0.3, 0.3, "A-FURN")
        for margin in (0.0, 0.5):
            box(space, -6 + margin, -6 + margin, 42 - 2 * margin, 29.7 - 2 * margin, "0")
        for n in range(5):
            box(space, 25.5, -5.5 + n, 10, 1, "0")

    found = whole(draw)
    assert len(found.frames) == 2
    assert [r.kind for r in found.regions][:1] == ["plan"]
    drawn = {i for frame in found.frames for i in frame.segments}
    assert len(drawn) == 8
    assert all(found.region_of[i] == -1 for i in drawn)


@pytest.mark.parametrize("size", [(14.14, 10.0), (14.85, 10.5), (15.0, 10.0), (12.0, 9.0)])
def test_a_house_in_the_shape_of_paper_is_no_frame(size: tuple[float, float]) -> None:
    """Partitions and windows touch a wall on every side."""
    width, depth = size

    def draw(space: Any) -> None:
        house(space, 0, 0, width, depth)
        for n in range(3):
            for dy in (0.0, 0.1):
                space.add_line((4.1, 2 + 2 * n + dy), (width - 0.3, 2 + 2 * n + dy), dxfattribs={"layer": "0"})
        for n in range(4):
            box(space, 1 + 2 * n, 0, 1, 0.3, "0")
            box(space, 5 + n, 3, 0.4, 0.6, "0")

    assert whole(draw).frames == ()


@pytest.mark.parametrize("seed", range(12))
def test_one_building_is_never_cut_in_two(seed: int) -> None:
    """Rooms strung together in any direction, free furniture in them, courtyards: one region."""
    dice = Random(seed)

    def draw(space: Any) -> None:
        x = y = 0.0
        for _ in range(dice.randint(3, 12)):
            width, depth = dice.uniform(2, 9), dice.uniform(2, 9)
            box(space, x, y, width, depth)
            box(space, x + width / 2, y + depth / 2, 0.4, 0.4, "A-FURN")
            x, y = (x + width + 0.1, y) if dice.random() < 0.5 else (x, y + depth + 0.1)

    assert len(regions(draw)) == 1


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.integers(0, 10_000))
def test_groups_agree_with_exact_distances(seed: int) -> None:
    """Pieces within half a gap are together, groups more than one and a half gaps apart are not: the stated slack."""
    dice = np.random.default_rng(seed)
    start = dice.uniform(0, 30, (25, 2))
    ends = np.hstack([start, start + dice.normal(0, 2, (25, 2))])
    lines = list(shapely.linestrings(ends.reshape(-1, 2, 2)))
    found = clusters_of(ends, 2.0)
    for near in brute_components(lines, 1.0):
        assert len({int(found[i]) for i in near}) == 1
    for far in brute_components(lines, 3.0):
        outside = {int(found[i]) for i in range(25) if i not in far}
        assert not {int(found[i]) for i in far} & outside


def test_real_sheets_hold_one_plan_each_and_no_plan_is_lost() -> None:
    """Truth: every shared drawing is one plan; one has a building section beside it."""
    for truth in corpus("*/*.dxf"):
        found = sheet_regions(truth.drawing, layer_roles(truth.drawing))
        plans = [r for r in found if r.kind == "plan"]
        assert len(plans) == 1, truth.name
        for entry, polygon in zip(truth.rooms, truth.polygons, strict=True):
            if entry.get("score") is False:
                continue
            x0, y0, x1, y1 = plans[0].bounds
            at = polygon.representative_point()
            assert x0 - 1 <= at.x <= x1 + 1 and y0 - 1 <= at.y <= y1 + 1, (truth.name, entry["name"])
