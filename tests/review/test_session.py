"""The job file is the only truth: what the page is shown is what the command line makes of the same file."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from takeoff.documents.json_document import as_document
from takeoff.errors import JobError, TakeoffError
from takeoff.job import Job, read_job
from takeoff.job_tables import RoomRow
from takeoff.pipeline import take_off
from takeoff.query import query
from takeoff.review.ledger import Stale
from takeoff.review.plan_part import BLIND, plan_key, plan_part, unnamed
from takeoff.review.session import Session
from tests.review.conftest import SAMPLES

HEIGHT = {"op": "set", "key": ["rooms", "R1", "height"], "value": 2.71}


def by_command(job_file: Path) -> dict[str, Any]:
    """What `takeoff measure --job` gives, less what it only gives with a programme."""
    job = read_job(job_file)
    document = as_document(take_off(job_file.parent / job.drawing.file, job))
    return {key: value for key, value in document.items() if key not in ("price", "programme")}


def by_page(session: Session) -> dict[str, Any]:
    assert session.shown is not None
    document = as_document(session.shown.takeoff)
    return {key: value for key, value in document.items() if key not in ("price", "programme")}


def version(session: Session) -> int:
    assert session.seen is not None
    return session.seen.version


@pytest.mark.parametrize(
    "changes",
    [
        [HEIGHT],
        [{"op": "set", "key": ["rooms", "R2", "name"], "value": "Library"}],
        [{"op": "set", "key": ["openings", "D1", "width"], "value": 0.93}],
        [{"op": "set", "key": ["openings", "D2", "ignore"], "value": True}],
        [{"op": "set", "key": ["opening_kinds", "door", "lining"], "value": False}],
        [{"op": "set", "key": ["measure", "rule"], "value": "void-1.00"}],
        [{"op": "add", "table": ["findings"], "row": {"room": "R1", "kind": "old-paper", "amount": 9.0}}],
        [{"op": "set", "key": ["rooms", "R1", "measured"], "value": False}, HEIGHT],
        [{"op": "set", "key": ["drawing", "ignore_layers"], "value": ["Walls new stud"]}],
        [{"op": "add", "table": ["join"], "row": {"rooms": ["R4", "R8"]}}],
    ],
    ids=lambda changes: str(changes[0].get("key", changes[0].get("table"))),
)
def test_an_edit_gives_what_the_command_line_gives(
    session: Session, folder: Path, changes: list[dict[str, Any]]
) -> None:
    before = by_page(session)
    session.change(version(session), "edit", changes)
    assert by_page(session) == by_command(folder / "upstairs_flat.toml")
    assert by_page(session) != before


def test_the_plan_hangs_on_nothing_that_is_left_out() -> None:
    """Every table of the job file either goes to the plan, or the plan code never reads it."""
    sources = "".join(path.read_text() for path in (SAMPLES.parent / "takeoff" / "plan").glob("*.py"))
    read = {name for name in Job.model_fields if f"job.{name}" in sources}
    assert {"rooms", "openings", "split", "join"} <= read
    assert read & BLIND == set()


@pytest.mark.parametrize("sample", ["new_house", "rear_extension", "upstairs_flat"])
def test_the_plans_part_is_kept_apart_by_what_the_plan_reads(sample: str) -> None:
    job = read_job(SAMPLES / f"{sample}.toml")
    height, name = RoomRow(height=3.1), RoomRow(name="Library")
    assert plan_key(job.model_copy(update={"rooms": {**job.rooms, "R2": height}})) == plan_key(job)
    assert plan_key(job.model_copy(update={"rooms": {**job.rooms, "R2": name}})) != plan_key(job)
    assert plan_key(plan_part(job)) == plan_key(job)


ACROSS_BATHROOM = [[3.72, 7.0], [5.9, 7.0]]
"""From wall to wall of the sample's bathroom, in sheet metres (samples/upstairs_flat.py)."""


