"""Reading against ezdxf.readfile on the same file in the same run: `python tests/benchmarks/reading.py [DRAWING ...]`.

Prints, for each drawing, processor seconds of ezdxf.readfile, and read_drawing and settle_unit as multiples of it
(the best of five, taken in turns so that a busy machine is fair to both), and the peak memory of reading as a multiple
of readfile's. Without arguments: the largest drawings of the shared corpus beside the project.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

CORPUS = Path(__file__).resolve().parents[3] / "shared" / "corpus"
LARGEST = 8
ROUNDS = 5


def main(paths: list[Path]) -> None:
    import ezdxf

    from takeoff.drawing.read import read_drawing
    from takeoff.drawing.units import settle_unit

    print(f"{'drawing':36s} {'readfile s':>10s} {'read x':>7s} {'unit x':>7s} {'memory x':>8s}")
    for path in paths:
        plain: list[float] = []
        read: list[float] = []
        for _ in range(ROUNDS):
            plain.append(seconds(lambda p=path: ezdxf.readfile(p)))
            read.append(seconds(lambda p=path: read_drawing(p)))
        drawing = read_drawing(path)
        unit = min(seconds(lambda d=drawing: settle_unit(d, None)) for _ in range(ROUNDS))
        base = min(plain)
        memory = peak(path, "takeoff.drawing.read", "read_drawing") / peak(path, "ezdxf", "readfile")
        print(f"{path.stem[:36]:36s} {base:10.3f} {min(read) / base:7.2f} {unit / base:7.2f} {memory:8.2f}")


def seconds(action: Callable[[], object]) -> float:
    start = time.process_time()
    action()
    return time.process_time() - start


def peak(path: Path, module: str, function: str) -> int:
    """Largest memory (kB) of a fresh process that calls `function` of `module` on `path`."""
    code = (
        f"from {module} import {function}\nfrom pathlib import Path\nimport re, sys\n"
        f"kept = {function}(Path(sys.argv[1]))\n"
        "print(re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text())[1])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    return int(done.stdout)


if __name__ == "__main__":
    given = [Path(argument) for argument in sys.argv[1:]]
    found = sorted(CORPUS.glob("[bd][ir][ma]*/*.dxf"), key=lambda p: -p.stat().st_size)
    if not given and not found:
        sys.exit("The shared corpus is not beside the project: name the drawings to read.")
    main(given or found[:LARGEST])
