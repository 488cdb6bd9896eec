"""Drawings sent by the page: harmless names, nothing written over, limits that hold."""

from __future__ import annotations

import asyncio
import os
import sys
import time
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from starlette.testclient import TestClient

from takeoff.review import reading, uploads
from takeoff.review.session import Session
from takeoff.review.uploads import TooLargeError, harmless_name, take_in
from tests.review.conftest import SAMPLES

LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="address space is counted on Linux only")
DRAWING = (SAMPLES / "upstairs_flat.dxf").read_bytes()


def finished(work: Coroutine[Any, Any, Any]) -> Any:
    """What `work` gives, in a thread of its own: a browser's driver may have left a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


@pytest.fixture
def session(tmp_path: Path) -> Session:
    return Session(tmp_path)


@pytest.fixture
def page(session: Session, page_of: Callable[[Session], TestClient]) -> TestClient:
    return page_of(session)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.endswith(".undo"))


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ("house.dxf", "house.dxf"),
        ("House%20plan%20(2).DXF", "House plan (2).dxf"),
        ("..%2F..%2Fetc%2Fpasswd", "passwd.dxf"),
        ("..\\..\\windows\\system.ini", "system.ini.dxf"),
        ("%2e%2e", "drawing.dxf"),
        ("", "drawing.dxf"),
        (".bashrc", "bashrc.dxf"),
        ("a%00b%0Ac.dxf", "a_b_c.dxf"),
        ("<script>.dxf", "_script_.dxf"),
        ("Gr%C3%B6%C3%9Fe.dxf", "Größe.dxf"),
        ("%FF%FE.dxf", "drawing.dxf"),
        ("con.dxf", "drawing con.dxf"),
        ("___.dxf", "drawing.dxf"),
        ("x" * 300 + ".dxf", "x" * 80 + ".dxf"),
        ("-rf.dxf", "-rf.dxf"),
    ],
)
def test_only_harmless_letters_of_the_last_part_are_kept(sent: str, kept: str) -> None:
    assert harmless_name(sent) == kept
    assert Path(kept).name == kept


def test_a_job_is_started_from_the_page_alone(page: TestClient, session: Session, tmp_path: Path) -> None:
    answer = page.post("/api/upload", content=DRAWING, headers={"X-Name": quote("../the flat.dxf")})
    assert answer.status_code == 200
    assert names(tmp_path) == ["the flat.dxf", "the flat.toml"]
    assert (tmp_path / "the flat.dxf").read_bytes() == DRAWING
    state = page.get("/api/state").json()
    assert (state["has_drawing"], state["version"]) == (True, answer.json()["version"])
    assert state["job"]["path_name"] == "the flat.toml"
    assert page.get("/api/rooms").json()["rooms"]
    change = {"op": "set", "key": ["rooms", "R1", "height"], "value": 2.6}
    assert page.post("/api/change", json={"base": 1, "label": "x", "changes": [change]}).status_code == 200
    assert "height = 2.6" in (tmp_path / "the flat.toml").read_text()


def test_nothing_is_written_over(page: TestClient, tmp_path: Path) -> None:
    (tmp_path / "flat.dxf").write_text("mine")
    (tmp_path / "flat.toml").write_text("# mine")
    (tmp_path / "flat 2.toml").write_text("# mine too")
    assert page.post("/api/upload", content=DRAWING, headers={"X-Name": "flat.dxf"}).status_code == 200
    assert (tmp_path / "flat.dxf").read_text() == "mine"
    assert (tmp_path / "flat.toml").read_text() == "# mine"
    assert (tmp_path / "flat 2.toml").read_text() == "# mine too"
    assert (tmp_path / "flat 2.dxf").read_bytes() == DRAWING
    assert 'file = "flat 2.dxf"' in (tmp_path / "flat 2 2.toml").read_text()


def test_a_second_drawing_joins_the_job(page: TestClient, session: Session, tmp_path: Path) -> None:
    page.post("/api/upload", content=DRAWING, headers={"X-Name": "flat.dxf"})
    before = {room["name"] for room in page.get("/api/rooms").json()["rooms"]}
    height = {"op": "set", "key": ["rooms", "R7", "height"], "value": 2.33}
    assert page.post("/api/change", json={"base": 1, "label": "x", "changes": [height]}).status_code == 200
    tall = {room["name"] for room in page.get("/api/rooms").json()["rooms"] if room["height_m"] == 2.33}
    other = (SAMPLES / "rear_extension.dxf").read_bytes()
    answer = page.post("/api/upload", content=other, headers={"X-Name": "below.dxf"})
    assert answer.json()["version"] == 3
    assert 'more = ["below.dxf"]' in (tmp_path / "flat.toml").read_text()
    after = page.get("/api/rooms").json()["rooms"]
    assert before < {room["name"] for room in after}
    assert len({room["plan"] for room in after}) == 2
    assert {room["name"] for room in after if room["height_m"] == 2.33} == tall != set()
    page.post("/api/undo", json={"base": 3})
    assert {room["name"] for room in page.get("/api/rooms").json()["rooms"]} == before
    assert page.post("/api/upload", content=b"%PDF-1.7", headers={"X-Name": "more.dxf"}).status_code == 422
    assert names(tmp_path) == ["below.dxf", "flat.dxf", "flat.toml"]


@pytest.mark.parametrize(
    ("sent", "says"), [(b"AC1032 and so on", "DWG"), (b"%PDF-1.7", "PDF"), (b"", "empty"), (b"hello", "not a DXF")]
)
def test_what_is_no_drawing_leaves_nothing(page: TestClient, tmp_path: Path, sent: bytes, says: str) -> None:
    answer = page.post("/api/upload", content=sent, headers={"X-Name": "plan.dxf"})
    assert answer.status_code == 422 and says in answer.json()["fault"]
    assert ".upload-" not in answer.text and str(tmp_path) not in answer.text
    assert names(tmp_path) == []
    assert page.get("/api/state").json()["has_drawing"] is False


def test_more_than_the_limit_is_refused_before_it_is_taken(page: TestClient, tmp_path: Path) -> None:
    big = str(uploads.MOST_BYTES + 1)
    answer = page.post("/api/upload", content=b"x", headers={"X-Name": "big.dxf", "Content-Length": big})
    assert answer.status_code == 413 and "64 MB" in answer.json()["fault"]
    assert names(tmp_path) == []


def test_more_than_was_announced_is_cut_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a length, or with a false one, no more is taken than the limit."""
    monkeypatch.setattr(uploads, "MOST_BYTES", 1000)
    taken = 0

    async def parts() -> AsyncIterator[bytes]:
        nonlocal taken
        while True:
            taken += 300
            yield b"x" * 300

    with pytest.raises(TooLargeError):
        finished(take_in(parts(), "10", tmp_path, "x.dxf"))
    assert taken == 1200
    assert names(tmp_path) == []


