"""A function run in a process of its own, with limits: a hostile or broken drawing costs one sentence, not the program.

The child is forked from a small server process that has the package imported and nothing else, so that it starts
within milliseconds and holds none of this process's memory, threads or open files. What it may take is limited by the
system: processor seconds and address space, counted on top of what it starts with; and by this process: seconds of the
clock. Where the system has no such limits (Windows) only the clock counts.
"""

from __future__ import annotations

import multiprocessing
import pickle
import signal
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any, TypeVar

from takeoff.errors import TakeoffError

__all__ = ["CrashedError", "LimitError", "MemoryLimitError", "StoppedError", "TimeLimitError", "run_limited", "warm_up"]

T = TypeVar("T")
Say = Callable[..., None]

PRELOADED = ["takeoff.pipeline"]
"""What the server process imports, once."""
LOOK_S = 0.1
"""How often a request to stop is looked for."""
MEGABYTE = 1 << 20
GRACE_S = 2
"""Processor seconds between the system's warning and its end of the child."""


class LimitError(TakeoffError):
    """The child did not come to its end."""


class TimeLimitError(LimitError):
    """It took longer than it may."""


class MemoryLimitError(LimitError):
    """It needed more memory than it may."""


class CrashedError(LimitError):
    """It failed in a way that is a fault of the program, or of what the program was given."""


class StoppedError(LimitError):
    """It was told to stop."""


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
    context = _context()
    here, there = context.Pipe(duplex=False)
    child = context.Process(
        target=_in_child, args=(there, seconds, megabytes, say is not None, function, args), daemon=True
    )
    child.start()
    there.close()
    try:
        kind, value = _heard(here, time.monotonic() + seconds, say, stop or threading.Event())
    finally:
        here.close()
        child.kill()
        child.join()
    if kind == "done":
        result: T = value
        return result
    raise _fault(kind, value, child.exitcode, seconds, megabytes)


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


def _heard(here: Connection, end: float, say: Say | None, stop: threading.Event) -> tuple[str, Any]:
    """What the child came to: 'done' and its result, 'fault' and its error, or 'gone', 'late', 'stopped', 'memory'."""
    while True:
        if stop.is_set():
            return "stopped", None
        left = end - time.monotonic()
        if left <= 0:
            return "late", None
        if not wait([here], min(left, LOOK_S)):
            continue
        try:
            kind, value = here.recv()
        except (EOFError, OSError, pickle.UnpicklingError):
            return "gone", None
        if kind != "said":
            return kind, value
        if say is not None:
            say(*value)


def _fault(kind: str, value: Any, exit_code: int | None, seconds: float, megabytes: int) -> Exception:
    if kind == "fault" and isinstance(value, TakeoffError):
        return value
    if kind == "stopped":
        return StoppedError("Stopped.")
    if kind == "late" or (kind == "gone" and exit_code == -getattr(signal, "SIGXCPU", 0)):
        return TimeLimitError(f"This takes longer than {seconds:g} seconds and was given up.")
    if kind == "memory":
        return MemoryLimitError(f"This needs more memory than {megabytes} MB and was given up.")
    return CrashedError(f"The program failed at this ({value or 'it ended without a word'}).")


# ---------------------------------------------------------------- in the child


def _in_child(
    there: Connection, seconds: float, megabytes: int, talks: bool, function: Callable[..., Any], args: tuple[Any, ...]
) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, which ends this
    _limit(seconds, megabytes)
    try:
        more = {"say": lambda *words: there.send(("said", words))} if talks else {}
        told: tuple[str, Any] = ("done", function(*args, **more))
        sent = pickle.dumps(told, pickle.HIGHEST_PROTOCOL)
    except TakeoffError as fault:
        sent = pickle.dumps(("fault", fault))
    except MemoryError:
        sent = pickle.dumps(("memory", None))
    except RecursionError:
        sent = pickle.dumps(("fault", "nested too deep"))
    except Exception as fault:
        sent = pickle.dumps(("fault", f"{type(fault).__name__}: {fault}"[:300]))
    with suppress(OSError):  # the parent has stopped listening
        there.send_bytes(sent)


def _limit(seconds: float, megabytes: int) -> None:
    """Have the system end this process when it takes too much."""
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    used = resource.getrusage(resource.RUSAGE_SELF)
    whole = int(used.ru_utime + used.ru_stime + seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (whole, whole + GRACE_S))
    held = Path("/proc/self/statm")
    if held.exists():
        start = int(held.read_text().split()[0]) * resource.getpagesize()
        limit = start + megabytes * MEGABYTE
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
