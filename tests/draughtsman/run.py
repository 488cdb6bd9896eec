"""One plan through reading, unit and understanding, scored."""

from __future__ import annotations

from dataclasses import replace

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.units import settle_unit
from takeoff.errors import DrawingError
from takeoff.job import Job
from takeoff.plan.model import Plan
from tests.draughtsman.cases import Case, Vice, make
from tests.draughtsman.score import Score, score
from tests.draughtsman.write import document_of, read_in_memory


def understood(drawing: Drawing) -> Plan:
    """The plan of a drawing as read, with every query of the stages before it."""
    from takeoff.plan.understand import understand

    unit = settle_unit(drawing, None)
    plan = understand(in_metres(drawing, unit.metres_per_unit), unit, Job())
    return replace(plan, queries=(*drawing.queries, *unit.queries, *plan.queries))


def read_case(case: Case) -> Drawing:
    return read_in_memory(document_of(case.strokes, case.page))


def attempt(kind: str, seed: int, vice: Vice, strength: float) -> Score:
    """The score of one plan with one vice. A drawing refused in words is wrong in every room but not silent."""
    case = make(kind, seed, ((vice, strength),))
    truth = case.truth(f"{kind} {seed}")
    counted = [r for r in truth["rooms"] if not r["optional"]]
    try:
        plan = understood(read_case(case))
    except DrawingError as refusal:
        return Score(rooms=len(counted), openings=len(truth["openings"]), places=[f"REFUSED {refusal}"])
    return score(truth, plan)


def kinds_of(vice: Vice, every: tuple[str, ...]) -> tuple[str, ...]:
    """The kinds of building among `every` that a vice makes sense on."""
    return tuple(k for k in every if not vice.kinds or k in vice.kinds)
