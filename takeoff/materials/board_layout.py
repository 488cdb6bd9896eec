"""All surfaces of one board laid: plot by plot in several ways, then layouts and sheets chosen together.

A plot is laid a few times over, surface by surface with the off-cuts of those before, each time with another idea of
what off-cuts are worth and in which order the surfaces come; the best is laid better where sheets are little used. From
what was good in any of these, layouts and sheets are then chosen together. Plots that are alike are laid once; at the
end the sheets of all plots are cut anew together. Nothing depends on chance or time: the same input, the same layout.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import cycle, islice, pairwise
from random import Random

from takeoff.materials.board_choice import Choice, choose, faces_by_ref, good_choices
from takeoff.materials.board_faces import Face
from takeoff.materials.board_mend import lay_anew
from takeoff.materials.board_offcuts import Blank, Stack, Worth
from takeoff.materials.board_rules import BoardSpec
from takeoff.materials.board_together import Option, Standing, cut_together, recut
from takeoff.materials.model import plot_of
from takeoff.measure.model import Surface

__all__ = ["Plan", "lay"]

MOST_SURFACES = 150
"""Laid at once; a larger plot is laid in parts, by rooms."""
FEWEST_STARTS, MOST_STARTS, STARTS_FOR_ALL = 2, 20, 160
"""Times that a plot is laid from nothing, more where there are few surfaces."""
SEED = 1
FEWEST_TRIES, MOST_TRIES, TRIES_FOR_ALL = 8, 150, 1600
"""Sets of surfaces laid anew at the end, more where there are few surfaces: a count, not a time, so that the same input
gives the same layout."""

Under = Mapping[str, Mapping[str, Sequence[float]]]
"""Long joints of the layer beneath by surface and direction."""


@dataclass(frozen=True)
class Plan:
    """Every surface with its choice, and the stack all pieces are cut from."""

    choices: tuple[Choice, ...]
    stack: Stack
    left_out: tuple[str, ...]
    """Refs of surfaces no sheet serves or whose shape is not known."""

    @property
    def cost(self) -> float:
        return self.stack.cost + sum(choice.weight for choice in self.choices)

    @property
    def blanks(self) -> dict[str, Blank]:
        """All that is cut, by name."""
        return {draft.blank.ref: draft.blank for choice in self.choices for draft in choice.drafts}

    @property
    def standing(self) -> Standing:
        return Standing(self.stack, self.blanks)


def lay(surfaces: Sequence[Surface], spec: BoardSpec, under: Under | None = None) -> Plan:
    """The cheapest plan found for `surfaces`. Rooms of several plots that are laid as one job are named PLOT/ROOM."""
    job = _Job(faces_by_ref(surfaces, spec), spec, under or {})
    plots = _runs(surfaces, lambda before, s, _: plot_of(before.room) != plot_of(s.room))
    return _joined([job.once(plot, job.plot) for plot in plots])


@dataclass(frozen=True)
class _Job:
    """What plots are laid with, and those laid so far."""

    faces: Mapping[str, tuple[Face, ...]]
    spec: BoardSpec
    under: Under
    laid: dict[Hashable, tuple[Sequence[Surface], Plan]] = field(default_factory=dict)

    def once(self, surfaces: Sequence[Surface], make: Callable[[Sequence[Surface]], Plan]) -> Plan:
        """What `make` makes of them, or what it made of others like them."""
        alike = ((*(id(face.known) for face in self.faces[s.ref]), _beneath(self.under, s.ref)) for s in surfaces)
        key = (*alike, *(s.room == before.room for before, s in pairwise(surfaces)))
        if key not in self.laid:
            self.laid[key] = (surfaces, make(surfaces))
            return self.laid[key][1]
        return _again(*self.laid[key], surfaces, self.faces)

    def plot(self, surfaces: Sequence[Surface]) -> Plan:
        """A plot laid, a large one in parts of whole rooms."""
        parts = _runs(surfaces, lambda before, s, n: before.room != s.room and n >= MOST_SURFACES)
        return _joined([self.once(part, self.part) for part in parts])

    def part(self, surfaces: Sequence[Surface]) -> Plan:
        return _laid(surfaces, self.faces, self.spec, self.under)


def _runs(surfaces: Sequence[Surface], ends: Callable[[Surface, Surface, int], bool]) -> Iterator[list[Surface]]:
    """Surfaces one after another, a new run where ``ends(before, surface, length so far)``."""
    run: list[Surface] = []
    for surface in surfaces:
        if run and ends(run[-1], surface, len(run)):
            yield run
            run = []
        run.append(surface)
    if run:
        yield run


def _beneath(under: Under, ref: str) -> Hashable:
    return tuple((direction, tuple(places)) for direction, places in under.get(ref, {}).items())


def _laid(surfaces: Sequence[Surface], faces: Mapping[str, tuple[Face, ...]], spec: BoardSpec, under: Under) -> Plan:
    ideas = _ideas(surfaces, spec)
    starts = max(FEWEST_STARTS, min(MOST_STARTS, STARTS_FOR_ALL // len(surfaces)))
    orders = islice(_orders(surfaces), starts)
    plans = [_lay_once(order, faces, spec, worth, under) for worth, order in zip(cycle(ideas), orders, strict=False)]
    plans.sort(key=lambda plan: plan.cost)
    tries = max(FEWEST_TRIES, min(MOST_TRIES, TRIES_FOR_ALL // len(surfaces)))
    first = plans[0]
    by_ref = {c.face.surface.ref: c for c in first.choices}
    stack, by_ref = lay_anew(first.stack, by_ref, faces, under, ideas, tries)
    plans.insert(0, Plan(tuple(by_ref[s.ref] for s in surfaces if s.ref in by_ref), stack, first.left_out))
    return _together(plans, faces, spec, under)


def _together(plans: Sequence[Plan], faces: Mapping[str, tuple[Face, ...]], spec: BoardSpec, under: Under) -> Plan:
    """The best of all layouts of the plans and of those that were good on the way, cut together."""
    first = plans[0]
    by_ref = [{c.face.surface.ref: c for c in plan.choices} for plan in plans]
    found = []
    for choice in first.choices:
        ref = choice.face.surface.ref
        more = [own[ref] for own in by_ref if ref in own]
        found.append(list(dict.fromkeys([choice, *more, *good_choices(faces[ref], spec, under.get(ref, {}))])))
    options = [[Option(tuple(d.blank for d in c.drafts), c.weight) for c in own] for own in found]
    stack, chosen = cut_together(options, [plan.standing for plan in plans])
    best = Plan(tuple(own[n] for own, n in zip(found, chosen, strict=True)), stack, first.left_out)
    return replace(best, stack=recut(stack, list(best.blanks.values())))


def _again(
    before: Sequence[Surface], plan: Plan, surfaces: Sequence[Surface], faces: Mapping[str, tuple[Face, ...]]
) -> Plan:
    """A plan for surfaces like those of another plot."""
    same = {old.ref: new.ref for old, new in zip(before, surfaces, strict=True)}
    choices = tuple(c.on(_like(c.face, faces[same[c.face.surface.ref]])) for c in plan.choices)
    names = {
        old.blank.ref: new.blank.ref
        for was, now in zip(plan.choices, choices, strict=True)
        for old, new in zip(was.drafts, now.drafts, strict=True)
    }
    stack = plan.stack.copy()
    stack.cuts = [replace(cut, blank=names[cut.blank]) for cut in stack.cuts]
    return Plan(choices, stack, tuple(same[ref] for ref in plan.left_out))


def _like(face: Face, faces: Sequence[Face]) -> Face:
    return next(other for other in faces if other.direction == face.direction)


def _joined(plans: Sequence[Plan]) -> Plan:
    """All as one, their sheets cut anew together."""
    if len(plans) == 1:
        return plans[0]
    stack = Stack(plans[0].stack.spec, plans[0].stack.worth)
    for plan in plans:
        begun = len(stack.sheets)
        stack.sheets += plan.stack.sheets
        stack.cuts += [replace(cut, sheet=cut.sheet + begun) for cut in plan.stack.cuts]
        stack.given_up |= {sheet + begun for sheet in plan.stack.given_up}
    whole = Plan(tuple(c for plan in plans for c in plan.choices), stack, tuple(r for p in plans for r in p.left_out))
    return replace(whole, stack=recut(stack, list(whole.blanks.values())))


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
    under: Under,
) -> Plan:
    stack, choices, left_out = Stack(spec, worth), {}, []
    for surface in surfaces:
        found = choose(faces[surface.ref], spec, stack, under.get(surface.ref, {})) if faces[surface.ref] else None
        if found is None:
            left_out.append(surface.ref)
            continue
        choices[surface.ref], stack = found
    return Plan(tuple(choices.values()), stack, tuple(left_out))
