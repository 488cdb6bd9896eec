"""Workers on this machine: processes under limits, each fed by a thread, replaced before they grow."""

from __future__ import annotations

import os
import threading
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from tempfile import TemporaryDirectory
from typing import Protocol

from takeoff.bulk.model import Limits, Outcome, Request
from takeoff.bulk.one import attempt
from takeoff.limited import Worker

__all__ = ["Cost", "Crew", "Gang", "crew", "processors", "run_through"]

CALLS = 200
"""Drawings that one process takes off before a new one takes its place: what libraries never give back stays small."""
AHEAD = 2
"""Requests in hand for each worker: one it works on, one that waits; more would only fill memory."""


@dataclass(frozen=True, slots=True)
class Cost:
    """What one drawing took."""

    worker: str
    process: int
    """A worker's process is replaced now and then."""
    cpu_s: float
    held: int
    """Bytes that the process held in memory afterwards."""


class Gang(Protocol):
    """Whoever takes requests: processes here, or a cluster."""

    @property
    def room(self) -> int:
        """How many requests it takes at once."""

    def submit(self, request: Request) -> Future[Outcome]:
        """Begin `request`."""


def run_through(gang: Gang, requests: Iterator[tuple[int, Request]]) -> Iterator[tuple[int, Outcome]]:
    """The outcomes of numbered `requests` as they come, with never more than ``gang.room`` of them in hand."""
    running: dict[Future[Outcome], int] = {}
    more = True
    while more or running:
        while more and len(running) < gang.room:
            number, request = next(requests, (-1, None))
            if request is None:
                more = False
            else:
                running[gang.submit(request)] = number
        done, _ = wait(running, return_when=FIRST_COMPLETED)
        for future in done:
            yield running.pop(future), future.result()


class Crew:
    """`size` workers on this machine."""

    def __init__(self, size: int, limits: Limits, scratch: Path) -> None:
        self.room = size * AHEAD
        self.stopped = threading.Event()
        self._idle: SimpleQueue[tuple[Worker, Path]] = SimpleQueue()
        for n in range(size):
            (scratch / str(n)).mkdir()
            self._idle.put((Worker(limits.seconds, limits.megabytes), scratch / str(n)))
        self._threads = ThreadPoolExecutor(size)
        self.spent: list[Cost] = []
        """By each drawing that was taken off, in the order they were done."""

    def submit(self, request: Request) -> Future[Outcome]:
        return self._threads.submit(self.do, request)

    def do(self, request: Request) -> Outcome:
        """The outcome of `request`, by the next worker that is free."""
        worker, scratch = self._idle.get()
        try:
            outcome = attempt(worker, request, scratch, self.stopped)
            if outcome.state == "done" and worker.pid is not None:
                self.spent.append(Cost(scratch.name, worker.pid, worker.spent.cpu_s, worker.spent.held))
            if worker.calls >= CALLS:
                worker.close()
            return outcome
        finally:
            self._idle.put((worker, scratch))

    def close(self) -> None:
        """Stop what runs and end the processes."""
        self.stopped.set()
        self._threads.shutdown(cancel_futures=True)
        while not self._idle.empty():
            self._idle.get()[0].close()


@contextmanager
def crew(size: int, limits: Limits) -> Iterator[Crew]:
    """A crew that is gone, with its processes and files, when this is left."""
    with TemporaryDirectory(prefix="takeoff-") as scratch:
        workers = Crew(size, limits, Path(scratch))
        try:
            yield workers
        finally:
            workers.close()


def processors() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
