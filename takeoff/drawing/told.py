"""What the job file says of a drawing as a whole: layers that take no part, and the length of one line.

Terms:
  known length  the true length between two points of the drawing; it settles how long a drawing unit is.
  own scale     a drawing unit that is none of mm, cm, m, in or ft: the drawing was scaled.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from takeoff.drawing.lengths import METRES
from takeoff.drawing.model import Arcs, Drawing, Entity, Ints, LeftOut, Segments, UnitEvidence, UnitFinding
from takeoff.drawing.units import settle_unit
from takeoff.job import Job
from takeoff.job_tables import KnownLength

__all__ = ["IGNORED", "OWN_SCALE", "numbers_of", "settled_unit", "without", "without_layers"]

IGNORED = "layer ignored by the job file"
"""Reason in `Drawing.left_out`, and what such a layer is used for."""
OWN_SCALE = "own scale"
"""Name of the unit of a drawing that is in none."""
_TAPE = 0.02
"""A known length this near one of the units means that unit: the share that a tape and two clicked points are out."""


def without_layers(drawing: Drawing, job: Job) -> Drawing:
    """`drawing` without what lies on the layers that `job` ignores, blocks inserted on them included; counted in
    `left_out`.

    Raises `JobError` for a layer that the drawing has not.
    """
    if not job.drawing.ignore_layers:
        return drawing
    return without(drawing, numbers_of(drawing, job, "ignore_layers"), IGNORED)


def without(drawing: Drawing, layers: frozenset[int], reason: str) -> Drawing:
    """`drawing` without what lies on the `layers` (numbers), blocks inserted on them included; `left_out` counts it."""
    hidden = np.array([_hidden_by(drawing, e, layers) for e in drawing.entities], dtype=np.int64)
    counts = Counter(hidden.tolist())
    rows = tuple(LeftOut(reason, drawing.layers[n].name, counts[n]) for n in sorted(layers))
    return replace(_kept(drawing, hidden < 0, layers), left_out=(*drawing.left_out, *rows))


def numbers_of(drawing: Drawing, job: Job, key: str) -> frozenset[int]:
    """Numbers of the layers that [drawing] names under `key`; names of layers are told apart without regard to capitals
    (DXF reference). Raises `JobError` for a layer that the drawing has not.
    """
    wanted: tuple[str, ...] = getattr(job.drawing, key)
    by_name: dict[str, list[int]] = {}
    for n, layer in enumerate(drawing.layers):
        by_name.setdefault(layer.name.casefold(), []).append(n)
    for name in wanted:
        if name.casefold() not in by_name:
            names = ", ".join(sorted(layer.name for layer in drawing.layers)[:20])
            raise job.error(("drawing", key), f"the drawing has no layer {name}", f"layers among: {names}")
    return frozenset(n for name in wanted for n in by_name[name.casefold()])


def _hidden_by(drawing: Drawing, entity: Entity, layers: frozenset[int]) -> int:
    """Which of the `layers` an entity is on, or a block that holds it is inserted on; -1 for none."""
    if entity.layer in layers:
        return entity.layer
    symbol = entity.inner if entity.inner >= 0 else entity.symbol
    while symbol >= 0:
        if drawing.symbols[symbol].layer in layers:
            return drawing.symbols[symbol].layer
        symbol = drawing.symbols[symbol].parent
    return -1


def _kept(drawing: Drawing, kept: npt.NDArray[np.bool_], layers: frozenset[int]) -> Drawing:
    """`drawing` with the entities masked by `kept` only, numbered afresh."""
    number = _renumbered(kept)
    own_arcs = kept[drawing.arcs.entity]
    arc_number = _renumbered(own_arcs)
    own = kept[drawing.segments.entity]
    segments = drawing.segments
    return replace(
        drawing,
        entities=tuple(e for e, keep in zip(drawing.entities, kept, strict=True) if keep),
        segments=Segments(segments.ends[own], number[segments.entity[own]], arc_number[segments.arc[own]]),
        arcs=Arcs(drawing.arcs.shape[own_arcs], number[drawing.arcs.entity[own_arcs]]),
        regions=tuple(replace(r, entity=int(number[r.entity])) for r in drawing.regions if kept[r.entity]),
        texts=tuple(replace(t, entity=int(number[t.entity])) for t in drawing.texts if kept[t.entity]),
        dimensions=tuple(d for d in drawing.dimensions if d.layer not in layers),
    )


def _renumbered(kept: npt.NDArray[np.bool_]) -> Ints:
    """The new number of everything kept; one more at the end, so that -1 stays -1."""
    number = np.where(kept, np.cumsum(kept) - 1, -1)
    return np.append(number, -1).astype(np.int32)


def settled_unit(drawing: Drawing, job: Job) -> UnitFinding:
    """The unit of `drawing` (in drawing units): by the known length of `job` where it gives one, else as
    `takeoff.drawing.units` finds.

    Raises `JobError` for a known length without length, or at odds with the unit that the job file gives.
    """
    known = job.drawing.known_length
    found = settle_unit(drawing, None if known else job.drawing.unit)
    if known is None:
        return found
    drawn = math.dist(known.from_, known.to)
    if drawn == 0:
        raise job.error(("drawing", "known_length"), "its two points are one", "two points apart")
    scale = known.length / drawn
    unit = min(METRES, key=lambda name: abs(math.log(scale / METRES[name])))
    unit, metres = (unit, METRES[unit]) if abs(scale / METRES[unit] - 1) <= _TAPE else (OWN_SCALE, scale)
    told = job.drawing.unit
    if told and told != unit:
        wrong = f"makes one drawing unit {scale:.6g} m, but [drawing] unit says {told}, {METRES[told]:.6g} m"
        raise job.error(("drawing", "known_length"), wrong, "one of the two without the other")
    return UnitFinding(unit, metres, (_witness(known, drawn, unit, metres, found), *found.evidence))


def _witness(known: KnownLength, drawn: float, unit: str, metres: float, found: UnitFinding) -> UnitEvidence:
    """What the known length says, and how that agrees with the rest of the drawing."""
    says = f"the job file says that a line of {drawn:.6g} drawing units is {known.length:.6g} m long"
    says += f": {known.length / drawn:.6g} m a unit"
    if unit != OWN_SCALE:
        off = known.length / drawn / metres - 1
        says += f", taken as {unit} ({abs(off):.1%} off, as a tape may be)" if abs(off) > 5e-4 else f", which is {unit}"
    if found.unit == unit:
        says += "; the drawing itself speaks for the same"
    else:
        says += f", though the drawing itself speaks rather for {found.unit}"
    return UnitEvidence("known length", unit, says, 1.0)
