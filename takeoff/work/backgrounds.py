"""What each surface is made of before the work, and which build-up goes on it: proposed here, decided by the job file.

Terms:
  proposed   what the drawing suggests: wall type, thickness, whether outdoors lies behind.
  decided    set by the job file; the most particular word wins: surface, opening, kind of opening, room, wall type.
  suited     a room whose build-up goes on some of its walls as they are: the others keep what is proposed for them,
             so that a build-up for studs does not turn the room's one block wall into studs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.measure.model import Measured, Surface
from takeoff.plan.model import Plan
from takeoff.work.existing import existing_rooms
from takeoff.work.model import Assignment, BuildUp

__all__ = ["UNKNOWN_WALL", "assign"]

UNKNOWN_WALL = "default: wall type not known"
_GROUPS = {True: "outer walls", False: "inner walls", None: "walls"}


@dataclass(frozen=True, slots=True)
class _Said:
    """One word on a surface, who said it, and where in the job file it stands."""

    word: str
    by: str
    key: tuple[str | int, ...] = ()
    rank: int = 99
    """0 for the most particular word of the job file; 99 for what the job file does not say."""


@dataclass(frozen=True, slots=True)
class _Site:
    job: Job
    library: Mapping[str, BuildUp]
    opening_kinds: Mapping[str, str]
    existing: frozenset[str]
    mostly: Mapping[bool | None, str]
    """Type of most walls whose type is known: of outer walls (True), inner ones (False), all of them (None)."""
    suited: frozenset[str] = frozenset()
    """Rooms some of whose walls suit the build-up that the job file gives the room's walls."""


def assign(plan: Plan, measured: Measured, library: Mapping[str, BuildUp], job: Job) -> tuple[Assignment, ...]:
    """The background and build-up of every surface, in the order measured, with who decided.

    Raises `JobError` where the job file names what is not there, or a build-up that cannot go on its background.
    """
    _check_names(plan, job)
    kinds = {o.ref: o.kind for o in plan.openings}
    site = _Site(job, library, kinds, frozenset(existing_rooms(plan, job)), _mostly(measured))
    walls = [s for s in measured.surfaces if s.kind != "reveal"]
    site = replace(site, suited=frozenset(s.room for s in walls if _suits_room(s, site)))
    given = {s.ref: _assigned(s, None, site) for s in walls}
    by_opening = {(s.room, d.opening): s.ref for s in walls for d in s.deductions}
    by_side = {(s.room, s.side): s.ref for s in walls if s.side}
    for s in measured.surfaces:
        if s.kind == "reveal":
            parent = by_opening.get((s.room, s.opening)) or by_side.get((s.room, s.side), "")
            given[s.ref] = _assigned(s, given.get(parent), site)
    return tuple(given[s.ref] for s in measured.surfaces)


def _mostly(measured: Measured) -> dict[bool | None, str]:
    """Outer (True), inner (False) and all walls (None) -> their type, where most of those known are of one type."""
    lengths: dict[bool | None, dict[str, float]] = {}
    for s in measured.surfaces:
        if s.kind == "wall" and s.wall_type != "unknown":
            for group in {s.external, None}:
                types = lengths.setdefault(group, {})
                types[s.wall_type] = types.get(s.wall_type, 0.0) + s.length_m
    share = load("build_ups")["proposal"]["most_share"]
    most = {group: max(types, key=lambda name: types[name]) for group, types in lengths.items()}
    return {g: name for g, name in most.items() if lengths[g][name] >= share * sum(lengths[g].values())}


def _check_names(plan: Plan, job: Job) -> None:
    """Every room and opening that the job file names must be there (surfaces are checked where they are measured)."""
    _check("rooms", job.rooms, [r.ref for r in plan.rooms], job)
    _check("openings", {k: o for k, o in job.openings.items() if not o.ignore}, [o.ref for o in plan.openings], job)


def _check(table: str, given: Mapping[str, Any], known: list[str], job: Job) -> None:
    for name in given:
        if name not in known:
            listed = ", ".join(known[:12]) + (" ..." if len(known) > 12 else "")
            right = f"one of: {listed}" if known else "none, for there is none"
            raise job.error((table, name), "names nothing on the drawing", right)


def _suits_room(surface: Surface, site: _Site) -> bool:
    """True for a wall, as it stands, on which the build-up of its room's walls can go."""
    row = site.job.rooms.get(surface.room)
    chosen = site.library.get(row.wall_build_up or "") if row else None
    if surface.kind == "ceiling" or chosen is None:
        return False
    background = _said(surface, "background", site) or _proposed(surface, site)
    return background.word in chosen.backgrounds


def _assigned(surface: Surface, parent: Assignment | None, site: _Site) -> Assignment:
    """The assignment of one surface; `parent` is the wall of a reveal."""
    background, build_up = _said(surface, "background", site), _said(surface, "build_up", site)
    _check_word(background, load("build_ups")["backgrounds"], site.job)
    _check_word(build_up, site.library, site.job)
    if parent and not background:
        background = _Said(parent.background, parent.decided_by)
    if parent and not build_up and background and background.word == parent.background:
        build_up = _inherited(parent, surface, site)
    proposed = background or _proposed(surface, site)
    if build_up and not _passed_over(surface, proposed, build_up, site):
        return _with_build_up(surface, proposed, build_up, site)
    slug = load("build_ups")["backgrounds"][proposed.word]["ceiling" if surface.kind == "ceiling" else "wall"]
    by = f"{proposed.by}; {build_up.word} does not go on {proposed.word}" if build_up else proposed.by
    return Assignment(surface.ref, proposed.word, slug, by)


