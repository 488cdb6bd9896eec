"""The shared corpus redrawn as other hands would: what is right as drawn stays right.

The truth is the corpus's own, moved in the same way (`tests.benchmarks.redrawn`).
"""

from __future__ import annotations

import re
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from tests.benchmarks.redrawn import SHARED, scored

pytestmark = pytest.mark.skipif(
    not (SHARED / "corpus").is_dir(), reason="the shared drawings are not beside the project"
)
LEAST_RIGHT = {"bim": 0.98, "drawn": 0.97}


WAYS = ["turned 37", "mirrored", "in feet, no unit", "polylined", "jitter 1 mm", "in one block"]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", ["bim", "drawn"])
def test_rooms_stay_right(way: str, kind: str, tmp_path: Path) -> None:
    with ProcessPoolExecutor(1) as pool:
        lines, _ = scored(way, kind, tmp_path, pool)
    total = lines[-1]
    right, of = (int(n) for n in re.findall(r"right (\d+)/(\d+)", total)[0])
    assert right >= LEAST_RIGHT[kind] * of, "\n".join(lines)
    assert "silent 0 " in total, "\n".join(lines)
