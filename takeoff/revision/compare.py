"""Two takeoffs compared: the rooms before and after, what changed in each, and what the change is worth.

Terms:
  change     rooms before and rooms after that belong together: one and one, or several where a room was split or rooms
             were joined; none before where a room is new, none after where it is gone.
  figures    floor, walls, ceiling, reveals, angles, hours and price of the rooms of one side of a change.
  still      said of a change in which nothing differs but the place: moved or turned, but no work more or less.

Rooms are matched by `takeoff.plan.matching`. What differs by less than a drawing program rounds is no difference, so
that a drawing written out again with nothing changed shows none.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from decimal import Decimal

import numpy as np

from takeoff.geometry.cluster import components
from takeoff.measure.model import Measured
from takeoff.plan.matching import Matching, Pair, match_rooms
from takeoff.plan.model import Opening, Plan, Room
from takeoff.record import Takeoff

__all__ = ["KINDS", "Change", "Comparison", "Figures", "compare", "material_differences"]

KINDS = ("changed", "split", "joined", "added", "removed", "renamed", "same")
"""Kinds of change, the most telling first."""

_LENGTH_M, _AREA_M2 = 0.005, 0.01
"""Smaller differences are rounding, metres and square metres."""
_SAME_PLACE_M = 0.05
"""An opening that moved along its wall by less has stayed, metres."""
_OPENING_REACH_M = 1.0
"""An opening of the same kind this near is the same opening, moved or widened, metres."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Sums over rooms: areas in m2, angles in metres, hours, money before tax (None: not priced)."""

    floor_m2: float = 0.0
    wall_net_m2: float = 0.0
    ceiling_m2: float = 0.0
    reveal_m2: float = 0.0
    external_angles_m: float = 0.0
    hours: float = 0.0
    price: Decimal | None = None

    def less(self, other: Figures) -> Figures:
        """These figures less the `other` ones."""
        values = {
            f.name: round(getattr(self, f.name) - getattr(other, f.name), 6) for f in fields(self) if f.name != "price"
        }
        known = self.price is not None or other.price is not None
        price = (self.price or Decimal(0)) - (other.price or Decimal(0)) if known else None
        return Figures(**values, price=price)


@dataclass(frozen=True, slots=True)
class Change:
    """Rooms that belong together, refs as in either plan."""

    kind: str
    """One of `KINDS`."""
    before: tuple[str, ...]
    after: tuple[str, ...]
    title: str
    """'R3 Kitchen', '(was R2) R3 Kitchen', for people."""
    differs: tuple[str, ...]
    """What differs, a short sentence each."""
    old: Figures
    new: Figures
    moved: str = ""
    """'moved 1.20 m', 'turned 90 degrees, mirrored' or ''."""

    @property
    def difference(self) -> Figures:
        return self.new.less(self.old)


@dataclass(frozen=True)
class Comparison:
    before: Takeoff
    after: Takeoff
    matching: Matching
    changes: tuple[Change, ...]
    """In the order of the rooms after; rooms that are gone stand last."""
    materials: tuple[tuple[str, float, str], ...]
    """(material, amount more or less with waste, unit) of the whole job."""
    old: Figures
    new: Figures

    @property
    def told(self) -> tuple[Change, ...]:
        """The changes in which something differs."""
        return tuple(c for c in self.changes if c.kind != "same")

    @property
    def difference(self) -> Figures:
        return self.new.less(self.old)


def compare(before: Takeoff, after: Takeoff) -> Comparison:
    """What `after`, a takeoff of a later issue of the drawing, changes of `before`; prices where both are priced."""
    matching = match_rooms(before.plan, after.plan)
    pairs = {(p.before, p.after): p for p in matching.pairs}
    groups = _groups(before.plan, after.plan, matching)
    changes = tuple(_change(before, after, old, new, pairs) for old, new in groups)
    return Comparison(
        before,
        after,
        matching,
        changes,
        material_differences(before, after),
        _figures(before, [r.ref for r in before.plan.rooms]),
        _figures(after, [r.ref for r in after.plan.rooms]),
    )


