"""The sides of a room: its outline as runs of wall face, with what each rests on and what lies behind it.

Terms:
  ring      the half-edges round a face, room on the left: the outer one counter-clockwise, holes clockwise.
  piece     one half-edge of a ring, with its support, curve and entities.
  behind    from a side outwards through the wall to the first face that is no solid: the wall's thickness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.vectors import left_of
from takeoff.plan.backgrounds import wall_type
from takeoff.plan.linework import BRIDGE, HEALED, LEAK, SPLIT, Lines, Traced
from takeoff.plan.model import Point, Side

__all__ = ["RingSide", "edge_arcs", "outline_of", "ring_sides", "sides_of", "walls_behind"]

_STRAIGHT = np.radians(0.6)
"""Pieces that turn less are one side."""
_LOOK = 0.9
"""How far behind a side the other face of its wall is looked for, metres."""
_THINNEST = 0.012
_ALONG, _BESIDE = 0.001, 0.08
"""A piece of a line lies along a side when it runs so far beside it, no farther off, metres: sides are healed."""
_SUPPORT = {BRIDGE: "opening", HEALED: "healed", LEAK: "healed", SPLIT: "assumed"}


@dataclass(frozen=True)
class RingSide:
    """One side of a ring before it is named."""

    points: Floats
    """(k, 2), two points when straight, the chords' ends when curved."""
    support: str
    arc: int
    """Index into the drawing's arcs, -1 when straight."""
    entities: tuple[int, ...]

    @property
    def length(self) -> float:
        """Length along the chords."""
        return float(np.hypot(*np.diff(self.points, axis=0).T).sum())


def edge_arcs(arrangement: Arrangement, lines: Lines) -> Index:
    """For each edge the arc of the drawing that it is a chord of, -1 when it is straight."""
    offsets, numbers = arrangement.pieces
    if not len(arrangement.edges):
        return np.zeros(0, dtype=np.int64)
    return np.asarray(np.maximum.reduceat(lines.arc[numbers], offsets[:-1]))


def ring_sides(arrangement: Arrangement, lines: Lines, kinds: Index, arcs: Index, ring: Index) -> list[RingSide]:
    """The sides of one ring of half-edges, in walking order, starting at a corner.

    `kinds` and `arcs` of each edge, from `edge_kinds` and `edge_arcs`.
    """
    edge = ring // 2
    tail = arrangement.nodes[arrangement.edges[edge, ring % 2]]
    head = arrangement.nodes[arrangement.edges[edge, 1 - ring % 2]]
    support = [_SUPPORT.get(k, "drawn") for k in kinds[edge].tolist()]
    arc = arcs[edge].tolist()
    turn = _turns(tail, head).tolist()
    new = [
        (arc[i] != arc[i - 1]) or support[i] != support[i - 1] or (arc[i] < 0 and abs(turn[i]) > _STRAIGHT)
        for i in range(len(ring))
    ]
    first = next(
        (i for i in range(len(ring)) if new[i] and abs(turn[i]) > _STRAIGHT),
        next((i for i in range(len(ring)) if new[i]), 0),
    )
    order = [(first + k) % len(ring) for k in range(len(ring))]
    groups: list[list[int]] = []
    for k, i in enumerate(order):
        if k == 0 or new[i]:
            groups.append([i])
        else:
            groups[-1].append(i)
    return [_side(arrangement, lines, tail, head, edge, g, support[g[0]], arc[g[0]]) for g in groups]


def _turns(tail: Floats, head: Floats) -> Floats:
    """Angle turned at the start of each piece."""
    way = head - tail
    angle = np.arctan2(way[:, 1], way[:, 0])
    return np.asarray((angle - np.roll(angle, 1) + np.pi) % (2 * np.pi) - np.pi)


def _side(
    arrangement: Arrangement,
    lines: Lines,
    tail: Floats,
    head: Floats,
    edge: Index,
    group: list[int],
    support: str,
    arc: int,
) -> RingSide:
    points = np.vstack([tail[group], head[group[-1:]]]) if arc >= 0 else np.array([tail[group[0]], head[group[-1]]])
    found = {e for i in group for e in lines.entity[arrangement.piece_of(int(edge[i]))].tolist()}
    drawn = {d for e in found if e >= 0 for d in _pieces_along(lines.traced.get(e, ()), points) or (e,)}
    return RingSide(points, support, arc, tuple(sorted(drawn)))


def _pieces_along(traced: Traced, side: Floats) -> list[int]:
    """The entities among the pieces `traced` that lie along a `side`."""
    if not traced:
        return []
    way = side[-1] - side[0]
    length = float(np.hypot(*way))
    unit = way / max(length, _ALONG)
    ends = np.array([piece for _, piece in traced]).reshape(-1, 2, 2) - side[0]
    along, off = ends @ unit, np.abs(ends @ left_of(unit))
    beside = (along.max(axis=1) > _ALONG) & (along.min(axis=1) < length - _ALONG) & (off.max(axis=1) < _BESIDE)
    return [entity for (entity, _), here in zip(traced, beside.tolist(), strict=True) if here]


