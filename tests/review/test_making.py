"""Documents from the page are those of the command line; they show progress and can be stopped."""

from __future__ import annotations

import io
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from starlette.testclient import TestClient

from takeoff.documents.write_all import make_documents
from takeoff.job import read_job
from takeoff.limited import StoppedError
from takeoff.pipeline import price_up, take_off
from takeoff.review import making
from takeoff.review.session import Session

HEIGHT = {"op": "set", "key": ["rooms", "R1", "height"], "value": 2.71}


def states(page: TestClient) -> Iterator[Any]:
    """What the page is told of the documents, until they are no longer being made."""
    mark = ""
    while True:
        state = page.get("/api/state", params={"after": mark}).json()
        mark = state["mark"]
        yield state["documents"]
        if state["documents"]["state"] != "running":
            return


def test_documents_are_those_of_the_command_line_byte_for_byte(page: TestClient, folder: Path) -> None:
    page.post("/api/change", json={"base": 1, "label": "x", "changes": [HEIGHT]})
    rough = page.get("/api/totals").json()
    assert page.post("/api/documents", json={"kind": "quote"}).status_code == 202
    told = list(states(page))
    assert told[-1]["state"] == "ready" and told[-1]["version"] == 2
    assert [row["done"] for row in told] == sorted(row["done"] for row in told)
    assert len({row["says"] for row in told}) > 4
    job = read_job(folder / "upstairs_flat.toml")
    takeoff = price_up(take_off(folder / job.drawing.file, job, laid=True))
    wanted = {name: text.encode() if isinstance(text, str) else text for name, text in make_documents(takeoff).items()}
    got = {row["name"]: page.get(f"/api/documents/file/{row['name']}").content for row in told[-1]["files"]}
    assert set(got) == set(wanted)
    assert {name for name in wanted if got[name] != wanted[name]} == set()
    exact = page.get("/api/totals").json()
    assert (rough["rough"], exact["rough"]) == (True, False)
    assert takeoff.price is not None and takeoff.programme is not None
    assert exact["price"]["total"] == str(takeoff.price.total) and exact["days"] == takeoff.programme.days
    rooms = page.get("/api/rooms").json()["rooms"]
    assert sum(float(room["price"] or 0) for room in rooms) == pytest.approx(float(takeoff.price.before_tax))
    boards = page.get("/api/boards/R1")
    assert boards.content == wanted["boards-R1.svg"]
    page.post("/api/change", json={"base": 2, "label": "x", "changes": [{**HEIGHT, "value": 2.5}]})
    assert page.get("/api/totals").json()["rough"] is True
    assert page.get("/api/state").json()["documents"]["version"] == 2  # older than the job: still there to be fetched


def test_the_workbook_holds_the_figures_of_the_page(page: TestClient) -> None:
    page.post("/api/documents", json={"kind": "measure"})
    assert list(states(page))[-1]["state"] == "ready"
    answer = page.get("/api/documents/file/takeoff.xlsx")
    assert answer.headers["content-disposition"] == 'attachment; filename="takeoff.xlsx"'
    book = openpyxl.load_workbook(io.BytesIO(answer.content), data_only=True)
    cells = {cell.value for sheet in book for row in sheet.iter_rows() for cell in row if isinstance(cell.value, float)}
    for room in page.get("/api/rooms").json()["rooms"]:
        assert any(abs(value - room["area_m2"]) < 0.006 for value in cells), room["ref"]


def test_making_documents_can_be_stopped(page: TestClient) -> None:
    page.post("/api/documents", json={"kind": "quote"})
    assert page.post("/api/documents", json={"kind": "quote"}).status_code == 422
    assert page.post("/api/documents/stop").status_code == 202
    told = list(states(page))[-1]
    assert (told["state"], told["files"]) == ("stopped", [])
    page.post("/api/documents", json={"kind": "measure"})
    assert list(states(page))[-1]["state"] == "ready"


def test_documents_that_cannot_be_made_tell_why(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "MAKE_S", 0.01)
    page.post("/api/documents", json={"kind": "measure"})
    told = list(states(page))[-1]
    assert told["state"] == "failed" and "longer than" in told["says"]


@pytest.mark.parametrize("kind", ["", "all", "../quote"])
def test_no_other_documents_can_be_asked_for(page: TestClient, kind: str) -> None:
    assert page.post("/api/documents", json={"kind": kind}).status_code == 422
    assert page.get("/api/state").json()["documents"]["state"] == "none"


@pytest.mark.parametrize("name", ["takeoff.xlsx", "..%2Fupstairs_flat.toml", "%2Fetc%2Fpasswd", "upstairs_flat.toml"])
def test_only_what_was_made_can_be_fetched(page: TestClient, name: str) -> None:
    assert page.get(f"/api/documents/file/{name}").status_code == 404


def test_boards_are_laid_when_they_are_asked_for(page: TestClient, session: Session) -> None:
    """Without documents having been made; for a room that is not measured there are none."""
    room = next(
        r["ref"] for r in page.get("/api/rooms").json()["rooms"] if page.get(f"/api/room/{r['ref']}").json()["boards"]
    )
    answer = page.get(f"/api/boards/{room}")
    assert answer.headers["content-type"] == "image/svg+xml" and answer.text.lstrip().startswith("<svg")
    assert page.get("/api/boards/R99").status_code == 404
    assert page.get("/api/state").json()["documents"]["state"] == "none"


def dawdle(*_args: object, **_more: object) -> None:
    time.sleep(60)


def test_the_end_of_the_program_waits_for_no_boards(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "_make", dawdle)
    shown = session.shown
    assert shown is not None
    threading.Timer(0.5, session.end).start()
    start = time.monotonic()
    with pytest.raises(StoppedError):
        session.documents.boards_of(shown, "R1")
    assert time.monotonic() - start < 30
