"""Which room of one plan is which of another: of the same drawing read again, or of a later issue of it.

Terms:
  place       where a room lies once the plan is moved; rooms share it when they cover each other for the most part.
  move        how part of the plan was moved as a whole: found by the rooms of the rarest shapes, borne out by the rest.
  look-alikes rooms of one area, outline length and hull.
  part        a room that lies for the most part in a room of the other plan without being that room: one was split, or
              some were joined.

The steps, each for the rooms still left: rooms that share a place as it is, or after the move that most rooms bear out,
move by move (storeys move one by one); rooms of one shape moved by themselves, told apart by name and neighbours;
rooms of one name. No step compares all with all: places are looked up in a tree, shapes in a tree of their measures.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from takeoff.plan.model import Plan, Room
from takeoff.plan.moves import STILL, Floats, Index, Move, Polygons, laid_on, overlap, shape_measures

__all__ = ["Matching", "Pair", "Part", "match_rooms", "room_shapes"]

_SHARED = 0.5
"""Intersection over union from which two rooms share a place."""
_PART = 0.5
"""Share of its own area that a part has in the other plan's room."""
_ALIKE = 0.03
"""Look-alikes differ by no more than this share in area, outline length and hull."""
_SPEAKERS, _LISTENERS = 24, 6
"""So many rooms, rarest first, propose moves, each by so many of its look-alikes."""
_CROWD = 12
"""Of more look-alikes than these, none is told from the others by its shape."""
_ASKED = 400
"""So many rooms, spread evenly, are asked to bear out a move."""
_ROUNDS = 16
"""Parts of a plan that were moved each its own way."""
_TOGETHER = 2
"""A move is one of the plan from so many rooms on; below, a room was moved by itself."""
_NAMED_ALIKE = 0.3
"""Rooms of one name and another shape are one room where their areas differ by no more than this share."""
_NAME = 0.5
"""What an equal name adds to a room that bears out a move."""


@dataclass(frozen=True, slots=True)
class Pair:
    """One room in both plans, by ref."""

    before: str
    after: str
    how: str
    """'place', 'move', 'shape' or 'name': what it was known by."""
    overlap: float
    """Intersection over union once moved, 0-1; 0 where only the name speaks."""
    move: Move
    """From sheet metres of the plan before to sheet metres of the plan after."""


@dataclass(frozen=True, slots=True)
class Part:
    """A room that is part of one of the other plan, with their shared area as a share of either."""

    before: str
    after: str
    of_before: float
    of_after: float


@dataclass(frozen=True)
class Matching:
    """The rooms of two plans side by side; refs in the order of their plans."""

    pairs: tuple[Pair, ...]
    parts: tuple[Part, ...]
    gone: tuple[str, ...]
    """Rooms before that are neither in a pair nor in a part."""
    new: tuple[str, ...]
    """Rooms after that are neither in a pair nor in a part."""
    moves: tuple[Move, ...] = ()
    """The moves of plans as a whole, the one with most rooms first."""

    def after(self, before: str) -> tuple[str, ...]:
        """What became of a room: its match first, then its parts, the largest first."""
        own = [p.after for p in self.pairs if p.before == before]
        parts = sorted((p for p in self.parts if p.before == before), key=lambda p: -p.of_before)
        return tuple(dict.fromkeys([*own, *(p.after for p in parts)]))


def room_shapes(plan: Plan, scale: float = 1.0) -> Polygons:
    """The floor of each room in sheet metres times `scale`."""
    east, north = plan.origin_m
    shapes = np.array([_floor(r) for r in plan.rooms], dtype=object)
    return np.asarray(shapely.transform(shapes, lambda p: (p + np.array([east, north])) * scale))


def _floor(room: Room) -> shapely.Polygon:
    """The room's floor; of an outline that crosses itself the largest piece."""
    shape = shapely.Polygon(room.outline, room.holes)
    if shape.is_valid:
        return shape
    return max(shapely.get_parts(shapely.buffer(shape, 0)), key=lambda p: float(p.area))


