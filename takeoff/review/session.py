"""A job under review: its file is the only truth, and what is shown follows from it.

Terms:
  shown   the job at one version, worked out whole.
  look    see whether the job file or its drawing has changed, by another tab, program or hand, and follow it.
  mark    changes with anything the page should hear of: a version, a step of the reading, a document made.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from takeoff.errors import DrawingError, JobError, TakeoffError
from takeoff.job import Job, job_of
from takeoff.plan.model import Plan
from takeoff.query import Query
from takeoff.review.accepts import without_spent
from takeoff.review.bell import Bell
from takeoff.review.changes import Change, apply
from takeoff.review.figures import rough_figures
from takeoff.review.ledger import Ledger, Stale, State
from takeoff.review.making import Making
from takeoff.review.reading import Reading, Stamp, read_files, stamp_of
from takeoff.review.refs import carry
from takeoff.review.shown import Shown, shown_of
from takeoff.review.starter import begun_for
from takeoff.review.uploads import drop, kept

__all__ = ["Session"]

KEPT = 3
"""Drawings kept as read."""
NO_JOB = "There is no job yet: give a drawing first."


class Session:
    """The job of a working folder. All methods may be called from any thread."""

    def __init__(self, folder: Path, job_file: Path | None = None) -> None:
        """Raises `JobError` when `job_file` cannot be read."""
        self.folder = job_file.parent if job_file else folder
        """Where drawings that come in are kept."""
        self.bell = Bell()
        self.shown: Shown | None = None
        self.fault: str | None = None
        """Why what the job file now says is not what is shown."""
        self.step: tuple[str, float] | None = None
        """What is being read, while it is, and how much of it is done, 0-1."""
        self._lock = threading.RLock()
        self._ledger = Ledger(job_file) if job_file else None
        self._seen: State | None = None
        self._readings: dict[Stamp, Reading] = {}
        self._named: tuple[list[Path], Stamp | None] | None = None
        """The drawings that the job file names, and what they were like when they were last looked for."""
        self.documents = Making(self.bell.ring)
        self._ended = threading.Event()

    @property
    def job_file(self) -> Path | None:
        return self._ledger.path if self._ledger else None

    @property
    def seen(self) -> State | None:
        """The job file when it was last looked at."""
        return self._seen

    @property
    def ended(self) -> bool:
        return self._ended.is_set()

    def end(self) -> None:
        """Let those go who wait for news, and stop what is being read or made."""
        self._ended.set()
        self.documents.end()
        self.bell.ring()

    def open_in_background(self) -> None:
        threading.Thread(target=self.look, daemon=True).start()

    def look(self) -> None:
        """Follow the job file and the drawing where they changed. While a change is under way there is no need."""
        if self._ledger is None or not self._lock.acquire(blocking=False):
            return
        try:
            state = self._ledger.look()
            if state != self._seen or self._drawing_changed():
                self._follow(state)
        except TakeoffError as fault:  # the job file is gone, or cannot be read
            self._seen = None
            self._tell(str(fault))
        finally:
            self._lock.release()

    def change(self, base: int, label: str, changes: Sequence[Change]) -> tuple[int, list[str]]:
        """Make `changes` to the job file as version `base` holds it. Returns the new version and what to tell.

        The job is worked out whole before a letter is written. Raises `Stale` when `base` is not the present version,
        `TakeoffError` when the changed job does not work; the file is then as it was.
        """
        with self._lock:
            ledger, state = self._at(base)
            carried = carry(state.text, apply(state.text, changes), self._plan_of)
            shown, notes = self._worked_out(ledger, carried.text, base)
            version = ledger.write(base, shown.text, label)
            self._show(ledger.look(), replace(shown, version=version))
        return version, [*carried.notes, *notes]

    def _worked_out(self, ledger: Ledger, text: str, base: int) -> tuple[Shown, Sequence[str]]:
        """The job of `text`; where it accepts what is no longer asked, without that, and a note that says so."""
        job = job_of(text, ledger.path.name)
        try:
            return shown_of(self._reading_for(job), job, text, base), ()
        except JobError:
            spent = without_spent(text, self._asked_of, ledger.path.name)
            if spent.text == text:
                raise
            job = job_of(spent.text, ledger.path.name)
            return shown_of(self._reading_for(job), job, spent.text, base), spent.notes

    def undo(self, base: int) -> int:
        """Take the last step back. Raises `Stale` as `change` does, `JobError` when there is nothing to undo."""
        with self._lock:
            ledger, _ = self._at(base)
            version = ledger.undo(base)
            self._follow(ledger.look())
        return version

    def redo(self, base: int) -> int:
        """Repeat the step last undone. Raises as `undo` does."""
        with self._lock:
            ledger, _ = self._at(base)
            version = ledger.redo(base)
            self._follow(ledger.look())
        return version

    def add_drawing(self, taken: Path) -> tuple[int, list[str]]:
        """Start the job with the drawing file `taken` (see `uploads.take_in`), or add it to those of the job. Returns
        the version and what to tell.

        Raises `DrawingError` for a file that is no drawing, `LimitError` for one that takes too much, `TakeoffError`
        where the job does not work with it; nothing of it is kept then.
        """
        try:
            with self._lock:
                reading = self._read([taken], Job())
                path = kept(taken)
                if self._ledger is not None:
                    return self._added(self._ledger, path)
                self._keep(reading.moved_to(path))
                self._ledger = Ledger(begun_for(path))
                self._follow(self._ledger.look())
                return self._ledger.look().version, []
        finally:
            drop(taken)

    def _added(self, ledger: Ledger, path: Path) -> tuple[int, list[str]]:
        """The drawing at `path` named in the job file."""
        state = ledger.look()
        try:
            table = job_of(state.text, ledger.path.name).drawing
            if table.file:
                name = Path(os.path.relpath(path, (ledger.path.parent / table.file).parent)).as_posix()
                change: Change = {"op": "set", "key": ["drawing", "more"], "value": [*table.more, name]}
            else:
                name = Path(os.path.relpath(path, ledger.path.parent)).as_posix()
                change = {"op": "set", "key": ["drawing", "file"], "value": name}
            return self.change(state.version, f"Drawing {path.name} added", [change])
        except TakeoffError:
            path.unlink()
            raise

    def _at(self, base: int) -> tuple[Ledger, State]:
        """The ledger, and the job file as `base` has seen it."""
        if self._ledger is None:
            raise JobError(NO_JOB)
        state = self._ledger.look()
        if state.version != base:
            raise Stale(state.version)
        return self._ledger, state

    def _follow(self, state: State) -> None:
        """Show what the job file says; where that does not work, say why and go on showing what was shown."""
        assert self._ledger is not None
        self._seen = state
        try:
            job = job_of(state.text, self._ledger.path.name)
            shown = shown_of(self._reading_for(job), job, state.text, state.version)
        except TakeoffError as fault:
            self.fault = str(fault)
            self.bell.ring()
        else:
            self._show(state, shown)

    def _show(self, state: State, shown: Shown) -> None:
        self._seen, self.shown, self.fault = state, shown, None
        self.bell.ring()

    def _tell(self, fault: str) -> None:
        if fault != self.fault:
            self.fault = fault
            self.bell.ring()

    def _reading_for(self, job: Job) -> Reading:
        """The drawings that `job` names, read anew where they are others or were changed."""
        paths = self._drawings_of(job)
        self._named = (paths, _stamp(paths))
        stamp = stamp_of(paths)
        if stamp not in self._readings:
            self._keep(self._read(paths, job))
        return self._readings[stamp]

    def _keep(self, reading: Reading) -> None:
        """The last few are kept: from one drawing to another and back is then at once."""
        self._readings[reading.stamp] = reading
        for stamp in list(self._readings)[:-KEPT]:
            del self._readings[stamp]

    def _asked_of(self, job: Job) -> Sequence[Query]:
        return rough_figures(*self._reading_for(job).understood(job), job).queries

    def _plan_of(self, job: Job) -> Plan:
        return self._reading_for(job).understood(job)[1]

    def _read(self, paths: Sequence[Path], job: Job) -> Reading:
        try:
            return read_files(paths, job, self._stepped, self._ended)
        finally:
            self.step = None
            self.bell.ring()

    def _drawings_of(self, job: Job) -> list[Path]:
        assert self._ledger is not None
        if not job.drawing.file:
            raise JobError(f'{self._ledger.path.name} names no drawing: put file = "..." under [drawing].')
        first = self._ledger.path.parent / job.drawing.file
        return [first, *(first.parent / name for name in job.drawing.more)]

    def _drawing_changed(self) -> bool:
        return self._named is not None and _stamp(self._named[0]) != self._named[1]

    def _stepped(self, says: str, done: float) -> None:
        self.step = (says, done)
        self.bell.ring()


def _stamp(paths: Sequence[Path]) -> Stamp | None:
    """None where one of the files is not there."""
    try:
        return stamp_of(paths)
    except DrawingError:
        return None
