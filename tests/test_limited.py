"""Limits of a child process, met on purpose. What the system does at a limit: setrlimit(2), signal(7)."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

import pytest

from takeoff.errors import DrawingError
from takeoff.limited import (
    CrashedError,
    LimitError,
    MemoryLimitError,
    StoppedError,
    TimeLimitError,
    run_limited,
)

LINUX = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the system counts address space on Linux only")


def product(a: int, b: int) -> int:
    return a * b


def process() -> int:
    return os.getpid()


def hog(megabytes: int) -> int:
    return len(bytearray(megabytes << 20))


def sleep(seconds: float) -> None:
    time.sleep(seconds)


def spin() -> None:
    while True:
        pass


def refuse() -> None:
    raise DrawingError("The drawing has no lines. Draw some.")


def trip() -> None:
    raise ValueError("odd")


def leave() -> None:
    os._exit(3)


def fall() -> None:
    os.kill(os.getpid(), signal.SIGSEGV)


def dig() -> None:
    dig()


def count(most: int, say: Callable[[str, int], None]) -> str:
    for n in range(most):
        say("counted", n)
    return "counted all"


def limited(function: Callable[..., Any], *args: Any, seconds: float = 30, megabytes: int = 500) -> Any:
    return run_limited(function, *args, seconds=seconds, megabytes=megabytes)


def test_it_runs_elsewhere_and_brings_the_result() -> None:
    assert limited(product, 6, 7) == 42
    assert limited(process) != os.getpid()


@LINUX
def test_memory_is_counted_on_top_of_what_the_child_starts_with() -> None:
    assert limited(hog, 100, megabytes=300) == 100 << 20
    with pytest.raises(MemoryLimitError, match="more memory than 300 MB"):
        limited(hog, 400, megabytes=300)


@pytest.mark.parametrize(("function", "args"), [(sleep, (60,)), (spin, ())])
def test_time_runs_out_for_the_idle_and_the_busy(function: Callable[..., Any], args: tuple[Any, ...]) -> None:
    with pytest.raises(TimeLimitError, match="longer than 1 seconds"):
        limited(function, *args, seconds=1)


def test_an_error_for_the_user_comes_back_as_it_is() -> None:
    with pytest.raises(DrawingError, match="has no lines"):
        limited(refuse)


@pytest.mark.parametrize("function", [trip, leave, fall, dig])
def test_any_other_end_is_told_in_a_sentence(function: Callable[[], None]) -> None:
    with pytest.raises(CrashedError, match=r"^The program failed at this \(.+\)\.$"):
        limited(function)


def test_a_child_is_stopped() -> None:
    stop = threading.Event()
    threading.Timer(0.3, stop.set).start()
    with pytest.raises(StoppedError):
        run_limited(sleep, 60, seconds=60, megabytes=100, stop=stop)


def test_a_child_says_how_far_it_is() -> None:
    heard: list[tuple[str, int]] = []
    done = run_limited(count, 3, seconds=30, megabytes=100, say=lambda *words: heard.append(words))
    assert done == "counted all"
    assert heard == [("counted", 0), ("counted", 1), ("counted", 2)]


def test_limits_are_one_family() -> None:
    assert all(issubclass(e, LimitError) for e in (TimeLimitError, MemoryLimitError, CrashedError, StoppedError))
