"""Which layers are walls where no name tells: the generator's truth is exact by construction."""

from __future__ import annotations

import re
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from takeoff.plan.layers import role_of
from takeoff.plan.trial import told_roles
from tests.benchmarks.redrawn import SHARED, scored
from tests.draughtsman.buildings import KINDS
from tests.draughtsman.run import attempt
from tests.draughtsman.vices import VICES


def test_nothing_is_tried_for_a_lone_candidate() -> None:
    def never(*_: object) -> object:
        raise AssertionError("tried")

    roles = (role_of("L1"), role_of("L2"))
    assert told_roles(roles, [1], [], never, never) == roles  # type: ignore[arg-type]
    assert told_roles(roles, [], [], never, never) == roles  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(700, 706))
def test_rooms_under_names_that_say_nothing(seed: int) -> None:
    kind = tuple(KINDS)[seed % len(KINDS)]
    found = attempt(kind, seed, VICES["layers scrambled"], 1)
    assert found.right >= 0.95 * found.rooms, found.places
    assert found.silent <= 1, found.places


@pytest.mark.skipif(not (SHARED / "corpus").is_dir(), reason="the shared drawings are not beside the project")
@pytest.mark.parametrize(("kind", "least"), [("bim", 0.95), ("drawn", 0.9)])
def test_the_shared_drawings_with_layers_named_by_numbers(kind: str, least: float, tmp_path: Path) -> None:
    """Truth: the corpus's own."""
    with ProcessPoolExecutor(1) as pool:
        lines, _ = scored("numbered layers", kind, tmp_path, pool)
    right, of = (int(n) for n in re.findall(r"right (\d+)/(\d+)", lines[-1])[0])
    assert right >= least * of, "\n".join(lines)
