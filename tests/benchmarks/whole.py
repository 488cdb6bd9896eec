"""Cost of the whole program in ratios of one run: takeoff over reading, start-up over Python's, memory.

    python tests/benchmarks/whole.py [FOLDER_OF_DRAWINGS] [--most N]

For the N largest drawings (5 unless told): processor seconds from drawing to all documents of `takeoff measure`,
written to a folder, over those of ezdxf.readfile of the same file, each the best of four in a fresh process, imports
done and nothing left over from the run before; and the highest memory of each process over that of one that only calls
ezdxf.readfile. Then `takeoff --help` over `python -c pass`. Targets: 2.0, 3.0 and 8.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path

CORPUS = Path(__file__).resolve().parents[3] / "shared" / "corpus"

READ = """
import gc, json, resource, sys, time
import ezdxf
best = 1e9
for _ in range(4):
    gc.collect()
    start = time.process_time()
    drawing = ezdxf.readfile(sys.argv[1])
    best = min(best, time.process_time() - start)
    del drawing
print(json.dumps([best, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss]))
"""

WHOLE = """
import gc, json, pathlib, resource, sys, tempfile, time
from takeoff.collector import put_off  # as the command itself does
from takeoff.documents.write_all import write_documents
from takeoff.errors import TakeoffError
from takeoff.job import Job
from takeoff.pipeline import take_off
best, said = 1e9, ""
for _ in range(4):
    gc.collect()
    start = time.process_time()
    with put_off(), tempfile.TemporaryDirectory() as folder:
        try:
            write_documents(take_off(pathlib.Path(sys.argv[1]), Job()), pathlib.Path(folder) / "out")
        except TakeoffError as fault:
            said = str(fault)
    best = min(best, time.process_time() - start)
print(json.dumps([best, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, said]))
"""


def measured(script: str, drawing: Path) -> list[float | str]:
    """What the script prints for `drawing`, run by itself."""
    done = subprocess.run([sys.executable, "-c", script, str(drawing)], capture_output=True, text=True, check=True)
    values: list[float | str] = json.loads(done.stdout.splitlines()[-1])
    return values


def best_of(command: list[str], times: int = 7) -> float:
    """Seconds of the fastest of several runs of `command`."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        subprocess.run(command, capture_output=True, check=True)
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", nargs="?", type=Path, default=CORPUS)
    parser.add_argument("--most", type=int, default=5)
    options = parser.parse_args()
    drawings = sorted(options.folder.rglob("*.dxf"), key=lambda p: -p.stat().st_size)[: options.most]
    if not drawings:
        sys.exit(f"No drawings in {options.folder}: name a folder of DXF files.")
    read_all = whole_all = 0.0
    print(f"{'drawing':36} {'MB':>5} {'read s':>7} {'whole s':>8} {'ratio':>6} {'memory':>7}")
    for drawing in drawings:
        read, read_kb = measured(READ, drawing)
        whole, whole_kb, said = measured(WHOLE, drawing)
        assert isinstance(read, float) and isinstance(whole, float)
        read_all, whole_all = read_all + read, whole_all + whole
        size = drawing.stat().st_size / 1e6
        ratio, memory = whole / read, float(whole_kb) / float(read_kb)
        print(f"{drawing.name:36} {size:5.1f} {read:7.3f} {whole:8.3f} {ratio:6.2f} {memory:7.2f}  {said}")
    print(f"{'together':36} {'':5} {read_all:7.3f} {whole_all:8.3f} {whole_all / read_all:6.2f}   (target 2.0)")
    bare = best_of([sys.executable, "-c", "pass"])
    program = best_of([sys.executable, "-m", "takeoff", "--help"])
    print(f"takeoff --help over python -c pass: {program / bare:.1f} (target 8)")


if __name__ == "__main__":
    main()
