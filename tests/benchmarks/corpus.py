"""Measure the rooms of the whole shared corpus and score them: `python tests/benchmarks/corpus.py [WORDS ...]`.

Writes each drawing's takeoff as JSON, runs ``../shared/tools/score_rooms.py`` over it and prints its lines, with the
time of reading and of understanding beside ezdxf's own reading of the same file.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import ezdxf
from ezdxf.lldxf.const import DXFError

from takeoff.drawing.model import in_metres
from takeoff.drawing.read import read_drawing
from takeoff.drawing.units import settle_unit
from takeoff.errors import TakeoffError
from takeoff.job import Job
from takeoff.plan.model import Plan
from takeoff.plan.understand import understand
from takeoff.query import numbered

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT.parent / "shared"


def as_json(plan: Plan) -> dict[str, object]:
    """What the scorer reads of a plan."""
    east, north = plan.origin_m
    queries = numbered(plan.queries)

    def ring(points: tuple[tuple[float, float], ...]) -> list[list[float]]:
        return [[x + east, y + north] for x, y in points]

    return {
        "drawing": {"metres_per_unit": plan.metres_per_unit, "unit": plan.unit},
        "rooms": [
            {
                "ref": r.ref,
                "name": r.name,
                "outline": ring(r.outline),
                "holes": [ring(h) for h in r.holes],
                "floor_area_m2": r.floor_area_m2,
                "perimeter_m": r.perimeter_m,
                "confidence": r.confidence,
                "queries": [q.ref for q in queries if r.ref in q.about],
            }
            for r in plan.rooms
        ],
        "openings": [{"kind": o.kind, "at": ring((o.at,))[0], "width_m": o.width_m} for o in plan.openings],
        "queries": [
            {
                "ref": q.ref,
                "kind": q.kind,
                "concerns": q.concerns,
                "says": q.says,
                "at": ring((q.at,))[0] if q.at else None,
            }
            for q in queries
        ],
    }


def measure(path: Path) -> tuple[dict[str, object], dict[str, float]]:
    """The JSON of one drawing and the processor seconds that ezdxf, reading and understanding took."""
    marks = [time.process_time()]
    with contextlib.suppress(DXFError, OSError, ValueError):
        ezdxf.readfile(path)
    marks.append(time.process_time())
    raw = read_drawing(path)
    marks.append(time.process_time())
    unit = settle_unit(raw, None)
    plan = understand(in_metres(raw, unit.metres_per_unit), unit, Job())
    marks.append(time.process_time())
    seconds = {name: b - a for name, a, b in zip(("ezdxf", "read", "plan"), marks, marks[1:], strict=False)}
    return as_json(plan), seconds


def main(words: list[str]) -> None:
    """Measure and score every drawing whose name holds one of `words` (all without)."""
    keep = Path(tempfile.mkdtemp(prefix="takeoff-corpus-"))
    totals = {"ezdxf": 0.0, "read": 0.0, "plan": 0.0}
    for path in sorted(SHARED.glob("corpus/[bd][ir]*/*.dxf")):
        if words and not any(w in path.name for w in words):
            continue
        try:
            document, seconds = measure(path)
        except TakeoffError as fault:
            print(f"{path.stem}: {fault}")
            continue
        (keep / f"{path.stem}.json").write_text(json.dumps(document))
        totals = {k: totals[k] + seconds[k] for k in totals}
        print(f"{path.stem:34s} " + "  ".join(f"{k} {v:6.3f} s" for k, v in seconds.items()))
    print(
        "  ".join(f"{k} {v:.2f} s" for k, v in totals.items()),
        f" plan / ezdxf {totals['plan'] / max(totals['ezdxf'], 1e-9):.2f}",
    )
    for group in ("bim", "drawn"):
        subprocess.run(
            [sys.executable, SHARED / "tools" / "score_rooms.py", SHARED / "corpus" / group, keep], check=False
        )
    print("JSON in", keep)


if __name__ == "__main__":
    main(sys.argv[1:])
