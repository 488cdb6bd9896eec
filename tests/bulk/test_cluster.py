"""A real cluster of several worker processes on this machine: the same bytes as without, also when one is killed."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from takeoff.bulk.command import run_folder
from takeoff.bulk.model import Limits, Wanted
from takeoff.errors import TakeoffError
from tests.bulk.drawings import broken, one_room
from tests.bulk.test_folder import contents

distributed = pytest.importorskip("distributed", reason="the extra 'cluster' is not installed here")

WORKERS = 3
DRAWINGS = 14


@pytest.fixture
def scheduler() -> Iterator[Any]:
    options = {"n_workers": WORKERS, "threads_per_worker": 1, "processes": True, "dashboard_address": None}
    with distributed.LocalCluster(**options) as running:
        yield running


@pytest.fixture
def site(tmp_path: Path) -> Path:
    for number in range(DRAWINGS):
        one_room(tmp_path / "in" / f"house {number:02d}.dxf", 3 + number / 10)
    (tmp_path / "in" / "house 03.toml").write_text("[heights]\ndefault = 3.0\n")
    broken(tmp_path / "in" / "letter.dxf")
    return tmp_path


def go(site: Path, out: str, address: str | None, say: Any = lambda _: None) -> list[str]:
    return list(
        run_folder([site / "in"], None, site / out, None, Wanted(), Limits(120, 2000), 2, address, again=False, say=say)
    )


def test_a_cluster_that_loses_a_worker_gives_the_same_bytes(site: Path, scheduler: Any) -> None:
    with distributed.Client(scheduler) as client:
        before = set(client.run(os.getpid).values())
        killed: list[int] = []

        def say(line: str) -> None:
            if line.startswith("3 of") and not killed:
                killed.append(min(before))
                os.kill(killed[0], signal.SIGKILL)

        lines = go(site, "far", scheduler.scheduler_address, say)
        assert killed and killed[0] not in client.run(os.getpid).values()
    assert lines[0] == f"{DRAWINGS} of {DRAWINGS + 1} drawings taken off."
    assert "letter: refused" in lines[1]
    go(site, "here", None)
    assert contents(site / "far") == contents(site / "here")
    assert len(contents(site / "far")) > 4 * DRAWINGS


def test_processes_are_gone_after_the_run(site: Path, scheduler: Any) -> None:
    go(site, "far", scheduler.scheduler_address)
    with distributed.Client(scheduler) as client:
        for plugins in client.run(lambda dask_worker: list(dask_worker.plugins)).values():
            assert not [name for name in plugins if name.startswith("takeoff")]


def test_no_scheduler_is_one_sentence(site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from takeoff.bulk import cluster

    monkeypatch.setattr(cluster, "PATIENCE", "1s")
    with pytest.raises(TakeoffError, match=r"No Dask scheduler answers at tcp://127\.0\.0\.1:1"):
        go(site, "far", "tcp://127.0.0.1:1")
