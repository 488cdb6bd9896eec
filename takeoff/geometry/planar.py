"""A planar arrangement: line pieces noded where they meet, and the faces between them.

Terms:
  piece      a straight segment handed in, with its number.
  node       a place where edges end.
  edge       part of a piece between two neighbouring nodes; edges that coincide are one, with all their pieces.
  half-edge  an edge walked one way: 2e from its first node to its second, 2e + 1 back. Its face lies on its left.
  face       a region bounded by half-edges: one outer ring walked counter-clockwise, and holes walked clockwise.
  dangle     an edge with a loose end, or one with the same face on both sides: it bounds nothing and is left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.errors import DrawingError
from takeoff.geometry.cluster import Floats, Index, Mask, cluster_points, components
from takeoff.geometry.near import portions

__all__ = [
    "MOST_PAIRS", "OUTSIDE", "Arrangement", "Floats", "Index", "arrange", "check_crowding", "crossings", "node_pieces",
    "without_edges",
]

OUTSIDE = -1
"""Face number of the unbounded face."""

MOST_PAIRS = 50_000_000
"""More pairs of neighbouring lines are refused: half a minute's work. A block of 20,000 rooms has a fifth of it."""
_SAMPLED, _SAMPLED_AT_ONCE = 300, 16
_CUTS_ALLOWED, _CUTS_A_PIECE, _NEIGHBOURS_A_PIECE = 1_000_000, 20, 200
"""More cuts, or more neighbours that all but touch, are refused: a few seconds' work. Lines of plans are cut three to
five times on average."""


@dataclass(frozen=True)
class Arrangement:
    """Nodes, edges and faces; arrays indexed by number.

    `polygons` holds each face with its holes; `left` and `right` of an edge are face numbers, OUTSIDE for the
    unbounded one.
    """

    nodes: Floats
    """(n, 2)"""
    edges: Index
    """(e, 2) node numbers, first < second."""
    pieces: tuple[Index, Index]
    """For each edge the slice of piece numbers: start offsets (e + 1,) and the numbers."""
    left: Index
    right: Index
    polygons: npt.NDArray[np.object_]
    rings: tuple[tuple[Index, ...], ...]
    """For each face its rings of half-edges in walking order: outer first, then holes."""
    loose: Index
    """(d, 2) node numbers of the dangles left out."""
    loose_pieces: Index
    """(d,) one piece of each dangle."""

    @property
    def lengths(self) -> Floats:
        """Edge lengths (e,)."""
        ends = self.nodes[self.edges]
        return np.asarray(np.hypot(*(ends[:, 1] - ends[:, 0]).T))

    def piece_of(self, edge: int) -> Index:
        """Numbers of the pieces that run along `edge`."""
        offsets, numbers = self.pieces
        return numbers[offsets[edge] : offsets[edge + 1]]


def arrange(ends: Floats, tolerance: float = 0.001) -> Arrangement:
    """The arrangement of the pieces `ends` (n, 4): x1 y1 x2 y2.

    Ends and crossings nearer than `tolerance` become one node; an end that near to another piece splits it.
    """
    nodes, edges, piece = node_pieces(ends, tolerance)
    return _traced(nodes, *_merged(edges, piece))


def without_edges(arrangement: Arrangement, drop: Mask) -> Arrangement:
    """The arrangement once the edges of the mask `drop` (e,) are gone and the faces beside them have run together."""
    offsets, numbers = arrangement.pieces
    counts = np.diff(offsets)[~drop]
    kept = numbers[np.repeat(~drop, np.diff(offsets))]
    return _traced(arrangement.nodes, arrangement.edges[~drop], np.concatenate([[0], np.cumsum(counts)]), kept)


