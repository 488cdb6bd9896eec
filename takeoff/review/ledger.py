"""The job file with its history beside it: versions, undo and redo, safe against crashes and second writers.

Terms:
  state    the job file's bytes after one step; all states are kept, in ``JOB.toml.undo`` beside the job file.
  step     what led to a state: a change on the page, or an edit from outside, with a label for people.
  version  grows by one whenever the job file changes, by undo and redo too; a writer names the one it has seen.

The job file is the only truth: what it holds when somebody looks is adopted as a step of its own. SQLite's write lock
keeps two processes apart; the file is replaced inside the transaction and reaches the disk before it is over, so that
after a crash the file is the old one or the new one, and either is adopted.
"""

from __future__ import annotations

import os
import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from takeoff.errors import JobError, OutputError, TakeoffError
from takeoff.files import write_whole

__all__ = ["OUTSIDE", "Ledger", "Stale", "State"]

OUTSIDE = "Edited outside the page"
"""Label of a step that the ledger finds in the file."""
_FIRST = "As it was"
_PATIENCE_S = 20.0
"""How long a writer waits for another one."""
_TABLES = """
create table if not exists steps (number integer primary key, label text not null, content blob not null);
create table if not exists stand (version integer not null, number integer not null);
"""


class Stale(TakeoffError):  # noqa: N818 -- a state of affairs that the page meets daily, not a fault
    """The job has changed since the writer last looked; `version` is the present one."""

    def __init__(self, version: int) -> None:
        super().__init__("The job has changed meanwhile. Look at it again, then repeat the change.")
        self.version = version


@dataclass(frozen=True, slots=True)
class State:
    """The job file at one moment."""

    version: int
    content: bytes
    undo: str | None
    """Label of the step that undo takes back; None where there is none."""
    redo: str | None

    @property
    def text(self) -> str:
        """The content as text. Raises `JobError` where it is none."""
        try:
            return self.content.decode("utf-8")
        except UnicodeDecodeError:
            raise JobError("The job file is not a text file in UTF-8. Undo the last edit, or save it so.") from None


