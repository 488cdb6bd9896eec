"""The whole takeoff, stage by stage: what the pipeline hands to the documents."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from takeoff.drawing.model import Drawing
from takeoff.job import Job
from takeoff.materials.beads import BeadCut
from takeoff.materials.boards_model import BoardLayout
from takeoff.materials.model import Order
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.price.model import Alternative, Price
from takeoff.programme.model import Programme
from takeoff.query import Query
from takeoff.work.model import Work

__all__ = ["Takeoff"]


@dataclass(frozen=True)
class Takeoff:
    job: Job
    drawing: Drawing
    """In metres, local frame."""
    plan: Plan
    measured: Measured
    work: Work
    order: Order
    queries: tuple[Query, ...]
    """All stages' queries, numbered."""
    beads: BeadCut | None = None
    """What each bead is cut from, when the order was laid out."""
    boards: tuple[BoardLayout, ...] = ()
    """Every board laid, layer by layer, when the order was laid out."""
    programme: Programme | None = None
    price: Price | None = None
    alternatives: tuple[Alternative, ...] = ()
    """The job as it stands first, when there are any."""
    accepted: tuple[Query, ...] = ()
    """Queries that the job file settles as they stand: assumptions to be told."""

    @cached_property
    def covered_rooms(self) -> frozenset[str]:
        """Refs of the rooms with surfaces: those that are in the quantities."""
        return frozenset(surface.room for surface in self.measured.surfaces)
