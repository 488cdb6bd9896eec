"""Many generated drawings at once: throughput by cores, memory of the workers, cost of a drawing over a takeoff alone.

    python -m tests.benchmarks.bulk [--drawings 1000] [--alone 60]

One core and two are runs of their own, held to as many cores, and the promise is held against the clock. Beside each
run stands what the rest of the machine took of its cores meanwhile: where that is more than a tenth of a core the clock
tells of the others too, and is said to. Processor time alone cannot show workers that wait for one another; it is
printed to tell that from plain cost. Flags what is worse than promised.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from contextlib import suppress
from itertools import cycle
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from takeoff.bulk.crew import crew, run_through
from takeoff.bulk.listing import entries
from takeoff.bulk.model import Entry, Limits, Wanted
from takeoff.bulk.run import request_of

SPEED_UP, COST, GROWTH = 1.8, 1.10, 1.10
"""Promised: throughput on two cores over one; processor time of a drawing in a run over alone; memory of a worker at
its end over when it was warm."""
QUIET = 0.10
"""Of a core: what a machine may do beside a run whose clock is believed."""
WARM = 50
"""Drawings after which a worker's memory counts as its own."""


def drawn(folder: Path, number: int) -> None:
    """`number` plans by the generator, of every kind in turn."""
    from tests.draughtsman.buildings import KINDS
    from tests.draughtsman.cases import make
    from tests.draughtsman.write import document_of

    for seed, kind in zip(range(number), cycle(KINDS), strict=False):
        case = make(kind, seed)
        document_of(case.strokes, case.page).saveas(folder / f"{seed:05d}-{kind.replace(' ', '-')}.dxf")


def busy_s() -> float:
    """Processor seconds that the whole machine has worked since it started (proc_stat(5)); not a number elsewhere."""
    stat = Path("/proc/stat")
    if not stat.exists():
        return float("nan")
    user, nice, system, _, _, irq, softirq = map(int, stat.read_text().split("\n", 1)[0].split()[1:8])
    return (user + nice + system + irq + softirq) / os.sysconf("SC_CLK_TCK")


def one_run(folder: Path, cores: int) -> dict[str, Any]:
    """A run over the drawings in `folder` on the first `cores` cores of this machine."""
    os.sched_setaffinity(0, sorted(os.sched_getaffinity(0))[:cores])
    drawings = entries([folder])
    begun, own, busy = time.perf_counter(), time.process_time(), busy_s()
    states: dict[str, int] = {}
    with crew(cores, Limits()) as gang:
        for _, outcome in run_through(gang, ((n, request_of(e, Wanted())) for n, e in enumerate(drawings))):
            states[outcome.state] = states.get(outcome.state, 0) + 1
        wall, busy = time.perf_counter() - begun, busy_s() - busy
        workers: dict[int, list[float]] = {}
        held: dict[int, list[int]] = {}
        for spent in gang.spent:
            workers.setdefault(spent.worker, []).append(spent.cpu_s)
            held.setdefault(spent.process, []).append(spent.held)
    own = time.process_time() - own
    by_worker = [sum(times) for times in workers.values()]
    return {
        "wall_s": wall,
        "own_s": own,
        "workers_s": by_worker,
        "others": (busy - own - sum(by_worker)) / wall,
        "states": states,
        "growth": [max(h[WARM:]) / h[WARM - 1] for h in held.values() if len(h) > WARM],
        "held_mb": max(max(h) for h in held.values()) / 1e6,
    }


def together(folder: Path, number: int) -> tuple[float, float]:
    """Processor seconds of `number` drawings: takeoffs one after another in this process as `takeoff measure` makes
    them, and the same in a worker of a run with what this process spends on it. Turn and turn about, so that whatever
    else the machine does falls on both."""
    from takeoff.bulk.one import attempt
    from takeoff.documents.write_all import make_documents
    from takeoff.errors import TakeoffError
    from takeoff.job import Job
    from takeoff.limited import Worker
    from takeoff.pipeline import take_off

    drawings = sorted(folder.glob("*.dxf"))
    chosen = drawings[:: max(1, len(drawings) // number)][:number]
    alone = in_run = 0.0
    with Worker(600, 4096) as worker, TemporaryDirectory() as scratch:
        for turn, path in enumerate([*chosen[:3], *chosen]):
            begun = time.process_time()
            with suppress(TakeoffError):
                make_documents(take_off(path, Job()))
            middle = time.process_time()
            outcome = attempt(worker, request_of(Entry("", path), Wanted()), Path(scratch))
            end = time.process_time()
            if turn >= 3 and outcome.state == "done":  # the first three warm up; what is refused tells no costs
                alone += middle - begun
                in_run += end - middle + worker.spent.cpu_s
    return alone, in_run


def told(name: str, value: float, promised: float, least: bool) -> str:
    good = value >= promised if least else value <= promised
    sign = "at least" if least else "at most"
    return f"{name:58} {value:6.2f}   {sign} {promised:.2f}{'' if good else '   <-- NOT REACHED'}"


def main() -> None:
    reader = argparse.ArgumentParser()
    reader.add_argument("--drawings", type=int, default=1000)
    reader.add_argument("--alone", type=int, default=60)
    reader.add_argument("--run", nargs=2, help=argparse.SUPPRESS)
    asked = reader.parse_args()
    if asked.run:
        print(json.dumps(one_run(Path(asked.run[0]), int(asked.run[1]))))
        return
    with TemporaryDirectory() as folder:
        drawn(Path(folder), asked.drawings)
        size = sum(path.stat().st_size for path in Path(folder).iterdir())
        print(f"{asked.drawings} drawings of {size / asked.drawings / 1e3:.0f} kB, load {os.getloadavg()[0]:.1f}")
        runs = {}
        for cores in (1, 2):
            words = [sys.executable, "-m", "tests.benchmarks.bulk", "--run", folder, str(cores)]
            runs[cores] = json.loads(subprocess.run(words, check=True, capture_output=True, text=True).stdout)
            print(f"  {cores} core(s): {json.dumps(runs[cores])}", flush=True)
        alone, in_run = together(Path(folder), asked.alone)
    report(asked.drawings, runs, alone, in_run)


def report(drawings: int, runs: dict[int, dict[str, Any]], alone: float, in_run: float) -> None:
    whole = {cores: sum(run["workers_s"]) + run["own_s"] for cores, run in runs.items()}
    print(f"processor time of a drawing: {whole[1] / drawings:.3f} s on one core, {whole[2] / drawings:.3f} s on two")
    others = {cores: run["others"] for cores, run in runs.items()}
    print(f"taken by the rest of the machine meanwhile: {others[1]:.2f} and {others[2]:.2f} of a core")
    if max(others.values()) > QUIET:
        print("  which is not quiet: the throughput below tells of that too. Run it again alone.")
    print(told("throughput on two cores over one, by the clock", runs[1]["wall_s"] / runs[2]["wall_s"], SPEED_UP, True))
    on_two = max(whole[2] / 2, max(runs[2]["workers_s"]))
    print(f"{'the most that processor time would allow':58} {whole[1] / on_two:6.2f}")
    growth = max(growth for run in runs.values() for growth in run["growth"] or [1.0])
    print(told(f"memory of a worker, most over after {WARM} drawings", growth, GROWTH, least=False))
    print(told("processor time of a drawing in a run over alone", in_run / alone, COST, least=False))


if __name__ == "__main__":
    main()
