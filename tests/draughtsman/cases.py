"""One generated plan with its truth: a building, the manner it is drawn in, the vices put on top."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from tests.draughtsman.buildings import KINDS
from tests.draughtsman.hand import Manner, draw
from tests.draughtsman.strokes import Stroke
from tests.draughtsman.world import Building, TrueRoom, truth_json
from tests.draughtsman.write import METRES, Page

GAP = 6.0
"""Between storeys on one sheet, metres."""


@dataclass(frozen=True)
class Case:
    """A plan on its way to paper. Vices replace parts of it, stage by stage."""

    buildings: tuple[Building, ...]
    manner: Manner
    page: Page
    strokes: tuple[Stroke, ...] = ()

    def truth(self, name: str) -> dict[str, Any]:
        """In sheet metres."""
        placed = []
        for b in self.buildings:
            rooms = tuple(replace(r, polygon=self.page.on_sheet(r.polygon)) for r in b.rooms)
            openings = tuple(
                replace(o, a=self.page.point_on_sheet(o.a), b=self.page.point_on_sheet(o.b)) for o in b.openings)
            placed.append(replace(b, rooms=rooms, openings=openings))
        return truth_json(placed, METRES[self.page.unit], name)


Change = Callable[[Case, float, Random], Case]


@dataclass(frozen=True)
class Vice:
    """A bad habit. `before` changes what is drawn and how, `after` the strokes and the page."""

    name: str
    strengths: tuple[float, ...]
    before: Change | None = None
    after: Change | None = None
    kinds: tuple[str, ...] = ()
    """Buildings it makes sense on; () for all."""
    says: str = ""
    """What the strength means."""


def tidy_manner(rng: Random) -> Manner:
    """One of the orderly manners."""
    return Manner(
        walls=rng.choice(("lines", "lines", "polylines", "hatched")), bonded=rng.random() < 0.7,
        leaf_lines=rng.choice((1, 2)), window_lines=rng.choice((2, 3, 4)), blocks=rng.random() < 0.7,
        attributes=rng.random() < 0.3, labels=rng.choice(("name", "name and area")), dims=rng.choice(("", "outside")))


def make(kind: str, seed: int, vices: tuple[tuple[Vice, float], ...] = ()) -> Case:
    """The plan of `kind` ('three storeys' or one of `KINDS`) and `seed` with `vices`, each at its strength."""
    rng = Random(f"{kind} {seed}")
    case = Case(buildings_of(kind, seed), tidy_manner(rng), Page(unit=rng.choice(("mm", "mm", "mm", "m", "cm"))))
    for vice, strength in vices:
        if vice.before:
            case = vice.before(case, strength, rng)
    strokes = tuple(s for b in case.buildings for s in draw(b, case.manner, rng))
    case = replace(case, strokes=strokes)
    for vice, strength in vices:
        if vice.after:
            case = vice.after(case, strength, rng)
    return case


def buildings_of(kind: str, seed: int) -> tuple[Building, ...]:
    if kind != "three storeys":
        return (KINDS[kind](seed),)
    found: list[Building] = []
    x = 0.0
    for n, title in enumerate(("Ground floor plan", "First floor plan", "Second floor plan")):
        b = KINDS["house"](seed * 10 + n)
        x0, _, x1, _ = b.outline.bounds
        found.append(replace(b.moved(x - x0, 0.0), title=title))
        x += x1 - x0 + GAP
    return tuple(found)


def thin(building: Building) -> Building:
    """The same building drawn with walls of no thickness: rooms grow to the middle of their walls."""
    t = building.inner_thick
    rooms = tuple(
        TrueRoom(r.polygon.buffer(t / 2, join_style="mitre"), r.name, r.optional, r.undrawn) for r in building.rooms)
    moved = []
    for o in building.openings:
        shift = 0.0 if abs(o.thick - t) < 1e-9 else (o.thick - t) / 2
        moved.append(replace(o, a=_in(o, o.a, shift, building), b=_in(o, o.b, shift, building), thick=0.0))
    return replace(building, rooms=rooms, openings=tuple(moved), outer_thick=t / 2, runs=())


def _in(o: Any, p: tuple[float, float], by: float, building: Building) -> tuple[float, float]:
    """A jamb moved from the middle of the outer wall to the line that stands for it."""
    if by == 0.0:
        return p
    from shapely import Point

    nx, ny = -(o.b[1] - o.a[1]) / o.width, (o.b[0] - o.a[0]) / o.width
    options = [(p[0] + s * nx * by, p[1] + s * ny * by) for s in (1, -1)]
    return min(options, key=lambda q: Point(q).distance(building.inside))
