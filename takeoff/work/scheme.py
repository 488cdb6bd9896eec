"""All that is settled about the surfaces of a job: what each is, what goes on it, what is known of the materials."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

from takeoff.job import Job
from takeoff.measure.model import Edge, Measured, Surface
from takeoff.plan.model import Plan, Room
from takeoff.work.existing import existing_rooms
from takeoff.work.model import Assignment, BuildUp
from takeoff.work.stock import Row

__all__ = ["Scheme"]

Of = TypeVar("Of", Surface, Edge)


def _by_room(all_of_them: Iterable[Of]) -> dict[str, list[Of]]:
    found: dict[str, list[Of]] = {}
    for one in all_of_them:
        found.setdefault(one.room, []).append(one)
    return found


@dataclass(frozen=True)
class Scheme:
    plan: Plan
    measured: Measured
    assignments: tuple[Assignment, ...]
    library: Mapping[str, BuildUp]
    rows: Mapping[str, Row]
    job: Job

    @cached_property
    def surfaces(self) -> dict[str, Surface]:
        return {s.ref: s for s in self.measured.surfaces}

    @cached_property
    def rooms(self) -> dict[str, Room]:
        return {room.ref: room for room in self.plan.rooms}

    @cached_property
    def surfaces_of(self) -> dict[str, list[Surface]]:
        """The surfaces of each measured room."""
        return _by_room(self.measured.surfaces)

    @cached_property
    def edges_of(self) -> dict[str, list[Edge]]:
        """The edges of each room that has any."""
        return _by_room(self.measured.edges)

    @cached_property
    def assigned(self) -> dict[str, Assignment]:
        """The assignment of each surface, by its ref."""
        return {a.surface: a for a in self.assignments}

    @cached_property
    def existing(self) -> frozenset[str]:
        """Refs of the measured rooms that stand already."""
        return frozenset(existing_rooms(self.plan, self.job)) & {s.room for s in self.measured.surfaces}

    def each(self) -> Iterator[tuple[Surface, Assignment, BuildUp]]:
        """Every surface with its assignment and build-up, in the order measured."""
        return iter(self._each)

    @cached_property
    def _each(self) -> list[tuple[Surface, Assignment, BuildUp]]:
        return [(self.surfaces[a.surface], a, self.library[a.build_up]) for a in self.assignments]

    def kinds(self, build_up: BuildUp) -> frozenset[str]:
        """Kinds of material in a build-up: 'board', 'finish' ..."""
        return frozenset(row["kind"] for row in self.materials(build_up))

    def materials(self, build_up: BuildUp) -> list[Row]:
        """What is known of the material of each of its layers."""
        return [self.rows[layer.material] for layer in build_up.layers]

    def settled(self, surface: Surface) -> bool:
        """True where the job file itself names the build-up of this surface, or one for its room."""
        own, room = self.job.surfaces.get(surface.ref), self.job.rooms.get(surface.room)
        by_surface = own is not None and own.build_up is not None
        return by_surface or (room is not None and (room.wall_build_up or room.ceiling_build_up) is not None)
