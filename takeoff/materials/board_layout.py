"""All surfaces of one board laid: surface by surface with the off-cuts of those before, in several ways, then mended.

The whole job is laid a few times over, each time with another idea of what off-cuts are worth and in which order the
surfaces come; the cheapest is kept. Then sheets that are little used are given up where their pieces can be had from
other off-cuts or from a smaller sheet. Nothing depends on chance or time: the same input gives the same layout.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import cycle, islice
from random import Random

from takeoff.materials.board_choice import Choice, choose, faces_by_ref
from takeoff.materials.board_faces import Face
from takeoff.materials.board_mend import lay_anew
from takeoff.materials.board_offcuts import Stack, Worth
from takeoff.materials.board_patterns import recut
from takeoff.materials.board_rules import BoardSpec
from takeoff.measure.model import Surface

__all__ = ["Plan", "lay"]

MANY_SURFACES = 400
"""Of more surfaces than this, a block of flats, the first order tried is kept."""
FEWEST_STARTS, MOST_STARTS, STARTS_FOR_ALL = 2, 20, 160
"""Times that the whole job is laid from nothing, more where there are few surfaces."""
BEST_STARTS = 3
"""Of these so many are mended."""
SEED = 1
FEWEST_TRIES, MOST_TRIES, TRIES_FOR_ALL = 8, 60, 2400
"""Sets of surfaces laid anew at the end, more where there are few surfaces: a count, not a time, so that the same input
gives the same layout."""


@dataclass(frozen=True)
class Plan:
    """Every surface with its choice, and the stack all pieces are cut from."""

    choices: tuple[Choice, ...]
    stack: Stack
    left_out: tuple[str, ...]
    """Refs of surfaces no sheet serves or whose shape is not known."""


def lay(
    surfaces: Sequence[Surface], spec: BoardSpec, under: Mapping[str, Mapping[str, Sequence[float]]] | None = None
) -> Plan:
    """The cheapest plan found for `surfaces`. `under`: long joints of the layer beneath by surface and direction."""
    faces = faces_by_ref(surfaces, spec)
    below = under or {}
    ideas = _ideas(surfaces, spec)
    starts = max(FEWEST_STARTS, min(MOST_STARTS, STARTS_FOR_ALL // len(surfaces)))
    orders = islice(_orders(surfaces), 1 if len(surfaces) > MANY_SURFACES else starts)
    plans = [_lay_once(order, faces, spec, worth, below) for worth, order in zip(cycle(ideas), orders, strict=False)]
    plans.sort(key=_cost)
    tries = max(FEWEST_TRIES, min(MOST_TRIES, TRIES_FOR_ALL // len(surfaces)))
    mended = []
    for plan in plans[: BEST_STARTS if len(plans) > FEWEST_STARTS else 1]:
        by_ref = {c.face.surface.ref: c for c in plan.choices}
        stack, by_ref = lay_anew(plan.stack, by_ref, faces, below, ideas, tries)
        stack = recut(stack, [d.blank for c in by_ref.values() for d in c.drafts])
        mended.append(Plan(tuple(by_ref[s.ref] for s in surfaces if s.ref in by_ref), stack, plan.left_out))
    return min(mended, key=_cost)


def _cost(plan: Plan) -> float:
    return plan.stack.cost + sum(choice.weight for choice in plan.choices)


def _ideas(surfaces: Sequence[Surface], spec: BoardSpec) -> tuple[Worth, ...]:
    """Ideas of what off-cuts are worth."""
    heights = [s.height_m * 1000.0 for s in surfaces if s.kind == "wall"]
    tall = min((h for h in heights if h > 1800.0), default=1800.0)
    return (
        Worth(spec, tall),
        Worth(spec, tall, tall_strip=0.97, short_strip=0.5, whole_width=0.7, cut_round=0.1),
        Worth(spec, tall, tall_strip=0.8, short_strip=0.2, whole_width=0.4, cut_round=0.05),
        Worth(spec, tall, tall_strip=0.98, short_strip=0.95, whole_width=0.95, cut_round=0.3),
    )


def _orders(surfaces: Sequence[Surface]) -> Iterator[list[Surface]]:
    """Orders to lay surfaces in: walls first, ceilings first, then as drawn with a fixed seed."""
    order = {"wall": 0, "ceiling": 1, "pier": 2, "reveal": 3}
    yield sorted(surfaces, key=lambda s: order[s.kind])
    yield sorted(surfaces, key=lambda s: (s.kind != "ceiling", order[s.kind]))
    draw = Random(SEED)
    while True:
        yield draw.sample(surfaces, len(surfaces))


def _lay_once(
    surfaces: Sequence[Surface],
    faces: Mapping[str, tuple[Face, ...]],
    spec: BoardSpec,
    worth: Worth,
    under: Mapping[str, Mapping[str, Sequence[float]]],
) -> Plan:
    stack, choices, left_out = Stack(spec, worth), [], []
    for surface in surfaces:
        found = choose(faces[surface.ref], spec, stack, under.get(surface.ref, {})) if faces[surface.ref] else None
        if found is None:
            left_out.append(surface.ref)
            continue
        choice, stack = found
        choices.append(choice)
    return Plan(tuple(choices), stack, tuple(left_out))