def outline_of(sides: Sequence[RingSide]) -> tuple[Point, ...]:
    """The corners of a ring: the start of each side, chords of curves included, points on straight lines left out."""
    points = np.vstack([s.points[:-1] for s in sides])
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    scale = np.hypot(before[:, 0], before[:, 1]) * np.hypot(after[:, 0], after[:, 1])
    corner = cross > np.sin(_STRAIGHT / 4) * np.maximum(scale, 1e-12)
    kept = points[corner] if corner.sum() >= 3 else points
    return tuple((float(x), float(y)) for x, y in kept)


def walls_behind(
    arrangement: Arrangement, solid: Mask, room: Mask, middles: Floats, outward: Floats
) -> tuple[Floats, Index]:
    """For points on room outlines: thickness of the wall behind (nan when none is found) and what lies beyond it.

    Beyond is 1 for a room, 0 for outdoors or no room, -1 when not known. `solid` and `room` are masks over faces.
    """
    count = len(middles)
    thick, beyond = np.full(count, np.nan), np.full(count, -1, dtype=np.int64)
    if not count or not len(arrangement.edges):
        return thick, beyond
    rays = np.stack([middles - outward * 0.002, middles + outward * _LOOK], axis=1)
    tree = shapely.STRtree(shapely.linestrings(arrangement.nodes[arrangement.edges]))
    ray, edge = tree.query(shapely.linestrings(rays), predicate="intersects")
    ends = arrangement.nodes[arrangement.edges[edge]]
    along = ends[:, 1] - ends[:, 0]
    cross = outward[ray, 0] * along[:, 1] - outward[ray, 1] * along[:, 0]
    apart = ends[:, 0] - middles[ray]
    distance = (apart[:, 0] * along[:, 1] - apart[:, 1] * along[:, 0]) / np.where(np.abs(cross) < 1e-9, np.inf, cross)
    far = np.where(cross < 0, arrangement.left[edge], arrangement.right[edge])
    open_beyond = ~np.concatenate([solid, [False]])[far] & (np.abs(cross) > 1e-9)
    ray, distance, far = ray[open_beyond], distance[open_beyond], far[open_beyond]
    order = np.lexsort((distance, ray))
    ray, distance, far = ray[order], distance[order], far[order]
    first = np.concatenate([[True], ray[1:] != ray[:-1]]) if len(ray) else np.zeros(0, dtype=bool)
    ray, distance, far = ray[first], distance[first], far[first]
    thick[ray] = np.where(distance >= _THINNEST, distance, np.nan)
    beyond[ray] = np.where(far == OUTSIDE, 0, np.concatenate([room, [False]])[far].astype(np.int64))
    return thick, beyond


def sides_of(
    drawing: Drawing,
    ref: str,
    rings: Sequence[Sequence[RingSide]],
    thick: Floats,
    beyond: Index,
    fills: Sequence[str],
) -> tuple[Side, ...]:
    """The named sides of a room; `thick` and `beyond` (one each, in order) from `walls_behind`, `fills` the hatches in
    the middle of the walls.
    """
    named = []
    number = 0
    for ring, sides in enumerate(rings):
        for side in sides:
            depth = None if np.isnan(thick[number]) else float(thick[number])
            external = None if beyond[number] < 0 else bool(beyond[number] == 0)
            named.append(
                Side(
                    ref=f"{ref}-S{number + 1}",
                    start=_point(side.points[0]),
                    end=_point(side.points[-1]),
                    length_m=_true_length(drawing, side),
                    support=side.support,
                    thickness_m=depth,
                    external=external,
                    radius_m=_radius(drawing, side),
                    points=tuple(_point(p) for p in side.points) if side.arc >= 0 else (),
                    ring=ring,
                    wall_type=wall_type(depth, _layer(drawing, side), fills[number], external)[0],
                    handles=tuple(dict.fromkeys(drawing.entities[e].handle for e in side.entities)),
                )
            )
            number += 1
    return tuple(named)


def _layer(drawing: Drawing, side: RingSide) -> str:
    """Name of the layer that the side was drawn on, '' where it was laid by us."""
    return drawing.layer_of(side.entities[0]) if side.entities else ""


def _point(p: Floats) -> Point:
    return float(p[0]), float(p[1])


def _radius(drawing: Drawing, side: RingSide) -> float | None:
    """The curve's radius, positive where the side bulges out of the room (centre on the room's side, left)."""
    if side.arc < 0:
        return None
    x, y, radius = drawing.arcs.shape[side.arc, :3]
    chord = side.points[1] - side.points[0]
    left = chord[0] * (y - side.points[0, 1]) - chord[1] * (x - side.points[0, 0])
    return float(radius if left > 0 else -radius)


def _true_length(drawing: Drawing, side: RingSide) -> float:
    """Along the face: chords lengthened to the arc they stand for."""
    if side.arc < 0:
        return side.length
    radius = float(drawing.arcs.shape[side.arc, 2])
    chord = np.hypot(*np.diff(side.points, axis=0).T)
    return float((2 * radius * np.arcsin(np.minimum(chord / (2 * radius), 1.0))).sum())