def test_a_page_that_goes_away_leaves_nothing(tmp_path: Path) -> None:
    async def parts() -> AsyncIterator[bytes]:
        yield b"half"
        raise asyncio.CancelledError

    with pytest.raises(asyncio.CancelledError):
        finished(take_in(parts(), None, tmp_path, "x.dxf"))
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    ("greedy", "limit", "value", "says"),
    [
        pytest.param("hog", "READ_MB", 200, "more memory than 200 MB", marks=LINUX),
        ("dawdle", "READ_S", 0.5, "longer than 0.5 seconds"),
        ("leave", "READ_S", 30, "failed"),
    ],
)
def test_a_drawing_that_takes_too_much_costs_a_sentence(
    page: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, greedy: str, limit: str, value: float, says: str
) -> None:
    """A reader that eats memory or time, or ends its whole process, does so in a child."""
    monkeypatch.setattr(reading, limit, value)
    monkeypatch.setattr(reading, "_read", globals()[greedy])
    answer = page.post("/api/upload", content=DRAWING, headers={"X-Name": "flat.dxf"})
    assert answer.status_code == 422 and says in answer.json()["fault"]
    assert names(tmp_path) == []
    monkeypatch.undo()
    assert page.post("/api/upload", content=DRAWING, headers={"X-Name": "flat.dxf"}).status_code == 200


def hog(*_args: object, **_more: object) -> None:
    bytearray(400 << 20)


def dawdle(*_args: object, **_more: object) -> None:
    time.sleep(60)


def leave(*_args: object, **_more: object) -> None:
    os._exit(1)


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_folder_that_cannot_be_written_to_is_told(page: TestClient, tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    answer = page.post("/api/upload", content=DRAWING, headers={"X-Name": "flat.dxf"})
    assert answer.status_code == 422 and "Cannot write" in answer.json()["fault"]