def test_decisions_follow_their_rooms_when_a_wall_is_drawn(session: Session, folder: Path) -> None:
    """The bathroom is made two, so every room after it gets another ref."""

    def height_of(name: str) -> tuple[str, float]:
        assert session.shown is not None
        takeoff = session.shown.takeoff
        room = next(r for r in takeoff.plan.rooms if r.name == name)
        return room.ref, takeoff.measured.by_room[room.ref].height_m

    session.change(version(session), "height", [{"op": "set", "key": ["rooms", "R7", "height"], "value": 2.33}])
    assert height_of("Living room") == ("R7", 2.33)
    wall = {"op": "add", "table": ["wall"], "row": {"line": ACROSS_BATHROOM, "thickness": 0.1}}
    session.change(version(session), "wall", [wall])
    ref, height = height_of("Living room")
    assert ref != "R7" and height == 2.33
    assert by_page(session) == by_command(folder / "upstairs_flat.toml")
    session.undo(version(session))
    assert height_of("Living room") == ("R7", 2.33)


def test_what_a_split_does_to_decisions_is_told(session: Session, folder: Path) -> None:
    session.change(version(session), "name", [{"op": "set", "key": ["rooms", "R2", "height"], "value": 2.3}])
    split = {"op": "add", "table": ["split"], "row": {"room": "R2", "line": ACROSS_BATHROOM}}
    _, notes = session.change(version(session), "split", [split])
    assert any("R2a" in note and "R2b" in note for note in notes)
    job = read_job(folder / "upstairs_flat.toml")
    assert (job.rooms["R2a"].height, job.rooms["R2b"].height) == (2.3, 2.3)
    assert by_page(session) == by_command(folder / "upstairs_flat.toml")


def test_a_change_that_does_not_work_writes_nothing(session: Session, folder: Path) -> None:
    job_file, before, shown = folder / "upstairs_flat.toml", version(session), session.shown
    text = job_file.read_bytes()
    for changes in (
        [HEIGHT, {"op": "set", "key": ["rooms", "R99", "height"], "value": 2.4}],
        [HEIGHT, {"op": "set", "key": ["rooms", "R1", "height"], "value": -1}],
        [HEIGHT, {"op": "set", "key": ["rooms", "R1", "wall_build_up"], "value": "no-such"}],
        [HEIGHT, {"op": "remove", "table": ["split"], "index": 7}],
        [HEIGHT, {"op": "set", "key": ["drawing", "file"], "value": "not-there.dxf"}],
        [HEIGHT, {"op": "dance"}],
    ):
        with pytest.raises(TakeoffError):
            session.change(before, "edit", changes)
        assert job_file.read_bytes() == text
        assert version(session) == before
        assert session.shown is shown
    session.change(before, "edit", [HEIGHT])
    assert by_page(session) == by_command(job_file)


def test_undo_and_redo_go_byte_for_byte(session: Session, folder: Path) -> None:
    job_file = folder / "upstairs_flat.toml"
    first = job_file.read_bytes(), by_page(session)
    session.change(version(session), "Height of R1", [HEIGHT])
    second = job_file.read_bytes(), by_page(session)
    assert session.seen is not None and session.seen.undo == "Height of R1"
    session.undo(version(session))
    assert (job_file.read_bytes(), by_page(session)) == first
    assert session.seen.redo == "Height of R1"
    session.redo(version(session))
    assert (job_file.read_bytes(), by_page(session)) == second
    assert version(session) == 4


def test_two_tabs_lose_no_update(session: Session, folder: Path) -> None:
    """The second tab's change is refused until it has seen the first's."""
    seen_by_both = version(session)
    session.change(seen_by_both, "first tab", [HEIGHT])
    second = {"op": "set", "key": ["rooms", "R2", "height"], "value": 2.5}
    with pytest.raises(Stale) as refused:
        session.change(seen_by_both, "second tab", [second])
    session.change(refused.value.version, "second tab", [second])
    job = read_job(folder / "upstairs_flat.toml")
    assert (job.rooms["R1"].height, job.rooms["R2"].height) == (2.71, 2.5)


