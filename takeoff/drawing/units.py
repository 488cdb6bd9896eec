"""The unit of a drawing, weighed from what is drawn; see `settle_unit`."""

from __future__ import annotations

import numpy as np

from takeoff.drawing.model import Drawing, UnitEvidence, UnitFinding

__all__ = ["METRES", "settle_unit"]

METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Metres in each unit; the inch is 25.4 mm exactly (international yard and pound agreement, 1959)."""
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m"}


def settle_unit(drawing: Drawing, told: str | None) -> UnitFinding:
    """The unit of `drawing`; `told` (from the job file) settles it."""
    if told:
        return UnitFinding(told, METRES[told], (UnitEvidence("job file", told, "the job file says so", 1.0),))
    score = dict.fromkeys(METRES, 0.0)
    arcs = drawing.arcs.shape
    quarter = arcs[(arcs[:, 4] > 1.2) & (arcs[:, 4] < 1.7), 2]
    ends = drawing.segments.ends
    span = np.ptp(np.quantile(ends.reshape(-1, 2), [0.05, 0.95], axis=0), axis=0).max()
    for unit, k in METRES.items():
        if len(quarter):
            score[unit] += float(np.mean((quarter * k > 0.6) & (quarter * k < 1.0)))
        score[unit] += 0.5 if 5 < span * k < 70 else 0.0
        score[unit] += 0.1 if _INSUNITS.get(drawing.insunits or 0) == unit else 0.0
    unit = max(score, key=lambda u: score[u])
    return UnitFinding(unit, METRES[unit], (UnitEvidence("door swings", unit, "first weighing", score[unit]),))