def _passed_over(surface: Surface, background: _Said, build_up: _Said, site: _Site) -> bool:
    """True for a wall that its room's build-up does not suit while it suits others of the room."""
    by_room = build_up.key == ("rooms", surface.room, "wall_build_up")
    return by_room and surface.room in site.suited and background.word not in site.library[build_up.word].backgrounds


def _inherited(parent: Assignment, surface: Surface, site: _Site) -> _Said | None:
    """A reveal takes its wall's build-up where that may go on a reveal."""
    suits = surface.kind in site.library[parent.build_up].surfaces
    return _Said(parent.build_up, parent.decided_by) if suits else None


def _with_build_up(surface: Surface, background: _Said, build_up: _Said, site: _Site) -> Assignment:
    """The chosen build-up; a background it does not suit gives way unless it was said as particularly."""
    chosen = site.library[build_up.word]
    if surface.kind not in chosen.surfaces:
        right = f"a build-up for a {surface.kind}; this one is for {', '.join(chosen.surfaces)}"
        raise site.job.error(build_up.key, f"{build_up.word!r} does not go on {surface.ref}, a {surface.kind}", right)
    word = background.word
    if word not in chosen.backgrounds:
        if background.rank <= build_up.rank != 99:
            right = f"a background of {', '.join(chosen.backgrounds)}; or another build-up"
            raise site.job.error(build_up.key, f"{build_up.word!r} does not go on {word!r} ({surface.ref})", right)
        word = chosen.backgrounds[0]
    return Assignment(surface.ref, word, build_up.word, build_up.by)


def _said(surface: Surface, what: str, site: _Site) -> _Said | None:
    """The job file's word on the `what` ('background' or 'build_up') of a surface, or None."""
    job, room = site.job, surface.room
    part = {"ceiling": "ceiling", "reveal": "reveal"}.get(surface.kind, "wall")
    kind = site.opening_kinds.get(surface.opening, "")
    steps: list[tuple[tuple[str | int, ...], Any, str, str]] = [
        (("surfaces", surface.ref), job.surfaces.get(surface.ref), what, "job: surface"),
        (("rooms", room), job.rooms.get(room), f"{part}_{what}", f"job: room {room}"),
    ]
    if surface.kind == "reveal":
        steps[1:1] = [
            (("openings", surface.opening), job.openings.get(surface.opening), what, f"job: opening {surface.opening}"),
            (("opening_kinds", kind), dict(job.opening_kinds).get(kind), what, f"job: {kind}s"),  # type: ignore[call-overload]
        ]
    elif surface.kind != "ceiling" and not _marked_existing(room, job):
        wall_type = surface.wall_type
        row = dict(job.wall_types).get(wall_type)  # type: ignore[call-overload]
        steps.append((("wall_types", wall_type), row, what, f"job: wall type {wall_type}"))
    for rank, (key, row, name, by) in enumerate(steps):
        if row is not None and (word := getattr(row, name, None)):
            return _Said(word, by, (*key, name), rank)
    return None


def _marked_existing(room: str, job: Job) -> bool:
    """True where the job file marks this very room as existing: that weighs more than its wall types."""
    return room in job.rooms and job.rooms[room].existing is True


def _check_word(said: _Said | None, known: Mapping[str, Any], job: Job) -> None:
    if said and said.word not in known:
        raise job.error(said.key, f"{said.word!r} is not known", f"one of: {', '.join(known)}")


def _proposed(surface: Surface, site: _Site) -> _Said:
    """What the drawing and the kind of job suggest the surface is."""
    words = load("build_ups")["proposal"]
    if surface.room in site.existing:
        own = site.job.rooms.get(surface.room)
        by = f"job: room {surface.room} stands already" if own and own.existing else "job: existing rooms"
        return _Said(words["existing"], by)
    if surface.kind == "ceiling":
        return _Said(words["ceiling"], "default: new ceiling on joists")
    thick = f"{surface.thickness_m * 1000:.0f} mm " if surface.thickness_m else ""
    if surface.wall_type in ("masonry", "partition"):
        return _Said(words[surface.wall_type], f"drawing: {thick}{surface.wall_type}")
    for group in (surface.external, None):
        if alike := site.mostly.get(group):
            return _Said(words[alike], f"{UNKNOWN_WALL}, taken as most {_GROUPS[group]} here")
    if surface.external:
        return _Said(words["unknown_external"], f"{UNKNOWN_WALL}, {thick}outer wall")
    if surface.thickness_m and surface.thickness_m >= words["unknown_masonry_from_m"]:
        return _Said(words["masonry"], f"{UNKNOWN_WALL}, {thick}thick")
    return _Said(words["unknown"], f"{UNKNOWN_WALL}, {thick}thick" if thick else UNKNOWN_WALL)
