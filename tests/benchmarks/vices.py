"""Right, silent and alarms per vice and strength, over thousands of generated plans with exact truth.

    python -m tests.benchmarks.vices [--seeds 20] [--vice NAME ...] [--kind NAME ...] [--failures FILE] [--jobs 2]

Run from the project's root. One row per vice and strength; `--failures` gets one line for everything that went wrong.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from tests.draughtsman.buildings import KINDS
from tests.draughtsman.cases import make
from tests.draughtsman.run import attempt, kinds_of
from tests.draughtsman.score import Score
from tests.draughtsman.vices import VICES

EVERY = (*KINDS, "three storeys")
Task = tuple[str, float, str, int]
"""Vice, strength, kind of building, seed."""


def tasks(args: argparse.Namespace) -> Iterator[Task]:
    for vice in (VICES[name] for name in args.vice or VICES):
        for strength in vice.strengths:
            for kind in kinds_of(vice, tuple(args.kind or EVERY)):
                for seed in range(args.first, args.first + args.seeds):
                    yield vice.name, strength, kind, seed


def run(task: Task) -> Score:
    """The score of one plan. A crash is a failure in every room, and silent: it told the user nothing useful."""
    name, strength, kind, seed = task
    try:
        return attempt(kind, seed, VICES[name], strength)
    except Exception as fault:
        truth = make(kind, seed, ((VICES[name], strength),)).truth("")
        rooms = sum(not r["optional"] for r in truth["rooms"])
        return Score(rooms=rooms, silent=rooms, openings=len(truth["openings"]),
                     places=[f"CRASH {type(fault).__name__}: {fault}"])


def row(name: str, strength: str, s: Score) -> str:
    return (f"{name:28s} {strength:>8s} {s.rooms:7d} {100 * s.share('right'):8.2f} {s.silent:7d} {s.alarms:7d} "
            f"{100 * s.share('alarms'):7.2f} {s.false:6d} {100 * s.share('openings_found'):9.2f} "
            f"{100 * s.share('widths'):8.2f} {100 * s.share('kinds'):7.2f} {s.spare:6d}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--vice", action="append", type=lambda name: name.replace("_", " "), choices=sorted(VICES))
    parser.add_argument("--kind", action="append", choices=EVERY)
    parser.add_argument("--failures", type=Path)
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args()
    todo = list(tasks(args))
    start = time.perf_counter()
    with ProcessPoolExecutor(args.jobs, mp_context=get_context("forkserver")) as pool:
        scores = list(pool.map(run, todo, chunksize=16))
    total, by_row = Score(), dict[tuple[str, float], Score]()
    wrong: list[str] = []
    for (name, strength, kind, seed), s in zip(todo, scores, strict=True):
        by_row[name, strength] = by_row.get((name, strength), Score()) + s
        total += s
        wrong += [f"{name} | {strength:g} | {kind} {seed} | {place}" for place in s.places]
    print(f"{'vice':28s} {'strength':>8s} {'rooms':>7s} {'right %':>8s} {'silent':>7s} {'alarms':>7s} "
          f"{'alarm %':>7s} {'false':>6s} {'opening %':>9s} {'width %':>8s} {'kind %':>7s} {'spare':>6s}")
    for (name, strength), s in by_row.items():
        print(row(name, f"{strength:g}", s))
    print(row("all", "", total))
    print(f"{len(todo)} plans in {time.perf_counter() - start:.0f} s")
    if args.failures:
        args.failures.write_text("\n".join(wrong) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
