"""What the job file says of a drawing as a whole, seen from the command line.

The drawing is made here: rooms of 4.0 x 3.0 and 3.0 x 3.0 m, and lines on a second layer that part the first in
two. So the areas are known without any takeoff.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from click.testing import CliRunner

from takeoff.cli import main
from takeoff.documents.starter import starter_text
from takeoff.drawing.told import IGNORED
from takeoff.job import read_job
from takeoff.pipeline import take_off


def drawn(path: Path, scale: float = 1.0) -> Path:
    """Two rooms in mm times `scale`; a partition through the first on layer WALLS SCHEME, another in a block on it."""
    drawing = ezdxf.new("R2010")
    space = drawing.modelspace()

    def box(target: Any, x0: float, y0: float, x1: float, y1: float, layer: str) -> None:
        corners = [(x * scale, y * scale) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        target.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})

    for corners in ((0, 0, 7500, 3400), (200, 200, 4200, 3200), (4300, 200, 7300, 3200)):
        box(space, *corners, "WALLS")
    box(space, 2150, 200, 2250, 3200, "WALLS SCHEME")
    block = drawing.blocks.new("LATER")
    box(block, 5750, 200, 5850, 3200, "WALLS")
    space.add_blockref("LATER", (0, 0), dxfattribs={"layer": "WALLS SCHEME"})
    drawing.saveas(path)
    return path


def measured(folder: Path, job: str, scale: float = 1.0) -> Any:
    """The takeoff as JSON of the drawing under `job`, or the last line of the output where it was refused."""
    drawn(folder / "house.dxf", scale)
    (folder / "job.toml").write_text(f'[drawing]\nfile = "house.dxf"\n{job}', encoding="utf-8")
    words = ["measure", str(folder / "house.dxf"), "--job", str(folder / "job.toml"), "--json", str(folder / "t.json")]
    result = CliRunner().invoke(main, words)
    assert "Traceback" not in result.output
    if result.exit_code:
        return result.output.strip().splitlines()[-1]
    return json.loads((folder / "t.json").read_text(encoding="utf-8"))


def areas(takeoff: Any) -> list[float]:
    return sorted(round(room["floor_area_m2"], 2) for room in takeoff["rooms"])


def test_an_ignored_layer_takes_no_part_nor_do_blocks_on_it(tmp_path: Path) -> None:
    whole = measured(tmp_path, 'unit = "mm"\n')
    assert areas(whole) == [4.35, 4.35, 5.85, 5.85]
    less = measured(tmp_path, 'unit = "mm"\nignore_layers = ["walls scheme"]\n')
    assert areas(less) == [9.0, 12.0]
    assert {"reason": IGNORED, "what": "WALLS SCHEME", "count": 2} in less["drawing"]["left_out"]
    assert less["layers"]["WALLS SCHEME"] == f"ignored: {IGNORED}"
    assert less["layers"]["WALLS"] == "walls"


def test_a_layer_that_is_not_there_is_refused_with_its_line(tmp_path: Path) -> None:
    says = measured(tmp_path, 'ignore_layers = ["WALLS SCHEMES"]\n')
    assert (
        "job.toml, line 3: drawing.ignore_layers" in says
        and "no layer WALLS SCHEMES" in says
        and "WALLS SCHEME" in says
    )


@pytest.mark.parametrize(
    ("scale", "unit"), [(1.0, "mm"), (0.1, "cm"), (0.001, "m"), (1 / 25.4, "in"), (1 / 304.8, "ft")]
)
def test_a_known_length_settles_the_unit(tmp_path: Path, scale: float, unit: str) -> None:
    ends = f"from = [{200 * scale}, {200 * scale}], to = [{4200 * scale}, {200 * scale}]"
    takeoff = measured(
        tmp_path, f'ignore_layers = ["WALLS SCHEME"]\nknown_length = {{ {ends}, length = 4.01 }}\n', scale
    )
    assert takeoff["drawing"]["unit"] == unit and areas(takeoff) == [9.0, 12.0]
    spoke = takeoff["drawing"]["unit_evidence"][0]
    assert spoke["witness"] == "known length" and "0.2% off" in spoke["says"]
    assert not [q for q in takeoff["queries"] if q["concerns"] == "unit"]


def test_a_drawing_with_a_scale_of_its_own(tmp_path: Path) -> None:
    """A plan printed at 1:50 and traced in paper millimetres: 4 m are 80 units."""
    known = "known_length = { from = [4, 4], to = [84, 4], length = 4.0 }"
    takeoff = measured(tmp_path, f'ignore_layers = ["WALLS SCHEME"]\n{known}\n', 0.02)
    assert areas(takeoff) == [9.0, 12.0]
    assert takeoff["drawing"]["unit"] == "own scale"
    assert takeoff["drawing"]["metres_per_unit"] == pytest.approx(0.05)
    assert "rather for" in takeoff["drawing"]["unit_evidence"][0]["says"]


REFUSED = {
    "no length": ("known_length = { from = [4, 4], to = [4, 4], length = 4.0 }", "two points apart"),
    "at odds with the unit": (
        'unit = "cm"\nknown_length = { from = [0, 0], to = [4000, 0], length = 4 }',
        "one of the two without the other",
    ),
    "a key that is none": (
        "known_length = { from = [0, 0], to = [4, 0], lenght = 4 }",
        "known_length.lenght: no such key; right would be: one of: from, length, to",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_known_length_that_cannot_be_is_refused_with_its_line(tmp_path: Path, case: str) -> None:
    job, says = REFUSED[case]
    refusal = measured(tmp_path, job)
    assert "job.toml, line " in refusal and "known_length" in refusal
    assert says in refusal


def test_the_starter_job_file_keeps_what_was_told(tmp_path: Path) -> None:
    job = 'ignore_layers = ["WALLS SCHEME"]\nknown_length = { from = [4, 4], to = [84, 4], length = 4.0 }\n'
    before = measured(tmp_path, job, 0.02)
    takeoff = take_off(tmp_path / "house.dxf", read_job(tmp_path / "job.toml"))
    (tmp_path / "job.toml").write_text(starter_text(takeoff, "house.dxf"), encoding="utf-8")
    again = take_off(tmp_path / "house.dxf", read_job(tmp_path / "job.toml"))
    assert sorted(round(r.floor_area_m2, 2) for r in again.plan.rooms) == areas(before)
