"""What the one process of a run holds and takes for each drawing: rows in memory, and the index written from them.

``python -m tests.benchmarks.index [ROWS ...]``: a run over so many drawings that are all known from before, each with
three questions and four documents, as a run started again meets them. Each count in a process of its own.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import Future
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from msgspec import msgpack

from takeoff.bulk.model import Asked, Entry, Limits, Outcome, Request, Summary, Wanted
from takeoff.bulk.run import Run
from takeoff.bulk.store import Store

ROWS = (5_000, 20_000)
DOCUMENTS = ("takeoff.xlsx", "marked-plan.pdf", "takeoff.json", "quantities.csv")
ASKED = Asked("Q1", "height-default", "height", ("R1",), "Nothing says how high R1 is: measured at 2.40 m. " * 2)
SUMMARY = Summary(7, 9, 81.5, 190.25, 81.5, 6.25, 96.5, 2400.0, "£", None, (ASKED, ASKED, ASKED))


@dataclass
class Nobody:
    """Takes no request: every outcome is there before."""

    room: int = 4

    def submit(self, request: Request) -> Future[Outcome]:
        raise AssertionError(request.drawing_name)


KEPT = msgpack.encode(Outcome("done", summary=SUMMARY, files=dict.fromkeys(DOCUMENTS, b"")))


class Known(Store):
    """A store that knows every drawing; each time it is asked it unpacks the outcome, as the real one does."""

    def find(self, key: str, limits: Limits) -> Outcome | None:
        return msgpack.decode(KEPT, type=Outcome)


class Placed(Run):
    """A run whose documents are all in place."""

    def _known(self, number: int, key: str) -> Outcome | None:
        return self.store.find(key, self.limits)


def measured(rows: int) -> tuple[float, int, int]:
    """Processor seconds, peak of memory in kB, bytes of the index."""
    with TemporaryDirectory() as folder:
        drawing = Path(folder) / "a.dxf"
        drawing.write_bytes(b"0\nEOF\n")
        entries = tuple(Entry(f"phase {n % 40}/house {n:07d}", drawing) for n in range(rows))
        run = Placed(entries, Path(folder), Known(Path(folder) / "kept"), Wanted(), Limits())
        begun = time.process_time()
        run.go(Nobody(), lambda _: None)
        spent = time.process_time() - begun
        size = sum(index.stat().st_size for index in Path(folder).glob("index*.xlsx"))
    return spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, size


def lines(counts: tuple[int, ...]) -> Iterator[str]:
    """A line for each count, then what a row more costs."""
    figures = []
    for rows in counts:
        said = subprocess.run(
            [sys.executable, "-m", __spec__.name, "--one", str(rows)], capture_output=True, text=True, check=True
        )
        seconds, peak, size = map(float, said.stdout.split())
        figures.append((rows, seconds, peak, size))
        yield f"{rows:>9,} rows: {seconds:7.1f} s, peak {peak / 1024:7.1f} MB, index {size / 1e6:6.1f} MB"
    (few, s0, p0, b0), (many, s1, p1, b1) = figures[0], figures[-1]
    more = many - few
    row = f"{1e3 * (s1 - s0) / more:.2f} ms, {(p1 - p0) / more:.2f} kB of memory"
    yield f"a row more: {row}, {(b1 - b0) / more:.0f} bytes"


if __name__ == "__main__":
    if "--one" in sys.argv:
        print(*measured(int(sys.argv[-1])))
    else:
        for line in lines(tuple(map(int, sys.argv[1:])) or ROWS):
            print(line, flush=True)