def match_rooms(before: Plan, after: Plan, *, moved: bool = True, scale: float = 1.0) -> Matching:
    """The rooms of `before` matched with those of `after`.

    `moved`: plans and rooms may have been moved, turned or mirrored; False looks at the same place only. `scale`
    multiplies the coordinates of `before`, where the two were read under different units.
    """
    task = _Task(before.rooms, after.rooms, room_shapes(before, scale), room_shapes(after))
    if moved:
        _by_moves(task)
        _by_shape(task, _neighbours(before), _neighbours(after))
        _by_name(task)
    else:
        _by_place(task, STILL)
    return task.matching()


@dataclass
class _Task:
    """Rooms of both plans, and what is known so far; rooms by number."""

    before: Sequence[Room]
    after: Sequence[Room]
    old: Polygons
    new: Polygons
    found: dict[int, tuple[int, str, float, Move]] = field(default_factory=dict)
    """By room before: room after, how, overlap, move."""
    taken: set[int] = field(default_factory=set)
    moves: list[Move] = field(default_factory=list)

    def pair(self, one: int, other: int, how: str, share: float, move: Move) -> None:
        self.found[one] = (other, how, share, move)
        self.taken.add(other)

    @property
    def left_before(self) -> list[int]:
        return [n for n in range(len(self.before)) if n not in self.found]

    @property
    def left_after(self) -> list[int]:
        return [n for n in range(len(self.after)) if n not in self.taken]

    def same_name(self, one: int, other: int) -> bool:
        name = self.before[one].name.casefold()
        return bool(name) and name == self.after[other].name.casefold()

    def matching(self) -> Matching:
        pairs = tuple(
            Pair(self.before[n].ref, self.after[other].ref, how, round(share, 6), move)
            for n, (other, how, share, move) in sorted(self.found.items())
        )
        parts = tuple(_parts(self))
        split, joined = {p.before for p in parts}, {p.after for p in parts}
        return Matching(
            pairs,
            parts,
            tuple(self.before[n].ref for n in self.left_before if self.before[n].ref not in split),
            tuple(self.after[n].ref for n in self.left_after if self.after[n].ref not in joined),
            tuple(self.moves),
        )


# -- by place ---------------------------------------------------------------------------------------------------------


def _by_place(task: _Task, move: Move) -> int:
    """Pair the rooms left that share a place after `move`, those that cover each other best first. How many."""
    left, right = task.left_before, task.left_after
    if not left or not right:
        return 0
    moved = move(task.old[left])
    one, other = shapely.STRtree(task.new[right]).query(moved, predicate="intersects")
    share = overlap(moved[one], task.new[right][other])
    count = 0
    for k in np.lexsort((other, one, -np.round(share, 6))).tolist():
        a, b = left[one[k]], right[other[k]]
        if share[k] >= _SHARED and a not in task.found and b not in task.taken:
            task.pair(a, b, "place" if move == STILL else "move", float(share[k]), move)
            count += 1
    return count


