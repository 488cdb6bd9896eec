"""From a plan to measured rooms: surfaces, edges and quantities of each under the job's rule of measurement."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.job import Job
from takeoff.measure.arches import check_arches
from takeoff.measure.asking import queries_of
from takeoff.measure.ceilings import ceiling_surfaces
from takeoff.measure.edges import Reveals, edges_of, rounded_angles
from takeoff.measure.model import Edge, Measured, RoomMeasure, Surface
from takeoff.measure.opening_shape import opening_area
from takeoff.measure.parts import RoomParts, Wall
from takeoff.measure.placing import Placed, place, stated_height
from takeoff.measure.quantities import quantities_of
from takeoff.measure.reveals import reveals_of
from takeoff.measure.rooflights import shaft_edges, shaft_surfaces
from takeoff.measure.rules import EQUAL_M2, Common, Effect, Faces, Rule, common, effect_of_opening, rule_of
from takeoff.measure.runs import corners_of, open_sides, runs_of
from takeoff.measure.tops import height_of, top_of, wall_top
from takeoff.measure.walls import wall_surfaces
from takeoff.plan.model import Opening, Plan, Room

__all__ = ["measure"]


@dataclass(frozen=True, slots=True)
class _Site:
    """What a room's measure must know of the rest of the drawing."""

    rule: Rule
    common: Common
    job: Job
    rooflights: Mapping[str, tuple[Opening, ...]]
    """Room -> the rooflights over it."""
    faces: Mapping[str, tuple[str, ...]]
    """Opening -> the walls of measured rooms in which it lies, in the plan's order."""
    owners: Mapping[str, str]
    """Opening whose reveal goes through the wall -> the wall whose room counts it."""


def measure(plan: Plan, job: Job) -> Measured:
    """Measure every room of `plan` under the rule that `job` chooses. Metres and square metres.

    Raises `JobError` for a rule that is not shipped, for an arch that does not go with its opening, for a slope on a
    wall that is not there, and for an entry of ``[surfaces]`` that matches no surface.
    """
    shared, rule = common(), rule_of(job)
    by_ref = {o.ref: o for o in plan.openings}
    check_arches(plan.openings, {ref: stated_height(opening, job) for ref, opening in by_ref.items()}, job)
    open_refs = open_sides(plan)
    parts = [_parts(room, open_refs, by_ref, job, shared) for room in plan.rooms]
    site = _Site(rule, shared, job, _rooflights(plan.openings), _faces(parts), _owners(parts))
    surfaces = {p.room.ref: tuple(_surfaces(p, site)) for p in parts}
    measured = [p for p in parts if p.measured]
    kept = [s for p in measured for s in surfaces[p.room.ref]]
    reveals = {s.ref: s for s in kept if s.kind == "reveal"}
    edges = {p.room.ref: _edges(p, surfaces[p.room.ref], reveals, site) for p in measured}
    _check_surface_rows(kept, parts, job)
    return Measured(
        rule=rule.slug,
        rooms=tuple(_totals(p, surfaces[p.room.ref], shared) for p in parts),
        surfaces=tuple(kept),
        edges=tuple(edge for p in measured for edge in edges[p.room.ref]),
        quantities=tuple(
            row for p in measured for row in quantities_of(p, surfaces[p.room.ref], edges[p.room.ref], rule)
        ),
        queries=queries_of(parts, plan.openings, plan.low_walls, job),
    )


def _parts(
    room: Room, open_refs: frozenset[str], openings: Mapping[str, Opening], job: Job, shared: Common
) -> RoomParts:
    runs = runs_of(room, open_refs)
    height, height_from = height_of(room, job, shared)
    top = top_of(room, runs, height, job)
    walls: list[Wall] = []
    for number, run in enumerate(runs, 1):
        ref = f"{room.ref}-W{number}"
        own = job.surfaces[ref].height if ref in job.surfaces else None
        profile, ceiling = wall_top(run, top, own), wall_top(run, top)
        free = own is not None and own < min(h for _, h in ceiling.points)
        placed = () if run.open else place(run, profile, openings, job, shared)
        walls.append(Wall(ref, room.ref, run, profile, placed, free))
    row = job.rooms.get(room.ref)
    said = None if row is None else row.measured
    plastered = room.kind not in shared.not_plastered_kinds if said is None else said
    highest = max(top.low_m, top.high_m) if top.slopes else height
    return RoomParts(
        room, highest, "job" if top.slopes else height_from, top, tuple(walls), corners_of(runs), plastered
    )


def _rooflights(openings: Sequence[Opening]) -> dict[str, tuple[Opening, ...]]:
    over: dict[str, tuple[Opening, ...]] = {}
    for opening in openings:
        for room in opening.rooms if opening.kind == "rooflight" else ():
            over[room] = (*over.get(room, ()), opening)
    return over


