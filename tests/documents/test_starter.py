"""The starter job file: TOML that changes nothing as it stands, and takes an answer when a # is taken away."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from takeoff.documents.json_document import as_document
from takeoff.documents.starter import starter_text, write_starter
from takeoff.documents.workbook import write_workbook
from takeoff.errors import OutputError
from takeoff.job import Job, job_from, read_job
from takeoff.pipeline import take_off
from takeoff.query import Query
from takeoff.record import Takeoff
from tests.documents import building


def uncommented(text: str, query: str) -> str:
    """The file after a person took the # from the line that answers `query`."""
    answered = re.sub(rf"^# (.* # answers {query})$", r"\1", text, flags=re.MULTILINE)
    assert answered != text
    return answered


def test_read_back_it_decides_nothing(two_rooms: Takeoff, tmp_path: Path) -> None:
    target = write_starter(two_rooms, tmp_path / "plans" / "house.dxf", tmp_path / "house.toml")
    job = read_job(target)
    assert job.drawing.file == "plans/house.dxf"
    decided = job.model_dump(exclude_unset=True)
    assert decided.pop("drawing") == {"file": "plans/house.dxf"}
    assert all(not row for table in decided.values() for row in table.values())
    assert job.model_copy(update={"drawing": Job().drawing}).model_dump(exclude_defaults=True).keys() <= {
        "rooms",
        "openings",
        "materials",
    }


def test_every_query_stands_there_with_its_answer(two_rooms: Takeoff) -> None:
    text = starter_text(two_rooms, "a.dxf")
    for query in two_rooms.queries:
        assert f"{query.ref} asks: {query.says}" in text
    assert job_from(tomllib.loads(uncommented(text, "Q1"))).drawing.unit == "mm"
    assert job_from(tomllib.loads(uncommented(text, "Q2"))).openings["D1"].height == 2.1
    assert job_from(tomllib.loads(uncommented(text, "Q3"))).heights.default == 2.4


def test_answers_to_the_same_table_do_not_clash(two_rooms: Takeoff) -> None:
    """Two queries on one room: a TOML file that names a table twice cannot be read (TOML 1.0, "Table")."""
    more = (
        Query("a", "height", "How high?", ("R1",), None, "[rooms.R1]\nheight = 2.5", "Q8"),
        Query(
            "b", "label", "What name?", ("R1",), None, '[rooms.R1]\nname = "Study"\n\n[rooms.R2]\nname = "Den"', "Q9"
        ),
        Query("c", "outline", "One or two?", ("R1",), None, '[[split]]\nroom = "R1"\nline = [[0, 0], [1, 1]]', "Q10"),
        Query("d", "background", "Brick?", (), None, '[wall_types.unknown]\nbackground = "brick"', "Q11"),
        Query("f", "height", "Slopes?", ("R1",), None, '[rooms.R1.slope]\nlow_side = "R1-S1"\nlow_height = 1.0', "Q13"),
        Query(
            "g", "height", "High?", ("R2",), None, "[rooms.R2]\nheight = 2.5\n# or: [heights]\n# default = 2.5", "Q14"
        ),
        Query("e", "plan", "Not TOML at all", (), None, "ask the architect", "Q12"),
    )
    text = starter_text(replace(two_rooms, queries=two_rooms.queries + more), "a.dxf")
    job = job_from(tomllib.loads(uncommented(uncommented(text, "Q8"), "Q9")))
    assert (job.rooms["R1"].height, job.rooms["R1"].name, job.rooms["R2"].name) == (2.5, "Study", "Den")
    lines = text.splitlines()
    start = lines.index("# [[split]]")
    split = "\n".join(line.removeprefix("# ") for line in lines[start : start + 3])
    assert job_from(tomllib.loads(split)).split[0].room == "R1"
    everything = text.replace("# [wall_types.unknown]", "[wall_types.unknown]")
    assert job_from(tomllib.loads(uncommented(everything, "Q11"))).wall_types["unknown"].background == "brick"
    assert "# ask the architect" in lines
    assert {"#   also: [heights]", "#   also: default = 2.5"} <= set(lines)


