"""Line pieces cut where they meet: what faces are traced from.

Terms:
  piece   a straight segment handed in, with its number.
  cut     a place where a piece ends, or where another crosses or ends on it.
  node    cuts nearer than the tolerance: one place.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.errors import DrawingError
from takeoff.geometry.cluster import Floats, Index, Mask, cluster_points, distinct
from takeoff.geometry.near import portions

__all__ = ["MOST_PAIRS", "Cuts", "check_crowding", "crossings", "cuts_of"]

MOST_PAIRS = 50_000_000
"""More pairs of neighbouring lines are refused: half a minute's work. A block of 20,000 rooms has a fifth of it."""
_SAMPLED, _SAMPLED_AT_ONCE = 300, 16
_CUTS_ALLOWED, _CUTS_A_PIECE, _NEIGHBOURS_A_PIECE = 1_000_000, 20, 200
"""More cuts, or more neighbours that all but touch, are refused: a few seconds' work. Lines of plans are cut three to
five times on average."""


def crossings(
    ends: Floats, reach: float, firsts: int | None = None, since: int = 0
) -> Iterator[tuple[Index, Index]]:
    """Pairs of pieces (i < j) whose bounding boxes, widened by `reach`, meet; some at a time, in order of i, which goes
    through the `firsts` first pieces, or all; j is `since` or higher.

    Raises `DrawingError` when there are more than `MOST_PAIRS`.
    """
    boxes = _diagonals(ends, reach)
    tree = shapely.STRtree(boxes[since:])
    count = 0
    for first, second in portions(tree, boxes[:firsts]):
        once = first < second + since
        yield first[once], second[once] + since
        count += int(once.sum())
        if count > MOST_PAIRS:
            raise _too_many()


