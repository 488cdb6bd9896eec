"""A function run in a process of its own, with limits: a hostile or broken drawing costs one sentence, not the program.

The child is forked from a small server process that has the package imported and nothing else, so that it starts
within milliseconds and holds none of this process's memory, threads or open files. What it may take is limited by the
system: processor seconds and address space, counted on top of what it starts with; and by this process: seconds of the
clock. Where the system has no such limits (Windows) only the clock counts.

Terms:
  worker   a child that runs one call after another; it is started anew after a call that came to no end of its own.
  call     one run of a function in a worker, under limits of its own.
"""

from __future__ import annotations

import multiprocessing
import pickle
import signal
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar

from takeoff.errors import TakeoffError
from takeoff.limited_child import MEGABYTE, address_space, serve, ticks

__all__ = [
    "CrashedError",
    "LimitError",
    "MemoryLimitError",
    "Spent",
    "StoppedError",
    "TimeLimitError",
    "Worker",
    "run_limited",
    "warm_up",
]

T = TypeVar("T")
Say = Callable[..., None]

PRELOADED = ["takeoff.pipeline", "takeoff.documents.write_all"]
"""What the server process imports, once."""
LOOK_S = 0.1
"""How often a request to stop is looked for, and what the worker holds."""
_STILL_S = 60.0
"""A worker that uses no processor time for so long stands still: what is refused memory may wait for ever."""
_MUCH = 0.4
"""Share of its memory from which a crash is put down to that: libraries that ask for twice what they have, and are
refused, end the process without a word."""
_CRASHES = ("SIGSEGV", "SIGBUS", "SIGABRT")
_CHILDREN = threading.Lock()
"""`multiprocessing` keeps one list of children, which two threads must not sweep at once."""


class LimitError(TakeoffError):
    """The child did not come to its end."""


class TimeLimitError(LimitError):
    """It took longer than it may."""


class MemoryLimitError(LimitError):
    """It needed more memory than it may."""


class CrashedError(LimitError):
    """It failed in a way that is a fault of the program, or of what the program was given.

    `trace` tells where, when it was a fault that Python saw.
    """

    def __init__(self, says: str, trace: str = "") -> None:
        super().__init__(says)
        self.trace = trace


class StoppedError(LimitError):
    """It was told to stop."""


@dataclass(frozen=True, slots=True)
class Spent:
    """What a call that came to its end used."""

    wall_s: float = 0.0
    cpu_s: float = 0.0
    held: int = 0
    """Bytes that its worker holds in memory afterwards; 0 where the system does not tell."""


