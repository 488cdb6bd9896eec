"""Places near others, against every pair of them."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.geometry.near import near_any
from takeoff.plan.surrounding import share_surrounded

_NUMBER = st.floats(-3, 3, allow_nan=False, width=32)
_PLACES = st.lists(st.tuples(_NUMBER, _NUMBER), max_size=12)


@settings(deadline=None)
@given(_PLACES, _PLACES, st.sampled_from([0.01, 0.25, 1.0]))
def test_near_any_finds_what_all_pairs_show(
    points: list[tuple[float, float]], places: list[tuple[float, float]], by: float
) -> None:
    some, few = (np.array(at, dtype=float).reshape(-1, 2) for at in (points, places))
    apart = np.hypot(*(some[:, None] - few[None]).transpose(2, 0, 1)).min(axis=1, initial=np.inf)
    found = near_any(some, few, by)
    sure = np.abs(apart - by) > 1e-9
    assert found[sure].tolist() == (apart <= by)[sure].tolist()


def test_a_box_surrounds_what_it_holds_and_a_wall_beside_does_not() -> None:
    """Three boxes: one round two places, one round neither, and a lone wall beside them, by construction."""
    square = np.array([[-1, -1, 1, -1], [1, -1, 1, 1], [1, 1, -1, 1], [-1, 1, -1, -1]], dtype=float)
    lines = np.vstack([5 * square, square + 9.0, [[-5.0, 6, 5, 6]]])
    owner = np.repeat([0, 1, 2], [4, 4, 1])
    share = share_surrounded(lines, owner, 3, np.array([[0.0, 0.0], [2.0, 3.0]]))
    assert share.tolist() == [1.0, 0.0, 0.0]
    assert share_surrounded(lines, owner, 3, np.zeros((0, 2))).tolist() == [1.0, 1.0, 1.0]
