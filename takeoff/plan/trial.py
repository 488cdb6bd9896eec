"""Which layers hold the walls where no name says so: by trying, and looking at the rooms that come of it.

Terms:
  candidate   a layer without a telling name whose lines run in pairs, as faces of walls do.
  trial       the plan closed with some of the candidates taken for walls.
  worth       what the rooms of a trial speak for it: labels that stand alone in their rooms, printed sizes and areas
              that agree with the measured ones, doors that lead somewhere; against it speak rooms with several labels,
              labels outside every room, islands in rooms, and spaces that nothing tells of.

A layer is added only where it makes the rooms better: furniture, structure under the ceiling, roofs and dimension
lines also run in pairs, and lie over the walls.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats
from takeoff.plan.labels import Label, RoomFacts, assign, room_facts
from takeoff.plan.layers import Role
from takeoff.plan.rooms import Spaces

__all__ = ["BETTER", "told_roles", "worth_of"]

Close = Callable[[tuple[Role, ...]], Spaces]
About = Callable[[Sequence[int], Floats], list[int]]

_FIRST = 4
"""So many of the likeliest candidates are tried alone."""
_MOST = 8
"""So many candidates are looked at."""
BETTER = 0.4
"""A layer more must be worth this much."""
_HOPELESS = 0.1
"""Where no layer alone is worth more than this share of the labels below nought, none is taken for walls."""
_AGREES = 0.03
"""Printed sizes within this share of the measured ones bear the outline out."""
_ALONE, _AGREEING, _ENTERED = 1.0, 1.0, 0.3
_CROWDED, _OUTSIDE, _ISLAND, _UNTOLD = 0.6, 0.5, 0.3, 0.2
_WALL = Role("wall", 0.6, why="the rooms that its lines make")


def told_roles(
    roles: tuple[Role, ...], candidates: Sequence[int], labels: Sequence[Label], close: Close, about: About
) -> tuple[Role, ...]:
    """The roles, with those of the `candidates` that make the best rooms taken for walls (see `LayerSigns`).

    `close` gives the spaces under given roles; it is called a dozen times at most, and not for a lone candidate.
    `about` tells which of some layers go round places at all: others make no rooms by themselves.
    """
    candidates = candidates[:_MOST]
    if len(candidates) < 2:
        return roles

    def worth(layers: Sequence[int]) -> float:
        return worth_of(close(_as_walls(roles, layers)), labels)

    names = np.array([label.at for label in labels if label.is_called], dtype=float).reshape(-1, 2)
    alone = {n: worth([n]) for n in about(candidates[:_FIRST], names)}
    if not alone:
        return roles
    chosen = [max(alone, key=lambda n: (alone[n], -candidates.index(n)))]
    best = alone[chosen[0]]
    if best < -_HOPELESS * len(names):
        return roles
    for layer in candidates:
        if layer not in chosen and (more := worth([*chosen, layer])) >= best + BETTER:
            chosen, best = [*chosen, layer], more
    return _as_walls(roles, chosen) if best > 0 else roles


def _as_walls(roles: tuple[Role, ...], layers: Sequence[int]) -> tuple[Role, ...]:
    return tuple(
        replace(_WALL, status=role.status, detail=role.detail) if n in layers else role for n, role in enumerate(roles)
    )


def worth_of(spaces: Spaces, labels: Sequence[Label], *, called: bool = False) -> float:
    """What the rooms among the `spaces` speak for the trial that made them; where rooms are `called` by names, a door
    into a space without one speaks for nothing.
    """
    rooms = np.flatnonzero(spaces.room)
    polygons = spaces.arrangement.polygons[rooms]
    placed = assign(list(polygons), labels)
    alone = sum(1 for group in placed.inside if sum(label.is_called for label in group) == 1)
    crowded = sum(sum(label.is_called for label in placed.inside[n]) for n in placed.crowded)
    agreeing = sum(
        _agrees(room_facts(group), polygon) for group, polygon in zip(placed.inside, polygons, strict=True) if group
    )
    entered = spaces.entered[rooms]
    spoken = entered & spaces.named[rooms] if called else entered
    islands = sum(len(spaces.arrangement.rings[n]) - 1 for n in rooms.tolist())
    untold = int((~entered & ~spaces.named[rooms]).sum())
    return (
        _ALONE * alone
        + _AGREEING * agreeing
        + _ENTERED * float(spoken.sum())
        - _CROWDED * crowded
        - _OUTSIDE * len(placed.outside)
        - _ISLAND * islands
        - _UNTOLD * untold
    )


def _agrees(facts: RoomFacts, polygon: shapely.Polygon) -> bool:
    """Whether a printed area or size is the polygon's."""
    if facts.printed_area_m2:
        return bool(abs(polygon.area - facts.printed_area_m2) <= _AGREES * facts.printed_area_m2)
    if not facts.printed_size_m:
        return False
    box = shapely.minimum_rotated_rectangle(polygon)
    if box.geom_type != "Polygon":
        return False
    corners = shapely.get_coordinates(box)
    sides = sorted(float(np.hypot(*(corners[k + 1] - corners[k]))) for k in (0, 1))
    return all(abs(a - b) <= _AGREES * b for a, b in zip(sides, sorted(facts.printed_size_m), strict=True))