def _by_moves(task: _Task) -> None:
    """Pair by place under one move after the other, that with most rooms first; to stay is a move among them."""
    for _ in range(_ROUNDS):
        left, right = task.left_before, task.left_after
        if not left or not right:
            return
        witnesses = _Witnesses.of(task, left[:: -(-len(left) // _ASKED)], right)
        distinct = {_rounded(move): move for move in [*_proposed(task, left, right), STILL]}
        scores = [(witnesses.bear_out(move), move) for move in distinct.values()]
        best, move = max(scores, key=lambda s: (s[0], *_simplest(s[1])))
        alone = len(left) == 1 or len(right) == 1
        if best < (1 if move == STILL or alone else _TOGETHER) or not _by_place(task, move):
            return
        task.moves.append(move)


def _proposed(task: _Task, left: Sequence[int], right: Sequence[int]) -> Iterator[Move]:
    """Moves that lay a room on one of its look-alikes, rooms with the fewest look-alikes and the largest first."""
    shelves = _Shelves(task, left, right)
    area = shapely.area(task.old[left])
    crowd = [shelves.crowd(n) for n in range(len(left))]
    speakers = sorted((n for n in range(len(left)) if crowd[n]), key=lambda n: (crowd[n], -area[n], n))
    for n in speakers[:_SPEAKERS]:
        for m in shelves.like(n)[:_LISTENERS]:
            yield from (move for _, move in laid_on(task.old[left[n]], task.new[right[m]]))


class _Shelves:
    """The rooms left after, laid on shelves by what they measure, so that look-alikes are found without comparing."""

    def __init__(self, task: _Task, left: Sequence[int], right: Sequence[int]) -> None:
        self._old, self._new = shape_measures(task.old[left]), shape_measures(task.new[right])
        self._names = [task.before[n].name.casefold() for n in left]
        self._shelf: dict[tuple[int, int], list[int]] = {}
        self._named: dict[tuple[int, int, str], list[int]] = {}
        for m, key in enumerate(self._keys(self._new)):
            self._shelf.setdefault(key, []).append(m)
            if name := task.after[right[m]].name.casefold():
                self._named.setdefault((*key, name), []).append(m)
        self._key = self._keys(self._old)

    @staticmethod
    def _keys(measures: Floats) -> list[tuple[int, int]]:
        return [(int(a), int(b)) for a, b in np.floor(measures[:, :2] / _ALIKE).tolist()]

    def _beside(self, n: int) -> list[tuple[int, int]]:
        a, b = self._key[n]
        return [(a + i, b + j) for i in (0, -1, 1) for j in (0, -1, 1)]

    def crowd(self, n: int) -> int:
        """How many rooms lie on the shelves of room `n`."""
        return sum(len(self._shelf.get(key, ())) for key in self._beside(n))

    def like(self, n: int) -> list[int]:
        """Numbers of the look-alikes of room `n`: those of its name first, others only as far as they are few."""
        name = self._names[n]
        named = [m for key in self._beside(n) for m in self._named.get((*key, name), ())[:_CROWD]] if name else []
        others = [m for key in self._beside(n) for m in self._shelf.get(key, ())[:_CROWD]]
        close = (m for m in [*named, *others] if (np.abs(self._old[n] - self._new[m]) <= _ALIKE).all())
        return list(dict.fromkeys(close))[:_CROWD]


def _rounded(move: Move) -> tuple[int, bool, int, int]:
    """Equal for moves that do the same within a degree and a hand's breadth."""
    return round(np.degrees(move.turn)) % 360, move.mirrored, round(move.shift[0] * 10), round(move.shift[1] * 10)


def _simplest(move: Move) -> tuple[float, ...]:
    """Greater for what a draughtsman would rather do: of moves that do the same to a plan of symmetry."""
    return -float(move.mirrored), -round(abs(move.turn), 2), -float(np.hypot(*move.shift))


@dataclass(frozen=True)
class _Witnesses:
    """The rooms left, made ready to be asked for many moves."""

    places: Floats
    """A point in each room before."""
    tree: shapely.STRtree
    """Of the rooms after."""
    area: tuple[Floats, Floats]
    name: tuple[Index, Index]
    """Numbers of names; those before without one are -1, those after -2."""

    @classmethod
    def of(cls, task: _Task, left: Sequence[int], right: Sequence[int]) -> _Witnesses:
        old, new = task.old[left], task.new[right]
        names: dict[str, int] = {"": -1}
        here = [names.setdefault(task.before[n].name.casefold(), len(names)) for n in left]
        there = [names.setdefault(task.after[n].name.casefold(), len(names)) for n in right]
        return cls(
            shapely.get_coordinates(shapely.point_on_surface(old)),
            shapely.STRtree(new),
            (shapely.area(old), shapely.area(new)),
            (np.array(here), np.array([n if n >= 0 else -2 for n in there])),
        )

    def bear_out(self, move: Move) -> float:
        """How many rooms come to lie in one about as large; as large and of the same name they count for more."""
        one, other = self.tree.query(shapely.points(move.apply(self.places)), predicate="within")
        ratio = np.abs(np.log(self.area[0][one] / self.area[1][other]))
        good, close = ratio <= np.log(1 / _SHARED), ratio <= _ALIKE
        named = good & (self.name[0][one] == self.name[1][other])
        return float(0.5 * good.sum() + 0.5 * close.sum() + _NAME * named.sum())


# -- by themselves ----------------------------------------------------------------------------------------------------


def _neighbours(plan: Plan) -> Mapping[str, frozenset[str]]:
    """Refs of the rooms that an opening leads to from each room."""
    found: dict[str, set[str]] = {}
    for opening in plan.openings:
        for ref in opening.rooms:
            found.setdefault(ref, set()).update(r for r in opening.rooms if r != ref)
    return {ref: frozenset(others) for ref, others in found.items()}


def _by_shape(task: _Task, doors: Mapping[str, frozenset[str]], others: Mapping[str, frozenset[str]]) -> None:
    """Pair rooms of one shape that were moved by themselves. Of several look-alikes the one with the same name is
    meant, or the one beside the same rooms; where neither tells them apart none is.
    """
    left, right = task.left_before, task.left_after
    if not left or not right:
        return
    rows = []
    shelves = _Shelves(task, left, right)
    for n in range(len(left)):
        for m in shelves.like(n):
            a, b = left[n], right[m]
            if shelves.crowd(n) > _CROWD and not task.same_name(a, b):
                continue
            laid = laid_on(task.old[a], task.new[b])
            if laid:
                beside = _beside_the_same(task, a, b, doors, others)
                rows.append((task.same_name(a, b), beside, a, b, *laid[0]))
    rows.sort(key=lambda r: (-r[0], -r[1], -round(r[4], 3), r[2], r[3]))
    tied = Counter((r[0], r[1], side) for r in rows for side in (("before", r[2]), ("after", r[3])))
    for named, beside, a, b, share, move in rows:
        lonely = tied[named, beside, ("before", a)] == 1 and tied[named, beside, ("after", b)] == 1
        if a not in task.found and b not in task.taken and (lonely or beside):
            task.pair(a, b, "shape", share, move)


def _beside_the_same(
    task: _Task, one: int, other: int, doors: Mapping[str, frozenset[str]], others: Mapping[str, frozenset[str]]
) -> int:
    """How many rooms beside `one` are matched with rooms beside `other`."""
    known = {task.before[a].ref: task.after[b].ref for a, (b, *_) in task.found.items()}
    here = {known[r] for r in doors.get(task.before[one].ref, ()) if r in known}
    return len(here & others.get(task.after[other].ref, frozenset()))


def _by_name(task: _Task) -> None:
    """Pair rooms whose name nobody else bears in either plan and that are about as large."""
    left, right = task.left_before, task.left_after
    here, there = _by_own_name(task.before, left), _by_own_name(task.after, right)
    every = Counter(r.name.casefold() for r in task.before), Counter(r.name.casefold() for r in task.after)
    for name, a in here.items():
        b = there.get(name)
        if b is None or every[0][name] != 1 or every[1][name] != 1:
            continue
        areas = task.before[a].floor_area_m2, task.after[b].floor_area_m2
        if abs(areas[0] - areas[1]) <= _NAMED_ALIKE * max(areas):
            task.pair(a, b, "name", 0.0, STILL)


def _by_own_name(rooms: Sequence[Room], numbers: Iterable[int]) -> dict[str, int]:
    return {rooms[n].name.casefold(): n for n in numbers if rooms[n].name}


# -- parts ------------------------------------------------------------------------------------------------------------


def _parts(task: _Task) -> Iterator[Part]:
    """Rooms left on one side that lie in a room of the other: split ones under every move found, joined ones too."""
    moves = dict.fromkeys([*task.moves, *(STILL,)])
    seen: set[tuple[int, int]] = set()
    if not len(task.old) or not len(task.new):
        return
    tree = shapely.STRtree(task.new)
    for move in moves:
        shapes = move(task.old)
        one, other = tree.query(shapes, predicate="intersects")
        shared = shapely.area(shapely.intersection(shapes[one], task.new[other]))
        of_before, of_after = shared / shapely.area(shapes[one]), shared / shapely.area(task.new[other])
        for k in range(len(one)):
            a, b = int(one[k]), int(other[k])
            loose = (b not in task.taken and of_after[k] >= _PART) or (a not in task.found and of_before[k] >= _PART)
            if loose and (a, b) not in seen and _under(task, a, b, move):
                seen.add((a, b))
                yield Part(
                    task.before[a].ref,
                    task.after[b].ref,
                    round(float(of_before[k]), 6),
                    round(float(of_after[k]), 6),
                )


def _under(task: _Task, one: int, other: int, move: Move) -> bool:
    """Whether the rooms of a part that are matched with others were so under the same move."""
    ways = [m for a, (b, _, _, m) in task.found.items() if a == one or b == other]
    return all(m == move for m in ways)
