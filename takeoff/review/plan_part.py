"""The part of a job file that the reading of its drawing hangs on.

Where this part is the same, the plan is the same: so it is what a plan is kept by, and all that `understand` is given.
"""

from __future__ import annotations

from takeoff.job import Job

__all__ = ["BLIND", "ground_key", "plan_key", "plan_part", "unnamed"]

BLIND = frozenset(
    {
        "job", "heights", "measure", "opening_kinds", "wall_types", "surfaces", "build_ups", "materials", "waste",
        "order", "framing", "boards", "beads", "mixing", "labour", "gang", "services", "conditions", "findings",
        "alternatives", "price", "risk", "accept",
    }
)  # fmt: skip
"""Tables that the plan does not hang on."""
ROOM_KEYS = {"name"}
OPENING_KEYS = {"kind", "width", "height", "sill", "ignore"}


def plan_part(job: Job) -> Job:
    """`job` without what the plan does not hang on; errors still name its file and lines.

    Rows of rooms and openings that say nothing to the plan go; that their rooms and openings are there is checked
    where the work is planned.
    """
    kept = {name: getattr(job, name) for name in type(job).model_fields if name not in BLIND}
    rooms = {ref: row.model_copy(update=_unset(row, ROOM_KEYS)) for ref, row in job.rooms.items()}
    openings = {ref: row.model_copy(update=_unset(row, OPENING_KEYS)) for ref, row in job.openings.items()}
    kept["rooms"] = {ref: row for ref, row in rooms.items() if row != type(row)()}
    kept["openings"] = {ref: row for ref, row in openings.items() if row != type(row)()}
    part = Job.model_construct(**kept)
    part.adopt(job, "")
    return part


def _unset(row: object, kept: set[str]) -> dict[str, object]:
    """The default of every key of `row` that is not `kept`."""
    model = type(row)
    return {name: field.default for name, field in model.model_fields.items() if name not in kept}  # type: ignore[attr-defined]


def unnamed(part: Job) -> Job:
    """A part without its names of rooms."""
    return part.model_copy(update={"rooms": {}})


def ground_key(part: Job) -> str:
    """Equal for two parts whose plans stand on one ground, see `takeoff.pipeline.Ground`."""
    return part.model_dump_json(include={"drawing", "wall", "opening"})


def plan_key(job: Job) -> str:
    """Equal for two jobs whose plans are equal."""
    return plan_part(job).model_dump_json()
