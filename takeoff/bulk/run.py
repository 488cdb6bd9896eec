"""A run over many drawings: what is known is taken from the store, the rest is worked on, each is written when done."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from takeoff.bulk.crew import Gang, run_through
from takeoff.bulk.index import Row, index_workbook
from takeoff.bulk.keys import key_of, program_digest
from takeoff.bulk.listing import named_beside
from takeoff.bulk.model import Entry, Limits, Outcome, Request, Wanted
from takeoff.bulk.store import Store
from takeoff.bulk.tally import Tally
from takeoff.files import write_together, write_whole

__all__ = ["INDEX", "Run", "request_of"]

INDEX = "index.xlsx"
DOCUMENTS = "drawings"
"""Folder of the folders of documents."""
Say = Callable[[str], None]


def request_of(entry: Entry, wanted: Wanted) -> Request:
    """What is sent to a worker. Raises `OSError` when a file cannot be read."""
    job = entry.job
    return Request(
        entry.drawing.name,
        entry.drawing.read_bytes(),
        job.name if job else "",
        job.read_bytes() if job else None,
        wanted,
        tuple((name, (entry.drawing.parent / name).read_bytes()) for name in named_beside(job)),
    )


@dataclass(frozen=True)
class Run:
    """A run over `drawings`, with its documents in `out` and its results kept in `store`."""

    drawings: Sequence[Entry]
    out: Path
    store: Store
    wanted: Wanted
    limits: Limits
    again: bool = False
    """Work once more on the drawings that were refused or given up before."""

    def go(self, gang: Gang, say: Say) -> tuple[Row, ...]:
        """Take off every drawing and write its documents and the index. Returns the rows of the index."""
        program = program_digest()
        keys: dict[int, str] = {}
        rows: dict[int, Row] = {}
        tally = Tally([_size(entry.drawing) for entry in self.drawings])

        def note(number: int, outcome: Outcome, known: bool = False) -> None:
            rows[number] = self._row(number, outcome)
            tally.add(number, outcome, known)
            say(tally.says())

        def wanting() -> Iterator[tuple[int, Request]]:
            """Requests for what is not known; looked up as late as can be, since another run may work on it too."""
            for number, entry in enumerate(self.drawings):
                try:
                    request = request_of(entry, self.wanted)
                except OSError as fault:
                    why = f"Cannot read {fault.filename}: {fault.strerror}. Check its name and folder."
                    note(number, Outcome("refused", why))
                    continue
                keys[number] = key_of(request, program)
                known = self._known(number, keys[number])
                if known is None:
                    yield number, request
                else:
                    note(number, known, known=True)

        for number, outcome in run_through(gang, wanting()):
            self.store.keep(keys[number], outcome, self.limits)
            self._place(number, keys[number], outcome)
            note(number, outcome)
        ordered = tuple(rows[number] for number in sorted(rows))
        write_whole(self.out / INDEX, index_workbook(ordered))
        return ordered

    def _known(self, number: int, key: str) -> Outcome | None:
        """The outcome kept under `key`, with its documents in place."""
        outcome = self.store.find(key, self.limits)
        if outcome is None or (self.again and outcome.state != "done"):
            return None
        folder = self._folder(number)
        if self.store.placed(folder) != key or not all((folder / name).is_file() for name in outcome.files):
            outcome = self.store.files(key)
            if outcome is not None:
                self._place(number, key, outcome)
        return outcome

    def _place(self, number: int, key: str, outcome: Outcome) -> None:
        """Write the documents of `outcome` into their folder; those of an earlier one go."""
        folder = self._folder(number)
        before = self.store.find(self.store.placed(folder), self.limits)
        if before is not None:
            for name in before.files.keys() - outcome.files.keys():
                (folder / name).unlink(missing_ok=True)
        write_together({folder / name: content for name, content in outcome.files.items()})
        self.store.place(folder, key)

    def _row(self, number: int, outcome: Outcome) -> Row:
        entry = self.drawings[number]
        links = tuple(f"{DOCUMENTS}/{entry.name}/{name}" for name in outcome.files)
        job = str(entry.job or "")
        return Row(entry.name, str(entry.drawing), job, outcome.state, outcome.reason, outcome.summary, links)

    def _folder(self, number: int) -> Path:
        return self.out / DOCUMENTS / self.drawings[number].name


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0
