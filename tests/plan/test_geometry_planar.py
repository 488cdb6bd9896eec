"""The arrangement against GEOS' own polygonizer (shapely), an independent implementation."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.geometry.cluster import cluster_points, components, distinct, numbered
from takeoff.geometry.noding import cuts_of
from takeoff.geometry.planar import OUTSIDE, arrange, arranged, without_edges


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


@given(st.lists(st.integers(-5, 5), max_size=40))
def test_keys_are_numbered_as_numpy_does(keys: list[int]) -> None:
    rows = np.array(keys, dtype=np.int64)
    unique, number = np.unique(rows, return_inverse=True)
    assert np.array_equal(numbered(rows)[0], unique) and np.array_equal(numbered(rows)[1], number)
    assert np.array_equal(distinct(rows), unique)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10_000), st.integers(0, 40), st.integers(1, 8))
def test_pieces_that_come_later_are_cut_as_if_they_had_come_at_once(seed: int, count: int, more: int) -> None:
    rng = np.random.default_rng(seed)
    starts = rng.integers(0, 8, size=(count + more, 2)) + rng.normal(size=(count + more, 2)) * 0.0003
    ends = np.hstack([starts, starts + rng.integers(-3, 4, size=(count + more, 2))])
    at_once, later = arrange(ends, 0.005), arranged(cuts_of(ends[:count], 0.005).with_more(ends[count:]))
    assert np.array_equal(at_once.edges, later.edges) and np.allclose(at_once.nodes, later.nodes, atol=1e-12)
    assert np.array_equal(at_once.pieces[1], later.pieces[1])


def test_points_nearer_than_the_tolerance_share_a_place() -> None:
    places, label = cluster_points(np.array([(0.0, 0.0), (0.003, 0.0), (1.0, 0.0)]), 0.005)
    assert label[0] == label[1] != label[2]
    assert np.allclose(places[label[0]], (0.0015, 0.0))
