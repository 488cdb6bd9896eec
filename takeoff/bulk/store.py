"""Outcomes kept from run to run: packed files named by key, and a SQLite index of them.

Two runs may use one store at once: a packed file is written beside and renamed into place, the index row follows it in
one transaction, and both runs would write the same bytes. A file that is not what the index says is as good as none.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

from msgspec import msgpack

from takeoff.bulk.model import Limits, Outcome
from takeoff.bulk.one import packed, unpacked
from takeoff.errors import OutputError
from takeoff.files import write_whole

__all__ = ["Store"]

PATIENCE_S = 60.0
"""How long a run waits for the other one to finish writing the index."""
_TABLES = """
CREATE TABLE IF NOT EXISTS outcomes (
    key TEXT PRIMARY KEY, state TEXT NOT NULL, told BLOB NOT NULL, packed_sha256 TEXT NOT NULL, limits TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS placed (folder TEXT PRIMARY KEY, key TEXT NOT NULL) WITHOUT ROWID;
"""


class Store:
    """The store in `folder`. Usable from many threads and processes: each step opens the index for itself."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._index = folder / "index.sqlite"
        try:
            folder.mkdir(parents=True, exist_ok=True)
            with self._open() as index:
                index.executescript(_TABLES)
        except (OSError, sqlite3.DatabaseError) as fault:
            raise OutputError(
                f"Cannot keep results in {folder}: {fault}. Choose a folder you may write to with --keep, or delete it."
            ) from fault

    def find(self, key: str, limits: Limits) -> Outcome | None:
        """The outcome under `key`, its files by name only, each empty. One that was given up counts under the same
        `limits` only."""
        with self._open() as index:
            row = index.execute("SELECT state, told, limits FROM outcomes WHERE key = ?", (key,)).fetchone()
        if row is None or (row[0] == "given up" and row[2] != _told(limits)):
            return None
        return msgpack.decode(row[1], type=Outcome)

    def files(self, key: str) -> Outcome | None:
        """The outcome under `key` with its files; None, and forgotten, when the file on the disk is not sound."""
        with self._open() as index:
            row = index.execute("SELECT packed_sha256 FROM outcomes WHERE key = ?", (key,)).fetchone()
        if row is None:
            return None
        try:
            content = self._path(key).read_bytes()
        except OSError:
            content = b""
        if hashlib.sha256(content).hexdigest() == row[0]:
            return unpacked(content)
        with self._open() as index:
            index.execute("DELETE FROM outcomes WHERE key = ?", (key,))
        return None

    def keep(self, key: str, outcome: Outcome, limits: Limits) -> None:
        """Keep `outcome` under `key`; it is on the disk when this returns."""
        content = packed(outcome)
        write_whole(self._path(key), content)
        told = msgpack.encode(replace(outcome, files=dict.fromkeys(outcome.files, b"")))
        row = (key, outcome.state, told, hashlib.sha256(content).hexdigest(), _told(limits))
        with self._open() as index:
            index.execute("INSERT OR REPLACE INTO outcomes VALUES (?, ?, ?, ?, ?)", row)

    def placed(self, folder: Path) -> str:
        """Key of the outcome whose documents were last written into `folder`; '' when none were."""
        with self._open() as index:
            row = index.execute("SELECT key FROM placed WHERE folder = ?", (str(folder.resolve()),)).fetchone()
        return str(row[0]) if row else ""

    def place(self, folder: Path, key: str) -> None:
        """Note that the documents in `folder` are those of `key`."""
        with self._open() as index:
            index.execute("INSERT OR REPLACE INTO placed VALUES (?, ?)", (str(folder.resolve()), key))

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}.pack"

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        """The index for one transaction."""
        with closing(sqlite3.connect(self._index, timeout=PATIENCE_S)) as index, index:
            yield index


def _told(limits: Limits) -> str:
    return f"{limits.seconds:g} s {limits.megabytes} MB"