def check_crowding(ends: Floats, reach: float, tree: shapely.STRtree | None = None) -> None:
    """Raises `DrawingError` when a sample of the pieces says that far too many lie within `reach` of one another, or
    that `crossings` would find more than `MOST_PAIRS`. `tree` holds the pieces, where one was made before.
    """
    most = _CUTS_ALLOWED + _NEIGHBOURS_A_PIECE * len(ends)
    if len(ends) * len(ends) <= 2 * most:
        return
    tree = tree or shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2)))
    every = max(1, len(ends) // _SAMPLED)
    sample = ends[::every]
    beside = _met(tree, _diagonals(sample, 2 * reach), every, 2 * MOST_PAIRS)
    if beside > 2 * most:  # no more lines lie near one another than their boxes meet
        _met(tree, shapely.linestrings(sample.reshape(-1, 2, 2)), every, 2 * most, reach)


def _met(
    tree: shapely.STRtree, sample: npt.NDArray[np.object_], every: int, most: int, reach: float | None = None
) -> int:
    """How many pairs of shapes in the `tree` meet with their boxes, or come within `reach` where it is given, as a
    `sample` of one in `every` so many tells. Raises `DrawingError` for more than `most`.
    """
    count = 0
    for at in range(0, len(sample), _SAMPLED_AT_ONCE):
        some = sample[at : at + _SAMPLED_AT_ONCE]
        found = tree.query(some) if reach is None else tree.query(some, predicate="dwithin", distance=reach)
        count += len(found[0]) - len(some)
        if count * every > most:
            raise _too_many()
    return count * every


def _diagonals(ends: Floats, reach: float) -> npt.NDArray[np.object_]:
    """Lines with the bounding boxes of the pieces, widened by half of `reach`: trees look at nothing else."""
    low = np.minimum(ends[:, :2], ends[:, 2:]) - reach / 2
    high = np.maximum(ends[:, :2], ends[:, 2:]) + reach / 2
    return np.asarray(shapely.linestrings(np.stack([low, high], axis=1)))


def _too_many() -> DrawingError:
    return DrawingError(
        "So many lines lie over one another in this drawing that walls cannot be told among them. "
        "Switch off or freeze the layers with hatches, textures, "
        "planting and furniture and save it again."
    )


@dataclass(frozen=True)
class Cuts:
    """Pieces and where they are cut."""

    ends: Floats
    """(n, 4) the pieces."""
    tolerance: float
    """Cuts nearer than this are one node, metres."""
    piece: Index
    """(c,) the piece of each cut."""
    points: Floats
    """(c, 2)"""

    def with_more(self, ends: Floats) -> Cuts:
        """These and further pieces `ends` (k, 4), numbered on: only what those meet is looked at. Raises as `cuts_of`
        does.
        """
        count = len(self.ends)
        piece, points = _cut_from(np.vstack([self.ends, ends]), self.tolerance, count, len(self.piece) - 2 * count)
        return Cuts(
            np.vstack([self.ends, ends]),
            self.tolerance,
            np.concatenate([self.piece, piece]),
            np.concatenate([self.points, points]),
        )

    def noded(self) -> tuple[Floats, Index, Index]:
        """Nodes (n, 2), edges (m, 2) and the piece (m,) of each edge, coinciding edges still repeated."""
        starts, along, length = _courses(self.ends)
        nodes, label = cluster_points(self.points, self.tolerance)
        met = distinct(self.piece * len(nodes) + label)  # a piece may be cut many times at one node
        piece, label = np.divmod(met, max(len(nodes), 1))
        at = np.einsum("ij,ij->i", nodes[label] - starts[piece], along[piece]) / length[piece]
        order = np.lexsort((at, piece))
        same = piece[order][1:] == piece[order][:-1]
        a, b = label[order][:-1][same], label[order][1:][same]
        return nodes, np.column_stack([np.minimum(a, b), np.maximum(a, b)]), piece[order][1:][same]


def cuts_of(ends: Floats, tolerance: float) -> Cuts:
    """Where the pieces `ends` (n, 4) are cut.

    Raises `DrawingError` when they cut each other more often than walls do.
    """
    return Cuts(ends, tolerance, *_cut_from(ends, tolerance, 0, 0))


def _courses(ends: Floats) -> tuple[Floats, Floats, Floats]:
    """Start, way and length of the pieces, a length of nought made one."""
    starts = ends[:, :2]
    along = ends[:, 2:] - starts
    length = np.hypot(along[:, 0], along[:, 1])
    length[length == 0.0] = 1.0
    return starts, along, length


def _cut_from(ends: Floats, tolerance: float, since: int, cuts: int) -> tuple[Index, Floats]:
    """The cuts that pieces numbered `since` and later have and make: piece and place of each. So many `cuts` were found
    before.
    """
    starts, along, length = _courses(ends)
    fresh = np.arange(since, len(ends))
    piece = [fresh, fresh]
    points = [starts[since:], ends[since:, 2:]]
    for i, j in crossings(ends, 2 * tolerance, since=since):
        cut, at = _cuts(starts, along, length, i, j, tolerance)
        piece.append(cut)
        points.append(at)
        cuts += len(cut)
        if cuts > _CUTS_ALLOWED + _CUTS_A_PIECE * len(ends):
            raise _too_many()
    return np.concatenate(piece), np.concatenate(points)


@dataclass(frozen=True)
class _Courses:
    """Some pieces, a number of each kind in an array of its own: those are gathered much faster than rows of two."""

    x: Floats
    y: Floats
    along_x: Floats
    along_y: Floats
    length: Floats

    def hold(self, x: Floats, y: Floats, tolerance: float) -> Mask:
        """Which of the points, one for each piece, lie on it, its ends left out."""
        dx, dy = x - self.x, y - self.y
        at = dx * self.along_x + dy * self.along_y
        off = np.abs(self.along_x * dy - self.along_y * dx)
        return np.asarray((at > 0) & (at < self.length) & (off <= tolerance))


def _cuts(starts: Floats, along: Floats, length: Floats, i: Index, j: Index, tolerance: float) -> tuple[Index, Floats]:
    """Where pieces are to be cut: at proper crossings, and at ends of others that lie on them."""
    stops = starts + along
    begin, end, unit = (np.ascontiguousarray(rows.T) for rows in (starts, stops, along / length[:, None]))
    one, other = (_Courses(begin[0][n], begin[1][n], unit[0][n], unit[1][n], length[n]) for n in (i, j))
    inside, points = _crossed(one, other, tolerance)
    owners = [i[inside], j[inside]]
    places = [points, points]
    for own, course, beside in ((i, one, j), (j, other, i)):
        for tips, (x, y) in ((starts, begin), (stops, end)):
            on = course.hold(x[beside], y[beside], tolerance)
            owners.append(own[on])
            places.append(tips[beside[on]])
    return np.concatenate(owners), np.concatenate(places)


def _crossed(one: _Courses, other: _Courses, tolerance: float) -> tuple[Mask, Floats]:
    """Which pairs of pieces cross, and where those do."""
    cross = one.along_x * other.along_y - one.along_y * other.along_x
    dx, dy = other.x - one.x, other.y - one.y
    slanted = np.abs(cross) > 1e-4
    safe = np.where(slanted, cross, 1.0)
    u = (dx * other.along_y - dy * other.along_x) / safe
    v = (dx * one.along_y - dy * one.along_x) / safe
    inside = (u > -tolerance) & (u < one.length + tolerance) & (v > -tolerance) & (v < other.length + tolerance)
    inside &= slanted
    at = u[inside]
    return inside, np.column_stack([
        one.x[inside] + one.along_x[inside] * at, one.y[inside] + one.along_y[inside] * at
    ])  # fmt: skip


