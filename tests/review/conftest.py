"""A working folder with a sample job in it, and a page that asks about it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from takeoff.review.app import application
from takeoff.review.session import Session

SAMPLES = Path(__file__).parents[2] / "samples"
KEY, PORT = "key-of-the-tests", 8123


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The sample of a flat upstairs, the smallest, alone in a folder."""
    for name in ("upstairs_flat.toml", "upstairs_flat.dxf"):
        shutil.copy(SAMPLES / name, tmp_path)
    return tmp_path


@pytest.fixture
def session(folder: Path) -> Session:
    made = Session(folder, folder / "upstairs_flat.toml")
    made.look()
    assert made.fault is None
    return made


@pytest.fixture
def page_of() -> Callable[[Session], TestClient]:
    """A page of a session, with the key of its run."""

    def page(session: Session) -> TestClient:
        app = application(session, KEY, PORT)
        return TestClient(
            app, base_url=f"http://127.0.0.1:{PORT}", headers={"X-Takeoff-Key": KEY}, raise_server_exceptions=False
        )

    return page


@pytest.fixture
def page(session: Session, page_of: Callable[[Session], TestClient]) -> TestClient:
    return page_of(session)
