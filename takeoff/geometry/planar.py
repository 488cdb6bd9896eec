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

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.noding import Cuts, cuts_of

__all__ = ["OUTSIDE", "Arrangement", "Floats", "Index", "arrange", "arranged", "without_edges"]

OUTSIDE = -1
"""Face number of the unbounded face."""


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

    @cached_property
    def tree(self) -> shapely.STRtree:
        """Of the `polygons`."""
        return shapely.STRtree(self.polygons)

    @cached_property
    def insides(self) -> npt.NDArray[np.object_]:
        """A point in each of the `polygons`."""
        return np.asarray(shapely.point_on_surface(self.polygons))

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
    return arranged(cuts_of(ends, tolerance))


def arranged(cuts: Cuts) -> Arrangement:
    """The arrangement of pieces of which it is known where they are cut."""
    nodes, edges, piece = cuts.noded()
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
    if not face_rings:
        return ()
    place = np.cumsum(keep) - 1
    flat = np.concatenate([ring for rings in face_rings for ring in rings])
    flat = 2 * place[flat // 2] + flat % 2
    ends = iter(np.cumsum([len(ring) for rings in face_rings for ring in rings]).tolist())
    return tuple(tuple(flat[(end := next(ends)) - len(ring) : end] for ring in rings) for rings in face_rings)


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
