"""First-fix services: cables, pipes and boxes by other trades, done before boards close them up.

Not an hour of ours: a wait of each room where boards go on something hollow.
"""

from __future__ import annotations

from takeoff.data import load
from takeoff.job import Job
from takeoff.job_tables import RoomRow
from takeoff.measure.model import Measured
from takeoff.programme.model import Piece
from takeoff.work.model import BuildUp, Work
from takeoff.work.stock import stock

__all__ = ["STAGE", "closed_rooms", "services_piece"]

STAGE = "services"
_HOLLOW = ("timber frame", "metal frame", "laths")
"""Backgrounds with room behind for cables and pipes."""


def closed_rooms(measured: Measured, work: Work, job: Job) -> frozenset[str]:
    """Refs of the rooms in which boards close something up: on frames, or on furrings and battens."""
    kinds = {slug: row["kind"] for slug, row in stock(job).items()}
    rooms = {s.ref: s.room for s in measured.surfaces}

    def closes(build_up: BuildUp, background: str) -> bool:
        used = {kinds[layer.material] for layer in build_up.layers}
        return "board" in used and (background in _HOLLOW or "furring" in used)

    return frozenset(
        rooms[a.surface]
        for a in work.assignments
        if a.surface in rooms and closes(work.build_ups[a.build_up], a.background)
    )


def services_piece(room: str, after: tuple[tuple[str, float, str], ...], job: Job) -> Piece:
    """The wait for other trades in `room`; `after`: the pieces that must be done before they come."""
    row = job.rooms.get(room, RoomRow())
    days = job.services.days if row.services_days is None else row.services_days
    done = job.services.done_day if row.services_done_day is None else row.services_done_day
    return Piece(
        ref=f"{room}-{STAGE}",
        room=room,
        stage=STAGE,
        title=str(load("programme")["services"]["title"]),
        hours=0.0,
        people=0,
        after=after if days else (),
        others_days=days,
        from_day=max(0, done - days),
    )
