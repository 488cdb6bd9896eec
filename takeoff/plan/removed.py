"""What is drawn only to be taken down: layers whose names say that what is on them goes.

The rooms to plaster are those that are there afterwards: a wall that goes is no wall, the hole it leaves is an opening.
"""

from __future__ import annotations

import json

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.drawing.told import numbers_of, without
from takeoff.geometry.cluster import Floats
from takeoff.geometry.vectors import lengths
from takeoff.job import Job
from takeoff.plan.layers import layer_roles
from takeoff.query import Query, query

__all__ = ["TO_GO", "without_what_goes"]

TO_GO = "layer to be removed, by its name"
"""Reason in `Drawing.left_out`, and what such a layer is used for."""
_MOST = 0.4
"""Where layers that go hold more than this share of all that is drawn, the drawing shows the taking down itself and is
read whole (common practice: a drawing of what will be shows little of what goes)."""
_ASKED = frozenset({"wall", "column", "door", "window", "opening", "unknown"})
"""Roles whose going changes rooms."""


def without_what_goes(drawing: Drawing, job: Job) -> tuple[Drawing, list[Query]]:
    """`drawing` without the layers whose names say that they are to be removed and that `job` does not keep, and the
    question whether they are. Raises `JobError` for a layer to keep that the drawing has not.
    """
    roles, kept = layer_roles(drawing), numbers_of(drawing, job, "keep_layers")
    named = frozenset(n for n, role in enumerate(roles) if role.status == "remove" and n not in kept)
    length = _lengths(drawing) if named else np.zeros(len(roles))
    going = frozenset(n for n in named if length[n] > 0)
    if not going or length[sorted(going)].sum() > _MOST * length.sum():
        return drawing, []
    names = [drawing.layers[n].name for n in sorted(going) if roles[n].name in _ASKED]
    return without(drawing, going, TO_GO), _asked(names, job) if names else []


def _lengths(drawing: Drawing) -> Floats:
    """How much line each layer holds, in the units of the drawing."""
    ends, layer = drawing.segments.ends, drawing.layer_numbers[drawing.segments.entity]
    length = lengths(ends)
    return np.asarray(np.bincount(layer, length, len(drawing.layers)), dtype=np.float64)


def _asked(names: list[str], job: Job) -> list[Query]:
    keys = ", ".join(json.dumps(name, ensure_ascii=False) for name in (*job.drawing.keep_layers, *names))
    return [
        query(
            "walls-to-go",
            f"What is on layer {', '.join(names)} is to be removed, by the layer's name, and is left out: rooms are "
            "measured without it. If it stays, keep the layer in the job file.",
            answer=f"[drawing]\nkeep_layers = [{keys}]",
        )
    ]