DECIDED = """
split = []
[job]
name = "Mill Lane \\"7\\" \\u007f"
existing = true
[heights]
default = 2.55
[rooms.R1]
name = "Snug"
slope = { low_side = "R1-S1", low_height = 1.2, high_height = 2.4 }
[build_ups."my own"]
title = "Two coats"
layers = [{ material = "finish-plaster", thickness_mm = 3.0, coats = 2 }]
[materials.finish-plaster]
price = 8.75
[price]
labour_rate = 21.50
markups = [{ name = "overheads", percent = 12.5 }, { name = "profit", percent = 10 }]
[[findings]]
room = "R1"
kind = "loose-plaster"
amount = 3.5
[[accept]]
kind = "height-by-default"
note = "seen"
"""


def test_what_a_job_file_decided_is_kept(two_rooms: Takeoff) -> None:
    job = job_from(tomllib.loads(DECIDED))
    again = job_from(tomllib.loads(starter_text(replace(two_rooms, job=job), "")))
    assert _decided(again) == _decided(job)


def _decided(job: Job) -> dict[str, object]:
    """What `job` decides, without tables and rows that hold nothing."""
    tables = job.model_dump(exclude_unset=True, exclude_defaults=True)
    full = {k: {r: row for r, row in t.items() if row} if isinstance(t, dict) else t for k, t in tables.items()}
    return {name: table for name, table in full.items() if table}


@pytest.mark.parametrize(
    "name", ['"]\n[job]\nname = "x', "a\x00b", "\udcff", "# = [", "line\u2028two", "\\", "x" * 100_000]
)
def test_no_name_breaks_out_of_its_place(two_rooms: Takeoff, name: str) -> None:
    """A room's name comes from the drawing: whatever it holds, the file reads and decides nothing."""
    text = starter_text(building.with_names(two_rooms, name), "a.dxf")
    job = job_from(tomllib.loads(text))
    assert job.job == Job().job
    named = job_from(tomllib.loads(re.sub(r"^# (name = .*)$", r"\1", text, count=7, flags=re.MULTILINE)))
    assert named.job.name == ""


def test_an_existing_job_file_stays(two_rooms: Takeoff, tmp_path: Path) -> None:
    target = tmp_path / "house.toml"
    target.write_text("# mine", encoding="utf-8")
    with pytest.raises(OutputError, match="exists already"):
        write_starter(two_rooms, tmp_path / "house.dxf", target)
    assert target.read_text(encoding="utf-8") == "# mine"


def test_same_takeoff_same_text(two_rooms: Takeoff) -> None:
    assert starter_text(two_rooms, "a.dxf") == starter_text(building.takeoff(2), "a.dxf")


@pytest.mark.parametrize("sample", sorted((Path(__file__).parents[2] / "samples").glob("*.dxf")), ids=lambda p: p.stem)
def test_read_back_unchanged_it_gives_the_same_takeoff(sample: Path, tmp_path: Path) -> None:
    first = take_off(sample, Job())
    job = read_job(write_starter(first, sample, tmp_path / "job.toml"))
    again = take_off(sample, job)
    assert as_document(again) == as_document(first)
    assert write_workbook(again) == write_workbook(first)


def test_a_starter_of_decisions_keeps_the_takeoff(tmp_path: Path) -> None:
    """From a job file that decides things, the starter decides the same: the takeoff does not change."""
    sample = Path(__file__).parents[2] / "samples" / "new_house.dxf"
    decided = {
        "heights": {"default": 2.6},
        "rooms": {"R1": {"name": "Study", "height": 2.7}, "R2": {"wall_background": "brick"}},
        "openings": {"W1": {"reveal_depth": 0.12}},
        "materials": {"finish": {"price": 8.5, "waste": 12.5}},
        "order": {"by": "storey"},
    }
    first = take_off(sample, job_from(decided))
    job = read_job(write_starter(first, sample, tmp_path / "job.toml"))
    assert as_document(take_off(sample, job)) == as_document(first)
