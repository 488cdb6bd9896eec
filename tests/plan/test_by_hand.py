"""Walls and openings that the job file draws, seen from the command line.

The drawing is made here, and so are the areas: a house of 7.1 x 3.0 m inside, outer walls of 200 mm, in mm.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from click.testing import CliRunner

from takeoff.cli import main

OUTER, INNER = (0, 0, 7500, 3400), (200, 200, 7300, 3200)
ACROSS = "[[wall]]\nline = [[4.25, 0.2], [4.25, 3.2]]\nthickness = 0.1\n"


def measured(
    folder: Path, job: str, *lines: Sequence[tuple[float, float]], origin: tuple[float, float] = (0, 0)
) -> Any:
    """The house, with more wall lines, as JSON under `job`, or the last line of the output where it was refused."""
    drawing = ezdxf.new("R2010", units=4)
    space = drawing.modelspace()
    boxes = [[(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)] for x0, y0, x1, y1 in (OUTER, INNER)]
    for line in [*boxes, *lines]:
        moved = [(x + origin[0], y + origin[1]) for x, y in line]
        space.add_lwpolyline(moved, dxfattribs={"layer": "WALLS"})
    space.add_text("STUDIO", height=150).set_placement((1500 + origin[0], 1500 + origin[1]))
    drawing.saveas(folder / "house.dxf")
    (folder / "job.toml").write_text('[drawing]\nunit = "mm"\n' + job, encoding="utf-8")
    words = ["measure", str(folder / "house.dxf"), "--job", str(folder / "job.toml"), "--json", str(folder / "t.json")]
    result = CliRunner().invoke(main, words)
    assert "Traceback" not in result.output and not isinstance(result.exception, ZeroDivisionError)
    if result.exit_code:
        return result.output.strip().splitlines()[-1]
    return json.loads((folder / "t.json").read_text(encoding="utf-8"))


def areas(takeoff: Any) -> list[float]:
    return sorted(round(room["floor_area_m2"], 3) for room in takeoff["rooms"])


@pytest.mark.parametrize("short", [0.0, 0.2, -0.1, -0.2])
def test_a_missing_wall_parts_a_room_wherever_its_line_ends_near_the_walls(tmp_path: Path, short: float) -> None:
    assert areas(measured(tmp_path, "")) == [21.3]
    wall = f"[[wall]]\nline = [[4.25, {0.2 + short}], [4.25, {3.2 - short}]]\nthickness = 0.1\n"
    takeoff = measured(tmp_path, wall)
    assert areas(takeoff) == [9.0, 12.0]
    sides = [s for r in takeoff["rooms"] for s in r["sides"] if "wall 1" in s["handles"]]
    assert [(round(s["length_m"], 3), s["support"], round(s["thickness_m"], 3)) for s in sides] == [
        (3.0, "drawn", 0.1)
    ] * 2
    assert takeoff["layers"]["walls of the job file"] == "walls"


def test_a_drawing_far_from_zero(tmp_path: Path) -> None:
    wall = "[[wall]]\nline = [[504.25, 900.2], [504.25, 903.2]]\nthickness = 0.1\n"
    assert areas(measured(tmp_path, wall, origin=(500_000, 900_000))) == [9.0, 12.0]


def test_a_skew_wall(tmp_path: Path) -> None:
    """Along (3.25, 0.2)-(5.25, 3.2) the wall takes its thickness over the sine of its slope off each cross-section."""
    wall = "[[wall]]\nline = [[3.25, 0.2], [5.25, 3.2]]\nthickness = 0.12\n"
    wide = 0.12 * (2**2 + 3**2) ** 0.5 / 3
    total = sum(areas(measured(tmp_path, wall)))
    assert total == pytest.approx(21.3 - wide * 3.0, abs=0.002)


def test_two_walls_make_a_closet(tmp_path: Path) -> None:
    walls = (
        "[[wall]]\nline = [[6.25, 0.2], [6.25, 1.75]]\nthickness = 0.1\n"
        "[[wall]]\nline = [[6.25, 1.75], [7.3, 1.75]]\nthickness = 0.1\n"
    )
    door = '[[opening]]\nat = [6.25, 0.9]\nkind = "door"\nwidth = 0.7\n'
    takeoff = measured(tmp_path, walls + door)
    assert areas(takeoff) == [1.5, pytest.approx(21.3 - 1.1 * 1.6, abs=0.002)]
    (opening,) = takeoff["openings"]
    assert len(opening["rooms"]) == 2 and opening["wall_thickness_m"] == pytest.approx(0.1)


def test_a_wall_that_stands_free_is_walled_all_round(tmp_path: Path) -> None:
    takeoff = measured(tmp_path, "[[wall]]\nline = [[3.0, 1.7], [4.0, 1.7]]\nthickness = 0.2\n")
    assert areas(takeoff) == [pytest.approx(21.3 - 0.2, abs=0.001)]
    (room,) = takeoff["rooms"]
    assert room["perimeter_m"] == pytest.approx(2 * (7.1 + 3.0) + 2 * (1.0 + 0.2))


def test_a_marked_opening_is_taken_off_both_faces_of_its_wall(tmp_path: Path) -> None:
    door = '[[opening]]\nat = [4.4, 1.5]\nkind = "door"\nwidth = 0.9\nheight = 2.05\n'
    window = '[[opening]]\nat = [1.5, 0.1]\nkind = "window"\nwidth = 1.2\nheight = 1.3\nsill = 0.8\n'
    before = measured(tmp_path, ACROSS)
    after = measured(tmp_path, ACROSS + door + window)
    found = {o["ref"]: o for o in after["openings"]}
    assert set(found) == {"D1", "W1"}
    assert len(found["D1"]["rooms"]) == 2 and len(found["W1"]["rooms"]) == 1
    assert found["D1"]["at"] == pytest.approx([4.25, 1.5]) and found["D1"]["wall_thickness_m"] == pytest.approx(0.1)
    assert found["W1"]["at"] == pytest.approx([1.5, 0.1]) and found["W1"]["sill_m"] == 0.8
    assert {o["size_from"] for o in found.values()} == {"job"} and found["D1"]["handles"] == ["opening 1"]
    less = sum(r["wall_net_m2"] for r in before["rooms"]) - sum(r["wall_net_m2"] for r in after["rooms"])
    assert less == pytest.approx(2 * 0.9 * 2.05 + 1.2 * 1.3)


def test_marked_openings_come_after_those_that_the_drawing_shows(tmp_path: Path) -> None:
    door = [[(4200, 2000), (4300, 2000)], [(4200, 2800), (4300, 2800)]]
    walls = [
        [(4200, 200), (4200, 2000)],
        [(4300, 200), (4300, 2000)],
        [(4200, 2800), (4200, 3200)],
        [(4300, 2800), (4300, 3200)],
    ]
    shown = measured(tmp_path, "", *door, *walls)
    assert [o["ref"] for o in shown["openings"]] == ["O1"]
    job = '[[opening]]\nat = [0.1, 3.0]\nkind = "opening"\nwidth = 0.3\nheight = 0.3\nsill = 2.0\n'
    job += "[openings.O2]\nlining = true\n"
    marked = {o["ref"]: o for o in measured(tmp_path, job, *door, *walls)["openings"]}
    assert marked["O1"]["at"] == shown["openings"][0]["at"] and marked["O2"]["height_m"] == 0.3


def test_a_bare_gap_is_closed_by_saying_that_it_is_an_opening(tmp_path: Path) -> None:
    """A gap of 2.2 m in a partition is too wide to be a doorway by itself."""
    nibs = [
        [(4200, 200), (4200, 600), (4300, 600), (4300, 200)],
        [(4200, 3200), (4200, 2800), (4300, 2800), (4300, 3200)],
    ]
    assert areas(measured(tmp_path, "", *nibs)) == [pytest.approx(21.3 - 0.08)]
    job = '[[opening]]\nat = [4.25, 1.8]\nkind = "opening"\nwidth = 2.2\nheight = 2.1\n'
    takeoff = measured(tmp_path, job, *nibs)
    assert areas(takeoff) == [9.0, 12.0]
    (opening,) = takeoff["openings"]
    assert opening["width_m"] == 2.2 and len(opening["rooms"]) == 2


def test_a_cavity_wall_is_as_thick_as_all_its_leaves(tmp_path: Path) -> None:
    leaves = [
        [(-150, -150), (7650, -150), (7650, 3550), (-150, 3550), (-150, -150)],
        [(-50, -50), (7550, -50), (7550, 3450), (-50, 3450), (-50, -50)],
    ]
    job = '[[opening]]\nat = [3.0, 3.21]\nkind = "window"\nwidth = 1.2\nheight = 1.2\n'
    (window,) = measured(tmp_path, job, *leaves)["openings"]
    assert window["wall_thickness_m"] == pytest.approx(0.35)


def test_a_rooflight_goes_into_the_ceiling(tmp_path: Path) -> None:
    before = measured(tmp_path, "")
    after = measured(tmp_path, '[[opening]]\nat = [3.0, 1.7]\nkind = "rooflight"\nwidth = 0.8\nheight = 1.2\n')
    assert [o["ref"] for o in after["openings"]] == ["L1"]
    assert before["rooms"][0]["ceiling_m2"] - after["rooms"][0]["ceiling_m2"] == pytest.approx(0.96)


REFUSED = {
    "a wall without length": (
        "[[wall]]\nline = [[4.2, 1], [4.2, 1]]\nthickness = 0.1\n",
        "one place",
        "wall[1].line",
        4,
    ),
    "a wall without thickness": ("[[wall]]\nline = [[4.2, 1], [4.2, 2]]\n", "is missing", "wall[1].thickness", 3),
    "a wall outside": ("[[wall]]\nline = [[14, 1], [14, 2]]\nthickness = 0.1\n", "bounds no room", "wall[1].line", 4),
    "no wall near": (
        '[[opening]]\nat = [4, 1.7]\nkind = "door"\nwidth = 0.8\n',
        "no wall within 0.5 m",
        "opening[1].at",
        4,
    ),
    "a wall too short": ('[[opening]]\nat = [7.3, 1.5]\nkind = "door"\nwidth = 3.6\n', "is 3.", "opening[1].width", 6),
    "twice": (
        2 * '[[opening]]\nat = [4.2, 0.1]\nkind = "door"\nwidth = 0.8\n',
        "an opening already",
        "opening[2].at",
        8,
    ),
    "a rooflight outside": (
        '[[opening]]\nat = [14, 1.5]\nkind = "rooflight"\nwidth = 0.6\nheight = 1\n',
        "no room lies below",
        "opening[1].at",
        4,
    ),
    "a rooflight of one side": (
        '[[opening]]\nat = [4, 1.5]\nkind = "rooflight"\nwidth = 0.6\n',
        "is missing",
        "opening[1].height",
        3,
    ),
    "a key that is none": (
        '[[opening]]\nat = [4, 0.1]\nkind = "door"\nwide = 0.6\n',
        "no such key",
        "opening[1].wide",
        6,
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_is_refused_with_file_line_and_key(tmp_path: Path, case: str) -> None:
    job, says, key, line = REFUSED[case]
    refusal = measured(tmp_path, job)
    assert isinstance(refusal, str), "it went through"
    assert says in refusal and key in refusal and f"job.toml, line {line}:" in refusal
