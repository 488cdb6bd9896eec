"""How near the proven least the bead cutting comes, and how fast: run as `python tests/benchmarks/beads.py`.

Prints a row for houses and for 200 flats: pieces, different lengths, metres bought, bound, gap, seconds. The aims are
a gap of 1 % or less, 2 s for a house, 20 s for 200 flats. Exit status 1 when one is missed. The buildings are invented:
door and window sizes that recur, room heights per storey, and corner and reveal lengths as they come.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterator

from takeoff.materials.beads import BeadPiece, BeadStock, cut_beads

STOCK = {"angle-bead": [BeadStock(2.4), BeadStock(3.0)]}
HOUSE_S, FLATS_S, GAP = 2.0, 20.0, 0.01
HEADS = (0.61, 0.9, 1.2, 1.5, 1.77, 2.05)
JAMBS = (0.6, 0.9, 1.05, 1.2, 1.35, 2.1)


def home(rng: random.Random, name: str, rooms: int, jitter: float) -> Iterator[BeadPiece]:
    """Angle beads of a dwelling: two jambs and a head at each window, and the corners of each room."""
    height = rng.choice((2.3, 2.35, 2.4, 2.5, 2.7))
    for room in range(rooms):
        for window in range(rng.choice((0, 1, 1, 2))):
            head, jamb = rng.choice(HEADS), rng.choice(JAMBS)
            for part, length in (("head", head), ("left", jamb), ("right", jamb)):
                made = length + rng.uniform(-jitter, jitter)
                yield BeadPiece("angle-bead", f"{name} R{room}", f"W{window}-{part}", made)
        for corner in range(rng.choice((0, 0, 1, 2))):
            yield BeadPiece("angle-bead", f"{name} R{room}", f"E{corner}", height)


def flats(number: int, kinds: int, jitter: float) -> list[BeadPiece]:
    """`number` flats of `kinds` types; every flat built `jitter` metres differently."""
    pieces = []
    for flat in range(number):
        rng = random.Random(flat % kinds)
        built = random.Random(1000 + flat)
        for piece in home(rng, f"flat {flat}", 6, 0.0):
            length = piece.length_m + built.uniform(-jitter, jitter)
            pieces.append(BeadPiece(piece.bead, piece.room, piece.edge, length))
    return pieces


def main() -> int:
    cases = [(f"house {n}", list(home(random.Random(n), "house", 14, 0.0)), HOUSE_S) for n in range(6)]
    cases += [
        (f"house {n}, all lengths differ", list(home(random.Random(n), "h", 14, 0.05)), HOUSE_S) for n in range(6)
    ]
    cases += [
        ("200 flats of 8 types", flats(200, 8, 0.0), FLATS_S),
        ("200 flats, each its own", flats(200, 200, 0.0), FLATS_S),
        ("200 flats, all lengths differ", flats(200, 8, 0.03), FLATS_S),
    ]
    missed = False
    print(f"{'case':32}{'pieces':>7}{'lengths':>8}{'bought m':>10}{'bound m':>10}{'gap':>8}{'seconds':>9}")
    for name, pieces, limit in cases:
        began = time.perf_counter()
        run = cut_beads(pieces, STOCK).runs[0]
        seconds = time.perf_counter() - began
        lengths = len({round(p.length_m, 3) for p in pieces})
        missed |= run.gap > GAP or seconds > limit
        print(
            f"{name:32}{len(pieces):7}{lengths:8}{run.bought_m:10.1f}{run.bound:10.1f}{run.gap:8.2%}{seconds:9.2f}",
            flush=True,
        )
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
