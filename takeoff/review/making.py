"""The documents of the job made in a child: how far it is, stopping it, and the files that can be fetched.

What takes long is done there and nowhere else: sheets laid out, beads cut, the full programme. What comes of it, the
exact totals and the pictures of the boards, is kept for as long as the job stands as it was.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import PurePath

from takeoff.documents.write_all import DOCUMENTS, PRICED, make_documents
from takeoff.drawing.model import Drawing
from takeoff.errors import OutputError, TakeoffError
from takeoff.job import Job
from takeoff.limited import StoppedError, run_limited
from takeoff.pipeline import measured_up, price_up
from takeoff.plan.model import Plan
from takeoff.record import Takeoff
from takeoff.review.shown import Shown

__all__ = ["KINDS", "Made", "Making", "media_of", "title_of"]

KINDS: Mapping[str, tuple[str, ...]] = {"measure": tuple(DOCUMENTS), "quote": (*DOCUMENTS, *PRICED)}
"""The documents of each kind of run, as the commands of that name make them."""
BOARDS = "board-layouts"
MAKE_S, MAKE_MB = 1800.0, 4000
"""Limits of one run."""
LAID_AT = {"Measuring": 0.0, "Build-ups, materials and hours": 0.05, "Programme": 0.2, "Price and risk": 0.7}
QUICK_AT = {"Measuring": 0.0, "Build-ups, materials and hours": 0.2}
"""How much of a run is done when a step of the pipeline begins."""
WRITING_AT = 0.75
"""The same of the first document."""

Say = Callable[[str, float], None]
Key = tuple[str, str]
"""Text of the job file and sum of its drawing: what documents are made from."""


@dataclass(frozen=True)
class Made:
    """What a run made."""

    version: int
    key: Key
    files: Mapping[str, bytes]
    takeoff: Takeoff | None
    """With every sheet laid and the full programme; None where the run did without them."""


@dataclass
class Making:
    """The run under way or the last one. All methods may be called from any thread."""

    ring: Callable[[], None]
    state: str = "none"
    """'none', 'running', 'ready', 'failed' or 'stopped'."""
    says: str = ""
    done: float = 0.0
    made: Made | None = None
    laid: Made | None = None
    """The last run in which boards were laid."""
    _stop: threading.Event = field(default_factory=threading.Event)
    _ended: threading.Event = field(default_factory=threading.Event)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _laying: threading.Lock = field(default_factory=threading.Lock)

    def start(self, shown: Shown, kind: str) -> None:
        """Begin to make the documents of `shown`. Raises `OutputError` for a kind that there is not, and while a run
        is under way."""
        if kind not in KINDS:
            raise OutputError(f"No documents are called {kind!r}; one of: {', '.join(KINDS)}.")
        with self._lock:
            if self.state == "running":
                raise OutputError("Documents are being made already: wait for them, or stop them.")
            self.state, self.says, self.done, self.made = "running", "Beginning", 0.0, None
            self._stop.clear()
        self.ring()
        threading.Thread(target=self._run, args=(shown, kind), daemon=True).start()

    def stop(self) -> None:
        self._stop.set()

    def end(self) -> None:
        """Stop all that is being made: the program ends."""
        self._ended.set()
        self._stop.set()

    def exact(self, shown: Shown) -> Takeoff | None:
        """The takeoff with every sheet laid, where a run has made the documents of the job as it stands."""
        return self.laid.takeoff if self.laid and self.laid.key == key_of(shown) else None

    def boards_of(self, shown: Shown, room: str) -> bytes | None:
        """The picture of a room's boards, which are laid now where that was not done; None where it has none.

        Raises `LimitError` when that takes too much.
        """
        with self._laying:
            if self.laid is None or self.laid.key != key_of(shown):
                self.laid = self._child(shown, (BOARDS,), None)
            return self.laid.files.get(f"boards-{room}.svg")

    def _run(self, shown: Shown, kind: str) -> None:
        try:
            made = self._child(shown, KINDS[kind], self._stepped)
        except StoppedError:
            self._end("stopped", "")
        except TakeoffError as fault:
            self._end("failed", str(fault))
        else:
            self.made = made
            if made.takeoff:
                self.laid = made
            self._end("ready", "")

    def _child(self, shown: Shown, wanted: tuple[str, ...], say: Say | None) -> Made:
        takeoff = shown.takeoff
        files, exact = run_limited(
            _make,
            *(takeoff.drawing, takeoff.plan, takeoff.job, wanted),
            seconds=MAKE_S,
            megabytes=MAKE_MB,
            say=say or _silent,
            stop=self._stop if say else self._ended,
        )
        return Made(shown.version, key_of(shown), files, exact)

    def _stepped(self, says: str, done: float) -> None:
        self.says, self.done = says, done
        self.ring()

    def _end(self, state: str, says: str) -> None:
        self.state, self.says, self.done = state, says, 1.0 if state == "ready" else 0.0
        self.ring()


def key_of(shown: Shown) -> Key:
    return shown.text, shown.takeoff.drawing.sha256


def _silent(_says: str, _done: float) -> None:
    return None


# ---------------------------------------------------------------- in the child


def _make(
    drawing: Drawing, plan: Plan, job: Job, wanted: tuple[str, ...], say: Say
) -> tuple[dict[str, bytes], Takeoff | None]:
    """The files of the documents `wanted`, by name, and the exact takeoff where any of them needs boards laid."""
    laid = bool(set(wanted) & set(PRICED))
    begins = LAID_AT if laid else QUICK_AT

    def working(says: str) -> None:
        say(says, begins.get(says, 0.0))

    takeoff = measured_up(drawing, plan, job, working, laid)
    takeoff = price_up(takeoff, working) if laid else takeoff
    files: dict[str, bytes] = {}
    for number, name in enumerate(wanted):
        say(f"Writing: {name.replace('-', ' ')}", WRITING_AT + (1 - WRITING_AT) * number / len(wanted))
        made = make_documents(takeoff, [name])
        files |= {file: text.encode() if isinstance(text, str) else text for file, text in made.items()}
    return files, takeoff if laid else None


# ---------------------------------------------------------------- titles

TITLES = {
    "takeoff.xlsx": "Workbook",
    "marked-plan.pdf": "Marked plan",
    "quantities.csv": "Quantities, for a spreadsheet",
    "takeoff.json": "The takeoff for other programs",
    "quotation.pdf": "Quotation",
    "quotation.docx": "Quotation, to be edited",
    "buying-list.pdf": "Buying list",
    "site-schedule.pdf": "Site schedule",
}


MEDIA = {
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".csv": "text/csv; charset=utf-8",
    ".json": "application/json",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
}


def media_of(name: str) -> str:
    return MEDIA.get(PurePath(name).suffix, "application/octet-stream")


def title_of(name: str) -> str:
    """What a file is called for people."""
    stem, _, end = PurePath(name).stem.rpartition("-")
    if stem == "boards":
        return f"Boards of {end}"
    return TITLES.get(name, f"Marked plan {end}, a picture" if end != "plan" else "Marked plan, a picture")
