"""The arrangement against GEOS' own polygonizer (shapely), an independent implementation."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.geometry.cluster import cluster_points, components
from takeoff.geometry.planar import OUTSIDE, arrange, without_edges


def by_geos(ends: np.ndarray) -> list[float]:
    """Areas of the faces as GEOS finds them."""
    noded = shapely.union_all(shapely.linestrings(ends.reshape(-1, 2, 2)))
    return sorted(p.area for p in shapely.get_parts(shapely.polygonize(list(shapely.get_parts(noded)))))


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(3, 60))
def test_faces_are_those_of_geos(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    starts = rng.random((count, 2)) * 10
    ends = np.hstack([starts, starts + rng.normal(size=(count, 2)) * 3])
    found = arrange(ends, 1e-9)
    assert np.allclose(sorted(shapely.area(found.polygons)), by_geos(ends), atol=1e-6)


def test_an_island_is_a_hole_of_the_face_round_it() -> None:
    square = [(0, 0, 4, 0), (4, 0, 4, 4), (4, 4, 0, 4), (0, 4, 0, 0)]
    island = [(1, 1, 2, 1), (2, 1, 2, 2), (2, 2, 1, 2), (1, 2, 1, 1)]
    found = arrange(np.array(square + island, dtype=float))
    assert sorted(shapely.area(found.polygons)) == [1.0, 15.0]
    assert {OUTSIDE} < set(found.left) | set(found.right)


def test_ends_that_miss_within_the_tolerance_still_meet() -> None:
    ends = np.array([(0, 0, 4, 0.002), (4.001, 0, 4, 4), (4, 4.001, 0, 4), (0.001, 4, 0, 0.001)])
    assert len(arrange(ends, 0.005).polygons) == 1
    assert len(arrange(ends, 0.0001).polygons) == 0


def test_dropping_the_line_between_two_faces_makes_one() -> None:
    ends = np.array([(0, 0, 4, 0), (4, 0, 4, 2), (4, 2, 0, 2), (0, 2, 0, 0), (2, 0, 2, 2)], dtype=float)
    found = arrange(ends)
    between = (found.left != OUTSIDE) & (found.right != OUTSIDE)
    assert shapely.area(without_edges(found, between).polygons).tolist() == [8.0]


@given(st.lists(st.tuples(st.integers(0, 19), st.integers(0, 19)), max_size=40))
def test_components_join_what_pairs_join(pairs: list[tuple[int, int]]) -> None:
    label = list(range(20))
    for a, b in pairs:
        label = [label[a] if x == label[b] else x for x in label]
    first, second = (np.array([p[k] for p in pairs], dtype=np.int64) for k in (0, 1))
    found = components(20, first, second)
    assert all((found[i] == found[j]) == (label[i] == label[j]) for i in range(20) for j in range(20))


def test_points_nearer_than_the_tolerance_share_a_place() -> None:
    places, label = cluster_points(np.array([(0.0, 0.0), (0.003, 0.0), (1.0, 0.0)]), 0.005)
    assert label[0] == label[1] != label[2]
    assert np.allclose(places[label[0]], (0.0015, 0.0))
