"""A question accepted on the page stands in no later change's way once that change settles it."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeoff.errors import JobError
from takeoff.job import read_job
from takeoff.pipeline import take_off
from takeoff.query import query
from takeoff.review.accepts import without_spent
from takeoff.review.offers import offers
from takeoff.review.session import Session

TEXT = """\
[[accept]]           # looked at
kind = "open-plan"
about = "R1"

[[accept]]
kind = "no-way-in"
about = "R2"
[[accept]]
kind = "shelf-life"
"""


def test_rows_that_accept_nothing_become_remarks_and_others_stay() -> None:
    left = without_spent(TEXT, lambda job: [query("no-way-in", "?", about=("R2",))] if not job.accept else [])
    assert left.text == (
        "# Nothing is asked like this any more:\n# [[accept]]           # looked at\n"
        '# kind = "open-plan"\n# about = "R1"\n' + TEXT.split("\n", 3)[3]
    )
    assert left.notes == ("open-plan of R1 is no longer asked: that it was accepted is kept as a remark.",)


def test_nothing_accepted_asks_nothing() -> None:
    assert without_spent("[job]\n", lambda _: pytest.fail("no need to ask")).notes == ()


def test_a_change_that_settles_an_accepted_question_goes_through(session: Session, folder: Path) -> None:
    assert session.shown is not None and session.seen is not None
    asked = next(q for q in session.shown.takeoff.queries if q.kind == "preparation-not-seen")
    answers = offers(asked, session.shown.takeoff)
    version, notes = session.change(session.seen.version, "Accepted", answers[-1].changes)
    assert notes == [] and asked.kind in {q.kind for q in session.shown.takeoff.accepted}
    version, notes = session.change(version, "R1 was looked at", answers[1].changes)
    assert notes and notes[0].startswith("preparation-not-seen of R1")
    job = read_job(folder / "upstairs_flat.toml")
    assert not any(row.kind == asked.kind for row in job.accept)
    take_off(folder / job.drawing.file, job)
    assert session.undo(version) == version + 1 and session.fault is None
    assert asked.kind in {q.kind for q in session.shown.takeoff.accepted}


def test_another_fault_is_told_as_it_is(session: Session) -> None:
    assert session.shown is not None and session.seen is not None
    asked = session.shown.takeoff.queries[0]
    version, _ = session.change(session.seen.version, "Accepted", offers(asked, session.shown.takeoff)[-1].changes)
    with pytest.raises(JobError, match=r"upstairs_flat.toml, line .*R99"):
        session.change(version, "Wrong", [{"op": "set", "key": ["rooms", "R99", "height"], "value": 2.5}])
