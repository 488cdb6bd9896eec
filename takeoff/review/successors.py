"""What became of every room, opening, side, wall and ceiling of a plan when its drawing was read anew.

Terms:
  successor  the ref under which the same place goes now; a room that was split has several, one that is gone none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.measure.runs import open_sides, runs_of
from takeoff.plan.matching import Matching, match_rooms
from takeoff.plan.model import Plan, Room, Side

__all__ = ["Successors", "successors"]

Floats = npt.NDArray[np.float64]

_SAME_OPENING = 0.3
"""Middles of one opening in two readings lie no farther apart, metres; half its width where that is less."""
_SAME_LINE = 0.05
"""Sides of one wall face in two readings lie no farther apart, metres."""
_SLANT = 0.05
_LEAST = 0.05
"""Shorter stretches that two sides share say nothing, metres."""
_KEPT_PART = 0.5
"""A part takes over a room's decisions when so much of it lay in that room."""
_CEILING = re.compile(r"(.+)-(C\d+)")
_REVEAL = re.compile(r"(.+-W\d+)-([A-Z]\d+)-(\w+)")
_EDGE = re.compile(r"(.+)-(E\d+)")


@dataclass(frozen=True)
class Successors:
    """By ref of the plan before the refs after, the largest first. Refs that are not in it were never in the plan."""

    of: Mapping[str, tuple[str, ...]]
    heirs: Mapping[str, str]
    """By room after, the room before whose decisions it keeps where several became one."""

    def __getitem__(self, ref: str) -> tuple[str, ...] | None:
        """The successors of `ref`: of a ceiling, reveal or edge by what it belongs to; None where it is not known."""
        if ref in self.of:
            return self.of[ref]
        if match := _CEILING.fullmatch(ref):
            return self._each(match.group(1), lambda room: f"{room}-{match.group(2)}")
        if match := _REVEAL.fullmatch(ref):
            opening = (self.of.get(match.group(2)) or ("",))[0]
            walls = self._each(match.group(1), lambda wall: f"{wall}-{opening}-{match.group(3)}")
            return walls if opening or walls is None else ()
        if match := _EDGE.fullmatch(ref):
            return self._edges(match.group(1), match.group(2))
        return None

    def _each(self, ref: str, name: object) -> tuple[str, ...] | None:
        own = self.of.get(ref)
        return None if own is None else tuple(name(r) for r in own)  # type: ignore[operator]

    def _edges(self, room: str, edge: str) -> tuple[str, ...] | None:
        """Edges are numbered along the walls: they are the same only where every side of the room is."""
        own = self.of.get(room)
        if own is None or len(own) != 1:
            return own and ()
        sides = {old: new for old, new in self.of.items() if old.startswith(f"{room}-S")}
        alike = all(new == (old.replace(f"{room}-", f"{own[0]}-", 1),) for old, new in sides.items())
        return (f"{own[0]}-{edge}",) if alike else ()


def successors(before: Plan, after: Plan, *, scale: float = 1.0, moved: bool = False) -> Successors:
    """What became of every ref of `before` in `after`; `scale` and `moved` as for `match_rooms`."""
    matching = match_rooms(before, after, moved=moved, scale=scale)
    rooms = {r.ref: _rooms_after(matching, r.ref) for r in before.rooms}
    sides = dict(_sides(before, after, rooms, scale))
    return Successors(
        {**rooms, **_openings(before, after, scale), **sides, **dict(_walls(before, after, rooms, sides))},
        _heirs(before, matching, rooms),
    )


def _rooms_after(matching: Matching, ref: str) -> tuple[str, ...]:
    own = {p.after for p in matching.pairs if p.before == ref}
    own |= {p.after for p in matching.parts if p.before == ref and p.of_after >= _KEPT_PART}
    own |= {p.after for p in matching.parts if p.before == ref and p.of_before >= _KEPT_PART}
    return tuple(r for r in matching.after(ref) if r in own)


