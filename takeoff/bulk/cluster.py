"""Workers on a Dask cluster that is there already: requests go out as bytes, so that no disk need be shared.

Each worker of the cluster keeps processes of its own under the limits of a drawing, as on one machine: a hostile
drawing ends one of those, never the worker. A worker that is lost gives its drawings back to the scheduler, which hands
them to others. Needs the extra: ``pip install takeoff[cluster]``.
"""

from __future__ import annotations

import multiprocessing
import zlib
from collections.abc import Iterator
from concurrent.futures import Future
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from uuid import uuid4

import dask
from distributed import Client, KilledWorker, WorkerPlugin, get_worker
from msgspec import msgpack

from takeoff.bulk.crew import AHEAD, Crew
from takeoff.bulk.keys import program_digest
from takeoff.bulk.model import Limits, Outcome, Request
from takeoff.bulk.one import packed, unpacked
from takeoff.errors import TakeoffError

__all__ = ["Cluster", "cluster"]

PATIENCE = "30s"
"""For the scheduler to answer at the beginning."""
RETRIES = 2
"""Of a task that fails in the cluster's own machinery; lost workers are counted by the scheduler."""
LARGE = "1GiB"
"""Size of a request that Dask warns of: drawings travel in the task, so that they outlive the worker that has them."""


class Cluster:
    """The cluster behind `client`, each of whose workers has a crew under the name `plugin`."""

    def __init__(self, client: Client, plugin: str, program: str) -> None:
        self._client, self._plugin, self._program = client, plugin, program
        self._running: set[Any] = set()

    @property
    def room(self) -> int:
        """As many drawings as keep every thread of the cluster busy: more would only fill the scheduler's memory."""
        threads: dict[str, int] = self._client.nthreads()
        return AHEAD * max(1, sum(threads.values()))

    def submit(self, request: Request) -> Future[Outcome]:
        """Begin `request` on a worker; lost workers are replaced by others."""
        sent = zlib.compress(msgpack.encode(request), 1)
        task = self._client.submit(_on_worker, sent, self._plugin, self._program, pure=False, retries=RETRIES)
        result: Future[Outcome] = Future()
        self._running.add(task)
        task.add_done_callback(partial(self._ended, result))
        return result

    def _ended(self, result: Future[Outcome], task: Any) -> None:
        """Hand on what became of `task`."""
        self._running.discard(task)
        try:
            result.set_result(unpacked(task.result()))
        except KilledWorker as fault:
            lost = "The workers that had it were lost one after another, most likely because it needs too much memory"
            result.set_result(Outcome("given up", f"{lost} ({fault.last_worker.address})."))
        except TakeoffError as fault:
            result.set_exception(fault)
        except BaseException as fault:
            why = f"{type(fault).__name__}: {fault}"
            result.set_exception(TakeoffError(f"The cluster is gone ({why}). Start the run again: it goes on."))


@contextmanager
def cluster(address: str, limits: Limits) -> Iterator[Cluster]:
    """The cluster whose scheduler is at `address`, such as ``tcp://host:8786``.

    Raises `TakeoffError` when it does not answer.
    """
    program = program_digest()
    with dask.config.set({"distributed.admin.large-graph-warning-threshold": LARGE}):
        try:
            client = Client(address, timeout=PATIENCE, set_as_default=False)
        except (OSError, ValueError) as fault:
            raise TakeoffError(
                f"No Dask scheduler answers at {address}: {fault}. Start one, or mend the address."
            ) from fault
        plugin = f"takeoff-{uuid4().hex}"
        with client:
            client.register_plugin(_CrewOfWorker(limits), name=plugin)
            try:
                yield Cluster(client, plugin, program)
            finally:
                client.unregister_worker_plugin(plugin)


class _CrewOfWorker(WorkerPlugin):  # type: ignore[misc]
    """Gives a worker of the cluster its processes, one for each of its threads, and takes them away again."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.program = ""
        self.crew: Crew | None = None

    def setup(self, worker: Any) -> None:
        # Dask's workers are daemons, which may have no children lest those outlive them; ours end with their parent.
        multiprocessing.current_process()._config["daemon"] = False  # type: ignore[attr-defined]
        self.program = program_digest()
        self._scratch = TemporaryDirectory(prefix="takeoff-")
        self.crew = Crew(worker.state.nthreads, self.limits, Path(self._scratch.name))

    def teardown(self, worker: Any) -> None:
        if self.crew is not None:
            self.crew.close()
            self._scratch.cleanup()


def _on_worker(sent: bytes, plugin: str, program: str) -> bytes:
    """One request, on a worker of the cluster: its packed outcome."""
    worker = get_worker()
    own = worker.plugins[plugin]
    if own.program != program:
        raise TakeoffError(
            f"The cluster's worker at {worker.address} has another version of the program or of a library than this "
            "machine: install the same ones, so that results are the same bit for bit."
        )
    request = msgpack.decode(zlib.decompress(sent), type=Request)
    return packed(own.crew.do(request))
