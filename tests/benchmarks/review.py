"""How soon the review page has the figures of an edit: `python tests/benchmarks/review.py [JOB.toml or DRAWING.dxf]`.

For each job (the samples unless told) a real server in its own process is asked as the page asks it: send the change,
then fetch rooms, totals and the room in view. Printed: milliseconds of the clock, the best of several; and processor
time of the server for one edit over that of the same takeoff from its files in one go, imports done, a ratio of one run
that other programs on the machine do not change. A house is to have its figures in 200 ms.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from takeoff.job import Job, job_from, read_job
from takeoff.pipeline import take_off

ROOT = Path(__file__).resolve().parents[2]
TIMES = 7

EDITS = {
    "height": lambda n: {"op": "set", "key": ["rooms", "R1", "height"], "value": 2.3 + n / 100},
    "name": lambda n: {"op": "set", "key": ["rooms", "R1", "name"], "value": f"Room {n}"},
    "opening": lambda n: {"op": "set", "key": ["openings", "D1", "width"], "value": 0.8 + n / 100},
}
"""One kind of edit each; `n` makes it a new one every time."""


def _sample_jobs() -> list[Path]:
    """The job files of the samples: those of a drawing, not of a site."""
    return [path for path in sorted((ROOT / "samples").glob("*.toml")) if path.with_suffix(".dxf").exists()]


class Page:
    """Asks the server as the page does."""

    def __init__(self, port: int, key: str, pid: int) -> None:
        self._pid = pid
        self._line = http.client.HTTPConnection("127.0.0.1", port, timeout=600)
        self._line.connect()
        self._line.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)  # as browsers do: head and body at once
        self._key = {"X-Takeoff-Key": key, "Content-Type": "application/json"}

    def cpu_s(self) -> float:
        """Processor seconds of the server so far."""
        fields = Path(f"/proc/{self._pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def ask(self, path: str, body: Any = None) -> Any:
        self._line.request("POST" if body else "GET", path, json.dumps(body) if body else None, self._key)
        answer = self._line.getresponse()
        told = json.loads(answer.read())
        if answer.status != 200:
            raise RuntimeError(f"{path}: {told}")
        return told

    def ready(self) -> Any:
        """The state once the drawing is read."""
        while not (state := self.ask("/api/state"))["has_drawing"]:
            if state["fault"]:
                raise RuntimeError(state["fault"])
            time.sleep(0.05)
        return state

    def edit_s(self, change: Any) -> float:
        """Seconds from sending a change to having the figures."""
        base = self.ask("/api/state")["version"]
        start = time.perf_counter()
        self.ask("/api/change", {"base": base, "label": "edit", "changes": [change]})
        for path in ("/api/rooms", "/api/totals", "/api/room/R1"):
            self.ask(path)
        return time.perf_counter() - start


def job_of(named: Path) -> Job:
    """The job file `named`, or one that says nothing of the drawing `named`."""
    return read_job(named) if named.suffix == ".toml" else job_from({"drawing": {"file": named.name}})


@contextmanager
def served(named: Path) -> Iterator[Page]:
    """A page of a copy of the job."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(named, folder)
        if named.suffix == ".toml":
            shutil.copy(named.parent / job_of(named).drawing.file, folder)
        command = [sys.executable, "-m", "takeoff", "review", "--no-open", str(Path(folder) / named.name)]
        server = subprocess.Popen(
            command, stdout=subprocess.PIPE, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}
        )
        try:
            assert server.stdout is not None
            found = re.search(r":(\d+)/#key=(\S+)", server.stdout.readline())
            assert found is not None
            yield Page(int(found[1]), found[2], server.pid)
        finally:
            server.terminate()
            server.wait()


def whole_s(named: Path) -> float:
    """Processor seconds of the takeoff from its files."""
    taken = []
    for _ in range(3):
        start = time.process_time()
        job = job_of(named)
        take_off(named.parent / job.drawing.file, job)
        taken.append(time.process_time() - start)
    return min(taken)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("jobs", nargs="*", type=Path, default=_sample_jobs())
    print(f"{'job':24} {'first ms':>9}" + "".join(f"{edit + ' ms':>12} {'ratio':>6}" for edit in EDITS))
    for named in parser.parse_args().jobs:
        whole, start = whole_s(named), time.perf_counter()
        with served(named) as page:
            page.ready()
            row = f"{named.stem[:24]:24} {1000 * (time.perf_counter() - start):9.0f}"
            for edit in EDITS.values():
                before = page.cpu_s()
                best = min(page.edit_s(edit(n)) for n in range(TIMES))
                row += f"{1000 * best:12.0f} {(page.cpu_s() - before) / TIMES / whole:6.2f}"
            print(row)


if __name__ == "__main__":
    main()
