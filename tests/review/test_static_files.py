"""Files of the page: by the list, and by nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from takeoff.review.static_files import StaticFiles


@pytest.fixture
def page(tmp_path: Path) -> StaticFiles:
    (tmp_path / "secret.txt").write_text("not for the page")
    folder = tmp_path / "page"
    (folder / "plan").mkdir(parents=True)
    (folder / "index.html").write_text("<!doctype html>")
    (folder / "plan" / "draw.js").write_text("export {}")
    (folder / "notes.md").write_text("not of a kind that is served")
    return StaticFiles(folder)


def test_what_is_listed_is_served_with_its_kind(page: StaticFiles) -> None:
    assert page.names() == ["index.html", "plan/draw.js"]
    assert page.answer("plan/draw.js").media_type == "text/javascript; charset=utf-8"
    assert page.shell().body == b"<!doctype html>"


@pytest.mark.parametrize(
    "name",
    ["", "../secret.txt", "plan/../../secret.txt", "/etc/passwd", "plan", "plan\\draw.js", "notes.md",
     "%2e%2e/secret.txt", "index.html\0"],
)  # fmt: skip
def test_what_is_not_listed_is_not_there(page: StaticFiles, name: str) -> None:
    answer = page.answer(name)
    assert answer.status_code == 404
    assert b"secret" not in answer.body and b"not for" not in answer.body
