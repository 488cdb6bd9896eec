"""Drawings made to harm cost one line of the index each, in words, and the sound one beside them nothing.

That the room of 4 x 4 m is found wherever a drawing is taken off is plain arithmetic on the figures drawn.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from takeoff.cli import main
from takeoff.drawing.bounds import Bounds
from takeoff.drawing.read import read_drawing
from takeoff.errors import BoundsError
from tests.bulk.drawings import one_room
from tests.bulk.hostile import HOSTILE, write_hostile
from tests.bulk.test_folder import table

LIE_OVER = "lie over one another"
WITHOUT = {
    "attributes in a heap": ("refused", LIE_OVER),
    "texts in a heap": ("refused", LIE_OVER),
    "inserts in a heap": ("refused", LIE_OVER),
    "bulges in a heap": ("refused", LIE_OVER),
    "doors in a heap": ("refused", LIE_OVER),
    "fan of lines": ("refused", LIE_OVER),
    "bulges without end": ("given up", "memory"),
}
"""What is stopped, and a word of the reason; every other drawing has its room found."""
ASKED = {
    "array of billions": "blocks-left-out",
    "blocks that multiply": "blocks-left-out",
    "blocks 2,000 deep": "blocks-left-out",
    "block in itself": "blocks-left-out",
    "no numbers": "wild-coordinates",
    "endless numbers": "wild-coordinates",
}


def run(folder: Path, *words: object) -> Result:
    given = ["folder", str(folder / "in"), "--out", str(folder / "out"), "--only", "json", *map(str, words)]
    return CliRunner().invoke(main, given)


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    folder = tmp_path_factory.mktemp("hostile")
    one_room(folder / "in" / "a sound one.dxf", 5.0)
    for name in HOSTILE:
        write_hostile(folder / "in" / f"{name}.dxf", name)
    one_room(folder / "in" / "z sound one.dxf", 6.0)
    return folder, run(folder, "--workers", 2, "--seconds", 240, "--megabytes", 1000)


def test_each_costs_one_result_and_never_another_drawings(runs: tuple[Path, Result]) -> None:
    folder, result = runs
    assert result.exit_code == 0, result.output
    index = folder / "out" / "index.xlsx"
    done = {str(row["Drawing"]): row["Floors (m2)"] for row in table(index, "Drawings")}
    sound = {name.replace(" ", "-") for name in HOSTILE if name not in WITHOUT}
    assert done.pop("a-sound-one") == pytest.approx(15.0) and done.pop("z-sound-one") == pytest.approx(18.0)
    assert done == {name: pytest.approx(16.0) for name in sound}


def test_what_is_stopped_is_told_in_words(runs: tuple[Path, Result]) -> None:
    rows = {str(row["Drawing"]): row for row in table(runs[0] / "out" / "index.xlsx", "Without a takeoff")}
    assert set(rows) == {name.replace(" ", "-") for name in WITHOUT}
    for name, (state, word) in WITHOUT.items():
        row = rows[name.replace(" ", "-")]
        assert row["State"] == state and word in str(row["Why"]), row
        assert "failed at this" not in str(row["Why"])  # no crash: its cause is known


def test_what_was_left_out_of_a_drawing_is_asked(runs: tuple[Path, Result]) -> None:
    asked = [(row["Drawing"], row["Kind"]) for row in table(runs[0] / "out" / "index.xlsx", "To settle")]
    for name, kind in ASKED.items():
        assert (name.replace(" ", "-"), kind) in asked


def test_limits_of_entities_and_copies_are_options(tmp_path: Path) -> None:
    """The file has 20 references of a line, 2 polylines, and one reference of an array of 10 x 10 lines."""
    one_room(tmp_path / "in" / "sound.dxf", 5.0)
    insert = "  0\nINSERT\n100\nAcDbEntity\n  8\n0\n100\nAcDbBlockReference\n  2\nbrick\n 10\n0\n 20\n0\n 30\n0\n"
    array = insert + " 70\n10\n 71\n10\n 44\n1\n 45\n1\n"
    path = write_hostile(tmp_path / "in" / "many.dxf", "a text of megabytes")
    path.write_text(path.read_text().replace("  2\nENTITIES\n", "  2\nENTITIES\n" + insert * 20 + array))
    held = 20 + 1 + 2 + 1 + 1  # references, polylines, the text, and the line in the block
    assert "2 of 2 drawings" in run(tmp_path, "--entities", held, "--copies", 120).output
    few = run(tmp_path, "--entities", held - 1)
    assert "1 of 2 drawings" in few.output
    assert f"many: given up: many.dxf holds {held} entities, more than the {held - 1} allowed" in few.output
    with pytest.raises(BoundsError):
        read_drawing(path, Bounds(entities=held - 1))
    left_out = {row.what: row.count for row in read_drawing(path, Bounds(copies=119)).left_out}
    assert left_out == {"brick": 100}
    assert not read_drawing(path, Bounds(copies=120)).left_out
