"""The folder of documents: all or nothing, the same bytes for the same takeoff."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from takeoff.documents import write_all
from takeoff.documents.write_all import DOCUMENTS, make_documents, write_documents
from takeoff.errors import OutputError
from takeoff.files import write_together
from takeoff.record import Takeoff
from tests.documents import building


def test_every_document_is_written(two_rooms: Takeoff, tmp_path: Path) -> None:
    written = write_documents(two_rooms, tmp_path / "out")
    assert {path.name for path in (tmp_path / "out").iterdir()} == {path.name for path in written}
    assert {"takeoff.xlsx", "marked-plan.pdf", "marked-plan.svg", "quantities.csv", "takeoff.json"} <= {
        path.name for path in written
    }
    assert all(path.stat().st_size > 100 for path in written)


@pytest.mark.parametrize("document", DOCUMENTS)
def test_same_takeoff_same_bytes(two_rooms: Takeoff, document: str) -> None:
    first, second = make_documents(two_rooms, [document]), make_documents(building.takeoff(2), [document])
    assert first
    assert first == second


def test_only_what_is_asked_for(two_rooms: Takeoff, tmp_path: Path) -> None:
    assert [path.name for path in write_documents(two_rooms, tmp_path, ["json"])] == ["takeoff.json"]
    with pytest.raises(OutputError, match="one of: workbook"):
        write_documents(two_rooms, tmp_path, ["novel"])


def test_nothing_is_written_when_one_document_fails(
    two_rooms: Takeoff, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(_takeoff: Takeoff) -> dict[str, str]:
        raise RuntimeError("no ink")

    monkeypatch.setattr(write_all, "DOCUMENTS", {**DOCUMENTS, "last": fails})
    with pytest.raises(RuntimeError):
        write_documents(two_rooms, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_old_files_stay_when_one_cannot_be_replaced(tmp_path: Path) -> None:
    old, blocked, new = tmp_path / "a.txt", tmp_path / "b.txt", tmp_path / "c.txt"
    old.write_text("old", encoding="utf-8")
    blocked.mkdir()
    with pytest.raises(OutputError, match=r"Cannot write .*b\.txt"):
        write_together({new: "new", old: "changed", blocked: "x"})
    assert old.read_text(encoding="utf-8") == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.txt", "b.txt"]


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_folder_that_may_not_be_written_to(two_rooms: Takeoff, tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(OutputError, match="Choose a folder you may write to"):
        write_documents(two_rooms, tmp_path / "out")


def test_a_folder_that_is_a_file(two_rooms: Takeoff, tmp_path: Path) -> None:
    (tmp_path / "out").write_text("a file", encoding="utf-8")
    with pytest.raises(OutputError, match="Cannot write"):
        write_documents(two_rooms, tmp_path / "out")
    assert (tmp_path / "out").read_text(encoding="utf-8") == "a file"
