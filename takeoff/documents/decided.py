"""What a price rests on beside the open questions: what was told, what was read from the drawing, what was taken."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from takeoff.record import Takeoff

__all__ = ["decided"]

BY = {"job": "as told", "drawing": "as drawn", "default": "taken, nobody has said otherwise",
      "standing": "taken, for they stand already"}  # fmt: skip
"""How a figure or a background came about, by the first word of who decided."""

STANDING = ("stands already", "existing rooms")
"""How `Assignment.decided_by` ends where old plaster is taken as sound."""


def decided(takeoff: Takeoff) -> list[str]:
    """One sentence for each thing settled: heights, backgrounds, rooms left out, services, age of the house."""
    return [*_heights(takeoff), *_backgrounds(takeoff), *_left_out(takeoff), *_services(takeoff), *_age(takeoff)]


def _heights(takeoff: Takeoff) -> Iterator[str]:
    groups: dict[str, list[str]] = {}
    for room in takeoff.measured.rooms:
        if room.room in takeoff.covered_rooms:
            groups.setdefault(room.height_from, []).append(f"{room.room} {room.height_m:.2f}")
    for source, rooms in groups.items():
        yield f"Ceiling heights {BY.get(source, f'from the {source}')}, in metres: {_listed(rooms)}."


def _backgrounds(takeoff: Takeoff) -> Iterator[str]:
    surfaces = {s.ref: s for s in takeoff.measured.surfaces}
    groups: dict[tuple[str, str, str], dict[str, None]] = {}
    for given in takeoff.work.assignments:
        surface = surfaces[given.surface]
        if surface.kind in ("wall", "ceiling"):
            stands = given.decided_by.endswith(STANDING)
            key = (surface.kind, given.background, "standing" if stands else given.decided_by.partition(":")[0])
            groups.setdefault(key, {})[surface.room] = None
    for (kind, background, by), rooms in groups.items():
        what = "Ceilings are" if kind == "ceiling" else "Walls are"
        yield f"{what} {background} ({BY.get(by, by)}): {_listed(rooms)}."


def _left_out(takeoff: Takeoff) -> Iterator[str]:
    rooms = [f"{r.ref} {r.name}".strip() for r in takeoff.plan.rooms if r.ref not in takeoff.covered_rooms]
    if rooms:
        yield f"Not in this price: {_listed(rooms)}."


def _services(takeoff: Takeoff) -> Iterator[str]:
    rows = takeoff.programme.services if takeoff.programme else ()
    groups: dict[int, list[str]] = {}
    for row in rows:
        groups.setdefault(row.done_day, []).append(row.room)
    for day, rooms in sorted(groups.items()):
        when = f"by the end of day {day}" if day else "before work starts"
        yield f"First-fix services are done, tested and covered by others {when} in {_listed(rooms)}."


def _age(takeoff: Takeoff) -> Iterator[str]:
    before = takeoff.job.job.built_before_2000
    if before is False:
        yield "The building is told to be from 2000 or later."
    elif before:
        yield "The building is older than 2000: asbestos is presumed until a survey says otherwise."


def _listed(names: Iterable[str], most: int = 24) -> str:
    known = list(names)
    more = f" and {len(known) - most} more" if len(known) > most else ""
    return ", ".join(known[:most]) + more
