"""Are rooms given high confidence right? `python -m tests.benchmarks.calibration [--seeds 1] [--first 100]`.

Rooms are held out where no rule was tuned on them: other seeds (`--first 7300`), two vices at once on one plan
(`--pairs 200`), the shared building models redrawn as other hands would (`--redrawn`).

Every vice and strength over generated plans (`--every 4`: one plan in four): per band of confidence the rooms
reported, the share that is right (IoU 0.90, area within 2 %), and the share that is wrong and not asked about.
Rooms over open or optional truth (shafts, open plans) do not count.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from shapely import Polygon, STRtree, make_valid, union_all
from shapely.geometry.base import BaseGeometry

from takeoff.drawing.read import read_drawing
from takeoff.errors import DrawingError
from takeoff.plan.model import Plan
from tests.benchmarks.redrawn import SHARED, WAYS, rewritten
from tests.draughtsman.buildings import KINDS
from tests.draughtsman.cases import make
from tests.draughtsman.run import kinds_of, read_case, understood
from tests.draughtsman.score import AREA, IOU, SHAPE, shape_of
from tests.draughtsman.vices import VICES
from tests.draughtsman.world import OPEN_OVER

BANDS = (0.0, 0.6, 0.8, 0.9, 0.95)
"""Lower ends of the bands of confidence."""


def judged(truth: dict[str, Any], plan: Plan) -> Iterator[tuple[float, bool, bool]]:
    """(confidence, right, asked about) of every reported room that stands for a true one."""
    told = [(r, union_all([_polygon(p) for p in r["polygons"]])) for r in truth["rooms"]]
    tree = STRtree([shape for _, shape in told])
    asked = {ref for q in plan.queries if q.concerns in SHAPE for ref in q.about}
    for room in plan.rooms:
        shape = shape_of(room, plan.origin_m)
        near = [(float(shape.intersection(told[i][1]).area), int(i)) for i in tree.query(shape)]
        shared, best = max(near, default=(0.0, -1))
        if best < 0 or shared <= 0.3 * shape.area:
            yield room.confidence, False, room.ref in asked
            continue
        row, true = told[best]
        if row.get("optional") or row["undrawn_m"] > OPEN_OVER:
            continue
        iou = shared / (shape.area + true.area - shared)
        right = iou >= IOU and abs(room.floor_area_m2 - row["area_m2"]) <= AREA * row["area_m2"]
        yield room.confidence, right, room.ref in asked


def _polygon(rings: list[Any]) -> BaseGeometry:
    """A polygon of rings, or of one ring alone."""
    rings = rings if isinstance(rings[0][0], list | tuple) else [rings]
    return make_valid(Polygon(rings[0], rings[1:]))


def generated(seeds: int, first: int, every: int) -> Iterator[tuple[float, bool, bool]]:
    tasks = [
        (vice, strength, kind, seed)
        for vice in VICES.values()
        for strength in vice.strengths
        for kind in kinds_of(vice, tuple(KINDS))
        for seed in range(first, first + seeds)
    ]
    for vice, strength, kind, seed in tasks[::every]:
        case = make(kind, seed, ((vice, strength),))
        try:
            plan = understood(read_case(case))
        except DrawingError:
            continue
        yield from judged(case.truth(""), plan)


def paired(count: int, first: int) -> Iterator[tuple[float, bool, bool]]:
    """Rooms of `count` plans with two vices each, drawn by lot: no rule was tuned on two together."""
    rng = Random(first)
    vices = [v for v in VICES.values() if v.name not in ("tidy", "all at once")]
    for seed in range(first, first + count):
        both = rng.sample(vices, 2)
        if {"hidden layers", "layers scrambled"} <= {v.name for v in both}:
            continue  # what is hidden would be drawn on the one layer of all
        kinds = kinds_of(both[0], kinds_of(both[1], tuple(KINDS))) or ("house",)
        case = make(rng.choice(kinds), seed, tuple((v, rng.choice(v.strengths)) for v in both))
        try:
            plan = understood(read_case(case))
        except DrawingError:
            continue
        yield from judged(case.truth(""), plan)


def redrawn_models() -> Iterator[tuple[float, bool, bool]]:
    """Rooms of the shared building models redrawn in every way."""
    for name in WAYS:
        with tempfile.TemporaryDirectory() as folder:
            for source in sorted((SHARED / "corpus" / "bim").glob("*.dxf")):
                made = rewritten(name, source, Path(folder))
                if made is None:
                    continue
                try:
                    plan = understood(read_drawing(made[0]))
                except DrawingError:
                    continue
                yield from judged(made[1], plan)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--first", type=int, default=100)
    parser.add_argument("--every", type=int, default=1)
    parser.add_argument("--pairs", type=int, default=0)
    parser.add_argument("--redrawn", action="store_true")
    args = parser.parse_args()
    rooms_of = generated(args.seeds, args.first, args.every)
    if args.pairs:
        rooms_of = paired(args.pairs, args.first)
    if args.redrawn:
        rooms_of = redrawn_models()
    count: Counter[tuple[int, str]] = Counter()
    for confidence, right, asked in rooms_of:
        band = max(n for n, low in enumerate(BANDS) if confidence >= low)
        count[band, "rooms"] += 1
        count[band, "right"] += right
        count[band, "silent"] += not right and not asked
    print(f"{'confidence from':>16s} {'rooms':>7s} {'right %':>8s} {'silent %':>9s}")
    for band, low in enumerate(BANDS):
        rooms = max(1, count[band, "rooms"])
        print(f"{low:16.2f} {count[band, 'rooms']:7d} {100 * count[band, 'right'] / rooms:8.2f} "
              f"{100 * count[band, 'silent'] / rooms:9.2f}")


if __name__ == "__main__":
    main()