def _groups(before: Plan, after: Plan, matching: Matching) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """The refs before and after of rooms that belong together, in the order of the rooms after."""
    old, new = [r.ref for r in before.rooms], [r.ref for r in after.rooms]
    place = {ref: n for n, ref in enumerate(old)}
    beyond = {ref: len(old) + n for n, ref in enumerate(new)}
    links = [(place[p.before], beyond[p.after]) for p in matching.pairs]
    links += [(place[p.before], beyond[p.after]) for p in matching.parts]
    first, second = (np.array([link[k] for link in links], dtype=np.int64) for k in (0, 1))
    group = components(len(old) + len(new), first, second)
    held: dict[int, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
    for ref, n in [*beyond.items(), *place.items()]:
        held[int(group[n])][0 if n < len(old) else 1].append(ref)
    return [(tuple(a), tuple(b)) for a, b in held.values()]


def _change(
    before: Takeoff,
    after: Takeoff,
    old: tuple[str, ...],
    new: tuple[str, ...],
    pairs: dict[tuple[str, str], Pair],
) -> Change:
    pair = pairs.get((old[0], new[0])) if len(old) == len(new) == 1 else None
    differs = _differences(before, after, pair) if pair else _counts(before.plan, after.plan, old, new)
    kind = _kind(old, new, differs)
    rooms = _rooms(after.plan, new) or _rooms(before.plan, old)
    title = ", ".join(f"{r.ref} {r.name}".strip() for r in rooms)
    was = f" (was {', '.join(old)})" if new and old and old != new else ""
    return Change(
        kind, old, new, title + was, differs, _figures(before, old), _figures(after, new), _moved(pair) if pair else ""
    )


def _kind(old: Sequence[str], new: Sequence[str], differs: Sequence[str]) -> str:
    if not old:
        return "added"
    if not new:
        return "removed"
    if len(old) == 1 and len(new) > 1:
        return "split"
    if len(new) == 1 and len(old) > 1:
        return "joined"
    if not differs:
        return "same"
    return "renamed" if all(d.startswith("name ") for d in differs) else "changed"


def _rooms(plan: Plan, refs: Iterable[str]) -> list[Room]:
    wanted = set(refs)
    return [r for r in plan.rooms if r.ref in wanted]


def _counts(before: Plan, after: Plan, old: Sequence[str], new: Sequence[str]) -> tuple[str, ...]:
    """What is told of rooms that are not one and one."""
    if not old:
        return tuple(f"{r.ref} is new, {r.floor_area_m2:.2f} m2 of floor" for r in _rooms(after, new))
    if not new:
        return tuple(f"{r.ref} is gone, {r.floor_area_m2:.2f} m2 of floor" for r in _rooms(before, old))
    return (f"{', '.join(old)} became {', '.join(new)}",)


def _moved(pair: Pair) -> str:
    words = []
    if pair.how == "name":
        return ""
    if turned := pair.move.turned_degrees:
        words.append(f"turned {turned:g} degrees")
    if pair.move.mirrored:
        words.append("mirrored")
    far = float(np.hypot(*pair.move.shift))
    if not words and far > _SAME_PLACE_M:
        words.append(f"moved {far:.2f} m")
    return ", ".join(words)


def _differences(before: Takeoff, after: Takeoff, pair: Pair) -> tuple[str, ...]:
    """What differs between a room and itself in the later drawing."""
    one, other = _rooms(before.plan, [pair.before])[0], _rooms(after.plan, [pair.after])[0]
    told = []
    if one.name != other.name:
        told.append(f"name {one.name or 'none'} -> {other.name or 'none'}")
    told += _figure("floor", one.floor_area_m2, other.floor_area_m2, "m2", _AREA_M2)
    told += _figure("length round", one.perimeter_m, other.perimeter_m, "m", 2 * _LENGTH_M)
    old, new = _measure(before.measured, one.ref), _measure(after.measured, other.ref)
    told += _figure("height", old["height"], new["height"], "m", _LENGTH_M)
    told += _opening_differences(before.plan, after.plan, pair)
    told += _figure("reveals", old["reveals"], new["reveals"], "m2", _AREA_M2)
    if old["external"] != new["external"]:
        told.append(f"external angles {old['external']:.0f} -> {new['external']:.0f}")
    return tuple(told)


def _figure(what: str, old: float, new: float, unit: str, least: float) -> list[str]:
    return [f"{what} {old:.2f} -> {new:.2f} {unit}"] if abs(new - old) > least else []


def _measure(measured: Measured, room: str) -> dict[str, float]:
    found = measured.by_room[room]
    return {"height": found.height_m, "reveals": found.reveal_m2, "external": float(found.external_corners)}


def _opening_differences(before: Plan, after: Plan, pair: Pair) -> list[str]:
    """Openings of a room that came, went, or are of another size or place."""
    old = [o for o in before.openings if pair.before in o.rooms]
    new = [o for o in after.openings if pair.after in o.rooms]
    if not old and not new:
        return []
    there = pair.move.apply(_places(old, before))
    here = _places(new, after)
    links = sorted(
        (float(np.hypot(*(there[a] - here[b]))), a, b)
        for a in range(len(old))
        for b in range(len(new))
        if old[a].kind == new[b].kind and np.hypot(*(there[a] - here[b])) <= max(_OPENING_REACH_M, old[a].width_m / 2)
    )
    known: dict[int, int] = {}
    for _, a, b in links:
        if a not in known and b not in known.values():
            known[a] = b
    told = [line for a, b in sorted(known.items()) for line in _sizes(old[a], new[b], there[a], here[b])]
    told += [f"{o.kind} {o.tag or o.ref} is gone" for n, o in enumerate(old) if n not in known]
    came = [o for n, o in enumerate(new) if n not in known.values()]
    return told + [f"{o.kind} {o.tag or o.ref} is new, {o.width_m:.2f} m wide" for o in came]


def _places(openings: Sequence[Opening], plan: Plan) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.asarray(np.array([o.at for o in openings], dtype=float).reshape(-1, 2) + np.array(plan.origin_m))


def _sizes(
    old: Opening,
    new: Opening,
    there: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    here: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> list[str]:
    name = f"{new.kind} {new.tag or new.ref}"
    told = _figure(f"{name}: width", old.width_m, new.width_m, "m", _LENGTH_M)
    for what, was, now in (("height", old.height_m, new.height_m), ("sill", old.sill_m, new.sill_m)):
        if was is not None and now is not None:
            told += _figure(f"{name}: {what}", was, now, "m", _LENGTH_M)
    far = float(np.hypot(*(there - here)))
    return told + ([f"{name}: moved {far:.2f} m"] if far > _SAME_PLACE_M else [])


def _figures(takeoff: Takeoff, refs: Sequence[str]) -> Figures:
    rooms = set(refs)
    measured = [m for m in takeoff.measured.rooms if m.room in rooms and m.measured]
    angles = [e.length_m for e in takeoff.measured.edges if e.room in rooms and e.kind == "external angle"]
    prices = [p.net for p in takeoff.price.rooms if p.room in rooms] if takeoff.price else None
    return Figures(
        sum(r.floor_area_m2 for r in takeoff.plan.rooms if r.ref in rooms),
        sum(m.wall_net_m2 for m in measured),
        sum(m.ceiling_m2 for m in measured),
        sum(m.reveal_m2 for m in measured),
        sum(angles),
        sum(o.hours for o in takeoff.work.operations if o.room in rooms),
        None if prices is None else sum(prices, Decimal(0)),
    )


def material_differences(before: Takeoff, after: Takeoff, room: str = "") -> tuple[tuple[str, float, str], ...]:
    """(material, amount more or less with waste, unit) of one room, or of all when `room` is empty."""

    def amounts(takeoff: Takeoff) -> dict[tuple[str, str], float]:
        found: dict[tuple[str, str], float] = defaultdict(float)
        for line in takeoff.order.lines:
            mine = [share.with_waste for share in line.shares if room in ("", share.room)]
            if mine:
                found[line.material.title, line.material.unit] += sum(mine)
        return found

    old, new = amounts(before), amounts(after)
    changes = {key: new.get(key, 0.0) - old.get(key, 0.0) for key in {**old, **new}}
    return tuple((title, round(change, 2), unit) for (title, unit), change in changes.items() if abs(change) >= 0.05)
