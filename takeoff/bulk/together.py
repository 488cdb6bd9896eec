"""Plots that are delivered together, as one job: their rooms, surfaces and needs side by side, each under its plot.

A ref gets its plot before it: ``R3-W1`` of plot 12 is ``12/R3-W1``. Handed plots are laid as their type is drawn: the
mirror image of a layout takes the same sheets and the same lengths.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from takeoff.job import Job
from takeoff.materials.catalogue import catalogue
from takeoff.materials.laid import with_beads_cut
from takeoff.materials.laid_boards import LaidBoards, with_boards_laid
from takeoff.materials.model import Material, Order, plot_of
from takeoff.materials.order import make_order
from takeoff.materials.supply import Supply
from takeoff.measure.model import Edge, Measured, Surface
from takeoff.plan.model import Plan, Room
from takeoff.record import Takeoff
from takeoff.work.assign import plan_work
from takeoff.work.model import Assignment, Finding, Need, Operation, Work

__all__ = ["PlotWork", "measured_together", "ordered_together", "work_of"]

PlotWork = tuple[str, Takeoff, Work]
"""Plot, the takeoff of its variant, and that variant's work before anything is laid."""


def work_of(takeoff: Takeoff) -> Work:
    """The work of a takeoff with its needs as they were before boards were laid and beads cut."""
    return plan_work(takeoff.plan, takeoff.measured, takeoff.job)


def ordered_together(plots: Sequence[PlotWork], job: Job) -> Supply:
    """One order for all `plots`: boards laid and beads cut over all of them, packs rounded up once. A board or a bead
    that comes to less laid or cut plot by plot is made so.

    Raises `JobError` as `make_order` does.
    """
    plan = _plan(plots)
    measured = measured_together(plots)
    work = _work(plots)
    stock = catalogue(job)
    boarded = _boarded(work, stock, measured, job)
    cut = with_beads_cut(boarded.needs, {**stock, **boarded.materials}, measured, job, plot_of)
    work = replace(work, needs=cut.needs)
    order: Order = make_order(plan, work, job, {**boarded.materials, **cut.materials})
    return Supply(work, order, cut.cut, boarded.layouts)


def _boarded(work: Work, stock: Mapping[str, Material], measured: Measured, job: Job) -> LaidBoards:
    """Boards laid over all plots, but for those that come to less laid plot by plot: laying is good, not perfect."""
    shared = with_boards_laid(work.needs, stock, measured, work.assignments, job)
    apart = with_boards_laid(work.needs, stock, measured, work.assignments, job, lambda _board, ref: plot_of(ref))
    worse = {board for board in {layout.spec.board for layout in shared.layouts} if _less(apart, shared, board)}
    if not worse:
        return shared

    def part(board: str, ref: str) -> str:
        return plot_of(ref) if board in worse else ""

    return with_boards_laid(work.needs, stock, measured, work.assignments, job, part)


def _less(one: LaidBoards, other: LaidBoards, board: str) -> bool:
    """Whether `board` costs less in `one` than in the `other`, or where a price is not known takes less area."""
    costs = [_cost(laid, board) for laid in (one, other)]
    if costs[0] is not None and costs[1] is not None:
        return costs[0] < costs[1]
    areas = [sum(own.bought_m2 for own in laid.layouts if own.spec.board == board) for laid in (one, other)]
    return areas[0] < areas[1] - 1e-9


def _cost(laid: LaidBoards, board: str) -> Decimal | None:
    """Of all sheets of `board`; None where a price is not known."""
    total = Decimal(0)
    for layout in laid.layouts:
        for length, width, number in layout.buy if layout.spec.board == board else ():
            price = laid.materials[f"{board}-{length:.0f} x {width:.0f} mm"].price
            if price is None:
                return None
            total += price * number
    return total


def _plan(plots: Sequence[PlotWork]) -> Plan:
    """Storeys and rooms only: an order asks for no more."""
    first = plots[0][1].plan
    rooms = tuple(_room(plot, room) for plot, takeoff, _ in plots for room in takeoff.plan.rooms)
    return replace(first, rooms=rooms, openings=(), spaces=(), queries=())


def measured_together(plots: Sequence[PlotWork]) -> Measured:
    """What is measured of all plots."""
    rooms = tuple(replace(r, room=f"{plot}/{r.room}") for plot, takeoff, _ in plots for r in takeoff.measured.rooms)
    surfaces = tuple(_surface(plot, s) for plot, takeoff, _ in plots for s in takeoff.measured.surfaces)
    edges = tuple(_edge(plot, e) for plot, takeoff, _ in plots for e in takeoff.measured.edges)
    return Measured(plots[0][1].measured.rule, rooms, surfaces, edges, ())


def _work(plots: Sequence[PlotWork]) -> Work:
    return Work(
        build_ups={slug: build_up for _, _, work in plots for slug, build_up in work.build_ups.items()},
        assignments=tuple(_assignment(plot, a) for plot, _, work in plots for a in work.assignments),
        needs=tuple(_need(plot, need) for plot, _, work in plots for need in work.needs),
        operations=tuple(_operation(plot, own) for plot, takeoff, _ in plots for own in takeoff.work.operations),
        findings=tuple(_finding(plot, finding) for plot, takeoff, _ in plots for finding in takeoff.work.findings),
        waste_kg=sum(work.waste_kg for _, _, work in plots),
    )


def _room(plot: str, room: Room) -> Room:
    return replace(room, ref=f"{plot}/{room.ref}", name=f"{plot} {room.name}".strip())


def _surface(plot: str, surface: Surface) -> Surface:
    return replace(surface, ref=f"{plot}/{surface.ref}", room=f"{plot}/{surface.room}")


def _edge(plot: str, edge: Edge) -> Edge:
    surfaces = tuple(f"{plot}/{ref}" for ref in edge.surfaces)
    return replace(edge, ref=f"{plot}/{edge.ref}", room=f"{plot}/{edge.room}", surfaces=surfaces)


def _assignment(plot: str, assignment: Assignment) -> Assignment:
    return replace(assignment, surface=f"{plot}/{assignment.surface}")


def _need(plot: str, need: Need) -> Need:
    room, surface = f"{plot}/{need.room}", f"{plot}/{need.surface}"
    return replace(need, room=room, surface=surface, finding=_found(plot, need.finding))


def _operation(plot: str, operation: Operation) -> Operation:
    surfaces = tuple(f"{plot}/{ref}" for ref in operation.surfaces)
    ref, room = f"{plot}/{operation.ref}", f"{plot}/{operation.room}"
    return replace(operation, ref=ref, room=room, surfaces=surfaces, finding=_found(plot, operation.finding))


def _found(plot: str, ref: str) -> str:
    """Ref of a finding on a plot; '' where work or material comes from none."""
    return f"{plot}/{ref}" if ref else ""


def _finding(plot: str, finding: Finding) -> Finding:
    return replace(finding, ref=f"{plot}/{finding.ref}", room=f"{plot}/{finding.room}")
