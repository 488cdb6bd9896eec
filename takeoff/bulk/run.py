"""A run over many drawings: what is known is taken from the store, the rest is worked on, each is written when done."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
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

__all__ = ["INDEX", "MOST_SHOWN", "Ended", "Run", "request_of"]

INDEX = "index.xlsx"
MOST_SHOWN = 20
"""Reasons told at the end; the index has them all."""
ROWS = 100_000
"""Drawings in one index workbook; those beyond it come in further ones. Their rows are held in memory while it is
written, some kilobytes each."""
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


@dataclass(frozen=True, slots=True)
class Ended:
    """What a run came to."""

    done: int
    without: int
    reasons: tuple[Row, ...]
    """The first drawings without a takeoff."""
    indexes: tuple[Path, ...]


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

    def go(self, gang: Gang, say: Say) -> Ended:
        """Take off every drawing and write its documents and the index, whose rows are read back from the store: a run
        holds no more of a drawing than its key."""
        program = program_digest()
        keys: dict[int, str] = {}
        unread: dict[int, Outcome] = {}
        tally = Tally([_size(entry.drawing) for entry in self.drawings])

        def note(number: int, outcome: Outcome, known: bool = False) -> None:
            tally.add(number, outcome, known)
            say(tally.says())

        def wanting() -> Iterator[tuple[int, Request]]:
            """Requests for what is not known; looked up as late as can be, since another run may work on it too."""
            for number, entry in enumerate(self.drawings):
                try:
                    request = request_of(entry, self.wanted)
                except OSError as fault:
                    why = f"Cannot read {fault.filename}: {fault.strerror}. Check its name and folder."
                    unread[number] = Outcome("refused", why)
                    note(number, unread[number])
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
        return self._indexed(keys, unread)

    def _indexed(self, keys: Mapping[int, str], unread: Mapping[int, Outcome]) -> Ended:
        """Write the index, in as many workbooks as it takes; those of an earlier run beyond it go."""
        count, done = len(self.drawings), 0
        indexes: list[Path] = []
        reasons: list[Row] = []
        for part, first in enumerate(range(0, count, ROWS), 1):
            last = min(first + ROWS, count)
            rows = [self._row(n, unread.get(n) or self._kept(keys[n])) for n in range(first, last)]
            done += sum(row.state == "done" for row in rows)
            reasons += [row for row in rows if row.state != "done"][: MOST_SHOWN - len(reasons)]
            told = "" if count <= ROWS else f" Part {part}: drawings {first + 1:,} to {last:,} of {count:,}."
            indexes.append(self._index(part))
            write_whole(indexes[-1], index_workbook(rows, told))
        beyond = len(indexes) + 1
        while self._index(beyond).exists():
            self._index(beyond).unlink()
            beyond += 1
        return Ended(done, count - done, tuple(reasons), tuple(indexes))

    def _index(self, part: int) -> Path:
        return self.out / (INDEX if part == 1 else f"{Path(INDEX).stem}-{part}.xlsx")

    def _kept(self, key: str) -> Outcome:
        """The outcome kept under `key`, its files by name. Another run with other limits may have taken its place."""
        gone = "Another run has replaced its result meanwhile: run it again."
        return self.store.find(key, self.limits) or Outcome("given up", gone)

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