def _traced(nodes: Floats, edges: Index, offsets: Index, numbers: Index) -> Arrangement:
    """The faces between `edges`, with the pieces (offsets and numbers) of each."""
    keep = _without_loose_ends(edges, len(nodes))
    while True:
        cycle, following = _cycles(nodes, edges, keep)
        both = keep & (cycle[0::2] == cycle[1::2])
        if not both.any():
            break
        keep = keep & ~both
        keep[keep] = _without_loose_ends(edges[keep], len(nodes))
    rings = _ring_lists(cycle, following)
    face_of, polygons, face_rings = _faces(nodes, edges, rings)
    number = np.full(2 * len(edges), OUTSIDE, dtype=np.int64)
    for face, own in zip(face_of, rings, strict=True):
        number[own] = face
    counts = np.diff(offsets)
    kept_numbers = numbers[np.repeat(keep, counts)]
    kept_offsets = np.concatenate([[0], np.cumsum(counts[keep])])
    return Arrangement(
        nodes,
        edges[keep],
        (kept_offsets, kept_numbers),
        number[0::2][keep],
        number[1::2][keep],
        polygons,
        _renumbered(face_rings, keep),
        edges[~keep],
        numbers[offsets[:-1]][~keep],
    )


def _renumbered(face_rings: list[list[Index]], keep: Mask) -> tuple[tuple[Index, ...], ...]:
    """Half-edge numbers once the edges not kept are gone."""
    place = np.cumsum(keep) - 1
    return tuple(tuple(2 * place[ring // 2] + ring % 2 for ring in rings) for rings in face_rings)


def crossings(ends: Floats, reach: float, firsts: int | None = None) -> Iterator[tuple[Index, Index]]:
    """Pairs of pieces (i < j) whose bounding boxes, widened by `reach`, meet; some at a time, in order of i, which goes
    through the `firsts` first pieces, or all.

    Raises `DrawingError` when there are more than `MOST_PAIRS`.
    """
    boxes = _diagonals(ends, reach)
    tree = shapely.STRtree(boxes)
    count = 0
    for first, second in portions(tree, boxes[:firsts]):
        once = first < second
        yield first[once], second[once]
        count += int(once.sum())
        if count > MOST_PAIRS:
            raise _too_many()


def check_crowding(ends: Floats, reach: float) -> None:
    """Raises `DrawingError` when a sample of the pieces says that far too many lie within `reach` of one another, or
    that `crossings` would find more than `MOST_PAIRS`.
    """
    most = _CUTS_ALLOWED + _NEIGHBOURS_A_PIECE * len(ends)
    if len(ends) * len(ends) <= 2 * most:
        return
    every = max(1, len(ends) // _SAMPLED)
    beside = _met(_diagonals(ends, reach), every, 2 * MOST_PAIRS)
    if beside > 2 * most:  # no more lines lie near one another than their boxes meet
        _met(shapely.linestrings(ends.reshape(-1, 2, 2)), every, 2 * most, reach)


def _met(shapes: npt.NDArray[np.object_], every: int, most: int, reach: float | None = None) -> int:
    """How many pairs of `shapes` meet with their boxes, or come within `reach` where it is given, as one `every` so
    many tells. Raises `DrawingError` for more than `most`.
    """
    tree = shapely.STRtree(shapes)
    sample = shapes[::every]
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


def node_pieces(ends: Floats, tolerance: float) -> tuple[Floats, Index, Index]:
    """Nodes (n, 2), edges (m, 2) and the piece (m,) of each edge, coinciding edges still repeated.

    Raises `DrawingError` when the pieces cut each other more often than walls do.
    """
    count = len(ends)
    starts, stops = ends[:, :2], ends[:, 2:]
    along = stops - starts
    length = np.hypot(along[:, 0], along[:, 1])
    length[length == 0.0] = 1.0
    piece = [np.arange(count), np.arange(count)]
    points = [starts, stops]
    cuts = 0
    for i, j in crossings(ends, 2 * tolerance):
        cut, at = _cuts(starts, along, length, i, j, tolerance)
        piece.append(cut)
        points.append(at)
        cuts += len(cut)
        if cuts > _CUTS_ALLOWED + _CUTS_A_PIECE * count:
            raise _too_many()
    return _noded(starts, along, length, np.concatenate(piece), np.concatenate(points), tolerance)


def _noded(
    starts: Floats, along: Floats, length: Floats, piece: Index, points: Floats, tolerance: float
) -> tuple[Floats, Index, Index]:
    """What `node_pieces` returns, from the `points` where each `piece` ends or is cut."""
    nodes, label = cluster_points(points, tolerance)
    at = np.einsum("ij,ij->i", nodes[label] - starts[piece], along[piece]) / length[piece]
    order = np.lexsort((at, piece))
    same = piece[order][1:] == piece[order][:-1]
    a, b = label[order][:-1][same], label[order][1:][same]
    owner = piece[order][1:][same]
    real = a != b
    pairs = np.sort(np.column_stack([a[real], b[real]]), axis=1)
    return nodes, pairs, owner[real]


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


def _merged(edges: Index, piece: Index) -> tuple[Index, Index, Index]:
    """Each edge once; offsets into the piece numbers that run along it."""
    if not len(edges):
        return edges.reshape(0, 2), np.zeros(1, dtype=np.int64), np.zeros(0, dtype=np.int64)
    order = np.lexsort((piece, edges[:, 1], edges[:, 0]))
    sorted_edges = edges[order]
    new = np.concatenate([[True], (sorted_edges[1:] != sorted_edges[:-1]).any(axis=1)])
    offsets = np.concatenate([np.flatnonzero(new), [len(edges)]])
    return sorted_edges[new], offsets, piece[order]


def _without_loose_ends(edges: Index, node_count: int) -> Mask:
    """Which edges stay when edges with a loose end are taken away until none is left."""
    keep = np.ones(len(edges), dtype=bool)
    degree = np.bincount(edges.ravel(), minlength=node_count)
    live = np.flatnonzero((degree[edges] == 1).any(axis=1))
    touching_order = np.argsort(edges.ravel(), kind="stable")
    touching_start = np.concatenate([[0], np.cumsum(degree)])
    while len(live):
        keep[live] = False
        np.subtract.at(degree, edges[live].ravel(), 1)
        tips = np.unique(edges[live].ravel())
        tips = tips[degree[tips] == 1]
        found = [touching_order[touching_start[t] : touching_start[t + 1]] // 2 for t in tips]
        live = np.unique(np.concatenate(found)) if found else np.zeros(0, dtype=np.int64)
        live = live[keep[live]]
    return keep


def _cycles(nodes: Floats, edges: Index, keep: Mask) -> tuple[Index, Index]:
    """Cycle number of each half-edge and the half-edge that follows it; -1 for edges not kept."""
    following = np.full(2 * len(edges), -1, dtype=np.int64)
    cycle = np.full(2 * len(edges), -1, dtype=np.int64)
    kept = np.flatnonzero(keep)
    half = np.stack([2 * kept, 2 * kept + 1], axis=1).ravel()
    if not len(half):
        return cycle, following
    tail = edges[kept].ravel()
    head = edges[kept][:, ::-1].ravel()
    way = nodes[head] - nodes[tail]
    order = np.lexsort((np.arctan2(way[:, 1], way[:, 0]), tail))
    first = np.concatenate([[True], tail[order][1:] != tail[order][:-1]])
    starts = np.flatnonzero(first)
    sizes = np.diff(np.concatenate([starts, [len(order)]]))
    clockwise = np.concatenate([[0], order[:-1]])
    clockwise[starts] = order[starts + sizes - 1]
    before = np.empty(len(order), dtype=np.int64)
    before[order] = clockwise
    twin = np.arange(len(half)) ^ 1
    following[half] = half[before[twin]]
    cycle[half] = components(len(half), np.arange(len(half)), before[twin])
    return cycle, following


def _ring_lists(cycle: Index, following: Index) -> list[Index]:
    """The half-edges of each cycle in walking order."""
    count = int(cycle.max()) + 1 if len(cycle) else 0
    if not count:
        return []
    first = np.full(count, -1, dtype=np.int64)
    numbered = np.flatnonzero(cycle >= 0)
    first[cycle[numbered][::-1]] = numbered[::-1]
    step = following.tolist()
    rings = []
    for start in first.tolist():
        ring = [start]
        at = step[start]
        while at != start:
            ring.append(at)
            at = step[at]
        rings.append(np.array(ring, dtype=np.int64))
    return rings


def _faces(
    nodes: Floats, edges: Index, rings: list[Index]
) -> tuple[list[int], npt.NDArray[np.object_], list[list[Index]]]:
    """Face number of each ring, the faces' polygons, and each face's rings, outer first."""
    if not rings:
        return [], np.empty(0, dtype=object), []
    flat = np.concatenate(rings)
    owner = np.repeat(np.arange(len(rings)), [len(r) for r in rings])
    points = nodes[edges[flat // 2, flat % 2]]
    heads = nodes[edges[flat // 2, 1 - flat % 2]]
    area = np.bincount(owner, points[:, 0] * heads[:, 1] - heads[:, 0] * points[:, 1]) / 2
    shells = np.flatnonzero(area > 0)
    holes = np.flatnonzero(area <= 0)
    face_of = np.full(len(rings), OUTSIDE, dtype=np.int64)
    face_of[shells] = np.arange(len(shells))
    closed = _closed_rings(points, owner, len(rings))
    outlines = shapely.polygons(closed[shells])
    part = components(len(nodes), edges[flat // 2, 0], edges[flat // 2, 1])
    ring_part = part[edges[[r[0] // 2 for r in rings], 0]]
    inside = _holders(outlines, ring_part[shells], nodes, rings, edges, holes, ring_part[holes])
    face_of[holes] = inside
    face_rings: list[list[Index]] = [[rings[s]] for s in shells]
    hole_rings: list[list[object]] = [[] for _ in shells]
    for hole, holder in zip(holes.tolist(), inside.tolist(), strict=True):
        if holder != OUTSIDE:
            face_rings[holder].append(rings[hole])
            hole_rings[holder].append(closed[hole])
    polygons = outlines.copy()
    for face, own in enumerate(hole_rings):
        if own:
            polygons[face] = shapely.polygons(closed[shells[face]], holes=own)
    return face_of.tolist(), polygons, face_rings


def _closed_rings(points: Floats, owner: Index, count: int) -> npt.NDArray[np.object_]:
    """Linear rings from points grouped by `owner`; rings of two points (there and back) are made of three."""
    sizes = np.bincount(owner, minlength=count)
    start = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    extra = np.where(sizes < 3, 3 - sizes, 0) + 1
    index = np.repeat(np.arange(count), sizes + extra)
    place = np.arange(len(index)) - np.repeat(np.concatenate([[0], np.cumsum(sizes + extra)[:-1]]), sizes + extra)
    pick = start[index] + np.where(place < sizes[index], place, 0)
    return np.asarray(shapely.linearrings(points[pick], indices=index))


def _holders(
    outlines: npt.NDArray[np.object_],
    outline_part: Index,
    nodes: Floats,
    rings: list[Index],
    edges: Index,
    holes: Index,
    hole_part: Index,
) -> Index:
    """For each hole the smallest face of another part that holds it, OUTSIDE when none does."""
    held = np.full(len(holes), OUTSIDE, dtype=np.int64)
    if not len(holes) or not len(outlines):
        return held
    witness = shapely.points(nodes[edges[[rings[h][0] // 2 for h in holes], 0]])
    hole, face = shapely.STRtree(outlines).query(witness, predicate="within")
    other = outline_part[face] != hole_part[hole]
    hole, face = hole[other], face[other]
    order = np.lexsort((-shapely.area(outlines[face]), hole))
    held[hole[order]] = face[order]
    return held
