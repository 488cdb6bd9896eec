"""Beads that the job file lists room by room, because no drawing shows where they are wanted.

Terms:
  movement   where the structure has a movement joint.
  stop       a free edge or an abutment: plaster that ends in the open, or against another material.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from takeoff.data import load
from takeoff.job_stock_tables import ListedBead
from takeoff.work.model import BuildUp, Need
from takeoff.work.scheme import Scheme

__all__ = ["listed_beads"]


def listed_beads(scheme: Scheme) -> Iterator[Need]:
    """A need for each bead of [[beads.movement]] and [[beads.stop]].

    Raises `JobError` where a row names a room that is not on the drawing, or what is no bead.
    """
    beads = scheme.job.beads
    yield from _listed("movement", beads.movement, scheme)
    yield from _listed("stop", beads.stop, scheme)


def _listed(kind: str, rows: Sequence[ListedBead], scheme: Scheme) -> Iterator[Need]:
    number = 0
    for place, row in enumerate(rows):
        key = ("beads", kind, place)
        if row.room not in scheme.rooms:
            raise scheme.job.error((*key, "room"), "names nothing on the drawing", f"one of: {', '.join(scheme.rooms)}")
        bead = row.bead or _usual(kind, row.room, scheme)
        if scheme.rows.get(bead, {}).get("kind") != "bead":
            known = ", ".join(slug for slug, stock in scheme.rows.items() if stock["kind"] == "bead")
            raise scheme.job.error((*key, "bead"), f"{bead!r} is no bead", f"one of: {known}")
        for _ in range(row.number):
            number += 1
            how = f"{row.length:.2f} m {kind} bead listed in the job file"
            yield Need(bead, row.room, f"{kind} {number}", row.length, "m", 1.0, row.length, how)


def _usual(kind: str, room: str, scheme: Scheme) -> str:
    """The bead of that kind; of a stop, the one that the build-up of the room's first wall uses at free edges."""
    if kind == "stop":
        walls = (b for s, _, b in scheme.each() if s.room == room and s.kind != "ceiling")
        found = next((bead for wall in walls if (bead := _stop_of(wall, scheme))), "")
        if found:
            return found
    return str(load("beads")[kind]["bead"])


def _stop_of(build_up: BuildUp, scheme: Scheme) -> str:
    stops = (layer.material for layer in build_up.layers if layer.per == "m stop")
    return next((material for material in stops if scheme.rows[material]["kind"] == "bead"), "")
