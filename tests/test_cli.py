"""The commands as a person uses them: what they print, what they write, and one clear sentence when it cannot go on."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from click.testing import CliRunner, Result

from takeoff.cli import main

SAMPLES = Path(__file__).resolve().parents[1] / "samples"

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "samples" / "new_house.dxf"
BROKEN = ROOT.parent / "shared" / "corpus" / "broken"


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def two_rooms(path: Path) -> Path:
    """Two rooms of 4.0 x 3.0 and 3.0 x 3.0 m inside, walls of 100 and 200 mm, a door between, drawn in mm."""
    drawing = ezdxf.new("R2010", units=4)
    space = drawing.modelspace()
    for x0, y0, x1, y1 in ((0, 0, 7500, 3400), (200, 200, 4200, 3200), (4300, 200, 7300, 3200)):
        space.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": "WALLS"})
    drawing.saveas(path)
    return path


def refused(result: Result, *words: str) -> None:
    """The command failed with one clear sentence that holds `words`, and no trace."""
    assert result.exit_code != 0
    assert "Traceback" not in result.output
    message = result.output.strip().splitlines()[-1]
    assert message.startswith("Error: "), result.output
    for word in words:
        assert word in message


def test_measure_writes_the_folder_and_prints_what_it_found(tmp_path: Path) -> None:
    result = run("measure", SAMPLE, "--out", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert "KITCHEN" in result.output and "To buy:" in result.output
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"takeoff.xlsx", "marked-plan.pdf", "quantities.csv", "takeoff.json"} <= names


def test_what_the_reader_remarks_about_a_file_is_not_printed(tmp_path: Path) -> None:
    """ezdxf logs a warning for each handle that two entities share; in a process of its own nothing else catches it."""
    drawing = two_rooms(tmp_path / "r.dxf")
    text = drawing.read_text(encoding="utf-8")
    first, *others = re.findall(r"LWPOLYLINE\n  5\n(\w+)\n", text)
    for other in others:
        text = text.replace(f"LWPOLYLINE\n  5\n{other}\n", f"LWPOLYLINE\n  5\n{first}\n")
    drawing.write_text(text, encoding="utf-8")
    words = [sys.executable, "-m", "takeoff", "check", str(drawing), "--picture", str(tmp_path / "plan.svg")]
    told = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
    assert told.returncode == 0, told.stderr
    assert first not in told.stdout + told.stderr


def test_the_same_drawing_gives_the_same_bytes(tmp_path: Path) -> None:
    drawing = two_rooms(tmp_path / "r.dxf")
    for folder in ("one", "two"):
        assert run("measure", drawing, "--out", tmp_path / folder).exit_code == 0
    for path in (tmp_path / "one").iterdir():
        assert path.read_bytes() == (tmp_path / "two" / path.name).read_bytes(), path.name


def test_json_alone_writes_one_file(tmp_path: Path) -> None:
    result = run("measure", two_rooms(tmp_path / "r.dxf"), "--json", tmp_path / "r.json")
    assert result.exit_code == 0, result.output
    areas = sorted(room["floor_area_m2"] for room in json.loads((tmp_path / "r.json").read_text())["rooms"])
    assert areas == pytest.approx([9.0, 12.0])
    assert {p.name for p in tmp_path.iterdir()} == {"r.dxf", "r.json"}


def test_check_draws_the_plan(tmp_path: Path) -> None:
    for ending in (".pdf", ".svg"):
        result = run("check", two_rooms(tmp_path / "r.dxf"), "--picture", tmp_path / f"p{ending}")
        assert result.exit_code == 0, result.output
        assert "Unit: mm" in result.output and "Layers:" in result.output
        assert (tmp_path / f"p{ending}").stat().st_size > 1000
    refused(run("check", tmp_path / "r.dxf", "--picture", tmp_path / "p.bmp"), ".svg", ".pdf")


def test_check_asks_what_measure_will_ask_under_the_same_numbers(tmp_path: Path) -> None:
    """Heights and backgrounds too: "nothing is asked" of a drawing must not turn into questions once it is measured."""
    drawing = two_rooms(tmp_path / "r.dxf")
    checked = run("check", drawing, "--picture", tmp_path / "p.svg").output
    measured = run("measure", drawing, "--out", tmp_path / "out").output
    asked = re.findall(r"^  (Q\d+ .*)$", measured, re.MULTILINE)
    assert any("measured at 2.40 m" in line for line in asked)
    assert re.findall(r"^  (Q\d+ .*)$", checked, re.MULTILINE) == asked


def test_start_then_measure_with_the_job_file(tmp_path: Path) -> None:
    drawing = two_rooms(tmp_path / "r.dxf")
    assert run("start", drawing).exit_code == 0
    assert run("measure", "--job", tmp_path / "r.toml", "--json", tmp_path / "a.json").exit_code == 0
    assert run("measure", drawing, "--json", tmp_path / "b.json").exit_code == 0
    first, second = (json.loads((tmp_path / name).read_text()) for name in ("a.json", "b.json"))
    assert first["quantities"] == second["quantities"]
    refused(run("start", drawing), "r.toml")


def test_quote_writes_the_priced_documents(tmp_path: Path) -> None:
    result = run("quote", two_rooms(tmp_path / "r.dxf"), "--out", tmp_path / "q")
    assert result.exit_code == 0, result.output
    assert "Not a price yet" in result.output and "labour_rate" in result.output
    names = {path.name for path in (tmp_path / "q").iterdir()}
    assert {"quotation.pdf", "quotation.docx", "site-schedule.pdf", "buying-list.pdf"} <= names


def test_vary_record_and_learn(tmp_path: Path) -> None:
    two_rooms(tmp_path / "r.dxf")
    before, after, history = tmp_path / "before.toml", tmp_path / "after.toml", tmp_path / "h.sqlite"
    before.write_text('[job]\nname = "Two rooms"\nexisting = true\n[drawing]\nfile = "r.dxf"\n')
    found = '[[findings]]\nroom = "R1"\nkind = "crack"\nplace = "walls"\namount = 4\n'
    after.write_text(before.read_text() + found)
    result = run("vary", "--before", before, "--after", after, "--out", tmp_path)
    assert result.exit_code == 0, result.output
    assert (tmp_path / "after-variation.pdf").exists() and (tmp_path / "after-variation.docx").exists()
    refused(run("learn", "--history", history), "takeoff record")
    noted = ("record", "--job", after, "--room", "R1", "--day", "2026-03-02", "--history", history)
    assert run(*noted, "--hours", "finish-wall=9.5", "--packs", "finish=5").exit_code == 0
    learnt = run("learn", "--history", history)
    assert "finish-wall: only 1 of 5 rooms" in learnt.output
    refused(run(*noted, "--hours", "finish-wall"), "NAME=NUMBER")


def no_walls(path: Path) -> Path:
    drawing = ezdxf.new()
    drawing.modelspace().add_text("nothing but words")
    drawing.saveas(path)
    return path


def no_closed_room(path: Path) -> Path:
    drawing = ezdxf.new(units=6)
    for y in (0.0, 0.2, 4.0):
        drawing.modelspace().add_line((0, y), (9, y), dxfattribs={"layer": "WALLS"})
    drawing.saveas(path)
    return path


def written(content: bytes) -> Callable[[Path], Path]:
    def make(path: Path) -> Path:
        path.write_bytes(content)
        return path

    return make


BAD: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda path: path, "bad.dxf"),
    "empty": (written(b""), "empty"),
    "words": (written(b"Dear customer,\nplease find attached\n" * 20), "DXF"),
    "a DWG renamed": (written(b"AC1027" + bytes(range(256)) * 40), "DWG"),
    "a PDF renamed": (written(b"%PDF-1.7\n1 0 obj\n<< >>\nendobj\n" * 20), "PDF"),
    "no walls": (no_walls, "wall"),
    "no closed room": (no_closed_room, "room"),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_drawings_are_refused_in_one_sentence_and_nothing_is_written(name: str, tmp_path: Path) -> None:
    make, says = BAD[name]
    drawing = make(tmp_path / "bad.dxf")
    for command in ("measure", "quote"):
        refused(run(command, drawing, "--out", tmp_path / "out"), says)
    assert not (tmp_path / "out").exists()


def test_open_walls_still_give_the_machine_a_whole_file_with_the_question(tmp_path: Path) -> None:
    refused(run("measure", no_closed_room(tmp_path / "r.dxf"), "--json", tmp_path / "j.json"), "No closed room")
    document = json.loads((tmp_path / "j.json").read_text())
    assert document["rooms"] == []
    assert [q["kind"] for q in document["queries"] if q["concerns"] == "plan"] == ["no-closed-room"]


@pytest.mark.skipif(not BROKEN.is_dir(), reason="the shared drawings are not beside this checkout")
def test_invalid_group_codes_are_mended_or_refused(tmp_path: Path) -> None:
    drawings = sorted(BROKEN.glob("*.dxf"))
    assert drawings
    for drawing in drawings:
        result = run("measure", drawing, "--json", tmp_path / "j.json")
        if result.exit_code == 0:
            queries = json.loads((tmp_path / "j.json").read_text())["queries"]
            assert any("damage" in q["says"] or "lost" in q["says"] for q in queries), result.output
        else:
            refused(result)


JOBS = {
    'rooms = "R1"\n': ("line 1", "rooms"),
    '[heights]\ndefault = "tall"\n': ("line 2", "heights.default"),
    "[rooms.R1]\nhight = 2.4\n": ("line 2", "hight", "height"),
    "[rooms.R9]\nheight = 2.4\n": ("line 1", "R9"),
    "[openings.D9]\nwidth = 0.9\n": ("line 1", "D9"),
    '[surfaces."R9-W1"]\nbuild_up = "x"\n': ("line", "R9-W1"),
    '[rooms.R1]\nwall_build_up = "gold leaf"\n': ("line 2", "gold leaf"),
    '[measure]\nrule = "my own"\n': ("line 2", "my own"),
    '[[accept]]\nkind = "unit-unclear"\n': ("line", "accept"),
    "[heights\n": ("line 1",),
    '[drawing]\nunit = "furlong"\n': ("line 2", "drawing.unit"),
    '[[split]]\nroom = "R9"\nline = [[0, 0], [1, 1]]\n': ("R9",),
}


@pytest.mark.parametrize("text", JOBS)
def test_a_wrong_job_file_names_file_line_and_key(text: str, tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(text)
    result = run("measure", two_rooms(tmp_path / "r.dxf"), "--job", job, "--out", tmp_path / "out")
    refused(result, "job.toml", *JOBS[text])
    assert not (tmp_path / "out").exists()


def test_a_folder_that_cannot_be_written_to(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    refused(run("measure", two_rooms(tmp_path / "r.dxf"), "--out", tmp_path / "file" / "out"), "Cannot write")
    assert (tmp_path / "file").read_text() == "in the way"


def test_no_drawing_named() -> None:
    result = run("measure")
    assert result.exit_code == 2
    assert "Name a drawing" in result.output


def test_names_that_begin_like_formulas_stay_texts(tmp_path: Path) -> None:
    drawing = ezdxf.readfile(two_rooms(tmp_path / "r.dxf"))
    drawing.modelspace().add_text('=HYPERLINK("x")', height=200).set_placement((1500, 1500))
    drawing.saveas(tmp_path / "r.dxf")
    assert run("measure", tmp_path / "r.dxf", "--out", tmp_path / "out").exit_code == 0
    from openpyxl import load_workbook

    book = load_workbook(tmp_path / "out" / "takeoff.xlsx")
    formulas = [c.value for s in book for row in s.iter_rows() for c in row if c.data_type == "f"]
    assert formulas and not any("HYPERLINK" in str(f) for f in formulas)
    assert "\n=HYPERLINK" not in (tmp_path / "out" / "quantities.csv").read_text(encoding="utf-8-sig")


def test_check_asks_nothing_that_the_job_file_answers(tmp_path: Path) -> None:
    """The flat's job gives the slope that a note on the drawing speaks of."""
    drawing, job = SAMPLES / "upstairs_flat.dxf", SAMPLES / "upstairs_flat.toml"
    picture = ["--picture", str(tmp_path / "plan.svg")]
    bare = CliRunner().invoke(main, ["check", str(drawing), *picture])
    told = CliRunner().invoke(main, ["check", str(drawing), "--job", str(job), *picture])
    assert "slopes" in bare.output
    assert "slopes" not in told.output
