"""Glass that is more than a window in a wall: screens that are walls themselves, glass from wall to wall, bays.

Terms:
  screen   glass that stands as a wall of its own, or fills a wall from end to end: nothing is plastered there.
  stretch  a straight part of a room's outline that rests on glass.
  bay      three windows of a room or more, each at an angle to the next and close to it: the room bulges out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import directions, left_of, lengths
from takeoff.plan.inset import taken_already
from takeoff.plan.linework import FABRIC, GLASS, Lines
from takeoff.plan.model import Opening, Room
from takeoff.plan.openings import Candidate
from takeoff.plan.rooms import Spaces
from takeoff.plan.soften import edges_with

__all__ = ["glass_screens", "with_glazing"]

_SHORTEST = 0.5
"""Shorter pieces of glass in a room's outline are frames and posts, metres."""
_POST = 0.15
"""Glass goes on past a post so thick, metres."""
_THICKEST = 0.35
"""The two faces of a screen lie no farther apart, metres."""
_BEYOND = 0.2
"""So far beyond its ends a wall is looked for that goes on, metres."""
_WINDOW_WIDEST = 2.5
"""Glass between two ends of a wall is a window where it is no wider, metres (common practice), else a screen."""
_SAME = 0.6
"""Two faces are one screen's where they run beside each other for this share of the shorter."""
_FILLS, _FILLS_LEAST = 0.88, 1.8
"""A window that fills this share of its side of the room, and is so wide in metres, is a glass wall."""
_WALL = 0.5
"""Glass walls stand in no thicker wall, metres."""
_BAY_STEP = 0.7
"""Jambs of neighbouring windows of a bay stand no farther apart, metres: a post or a corner of masonry."""
_BAY_TURN = (np.radians(15), np.radians(95))
_BAY_LEAST = 3


def glass_screens(lines: Lines, windows: Mask, spaces: Spaces, found: Sequence[Candidate]) -> list[Candidate]:
    """The screens that the rooms' outlines rest on, one for both faces, where none of `found` stands.

    `lines` are those of the enclosure of `spaces`; `windows` masks those on layers for windows: what stands as a wall
    on a layer for doors may be boarded.
    """
    stretches, thick = _screens(*_stretches(spaces, edges_with(spaces.arrangement, windows & (lines.kind == GLASS))))
    if not len(stretches):
        return []
    walls = lines.ends[(lines.kind == FABRIC) & (lines.arc < 0)]
    free = ~_beside_walls(stretches, walls)
    styles = np.where(_between_walls(stretches, walls), "", "screen")
    made = [_candidate(*row) for row in zip(stretches[free], thick[free], styles[free].tolist(), strict=True)]
    made = [c for c in made if not taken_already(c, found)]
    if not made:
        return []
    glass = np.flatnonzero((lines.kind == GLASS) & (lines.entity >= 0))
    reach = shapely.buffer(shapely.linestrings(np.array([c.axis for c in made]).reshape(-1, 2, 2)), _THICKEST / 2)
    tree = shapely.STRtree(shapely.linestrings(lines.ends[glass].reshape(-1, 2, 2)))
    screen, line = tree.query(reach, predicate="contains")
    own = [sorted(set(lines.entity[glass[line[screen == n]]].tolist())) for n in range(len(made))]
    return [replace(c, entities=tuple(entities)) for c, entities in zip(made, own, strict=True)]