class Worker:
    """A child that runs calls one after another, each with `seconds` (of the clock, and as many of the processor) and
    `megabytes` on top of what it starts with. For use by one thread at a time.
    """

    def __init__(self, seconds: float, megabytes: int) -> None:
        self.seconds, self.megabytes = seconds, megabytes
        self.spent = Spent()
        """By the last call that came to its end."""
        self.calls = 0
        """That the present process has brought to their end."""
        self._process: Any = None
        self._talk: Connection | None = None
        self._alive: Connection | None = None
        self._start = self._most_held = 0
        """Address space in bytes: of the present process at the first look, and the most it was seen with."""

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def pid(self) -> int | None:
        """Of the present process; None before the first call and after `close`."""
        return None if self._process is None else int(self._process.pid)

    def call(
        self, function: Callable[..., T], *args: Any, say: Say | None = None, stop: threading.Event | None = None
    ) -> T:
        """``function(*args)``, done in the worker. Arguments, result and raises are as of `run_limited`."""
        end = time.monotonic() + self.seconds
        talk = self._ready()
        try:
            with suppress(BrokenPipeError, ConnectionResetError):  # it died since the last call: heard below
                talk.send((say is not None, function, args, self.seconds))
            kind, value, cpu_s, held = self._heard(talk, end, say, stop or threading.Event())
        except BaseException:
            self.close()
            raise
        if kind == "done":
            self.calls += 1
            self.spent = Spent(time.monotonic() - end + self.seconds, cpu_s, held)
            result: T = value
            return result
        if kind == "fault" and isinstance(value, TakeoffError):
            raise value
        raise self._fault(kind, value)

    def close(self) -> None:
        """End the process."""
        process, self._process = self._process, None
        for end in (self._talk, self._alive):
            if end is not None:
                end.close()
        self._talk = self._alive = None
        self.calls = 0
        if process is not None:
            process.kill()
            with _CHILDREN:
                process.join()

    def _ready(self) -> Connection:
        """The line to a process that waits for a call."""
        with _CHILDREN:
            lives = self._process is not None and self._process.is_alive()
        if lives and self._talk is not None:
            return self._talk
        self.close()
        with _CHILDREN:
            context = _context()
            self._talk, theirs = context.Pipe()
            watched, self._alive = context.Pipe(duplex=False)
            self._process = context.Process(target=serve, args=(theirs, watched, self.megabytes), daemon=True)
            self._process.start()
        self._start = self._most_held = address_space(self._process.pid)
        theirs.close()
        watched.close()
        return self._talk

    def _heard(
        self, talk: Connection, end: float, say: Say | None, stop: threading.Event
    ) -> tuple[str, Any, float, int]:
        """What the call came to: 'done' and its result, 'fault' and its error, 'memory', 'gone', 'still', 'late',
        'stopped'; with processor seconds and bytes held."""
        used, since = ticks(self._process.pid), time.monotonic()
        while True:
            if stop.is_set():
                return "stopped", None, 0.0, 0
            left = end - time.monotonic()
            if left <= 0:
                return "late", None, 0.0, 0
            if not wait([talk], min(left, LOOK_S)):
                self._most_held = max(self._most_held, address_space(self._process.pid))
                if (now := ticks(self._process.pid)) != used or now is None:
                    used, since = now, time.monotonic()
                elif time.monotonic() - since > _STILL_S:
                    return "still", None, 0.0, 0
                continue
            try:
                kind, value, cpu_s, held = talk.recv()
            except (EOFError, OSError, pickle.UnpicklingError):
                return "gone", None, 0.0, 0
            if kind != "said":
                return kind, value, cpu_s, held
            if say is not None:
                say(*value)

    def _fault(self, kind: str, value: Any) -> LimitError:
        """Why a call came to no end of its own. Ends the process: nobody knows in what state it is."""
        process, held = self._process, self._most_held - self._start
        self.close()
        if kind == "stopped":
            return StoppedError("Stopped.")
        if kind == "late" or (kind == "gone" and process.exitcode == -getattr(signal, "SIGXCPU", 0)):
            return TimeLimitError(f"This takes longer than {self.seconds:g} seconds and was given up.")
        if kind == "memory":
            return MemoryLimitError(f"This needs more memory than {self.megabytes} MB and was given up.")
        died = kind == "gone" and _signal(process.exitcode) in _CRASHES
        if (died or kind == "still") and held > _MUCH * self.megabytes * MEGABYTE:
            last = f"it {'ended without a word' if died else 'stood still'} when it held {held // MEGABYTE} MB"
            return MemoryLimitError(f"This most likely needs more memory than {self.megabytes} MB: {last}.")
        if kind == "still":
            return CrashedError(f"The program failed at this (it stood still for {_STILL_S:g} seconds).")
        if kind == "gone":
            return CrashedError(f"The program failed at this (it ended without a word{_how(process.exitcode)}).")
        says, trace = value
        return CrashedError(f"The program failed at this ({says}).", trace)


def run_limited(
    function: Callable[..., T],
    *args: Any,
    seconds: float,
    megabytes: int,
    say: Say | None = None,
    stop: threading.Event | None = None,
) -> T:
    """``function(*args)``, done in a child. Function, arguments and result must be things that can be pickled.

    Where `say` is given the function gets a keyword ``say``, and what it says there is said here. Setting `stop` ends
    the child. A `TakeoffError` of the function comes back as it is; otherwise raises `TimeLimitError` after `seconds`,
    `MemoryLimitError` for more than `megabytes` on top of what the child starts with, `CrashedError` for any other
    fault, `StoppedError` where it was stopped.
    """
    with Worker(seconds, megabytes) as worker:
        return worker.call(function, *args, say=say, stop=stop)


def warm_up() -> None:
    """Start the server process now, in the background, so that the first child need not wait for it."""
    if _context().get_start_method() == "forkserver":
        from multiprocessing.forkserver import ensure_running

        threading.Thread(target=ensure_running, daemon=True).start()


def _context() -> Any:
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(PRELOADED)
    return context


def _how(exit_code: int) -> str:
    """The signal that ended a process, in brackets of the sentence it stands in."""
    if exit_code >= 0:
        return f", code {exit_code}"
    name = _signal(exit_code)
    return f", {name}: most likely the computer ran out of memory" if name == "SIGKILL" else f", {name}"


def _signal(exit_code: int) -> str:
    """Name of the signal that ended a process; '' where none did."""
    return signal.Signals(-exit_code).name if exit_code < 0 else ""
