"""Limits of a child process, met on purpose. What the system does at a limit: setrlimit(2), signal(7)."""

from __future__ import annotations

import os
import signal
import subprocess
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
    Worker,
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


def swell_and_fall(megabytes: int) -> None:
    """What a library does that is refused the memory it asks for and does not look."""
    held = bytearray(megabytes << 20)
    time.sleep(0.5)
    os.kill(os.getpid(), signal.SIGSEGV)
    del held


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


@LINUX
def test_a_crash_of_a_process_that_holds_much_is_put_down_to_memory() -> None:
    with pytest.raises(MemoryLimitError, match="most likely needs more memory than 500 MB"):
        limited(swell_and_fall, 300, megabytes=500)
    with pytest.raises(CrashedError):
        limited(swell_and_fall, 20, megabytes=500)


@pytest.mark.parametrize(("function", "args"), [(sleep, (60,)), (spin, ())])
def test_time_runs_out_for_the_idle_and_the_busy(function: Callable[..., Any], args: tuple[Any, ...]) -> None:
    with pytest.raises(TimeLimitError, match="longer than 1 seconds"):
        limited(function, *args, seconds=1)


@LINUX
def test_what_stands_still_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("takeoff.limited._STILL_S", 0.5)
    with pytest.raises(CrashedError, match="stood still"):
        limited(sleep, 60, seconds=50)
    with pytest.raises(TimeLimitError, match="longer than 2 seconds"):
        limited(spin, seconds=2)


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


def busy(seconds: float) -> int:
    end = time.process_time() + seconds
    while time.process_time() < end:
        pass
    return os.getpid()


def gobble() -> None:
    heap = []
    while True:
        heap.append(bytearray(1 << 20))


def test_a_worker_runs_many_calls_in_one_process_and_tells_what_each_took() -> None:
    with Worker(30, 500) as worker:
        first = worker.call(process)
        assert {worker.call(process), worker.pid} == {first}
        worker.call(busy, 0.3)
        assert worker.calls == 3 and 0.25 < worker.spent.cpu_s < 1 and worker.spent.wall_s > 0.25
        assert not sys.platform.startswith("linux") or worker.spent.held > 1 << 20


def test_processor_time_is_counted_for_each_call_anew() -> None:
    """Six calls of half a second each pass under a limit of two (the system counts whole seconds)."""
    with Worker(2, 500) as worker:
        assert len({worker.call(busy, 0.5) for _ in range(6)}) == 1


@LINUX
@pytest.mark.parametrize("function", [trip, leave, fall, dig, gobble, spin])
def test_a_worker_goes_on_after_a_call_that_ended_badly(function: Callable[[], None]) -> None:
    with Worker(2, 300) as worker:
        before = worker.call(process)
        with pytest.raises(LimitError):
            worker.call(function)
        assert worker.call(product, 6, 7) == 42
        assert worker.pid != before


def test_a_worker_is_kept_after_a_refusal_and_replaced_when_it_died_in_between() -> None:
    with Worker(30, 500) as worker:
        before = worker.call(process)
        with pytest.raises(DrawingError):
            worker.call(refuse)
        assert worker.call(process) == before
        os.kill(before, signal.SIGKILL)
        time.sleep(0.3)
        assert worker.call(process) != before


def test_the_trace_of_a_flaw_is_kept_for_the_report() -> None:
    with pytest.raises(CrashedError) as caught:
        limited(trip)
    assert "in trip" in caught.value.trace


def test_workers_in_many_threads_end_each_in_its_own_way() -> None:
    ends: dict[int, str] = dict.fromkeys(range(6), "")

    def one(n: int) -> None:
        with Worker(30, 500) as worker:
            for _ in range(3):
                try:
                    worker.call(fall if n % 2 else process)
                    ends[n] += "."
                except CrashedError as fault:
                    ends[n] += "x" if "SIGSEGV" in str(fault) else str(fault)

    threads = [threading.Thread(target=one, args=(n,)) for n in ends]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert ends == {n: "xxx" if n % 2 else "..." for n in range(6)}


ORPHAN = """
from takeoff.limited import Worker
from tests.test_limited import process, sleep
worker = Worker(600, 500)
print(worker.call(process), flush=True)
worker.call(sleep, 600)
"""


@LINUX
def test_a_worker_ends_with_a_parent_that_is_killed() -> None:
    parent = subprocess.Popen([sys.executable, "-c", ORPHAN], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    pid = int(parent.stdout.readline())
    time.sleep(0.3)
    parent.kill()
    parent.wait()
    for _ in range(100):
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    os.kill(pid, signal.SIGKILL)
    pytest.fail("the worker outlived its parent")