def _stretches(spaces: Spaces, glazed: Mask) -> tuple[Floats, Index]:
    """The stretches (n, 4) of the outer rings of rooms on the `glazed` edges (mask), and the face that each belongs to:
    a box of glass that stands free in a room is no screen of it.
    """
    if not glazed.any() or not spaces.room.any():
        return np.zeros((0, 4)), np.zeros(0, dtype=np.int64)
    rooms = np.flatnonzero(spaces.room)
    rings = [spaces.arrangement.rings[f][0] // 2 for f in rooms.tolist()]
    edges = np.concatenate([ring[glazed[ring]] for ring in rings])
    faces = np.repeat(rooms, [int(glazed[ring].sum()) for ring in rings])
    ends = spaces.arrangement.nodes[spaces.arrangement.edges[edges]].reshape(-1, 4)
    runs, face, _ = straight_runs(ends, faces, gap=_POST)
    long = lengths(runs) >= _SHORTEST
    return runs[long], face[long]


def _screens(stretches: Floats, face: Index) -> tuple[Floats, Floats]:
    """The middle line (n, 4) and thickness of each screen: two faces seen from two rooms are one."""
    if not len(stretches):
        return stretches, np.zeros(0)
    pairs = mates(stretches, 0.0, _THICKEST)
    length = lengths(stretches)
    same = pairs.overlap >= _SAME * np.minimum(length[pairs.first], length[pairs.second])
    same &= face[pairs.first] != face[pairs.second]
    group = components(len(stretches), pairs.first[same], pairs.second[same])
    found = [_middle(stretches[group == g]) for g in range(int(group.max()) + 1)]
    return np.array([axis for axis, _ in found]), np.array([thick for _, thick in found])


def _middle(members: Floats) -> tuple[Floats, float]:
    """The line between parallel stretches as long as the longest, and how far apart the outermost lie."""
    longest = members[int(np.argmax(lengths(members)))]
    way = longest[2:] - longest[:2]
    normal = left_of(directions(way))
    off = (members.reshape(-1, 2) - longest[:2]) @ normal
    shift = normal * float(off.min() + off.max()) / 2
    return np.concatenate([longest[:2] + shift, longest[2:] + shift]), float(np.ptp(off))


def _beside_walls(stretches: Floats, walls: Floats) -> Mask:
    """Which stretches (mask) have a wall's face before or behind their middle: glass hung on a wall is no screen."""
    _, normal = _ways(stretches)
    middle = (stretches[:, :2] + stretches[:, 2:]) / 2
    return _meet(np.hstack([middle - normal * _THICKEST, middle + normal * _THICKEST]), walls)


def _between_walls(stretches: Floats, walls: Floats) -> Mask:
    """Which stretches (mask) are windows, not screens: no wider than one, a wall goes on beyond both their ends."""
    unit, normal = _ways(stretches)
    length = lengths(stretches)
    held = length <= _WINDOW_WIDEST
    for place in (stretches[:, :2] - unit * _BEYOND, stretches[:, 2:] + unit * _BEYOND):
        held &= _meet(np.hstack([place - normal * _THICKEST, place + normal * _THICKEST]), walls)
    return np.asarray(held)


def _ways(stretches: Floats) -> tuple[Floats, Floats]:
    """Unit vectors along the stretches, and across them."""
    way = stretches[:, 2:] - stretches[:, :2]
    unit = directions(way)
    return unit, left_of(unit)


def _meet(rays: Floats, walls: Floats) -> Mask:
    """Which rays (n, 4) a wall line crosses squarely."""
    lines = shapely.linestrings(rays.reshape(-1, 2, 2))
    ray, wall = shapely.STRtree(shapely.linestrings(walls.reshape(-1, 2, 2))).query(lines, predicate="intersects")
    ahead, course = rays[ray, 2:] - rays[ray, :2], walls[wall, 2:] - walls[wall, :2]
    sizes = np.hypot(course[:, 0], course[:, 1]) * np.hypot(ahead[:, 0], ahead[:, 1])
    square = np.abs(np.einsum("ij,ij->i", course, ahead)) <= 0.1 * sizes
    return np.asarray(np.bincount(ray[square], minlength=len(rays)) > 0)


def _candidate(axis: Floats, thick: float, style: str) -> Candidate:
    width = float(np.hypot(*(axis[2:] - axis[:2])))
    return Candidate((), tuple(axis.tolist()), width, thick, np.zeros((0, 4)), "window", "symbol", style, unbroken=True)


def with_glazing(openings: Sequence[Opening], rooms: Sequence[Room]) -> tuple[Opening, ...]:
    """The `openings`, windows from wall to wall called screens and those of a bay called so; sides of `rooms` know
    their openings.
    """
    windows = {o.ref: o for o in openings if o.kind == "window" and not o.style and len(o.rooms) == 1 and _thin(o)}
    fills = {ref for room in rooms for ref in _filling(room, windows)}
    told = [replace(o, style="screen", sill_m=o.sill_m or 0.0) if o.ref in fills else o for o in openings]
    plain = [n for n, o in enumerate(told) if o.kind == "window" and o.style in ("", "screen") and len(o.rooms) == 1]
    bays = {plain[k] for k in _bays([told[n] for n in plain])}
    return tuple(replace(o, style="bay", sill_m=openings[n].sill_m) if n in bays else o for n, o in enumerate(told))


def _filling(room: Room, windows: Mapping[str, Opening]) -> list[str]:
    """Refs of the `windows` that fill a side of the room."""
    return [
        ref
        for side in room.sides
        for ref in side.openings
        if (window := windows.get(ref)) is not None
        and window.width_m >= max(_FILLS_LEAST, _FILLS * _straight_length(room, side.ref))
    ]


def _thin(opening: Opening) -> bool:
    return opening.wall_thickness_m is None or opening.wall_thickness_m <= _WALL


def _straight_length(room: Room, ref: str) -> float:
    """How long the straight part of the room's outline is that holds the side `ref`: an opening's side lies between
    two pieces of the wall it is in.
    """
    number = next(n for n, s in enumerate(room.sides) if s.ref == ref)
    total = room.sides[number].length_m
    for step in (1, -1):
        at = number
        while True:
            after = (at + step) % len(room.sides)
            if after == number or room.sides[after].ring != room.sides[number].ring or not _goes_on(room, at, after):
                break
            total += room.sides[after].length_m
            at = after
    return total


def _goes_on(room: Room, one: int, other: int) -> bool:
    """Whether two sides run in one direction."""
    units = [directions(np.subtract(room.sides[n].end, room.sides[n].start)) for n in (one, other)]
    return bool(units[0] @ units[1] > 0.999)


def _bays(windows: Sequence[Opening]) -> set[int]:
    """Numbers of the windows that stand in a bay."""
    if len(windows) < _BAY_LEAST:
        return set()
    jambs = np.array([o.jambs for o in windows]).reshape(-1, 2)
    points = shapely.points(jambs)
    one, other = (side // 2 for side in shapely.STRtree(points).query(points, predicate="dwithin", distance=_BAY_STEP))
    way = jambs[1::2] - jambs[::2]
    angle = np.arctan2(way[:, 1], way[:, 0])
    turn = np.abs((angle[one] - angle[other] + np.pi / 2) % np.pi - np.pi / 2)
    bends = (one < other) & (turn >= _BAY_TURN[0]) & (turn <= _BAY_TURN[1])
    bends &= np.array([windows[a].rooms == windows[b].rooms for a, b in zip(one, other, strict=True)], dtype=bool)
    group = components(len(windows), one[bends], other[bends])
    size = np.bincount(group)
    return set(np.flatnonzero(size[group] >= _BAY_LEAST).tolist())
