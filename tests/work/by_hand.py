"""Measured rooms made by hand, of our own invention, for the tests of build-ups and materials."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from takeoff.job import Job, job_from
from takeoff.measure.model import Deduction, Edge, Measured, RoomMeasure, Surface
from takeoff.plan.model import Opening, Plan, Room, Storey
from takeoff.work.model import Need, Work


def wall(ref: str, length: float, height: float, *, openings: Sequence[Deduction] = (), **more: Any) -> Surface:
    """A wall run of the room that its ref begins with."""
    gross = length * height
    net = gross - sum(d.area_m2 for d in openings)
    return Surface(
        ref,
        _room(ref),
        "wall",
        length,
        height,
        gross,
        tuple(openings),
        net,
        f"{length} x {height}",
        side=f"{ref}-S",
        **more,
    )


def ceiling(ref: str, length: float, width: float) -> Surface:
    area = length * width
    return Surface(ref, _room(ref), "ceiling", length, width, area, (), area, f"{length} x {width}", part="flat")


def reveal(ref: str, opening: str, length: float, depth: float, part: str = "head") -> Surface:
    area = length * depth
    how = f"{length} x {depth}"
    return Surface(ref, _room(ref), "reveal", length, depth, area, (), area, how, opening=opening, part=part)


def edge(ref: str, kind: str, length: float, *surfaces: str, opening: str = "") -> Edge:
    return Edge(ref, _room(ref), kind, length, f"{length}", surfaces, opening)


def _room(ref: str) -> str:
    return ref.partition("-")[0]


def measured(surfaces: Iterable[Surface], edges: Iterable[Edge] = ()) -> Measured:
    surfaces = tuple(surfaces)
    rooms = dict.fromkeys(s.room for s in surfaces)
    totals = tuple(RoomMeasure(room, 2.4, "default", 0.0, 0.0, 0.0, 0.0, 4, 0) for room in rooms)
    return Measured("net", totals, surfaces, tuple(edges), ())


def plan(*rooms: str | Room, openings: Sequence[Opening] = (), storeys: Sequence[Storey] = ()) -> Plan:
    """A plan of rooms told by ref alone (or made with `room`)."""
    made = tuple(r if isinstance(r, Room) else room(r) for r in rooms)
    return Plan("m", 1.0, (), (0.0, 0.0), tuple(storeys) or (Storey("P1", "", (0, 0, 9, 9)),), made, tuple(openings))


def room(ref: str, name: str = "", kind: str = "room", storey: str = "P1") -> Room:
    square = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))
    return Room(ref, name, storey, square, (), (), 16.0, 16.0, 2.4, "drawing", 1.0, (2.0, 2.0), kind)


def opening(ref: str, kind: str, room: str) -> Opening:
    return Opening(ref, kind, "P1", (1, 0), 1.2, 1.05, 0.9, 0.1, (room,), ((0.4, 0), (1.6, 0)), "job")


def job(**tables: Any) -> Job:
    """A job from plain tables, as a job file would hold them."""
    return job_from(tables)


def amount(work: Work, material: str, ref: str = "") -> float:
    """Net amount of a material in all, or for one surface or edge."""
    return sum(n.amount for n in needs(work, material, ref))


def needs(work: Work, material: str, ref: str = "") -> list[Need]:
    return [n for n in work.needs if n.material == material and ref in ("", n.surface)]
