"""The worker's side of `takeoff.limited`: have the system hold the limits, run calls, tell what each came to."""

from __future__ import annotations

import os
import pickle
import signal
import sys
import threading
import time
import traceback
from contextlib import suppress
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from takeoff.errors import TakeoffError

__all__ = ["MEGABYTE", "address_space", "serve", "ticks"]

MEGABYTE = 1 << 20
LONGEST_FAULT = 300
LONGEST_TRACE = 20_000
"""Characters of a fault and of its trace that are passed on."""
_STATM = "/proc/{}/statm"
"""Linux: pages of address space, pages in memory (proc(5))."""
_STAT = "/proc/{}/stat"
"""Linux: fields 14 and 15 are processor time (proc(5)), counted from 1."""


def serve(talk: Connection, alive: Connection, megabytes: int) -> None:
    """Run calls from `talk` until it closes; end at once, mid-call too, when the parent behind `alive` is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the parent, which ends this
    threading.Thread(target=_end_with, args=(alive,), daemon=True).start()
    _limit_memory(megabytes)
    while True:
        try:
            call = talk.recv_bytes()
        except (EOFError, OSError):
            return
        with suppress(OSError):  # the parent has stopped listening
            talk.send_bytes(_done(talk, call))


def _end_with(alive: Connection) -> None:
    try:
        alive.recv_bytes()
    except (EOFError, OSError):
        os._exit(1)


def _done(talk: Connection, call: bytes) -> bytes:
    """One call: what it came to, pickled, with the processor seconds it took and the bytes held after it."""
    begun = time.process_time()

    def told(kind: str, value: Any) -> bytes:
        return pickle.dumps((kind, value, time.process_time() - begun, _pages("self", 1)), pickle.HIGHEST_PROTOCOL)

    try:
        talks, function, args, seconds = pickle.loads(call)
        _limit_time(seconds)
        more = {"say": lambda *words: talk.send(("said", words, 0.0, 0))} if talks else {}
        return told("done", function(*args, **more))
    except TakeoffError as fault:
        return told("fault", fault)
    except MemoryError:
        return told("memory", None)
    except RecursionError:
        return told("flaw", ("nested too deep", ""))
    except Exception as fault:
        says = f"{type(fault).__name__}: {fault}"[:LONGEST_FAULT]
        return told("flaw", (says, traceback.format_exc()[-LONGEST_TRACE:]))


def _limit_memory(megabytes: int) -> None:
    """Have the system give no more than `megabytes` of address space on top of what there is now; no core dumps."""
    if sys.platform == "win32":
        return
    import resource

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if Path(_STATM.format("self")).exists():
        limit = address_space("self") + megabytes * MEGABYTE
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))


def _limit_time(seconds: float) -> None:
    """Have the system end this process when it has used `seconds` of the processor from now on."""
    if sys.platform == "win32":
        return
    import resource

    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    whole = int(time.process_time() + seconds) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (whole if hard == resource.RLIM_INFINITY else min(whole, hard), hard))


def address_space(process: int | str) -> int:
    """Bytes of address space that `process` (its number, or 'self') holds; 0 where the system does not tell."""
    return _pages(process, 0)


def ticks(process: int | str) -> int | None:
    """Processor time that `process` (its number, or 'self') has used, in ticks of the system; None where it does not
    tell."""
    try:
        fields = Path(_STAT.format(process)).read_text().rpartition(")")[2].split()
        return int(fields[11]) + int(fields[12])
    except (OSError, IndexError, ValueError):  # there is no such file, or no such process any more
        return None


def _pages(process: int | str, column: int) -> int:
    """A column of `_STATM` in bytes; 0 where the system does not tell."""
    try:
        return int(Path(_STATM.format(process)).read_text().split()[column]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, IndexError):  # there is no such file, or no such process any more
        return 0
