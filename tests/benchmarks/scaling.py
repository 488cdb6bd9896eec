"""Time and memory of understanding generated blocks of flats, and the exponent they grow by.

    python -m tests.benchmarks.scaling [--rooms 100 400 1600 6000 20000]

Each size runs in a process of its own. Flags time growing faster than n^1.2 and memory faster than n.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import subprocess
import sys
import time

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.units import settle_unit
from takeoff.job import Job
from takeoff.measure.rooms import measure
from takeoff.plan.model import Plan
from takeoff.plan.understand import understand

SIZES = (100, 400, 1600, 6000, 20000)
TIME_LIMIT, MEMORY_LIMIT = 1.2, 1.0
"""Exponents of the number of rooms that the project promises not to exceed."""
_NOISE = 0.05
_LARGE = 1000
"""Rooms from which memory is fitted: below, what the warm-up left free hides most of it."""


def one(rooms: int) -> dict[str, float]:
    """Seconds of processor time and megabytes over what is held before understanding begins, for one size."""
    from tests.draughtsman.blocks import block_of_flats

    small, _ = block_of_flats(20)
    _through(small)  # imports and caches are paid for
    drawing, drawn = block_of_flats(rooms)
    before = _peak_mb()
    start = time.process_time()
    plan = _through(drawing)
    seconds = time.process_time() - start
    return {"rooms": drawn, "found": len(plan.rooms), "segments": len(drawing.segments.ends), "seconds": seconds,
            "mb": _peak_mb() - before, "queries": len(plan.queries)}


def _through(drawing: Drawing) -> Plan:
    """Unit, plan and measures of one drawing."""
    unit = settle_unit(drawing, None)
    plan = understand(in_metres(drawing, unit.metres_per_unit), unit, Job())
    measure(plan, Job())
    return plan


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def exponent(sizes: list[float], values: list[float]) -> float:
    """Slope of the least-squares line through the logarithms."""
    x, y = [math.log(s) for s in sizes], [math.log(max(v, 1e-9)) for v in values]
    mx, my = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mx) * (b - my) for a, b in zip(x, y, strict=True)) / sum((a - mx) ** 2 for a in x)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rooms", type=int, nargs="+", default=list(SIZES))
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        print(json.dumps(one(args.one)))
        return 0
    print(f"{'rooms':>7s} {'found':>7s} {'segments':>9s} {'seconds':>8s} {'ms/room':>8s} {'MB':>7s} {'queries':>8s}")
    rows = []
    for size in args.rooms:
        done = subprocess.run([sys.executable, "-m", "tests.benchmarks.scaling", "--one", str(size)],
                              check=True, capture_output=True, text=True)
        r = json.loads(done.stdout.splitlines()[-1])
        rows.append(r)
        print(f"{r['rooms']:7d} {r['found']:7d} {r['segments']:9d} {r['seconds']:8.2f} "
              f"{1000 * r['seconds'] / r['rooms']:8.2f} {r['mb']:7.0f} {r['queries']:8d}", flush=True)
    late = 0
    for what, limit in (("seconds", TIME_LIMIT), ("mb", MEMORY_LIMIT)):
        fitted = [r for r in rows if what == "seconds" or r["rooms"] >= _LARGE]
        if len(fitted) < 2:
            continue
        grows = exponent([r["rooms"] for r in fitted], [r[what] for r in fitted])
        over = grows > limit + _NOISE
        late += over
        print(f"{what} grow as n^{grows:.2f}, promised n^{limit:.1f}: {'TOO FAST' if over else 'kept'}")
    return 1 if late else 0


if __name__ == "__main__":
    sys.exit(main())