class Ledger:
    """The job file at `path`. Several ledgers, threads and processes may hold the same file."""

    def __init__(self, path: Path) -> None:
        """Raises `JobError` when there is no job file or its history cannot be read."""
        self.path = path.resolve()
        self.history = self.path.with_name(self.path.name + ".undo")
        self.look()

    @classmethod
    def start(cls, path: Path, text: str) -> Ledger:
        """A new job file with its ledger. Raises `JobError` when the file is there already."""
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        except FileExistsError:
            raise JobError(f"{path} is there already and stays as it is. Choose another name.") from None
        except OSError as fault:
            raise OutputError(f"Cannot write {path}: {fault.strerror}. Choose a folder you may write to.") from fault
        write_whole(path, text, lasting=True)
        return cls(path)

    @property
    def version(self) -> int:
        return self.look().version

    @property
    def text(self) -> str:
        return self.look().text

    @property
    def can_undo(self) -> str | None:
        return self.look().undo

    @property
    def can_redo(self) -> str | None:
        return self.look().redo

    def look(self) -> State:
        """The job file as it is now; an edit from outside is adopted first."""
        with self._opened() as base:
            state = _state(base)
            if state and state.content == self._content():
                return state
        with self._locked() as base:
            return self._adopted(base)

    def write(self, base: int, text: str, label: str) -> int:
        """Make `text` the job file; it is on the disk when this returns. Returns the new version, or the present one
        where the text is the same.

        Raises `Stale` when `base` is not the present version, `OutputError` when the file cannot be written.
        """
        content = text.encode("utf-8")
        with self._locked() as connection:
            state = self._fresh(connection, base)
            if content == state.content:
                return state.version
            _push(connection, content, label)
            write_whole(self.path, content, lasting=True)
        return base + 1

    def undo(self, base: int) -> int:
        """Take the last step back, byte for byte. Returns the new version.

        Raises `Stale` as `write` does, `JobError` when there is nothing to undo.
        """
        return self._move(base, -1, "There is nothing to undo.")

    def redo(self, base: int) -> int:
        """Repeat the step last undone. Returns the new version.

        Raises `Stale` as `write` does, `JobError` when nothing was undone.
        """
        return self._move(base, 1, "There is nothing to redo.")

    def _move(self, base: int, by: int, none_there: str) -> int:
        with self._locked() as connection:
            state = self._fresh(connection, base)
            if (state.undo if by < 0 else state.redo) is None:
                raise JobError(none_there)
            connection.execute("update stand set version = version + 1, number = number + ?", (by,))
            moved = _state(connection)
            assert moved is not None
            write_whole(self.path, moved.content, lasting=True)
        return base + 1

    def _fresh(self, connection: sqlite3.Connection, base: int) -> State:
        """The present state. Raises `Stale` when it is not the one that the writer has seen."""
        before = _state(connection)
        state = self._adopted(connection)
        if state.version != base:
            if before != state:
                connection.commit()  # the edit from outside stays adopted
            raise Stale(state.version)
        return state

    def _adopted(self, connection: sqlite3.Connection) -> State:
        """The present state, with a step for what the file holds where that is something else."""
        content, state = self._content(), _state(connection)
        if state is None:
            connection.execute("insert into steps values (1, ?, ?)", (_FIRST, zlib.compress(content)))
            connection.execute("insert into stand values (1, 1)")
        elif state.content != content:
            _push(connection, content, OUTSIDE)
        state = _state(connection)
        assert state is not None
        return state

    def _content(self) -> bytes:
        try:
            return self.path.read_bytes()
        except OSError as fault:
            raise JobError(f"Cannot read the job file {self.path}: {fault.strerror}. Check its name.") from fault

    @contextmanager
    def _opened(self) -> Iterator[sqlite3.Connection]:
        """A connection to the history, by itself: threads and processes never share one."""
        self._content()  # no history for a file that is not there
        try:
            with closing(sqlite3.connect(self.history, timeout=_PATIENCE_S, isolation_level=None)) as connection:
                connection.execute("pragma synchronous = full")
                yield connection
        except sqlite3.OperationalError as fault:
            raise OutputError(f"Cannot write the undo history {self.history}: {fault}.") from fault
        except sqlite3.DatabaseError as fault:
            raise JobError(
                f"The undo history {self.history} cannot be read ({fault}). Move it away; the job file is whole."
            ) from fault

    @contextmanager
    def _locked(self) -> Iterator[sqlite3.Connection]:
        """A transaction that no other writer can enter; taken back when anything goes wrong in it."""
        with self._opened() as connection:
            connection.execute("begin immediate")
            try:
                for statement in filter(str.strip, _TABLES.split(";")):
                    connection.execute(statement)
                yield connection
            except BaseException:
                if connection.in_transaction:
                    connection.rollback()
                raise
            connection.commit()


def _state(connection: sqlite3.Connection) -> State | None:
    """The state that the history stands at; None in a new one."""
    if not connection.execute("select 1 from sqlite_master where name = 'stand'").fetchone():
        return None
    row = connection.execute("select version, number, label, content from stand join steps using (number)").fetchone()
    if row is None:
        return None
    version, number, label, content = row
    after = connection.execute("select label from steps where number = ?", (number + 1,)).fetchone()
    return State(version, zlib.decompress(content), label if number > 1 else None, after[0] if after else None)


def _push(connection: sqlite3.Connection, content: bytes, label: str) -> None:
    """A step more after the present state; what was undone can no longer be redone."""
    connection.execute("delete from steps where number > (select number from stand)")
    connection.execute("update stand set version = version + 1, number = number + 1")
    connection.execute("insert into steps values ((select number from stand), ?, ?)", (label, zlib.compress(content)))