def test_two_programs_on_one_job_see_each_other(session: Session, folder: Path) -> None:
    other = Session(folder, folder / "upstairs_flat.toml")
    other.look()
    session.change(version(session), "here", [HEIGHT])
    with pytest.raises(Stale):
        other.change(1, "there", [HEIGHT])
    rings = other.bell.rings
    other.look()
    assert other.bell.rings > rings
    assert by_page(other) == by_page(session)


def test_an_edit_by_hand_is_followed_and_can_be_undone(session: Session, folder: Path) -> None:
    job_file = folder / "upstairs_flat.toml"
    before = job_file.read_text()
    job_file.write_text(before + '\n[rooms.R2]\nname = "By hand"\n')
    session.look()
    assert session.shown is not None and "By hand" in {room.name for room in session.shown.takeoff.plan.rooms}
    session.undo(version(session))
    assert job_file.read_text() == before


def test_a_job_file_broken_by_hand_is_told_and_the_last_figures_stay(session: Session, folder: Path) -> None:
    job_file, shown = folder / "upstairs_flat.toml", session.shown
    before = job_file.read_text()
    job_file.write_text(before + "\n[rooms.R1\nheight = 2")
    session.look()
    assert session.fault is not None and "upstairs_flat.toml" in session.fault
    assert session.shown is shown
    job_file.write_text(before)
    session.look()
    assert session.fault is None


def test_a_drawing_that_is_exported_again_is_read_again(session: Session, folder: Path) -> None:
    assert session.shown is not None
    before = session.shown.takeoff.drawing.sha256
    shutil.copy(SAMPLES / "rear_extension.dxf", folder / "upstairs_flat.dxf")
    session.look()
    assert session.fault is not None or session.shown.takeoff.drawing.sha256 != before


def test_a_drawing_that_is_not_there_is_told_and_found_when_it_comes(folder: Path) -> None:
    (folder / "upstairs_flat.dxf").rename(folder / "elsewhere.dxf")
    session = Session(folder, folder / "upstairs_flat.toml")
    session.look()
    assert session.shown is None and session.fault is not None and "upstairs_flat.dxf" in session.fault
    (folder / "elsewhere.dxf").rename(folder / "upstairs_flat.dxf")
    session.look()
    assert session.fault is None and session.shown is not None


def test_a_job_file_that_is_taken_away_is_told(session: Session, folder: Path) -> None:
    (folder / "upstairs_flat.toml").rename(folder / "away.toml")
    session.look()
    assert session.fault is not None and "Cannot read the job file" in session.fault
    (folder / "away.toml").rename(folder / "upstairs_flat.toml")
    session.look()
    assert session.fault is None


def test_without_a_job_nothing_can_be_changed(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="no job yet"):
        Session(tmp_path).change(0, "edit", [HEIGHT])


def test_ignored_openings_can_be_put_back(session: Session) -> None:
    assert session.shown is not None
    opening = next(o for o in session.shown.takeoff.plan.openings if o.ref == "D1")
    session.change(version(session), "no door", [{"op": "set", "key": ["openings", "D1", "ignore"], "value": True}])
    assert [o.ref for o in session.shown.takeoff.plan.openings if o.ref == "D1"] == []
    assert session.shown.ignored == (opening,)


def test_a_name_in_a_question_is_put_there_too(session: Session) -> None:
    """A rename is done without understanding the drawing again only where no question speaks of the room."""
    assert session.shown is not None
    job, plan = session.shown.job, session.shown.takeoff.plan
    named = plan_part(job.model_copy(update={"rooms": {"R1": RoomRow(name="Library")}}))
    reading = next(iter(session._readings.values()))
    drawing, _ = reading.understood(unnamed(named))
    assert reading._renamed(named) is not None
    asked = replace(plan, queries=(query("name-outside", "R1 Bedroom 1 is open.", about=["R1"]),))
    reading.keep(plan_key(unnamed(named)), (drawing, asked))
    assert reading._renamed(named) is None
