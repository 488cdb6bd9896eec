"""Every vice at every strength on a few small plans: how many rooms come out right, and that none is silently wrong.

Thousands more by ``python -m tests.benchmarks.vices``. The truth is the generator's own, exact by construction.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.draughtsman.buildings import KINDS
from tests.draughtsman.run import attempt, kinds_of
from tests.draughtsman.score import Score
from tests.draughtsman.vices import VICES

EVERY = (*KINDS, "three storeys")
ROWS = [(v.name, s) for v in VICES.values() for s in v.strengths]
PLANS = 4
"""Plans a row."""


@cache
def scored(name: str, strength: float) -> Score:
    """The score of `PLANS` plans; each row takes kinds of building in turn, so that all come up."""
    vice = VICES[name]
    kinds = kinds_of(vice, EVERY)
    first = ROWS.index((name, strength))
    plans = [(kinds[(first + n * 3) % len(kinds)], 100 + first + n) for n in range(PLANS)]
    return sum((attempt(kind, seed, vice, strength) for kind, seed in plans), Score())


@pytest.mark.parametrize(("name", "strength"), ROWS)
def test_no_room_is_silently_wrong(name: str, strength: float) -> None:
    s = scored(name, strength)
    assert s.silent == 0 and s.false == 0, s.places
