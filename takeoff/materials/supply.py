"""From needs to what is bought and what it costs in hours to bring it in: the order, and the work with its carrying."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from takeoff.job import Job
from takeoff.materials.beads import BeadCut
from takeoff.materials.boards_model import BoardLayout
from takeoff.materials.catalogue import catalogue
from takeoff.materials.laid import with_beads_cut
from takeoff.materials.laid_boards import with_boards_laid
from takeoff.materials.model import Material, Order
from takeoff.materials.order import make_order
from takeoff.measure.model import Measured
from takeoff.plan.model import Plan
from takeoff.work.carrying import with_carrying
from takeoff.work.model import Work

__all__ = ["Supply", "supply"]


@dataclass(frozen=True)
class Supply:
    work: Work
    """With carrying and clearing; its needs by stock size where they were laid out or cut."""
    order: Order
    beads: BeadCut | None = None
    """What each bead is cut from, when it was cut."""
    boards: tuple[BoardLayout, ...] = ()
    """Every board laid, layer by layer, when they were laid."""


def supply(plan: Plan, measured: Measured, work: Work, job: Job, laid: bool = False) -> Supply:
    """The order and the work that goes with it.

    `laid`: sheets are laid out and beads cut piece by piece from their stock, for an order that is placed; otherwise
    they are counted by area, length and waste, which is quick. Raises `JobError` as `make_order` does.
    """
    variants: Mapping[str, Material] = {}
    beads: BeadCut | None = None
    boards: tuple[BoardLayout, ...] = ()
    if laid:
        stock = catalogue(job)
        boarded = with_boards_laid(work.needs, stock, measured, work.assignments, job)
        cut = with_beads_cut(boarded.needs, {**stock, **boarded.materials}, measured, job)
        variants = {**boarded.materials, **cut.materials}
        work, beads, boards = replace(work, needs=cut.needs), cut.cut, boarded.layouts
    order = make_order(plan, work, job, variants)
    loads = {load.room: load.weight_kg for load in order.rooms}
    return Supply(with_carrying(plan, measured, work, loads, job), order, beads, boards)