def _faces(parts: Sequence[RoomParts]) -> dict[str, tuple[str, ...]]:
    faces: dict[str, tuple[str, ...]] = {}
    for part in parts:
        for wall in part.walls if part.measured else ():
            for placed in wall.placed:
                faces[placed.opening.ref] = (*faces.get(placed.opening.ref, ()), wall.ref)
    return faces


def _owners(parts: Sequence[RoomParts]) -> dict[str, str]:
    """Which wall counts a reveal through the wall: where more of the opening shows; where alike, the first room's."""
    best: dict[str, tuple[float, str]] = {}
    for part in parts:
        for wall in part.walls if part.measured else ():
            for placed in wall.placed:
                area = opening_area(wall, placed)
                if placed.finish.through and area > best.get(placed.opening.ref, (0.0, ""))[0] + EQUAL_M2:
                    best[placed.opening.ref] = (area, wall.ref)
    return {opening: ref for opening, (_, ref) in best.items()}


def _surfaces(parts: RoomParts, site: _Site) -> Iterator[Surface]:
    """Walls, ceilings, then reveals."""

    def effects(placed: Placed, wall: Wall) -> Effect:
        return effect_of_opening(site.rule, opening_area(wall, placed), _two_faces(placed, wall, site))

    yield from wall_surfaces(parts, site.rule, site.common, effects)
    lights = site.rooflights.get(parts.room.ref, ())
    ceilings = tuple(ceiling_surfaces(parts, lights, site.rule, site.job))
    yield from ceilings
    for wall in parts.walls:
        for placed in wall.placed:
            if not placed.finish.through or site.owners.get(placed.opening.ref, wall.ref) == wall.ref:
                yield from reveals_of(wall, placed, effects(placed, wall), site.rule)
    for ceiling in ceilings:
        yield from shaft_surfaces(ceiling, lights, site.rule, site.job)


def _two_faces(placed: Placed, wall: Wall, site: _Site) -> Faces:
    """The faces of the wall at an opening. Outdoors and rooms left out count as plastered differently."""
    walls = site.faces.get(placed.opening.ref, ())
    build_ups = {_wall_build_up(ref, site.job) for ref in walls}
    return Faces(
        same_plaster=len(walls) > 1 and len(build_ups) == 1,
        first=wall.ref == next(iter(walls), wall.ref),
        reveal_here_m=placed.finish.depth_m,
        reveal_other_m=placed.finish.other_depth_m,
    )


def _wall_build_up(wall_ref: str, job: Job) -> str | None:
    surface, room = job.surfaces.get(wall_ref), job.rooms.get(wall_ref.rpartition("-")[0])
    own = None if surface is None else surface.build_up
    return own or (None if room is None else room.wall_build_up)


def _edges(
    parts: RoomParts, surfaces: Sequence[Surface], reveals: Mapping[str, Surface], site: _Site
) -> tuple[Edge, ...]:
    """The room's edges, those of rooflight shafts last."""
    own = edges_of(parts, {s.ref: s for s in surfaces}, Reveals(reveals, site.owners), site.common)
    shafts = shaft_edges(surfaces, site.rooflights.get(parts.room.ref, ()))
    return own + tuple(replace(edge, ref=f"{parts.room.ref}-E{n}") for n, edge in enumerate(shafts, len(own) + 1))


def _totals(parts: RoomParts, surfaces: Sequence[Surface], shared: Common) -> RoomMeasure:
    walls = [s for s in surfaces if s.kind in ("wall", "pier")]
    rounded = rounded_angles(parts, shared)
    outward = sum(1 for wall in rounded if (wall.run.radius_m or 0) < 0)
    external = sum(1 for corner in parts.corners if corner.external)
    return RoomMeasure(
        room=parts.room.ref,
        height_m=parts.height_m,
        height_from=parts.height_from,
        wall_gross_m2=sum(s.gross_m2 for s in walls),
        wall_net_m2=sum(s.net_m2 for s in walls),
        ceiling_m2=sum(s.net_m2 for s in surfaces if s.kind == "ceiling"),
        reveal_m2=sum(s.net_m2 for s in surfaces if s.kind == "reveal"),
        internal_corners=len(parts.corners) - external + len(rounded) - outward,
        external_corners=external + outward,
        measured=parts.measured,
    )


def _check_surface_rows(kept: Sequence[Surface], parts: Sequence[RoomParts], job: Job) -> None:
    """Every ``[surfaces]`` entry must match a surface, and a height belongs to a wall."""
    kinds = {s.ref: s.kind for s in kept}
    left_out = {p.room.ref for p in parts if not p.measured}
    for ref, row in job.surfaces.items():
        room = ref.partition("-")[0]
        if ref not in kinds:
            wrong = f"room {room} is not measured" if room in left_out else "there is no such surface"
            near = [k for k in kinds if k.startswith(f"{room}-")] or list(kinds)
            raise job.error(("surfaces", ref), wrong, f"one of: {', '.join(near[:12])}")
        if row.height is not None and kinds[ref] not in ("wall", "pier"):
            raise job.error(("surfaces", ref, "height"), f"a {kinds[ref]} has no height to set", "the ref of a wall")
