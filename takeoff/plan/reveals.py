"""Openings closed along one face alone, though the wall has two: a jamb was taken for the end of a single line.

Terms:
  reveal   the line across the wall at either side of an opening, from one face to the other.

A line that misses the corner of a jamb by a little hides the jamb; its reveals still stand on both sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Mask
from takeoff.geometry.vectors import directions, left_of
from takeoff.plan.openings import Candidate

__all__ = ["with_both_faces"]

_MISS = 0.03
"""A reveal starts this near the end of the bridge, metres."""
_LEAST, _MOST = 0.05, 0.5
"""Walls with a reveal on either side of an opening, metres thick."""
_SQUARE = 0.1
"""Cosine of the least angle between a reveal and the opening's axis."""
_ALIKE = 0.02
"""The reveals of one opening differ by no more in depth, and lines lie along them no farther off, metres."""
_LOOKS = (0.2, 0.5, 0.8, 0.97)
"""Shares of a reveal where a line is looked for."""


def with_both_faces(found: Sequence[Candidate], runs: Floats) -> list[Candidate]:
    """The candidates; those with one bridge get the other where the `runs` (r, 4) show a reveal at both ends."""
    single = [n for n, c in enumerate(found) if len(c.bridges) == 1 and c.thick == 0.0 and not c.unbroken]
    result = list(found)
    if not single or not len(runs):
        return result
    bridges = np.array([found[n].bridges[0] for n in single])
    tree = shapely.STRtree(shapely.linestrings(runs.reshape(-1, 2, 2)))
    for n, bridge, (one, other) in zip(single, bridges, _reveals(bridges, runs, tree), strict=True):
        pairs = [np.concatenate((a, b)) for a in one for b in other]
        seconds = [p for p in pairs if _carries(bridge, p) and not _drawn(p, tree)]
        if seconds:
            result[n] = _thickened(found[n], bridge, max(seconds, key=lambda p: _off(bridge, p)))
    return result


def _reveals(bridges: Floats, runs: Floats, tree: shapely.STRtree) -> list[tuple[list[Floats], list[Floats]]]:
    """For each bridge the ends of the lines that stand square on its start, and on its end; `tree` holds the runs."""
    tips = bridges.reshape(-1, 2)
    way = np.repeat(bridges[:, 2:] - bridges[:, :2], 2, axis=0)
    way = directions(way)
    corners = np.unique(runs.reshape(-1, 2), axis=0)
    tip, corner = shapely.STRtree(shapely.points(corners)).query(
        shapely.points(tips), predicate="dwithin", distance=_MOST + _MISS
    )
    apart = corners[corner] - tips[tip]
    off = np.abs(way[tip, 0] * apart[:, 1] - way[tip, 1] * apart[:, 0])
    square = (np.abs(np.einsum("ij,ij->i", apart, way[tip])) <= np.maximum(_SQUARE * off, _MISS)) & (off >= _LEAST)
    tip, corner = tip[square], corner[square]
    drawn = _along(tips[tip], corners[corner], tree)
    found: list[tuple[list[Floats], list[Floats]]] = [([], []) for _ in bridges]
    for at, far in zip(tip[drawn].tolist(), corner[drawn].tolist(), strict=True):
        found[at // 2][at % 2].append(corners[far])
    return found


def _along(start: Floats, stop: Floats, tree: shapely.STRtree) -> Mask:
    """Which ways from `start` to `stop` (n, 2) are drawn: lines lie along them but for misses at the ends."""
    share = np.array(_LOOKS)[None, :, None]
    points = (start[:, None] + (stop - start)[:, None] * share).reshape(-1, 2)
    seen = np.zeros(len(points), dtype=bool)
    seen[tree.query(shapely.points(points), predicate="dwithin", distance=_ALIKE)[0]] = True
    return np.asarray(seen.reshape(-1, len(_LOOKS)).all(axis=1))


def _carries(bridge: Floats, second: Floats) -> bool:
    """Whether the `second` line lies beside the bridge, a wall's thickness off."""
    one, other = _offs(bridge, second)
    return one * other > 0 and abs(one - other) <= _ALIKE and _LEAST <= abs(one) <= _MOST


def _off(bridge: Floats, second: Floats) -> float:
    return min(abs(x) for x in _offs(bridge, second))


def _offs(bridge: Floats, second: Floats) -> tuple[float, float]:
    """How far the ends of the `second` line lie off the bridge, metres; to the left of its way above nought."""
    way = bridge[2:] - bridge[:2]
    normal = left_of(directions(way))
    return float((second[:2] - bridge[:2]) @ normal), float((second[2:] - bridge[:2]) @ normal)


def _drawn(second: Floats, tree: shapely.STRtree) -> bool:
    """Whether a line runs along the second face already: then it is the back of a niche."""
    middle = shapely.linestrings([(0.75 * second[:2] + 0.25 * second[2:]), (0.25 * second[:2] + 0.75 * second[2:])])
    return bool(len(tree.query(middle, predicate="dwithin", distance=_ALIKE)))


def _thickened(candidate: Candidate, bridge: Floats, second: Floats) -> Candidate:
    way = bridge[2:] - bridge[:2]
    normal = left_of(directions(way))
    thick = float((second[:2] - bridge[:2]) @ normal)
    shift = np.tile(normal * thick / 2, 2)
    axis = np.array(candidate.axis) + shift
    return replace(candidate, axis=tuple(axis.tolist()), thick=abs(thick), bridges=np.array([bridge, second]))