def _heirs(before: Plan, matching: Matching, rooms: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """Of several rooms that became one, the one it was matched with, else the largest."""
    matched = {p.after: p.before for p in matching.pairs}
    claims: dict[str, list[Room]] = {}
    for room in before.rooms:
        for ref in rooms[room.ref]:
            claims.setdefault(ref, []).append(room)
    largest = {ref: max(own, key=lambda r: r.floor_area_m2).ref for ref, own in claims.items()}
    return {ref: matched[ref] if matched.get(ref) in {r.ref for r in claims[ref]} else largest[ref] for ref in claims}


def _openings(before: Plan, after: Plan, scale: float) -> dict[str, tuple[str, ...]]:
    """Each opening's successor: the nearest of its kind that no nearer one claims."""
    found: dict[str, tuple[str, ...]] = {o.ref: () for o in before.openings}
    if not before.openings or not after.openings:
        return found
    old = (np.array([o.at for o in before.openings]) + np.array(before.origin_m)) * scale
    new = np.array([o.at for o in after.openings]) + np.array(after.origin_m)
    one, other = shapely.STRtree(shapely.points(new)).query(
        shapely.points(old), predicate="dwithin", distance=_SAME_OPENING
    )
    apart = np.hypot(*(old[one] - new[other]).T)
    taken: set[int] = set()
    for k in np.lexsort((other, one, np.round(apart, 6))).tolist():
        a, b = before.openings[one[k]], after.openings[other[k]]
        near = apart[k] <= max(min(_SAME_OPENING, a.width_m * scale / 2), _LEAST)
        if near and not found[a.ref] and int(other[k]) not in taken and a.ref[0] == b.ref[0]:
            found[a.ref] = (b.ref,)
            taken.add(int(other[k]))
    return found


def _sides(
    before: Plan, after: Plan, rooms: Mapping[str, tuple[str, ...]], scale: float
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each side's successors: sides of the room's successors along the same face, the longest stretch first."""
    old = [s for r in before.rooms for s in r.sides]
    new = [s for r in after.rooms for s in r.sides]
    if not old or not new:
        return
    first, second = _lines(old, before, scale), _lines(new, after, 1.0)
    one, other = shapely.STRtree(shapely.linestrings(second.reshape(-1, 2, 2))).query(
        shapely.linestrings(first.reshape(-1, 2, 2)), predicate="dwithin", distance=_SAME_LINE
    )
    shared = _shared(first[one], second[other])
    home = {s.ref: r.ref for r in (*after.rooms,) for s in r.sides}
    owner = {s.ref: r.ref for r in before.rooms for s in r.sides}
    claims: dict[str, list[tuple[float, str]]] = {s.ref: [] for s in old}
    for a, b, length in zip(one.tolist(), other.tolist(), shared.tolist(), strict=True):
        if length >= _LEAST and home[new[b].ref] in rooms[owner[old[a].ref]]:
            claims[old[a].ref].append((-length, new[b].ref))
    for ref, own in claims.items():
        yield ref, tuple(r for _, r in sorted(own))


def _lines(sides: Sequence[Side], plan: Plan, scale: float) -> Floats:
    return np.asarray((np.array([(*s.start, *s.end) for s in sides]) + np.array(plan.origin_m * 2)) * scale)


def _shared(first: Floats, second: Floats) -> Floats:
    """The stretch in metres that two lines (n, 4) share; nought where they do not run the same way."""
    way, length = _way(first)
    other, _ = _way(second)
    slant = np.abs(way[:, 0] * other[:, 1] - way[:, 1] * other[:, 0])
    along = np.einsum("ij,ij->i", way, other)
    a = np.einsum("ij,ij->i", second[:, :2] - first[:, :2], way)
    b = np.einsum("ij,ij->i", second[:, 2:] - first[:, :2], way)
    stretch = np.minimum(np.maximum(a, b), length) - np.maximum(np.minimum(a, b), 0.0)
    return np.where((slant <= _SLANT) & (along > 0), np.maximum(stretch, 0.0), 0.0)


def _way(lines: Floats) -> tuple[Floats, Floats]:
    way = lines[:, 2:] - lines[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    return way / np.maximum(length, 1e-9)[:, None], length


def _walls(
    before: Plan, after: Plan, rooms: Mapping[str, tuple[str, ...]], sides: Mapping[str, tuple[str, ...]]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Each wall's successors: the walls that hold the successors of its sides."""
    wall_of = {side: wall for wall, own in _walls_of(after) for side in own}
    for wall, own in _walls_of(before):
        found = (wall_of.get(new) for side in own for new in sides.get(side, ()))
        yield wall, tuple(dict.fromkeys(w for w in found if w is not None))


def _walls_of(plan: Plan) -> Iterator[tuple[str, list[str]]]:
    """Ref of each wall, with the refs of its sides, the longest first."""
    open_refs = open_sides(plan)
    for room in plan.rooms:
        for number, run in enumerate(runs_of(room, open_refs), 1):
            yield f"{room.ref}-W{number}", [s.ref for s in _longest_first(run.sides)]


def _longest_first(sides: Iterable[Side]) -> list[Side]:
    return sorted(sides, key=lambda s: -s.length_m)
