"""From a drawing file and a job file to the whole takeoff: the stages in their order, nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from takeoff.collector import put_off
from takeoff.data import load
from takeoff.drawing.bounds import Bounds
from takeoff.drawing.model import Drawing, UnitFinding, in_metres
from takeoff.drawing.read import read_drawing
from takeoff.drawing.together import side_by_side
from takeoff.drawing.told import IGNORED, settled_unit, without_layers
from takeoff.errors import DrawingError
from takeoff.job import Job
from takeoff.job_tables import DrawingTable
from takeoff.materials.supply import supply
from takeoff.measure.asking import height_is_told
from takeoff.measure.rooms import measure
from takeoff.plan.hand_walls import with_walls
from takeoff.plan.model import Plan
from takeoff.plan.removed import TO_GO, without_what_goes
from takeoff.plan.survey import Survey, survey
from takeoff.plan.understand import planned
from takeoff.price.alternatives import compare
from takeoff.price.build import make_price
from takeoff.programme.build import make_programme
from takeoff.query import Query, numbered, query
from takeoff.record import Takeoff
from takeoff.work.assign import plan_work

__all__ = [
    "Ground",
    "ground_of",
    "measured_up",
    "need_rooms",
    "plan_of",
    "plan_on",
    "price_up",
    "read_drawings",
    "read_plan",
    "settled",
    "take_off",
    "together",
]

Progress = Callable[[str], None]
_ANY = Bounds()
"""For one drawing, whose person can wait."""

_UNREAD = (IGNORED, TO_GO)
"""Why whole layers are left out."""


def _silent(_message: str) -> None:
    return None


@put_off()
def read_plan(
    path: Path, job: Job, progress: Progress = _silent, bounds: Bounds = _ANY
) -> tuple[Drawing, Plan]:
    """Read the drawing at `path` and understand it. Returns the drawing in metres and the plan, the questions of both
    stages with it.

    Raises `DrawingError` when there is nothing to measure.
    """
    return plan_of(together(read_drawings(path, job, progress, bounds), job), job, progress)


def read_drawings(
    path: Path, job: Job, progress: Progress = _silent, bounds: Bounds = _ANY
) -> tuple[Drawing, ...]:
    """The drawing at `path` and those that the job file names beside it, each in its own units and in `bounds`."""
    paths = [path, *(path.parent / name for name in job.drawing.more)]
    drawings = []
    for one in paths:
        progress(f"Reading {one.name}")
        drawings.append(read_drawing(one, bounds))
    return tuple(drawings)


@put_off()
def plan_of(raw: Drawing, job: Job, progress: Progress = _silent) -> tuple[Drawing, Plan]:
    """What `read_plan` makes of a drawing that was read before, in its own units.

    The drawing that comes back is whole: layers that the job file ignores are in it, though the plan knows nothing
    of them, and so are the walls that it draws.
    """
    return plan_on(ground_of(raw, job, progress), job)


@dataclass(frozen=True, slots=True)
class Ground:
    """What the plans of a drawing stand on, whatever is decided about its rooms. Of the job file it hangs on [drawing],
    [[wall]] and [[opening]]: it serves every job that is the same there.
    """

    drawing: Drawing
    """Whole, in metres, with the walls drawn by hand."""
    unit: UnitFinding
    survey: Survey
    asked: tuple[Query, ...]
    """By the reading, and about layers that are left out."""
    ignored: Mapping[str, str]
    """Layers that are left out, and how that is told."""


@put_off()
def ground_of(raw: Drawing, job: Job, progress: Progress = _silent) -> Ground:
    """The unit settled and the line work surveyed, without the layers that `job` leaves out."""
    taken, asked = without_what_goes(without_layers(raw, job), job)
    unit = settled_unit(taken, job)
    progress("Finding walls, openings and rooms")
    seen = survey(with_walls(in_metres(taken, unit.metres_per_unit), job), job)
    drawing = replace(with_walls(in_metres(raw, unit.metres_per_unit), job), left_out=taken.left_out)
    ignored = {row.what: f"ignored: {row.reason}" for row in taken.left_out if row.reason in _UNREAD}
    return Ground(drawing, unit, seen, (*raw.queries, *asked), ignored)


@put_off()
def plan_on(ground: Ground, job: Job) -> tuple[Drawing, Plan]:
    """What `plan_of` gives, for a `job` that the ground serves."""
    plan = planned(ground.survey, ground.unit, job)
    layer_use = {**plan.layer_use, **ground.ignored}
    return ground.drawing, replace(plan, queries=(*ground.asked, *plan.queries), layer_use=layer_use)


def together(drawings: Sequence[Drawing], job: Job) -> Drawing:
    """The drawings as one, in the units of the first. Each is read by itself before: what its unit is and which layers
    hold its walls, it tells for itself.
    """
    if len(drawings) == 1:
        return drawings[0]
    alone = [_alone(drawing, job, first=n == 0) for n, drawing in enumerate(drawings)]
    scales = [one.metres_per_unit / alone[0].metres_per_unit for one in alone]
    whole = side_by_side([one.drawing for one in alone], scales)
    return replace(whole, queries=(*whole.queries, *(q for one in alone for q in one.queries)))


@dataclass(frozen=True)
class _Alone:
    """One of several drawings, read by itself: its wall layers marked, its unit, and what must be asked of it."""

    drawing: Drawing
    metres_per_unit: float
    queries: tuple[Query, ...] = ()


def _alone(drawing: Drawing, job: Job, first: bool) -> _Alone:
    names = {layer.name.casefold() for layer in drawing.layers}
    known = {
        key: tuple(name for name in getattr(job.drawing, key) if name.casefold() in names)
        for key in ("ignore_layers", "keep_layers")
    }
    table = job.drawing if first else DrawingTable()
    bare = Job(drawing=table.model_copy(update={**known, "more": ()}))
    bare.adopt(job, "")
    try:
        plan = plan_of(drawing, bare)[1]
    except DrawingError as fault:
        unit = settled_unit(drawing, bare).metres_per_unit
        return _Alone(drawing, unit, (query("no-closed-room", f"{drawing.file}: {fault}"),))
    walls = {name for name, use in plan.layer_use.items() if use == "walls"}
    marked = replace(drawing, layers=tuple(replace(x, walls=x.name in walls) for x in drawing.layers))
    return _Alone(marked, plan.metres_per_unit, () if first else tuple(_asked_of(drawing.file, plan)))


def _asked_of(file: str, plan: Plan) -> Iterator[Query]:
    """Questions about a further drawing as a whole: they are not asked again of all drawings together."""
    for asked in plan.queries:
        if asked.kind == "unit-unclear":
            says = (
                f"{file}: its unit is not clear and was taken as {plan.unit}. Check one known length on the marked "
                "plan; if it is wrong, save the drawing in the unit of the first."
            )
            yield query(asked.kind, says)
        if asked.kind == "no-closed-room":
            yield replace(asked, says=f"{file}: {asked.says}", about=(), at=None)


@put_off()
def take_off(
    path: Path, job: Job, progress: Progress = _silent, laid: bool = False, bounds: Bounds = _ANY
) -> Takeoff:
    """The whole takeoff of the drawing at `path` under `job`, without programme and price.

    `laid`: sheets are laid out and beads cut piece by piece, which takes longer (see `materials.supply`).
    """
    return measured_up(*read_plan(path, job, progress, bounds), job, progress, laid)


@put_off()
def measured_up(drawing: Drawing, plan: Plan, job: Job, progress: Progress = _silent, laid: bool = False) -> Takeoff:
    """What `take_off` makes of a drawing and plan that were read before."""
    progress("Measuring")
    measured = measure(plan, job)
    progress("Build-ups, materials and hours")
    supplied = supply(plan, measured, plan_work(plan, measured, job), job, laid)
    work, order = supplied.work, supplied.order
    asked, accepted = settled([*_open_queries(plan, job), *measured.queries, *work.queries, *order.queries], job)
    return Takeoff(
        job,
        drawing,
        plan,
        measured,
        work,
        order,
        asked,
        beads=supplied.beads,
        boards=supplied.boards,
        accepted=accepted,
    )


@put_off()
def price_up(takeoff: Takeoff, progress: Progress = _silent) -> Takeoff:
    """The takeoff with its programme and price."""
    progress("Programme")
    programme = make_programme(takeoff.measured, takeoff.work, takeoff.order, takeoff.job)
    progress("Price and risk")
    price = make_price(takeoff.measured, takeoff.work, takeoff.order, takeoff.job, programme.days)
    others = compare(
        takeoff.plan, takeoff.measured, takeoff.job, price, programme, takeoff.work, takeoff.beads is not None
    )
    queries = [*takeoff.queries, *programme.queries, *price.queries]
    asked, accepted = settled(queries, takeoff.job, takeoff.accepted, priced=True)
    return replace(
        takeoff,
        programme=programme,
        price=price,
        alternatives=others,
        queries=asked,
        accepted=(*takeoff.accepted, *accepted),
    )


def need_rooms(plan: Plan, queries: Sequence[Query]) -> None:
    """Raises `DrawingError` where there is no room to measure, with the sentence of `queries` that says why."""
    if not plan.rooms:
        says = next((q.says for q in queries if q.kind == "no-closed-room"), "No room was found in the drawing.")
        raise DrawingError(says)


def _open_queries(plan: Plan, job: Job) -> tuple[Query, ...]:
    """The queries of the reading, without those that the job's heights answer."""
    return tuple(q for q in plan.queries if not height_is_told(q, job))


def settled(
    queries: Sequence[Query], job: Job, before: Sequence[Query] = (), priced: bool = False
) -> tuple[tuple[Query, ...], tuple[Query, ...]]:
    """The queries still open, numbered, and those that the job file accepts as they stand.

    Raises `JobError` for an [[accept]] row that matches no query, now or among those accepted `before`. Rows for
    queries that only the programme asks wait until the job is `priced`.
    """
    accepted: list[Query] = []
    for number, row in enumerate(job.accept):
        hits = [q for q in [*queries, *before] if q.kind == row.kind and (not row.about or row.about in q.about)]
        waits = load("queries").get(row.kind, {}).get("stage") == "programme" and not priced
        if not hits and not waits:
            known = ", ".join(sorted({q.kind for q in queries})) or "none is asked"
            raise job.error(("accept", number), "settles nothing that is asked", f"one of the kinds asked: {known}")
        accepted += [q for q in hits if q in queries]
    return numbered(q for q in queries if q not in accepted), tuple(dict.fromkeys(accepted))
