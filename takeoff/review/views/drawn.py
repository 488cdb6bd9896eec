"""The drawing as it is drawn: lines in one block of numbers, texts, layers with what they were taken for."""

from __future__ import annotations

import base64
import hashlib
from collections import Counter

import numpy as np
import numpy.typing as npt

from takeoff.documents.safe_text import clean
from takeoff.drawing.model import Drawing
from takeoff.plan.model import Plan
from takeoff.review.views.values import Json, Place, place_in, rounded

__all__ = ["drawn_lines", "plan_mark"]


def plan_mark(drawing: Drawing, plan: Plan) -> str:
    """Changes when the lines, the unit, the storeys or the layers' use change."""
    told = (drawing.sha256, plan.metres_per_unit, plan.origin_m, plan.storeys, sorted(plan.layer_use.items()))
    kept = (len(drawing.segments.ends), len(drawing.entities))
    return hashlib.sha256(repr((told, kept, plan.unit_evidence)).encode()).hexdigest()[:16]


def drawn_lines(drawing: Drawing, plan: Plan, ignored: frozenset[str] = frozenset()) -> Json:
    """The answer of /api/plan. `drawing` in metres; `ignored`: layers that the job file leaves out.

    `segments` are local: add `origin`. All other places are metres on the drawing's axes.
    """
    place = place_in(plan)
    x, y = plan.origin_m
    return {
        "plan_mark": plan_mark(drawing, plan),
        "origin": [x, y],
        "plans": [
            {"ref": s.ref, "title": clean(s.title), "bounds": place(s.bounds[:2]) + place(s.bounds[2:])}
            for s in plan.storeys
        ],
        "layers": _layers(drawing, plan, ignored),
        "entities": [{"handle": e.handle, "layer": e.layer} for e in drawing.entities],
        "segments": _packed(drawing.segments.ends.astype("<f4")),
        "entity_of": _packed(drawing.segments.entity.astype("<u4")),
        "texts": _texts(drawing, place),
        "unit": {
            "name": plan.unit,
            "metres_per_unit": plan.metres_per_unit,
            "evidence": [
                {"witness": e.witness, "unit": e.unit, "says": clean(e.says), "weight": rounded(e.weight)}
                for e in plan.unit_evidence
            ],
        },
    }


def _packed(numbers: npt.NDArray[np.generic]) -> str:
    return base64.b64encode(np.ascontiguousarray(numbers).tobytes()).decode("ascii")


def _layers(drawing: Drawing, plan: Plan, ignored: frozenset[str]) -> list[Json]:
    count = Counter(entity.layer for entity in drawing.entities)
    return [
        {
            "name": clean(layer.name),
            "role": plan.layer_use.get(layer.name, ""),
            "entities": count[number],
            "ignored": layer.name in ignored,
        }
        for number, layer in enumerate(drawing.layers)
    ]


def _texts(drawing: Drawing, place: Place) -> list[Json]:
    return [
        {
            "at": place(text.at),
            "text": clean(text.value),
            "height": rounded(text.height),
            "angle": rounded(text.rotation),
        }
        for text in drawing.texts
        if text.value.strip()
    ]
