"""Bad habits with symbols, layers, units, blocks and whole sheets, and buildings that are hard to draw well."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from random import Random

from shapely import Polygon

from tests.draughtsman.cases import Case, thin
from tests.draughtsman.strokes import Arc, Line, Part, Poly, Spline, Stroke, Symbol, each_part, ring_lines
from tests.draughtsman.strokes import exploded as taken_apart
from tests.draughtsman.world import Building, Facing, TrueOpening, Xy, facings, strip
from tests.draughtsman.write import INSUNITS, LAYERS


def manner(**of_strength: Callable[[float], object]) -> Callable[[Case, float, Random], Case]:
    """A change of the manner alone: each keyword gives a field's value from the strength."""
    return lambda case, x, _rng: replace(
        case, manner=replace(case.manner, **{k: f(x) for k, f in of_strength.items()}))  # type: ignore[arg-type]



# Everything drawn ------------------------------------------------------------------------------------------


def exploded(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, strokes=tuple(taken_apart(case.strokes)))


def no_flag(case: Case, _x: float, _rng: Random) -> Case:
    def change(p: Part) -> list[Part]:
        return [replace(p, flag=False)] if isinstance(p, Poly) else [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def splines(case: Case, _x: float, _rng: Random) -> Case:
    def change(p: Part) -> list[Part]:
        if isinstance(p, Arc) and abs(p.end - p.start) < 360:
            return [Spline(p.role, tuple(p.points(8)))]
        return [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def chopped(case: Case, _x: float, _rng: Random) -> Case:
    """Arcs as short lines, as some exports give them."""
    def change(p: Part) -> list[Part]:
        return list(ring_lines(p.role, p.points(12))) if isinstance(p, Arc) else [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def layers(case: Case, x: float, rng: Random) -> Case:
    """1 names that say nothing, 2 all on layer 0, 3 walls on the columns' layer, doors on the furniture's."""
    if x == 1:
        layers = {role: f"L{rng.randrange(10**6):06d}" for role in LAYERS}
    elif x == 2:
        layers = dict.fromkeys(LAYERS, "0")
    else:
        layers = LAYERS | {"wall": LAYERS["column"], "door": LAYERS["furniture"], "window": LAYERS["wall"]}
    return replace(case, page=replace(case.page, layers=layers))


def claims(case: Case, x: float, _rng: Random) -> Case:
    """The header says 0 nothing, 1 inches, 4 millimetres, 6 metres; the drawing is in another unit."""
    unit = {0: "m", 1: "mm", 4: "m", 6: "cm"}[int(x)]
    return replace(case, page=replace(case.page, unit=unit, claims=int(x)))


def unit(case: Case, x: float, _rng: Random) -> Case:
    """Drawn in unit $INSUNITS `x`, said rightly."""
    unit = next(u for u, code in INSUNITS.items() if code == int(x))
    return replace(case, page=replace(case.page, unit=unit))


def turned(case: Case, degrees: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, turn=degrees))


def far(case: Case, metres: float, rng: Random) -> Case:
    return replace(case, page=replace(case.page, shift=(metres * rng.uniform(0.5, 1), -metres * rng.uniform(0.5, 1))))


def mirrored(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, mirrored=True))


def down(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, down=True))


def single(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, buildings=tuple(map(thin, case.buildings)), manner=replace(case.manner, walls="single"))


def heavy_furniture(case: Case, pieces: float, _rng: Random) -> Case:
    """Furniture drawn on the walls' layer."""
    return replace(
        case, manner=replace(case.manner, furniture=int(pieces)),
        page=replace(case.page, layers=case.page.layers | {"furniture": case.page.layers["wall"]}))


def stretched(case: Case, _x: float, _rng: Random) -> Case:
    """One door symbol a metre wide, scaled unequally to every opening."""
    found: list[Stroke] = []
    for s in case.strokes:
        if not isinstance(s, Symbol) or s.role != "door":
            found.append(s)
            continue
        width = max(p.radius for p in s.parts if isinstance(p, Arc)) if any(isinstance(p, Arc) for p in s.parts) else 0
        if not width:
            found.append(s)
            continue
        unit = tuple(_scaled(p, 1 / width) for p in s.parts)
        found.append(replace(s, name=f"unit-{s.name}", parts=unit, stretch=(width, width * 0.9)))
    return replace(case, strokes=tuple(found))


def _scaled(p: Part, k: float) -> Part:
    def q(at: Xy) -> Xy:
        return (at[0] * k, at[1] * k)

    if isinstance(p, Arc):
        return replace(p, centre=q(p.centre), radius=p.radius * k)
    if isinstance(p, Line):
        return replace(p, a=q(p.a), b=q(p.b))
    if isinstance(p, Poly):
        return replace(p, points=tuple(map(q, p.points)))
    return p


def leaf_over(case: Case, _x: float, _rng: Random) -> Case:
    """A door so near the corner that its open leaf lies on the wall beside it: leaves turned to lie along the wall."""
    found: list[Stroke] = []
    for s in case.strokes:
        if isinstance(s, Symbol) and s.role == "door":
            parts: list[Part] = []
            for p in s.parts:
                if isinstance(p, Arc) and math.isclose(p.end - p.start, 90):
                    c, r = p.centre, p.radius
                    parts += [replace(p, start=0, end=180), Line("door", c, (c[0] - r, c[1]))]
                elif isinstance(p, Arc):
                    parts.append(p)
            found.append(replace(s, name=f"over-{s.name}", parts=tuple(parts) or s.parts))
        else:
            found.append(s)
    return replace(case, strokes=tuple(found))


def bare(case: Case, share: float, rng: Random) -> Case:
    """Doors drawn as a gap alone: nothing tells them from plain openings, so that is what they are."""
    return replace(case, buildings=tuple(replace(b, openings=tuple(
        replace(o, kind="opening") if o.kind == "door" and rng.random() < share else o for o in b.openings
    )) for b in case.buildings))


def blocks(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, manner=replace(case.manner, blocks=True))




def hiding(case: Case, x: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, hidden="off" if x == 1 else "frozen"))


def nested(case: Case, levels: float, _rng: Random) -> Case:
    """The whole plan inside blocks within blocks."""
    return replace(case, page=replace(case.page, nested=int(levels)))


def anonymous(case: Case, _x: float, _rng: Random) -> Case:
    """Symbols in blocks without a name, as dynamic ones are saved."""
    return replace(case, page=replace(case.page, anonymous=True))


def windows_on_walls(case: Case, lines: float, _rng: Random) -> Case:
    """Windows are so many lines on the walls' layer."""
    return replace(
        case, manner=replace(case.manner, window_lines=int(lines), blocks=False),
        page=replace(case.page, layers=case.page.layers | {"window": case.page.layers["wall"]}))


def breasts(case: Case, count: float, rng: Random) -> Case:
    """Chimney breasts: rooms stepped out of by solid pieces on their outer walls."""
    return replace(case, buildings=tuple(_with_breasts(b, int(count), rng) for b in case.buildings))


def _with_breasts(building: Building, count: int, rng: Random) -> Building:
    rooms = list(building.rooms)
    places = [f for f in facings_of(building) if f.right < 0 and f.length > 2.0]
    rng.shuffle(places)
    for f in places[:count]:
        wide, out = round(rng.uniform(0.9, 1.5), 2), round(rng.uniform(0.25, 0.45), 2)
        a, b = f.part(rng.uniform(0.2, f.length - wide - 0.2), wide)
        piece = strip(a, b, f.thick + 2 * out)
        clear = all(piece.distance(o.strip()) > 0.05 and piece.distance(_swing(o)) > 0.05 for o in building.openings)
        left = rooms[f.left].polygon.difference(piece)
        if clear and isinstance(left, Polygon):
            rooms[f.left] = replace(rooms[f.left], polygon=left)
    return replace(building, rooms=tuple(rooms))


def _swing(o: TrueOpening) -> Polygon:
    return strip(o.a, o.b, o.thick + 2.2) if o.kind == "door" else o.strip()


def open_plan(case: Case, width: float, rng: Random) -> Case:
    """Two rooms joined by a gap far wider than a door, nothing drawn in it: open to each other."""
    return replace(case, buildings=tuple(_opened(b, width, rng) for b in case.buildings))


def _opened(building: Building, width: float, rng: Random) -> Building:
    places = [f for f in facings_of(building) if f.right >= 0 and f.length > width + 0.4]
    rng.shuffle(places)
    for f in places:
        a, b = f.part(rng.uniform(0.2, f.length - width - 0.2), width)
        gap = TrueOpening("opening", a, b, f.thick, drawn=False)
        if all(gap.strip().distance(o.strip()) > 0.1 for o in building.openings):
            rooms = [replace(r, undrawn=r.undrawn + width) if n in (f.left, f.right) else r
                     for n, r in enumerate(building.rooms)]
            return replace(building, rooms=tuple(rooms), openings=(*building.openings, gap))
    return building


def facings_of(building: Building) -> list[Facing]:
    return facings([r.polygon for r in building.rooms], building.outline, building.inner_thick, building.outer_thick)


def raised(case: Case, metres: float, _rng: Random) -> Case:
    """Saved from a solid model: every wall line at the floor, again at the ceiling, and upright at its end."""
    return replace(case, page=replace(case.page, raised=metres))


def glazed(case: Case, share: float, rng: Random) -> Case:
    """Outer walls that are glass from one end of a room to the other."""
    return replace(case, buildings=tuple(_with_wide(b, "window", share, rng) for b in case.buildings))


def garage_doors(case: Case, share: float, rng: Random) -> Case:
    """Outer doors far wider than a leaf, drawn as a rectangle in the wall."""
    buildings = tuple(_with_wide(b, "door", share, rng) for b in case.buildings)
    return replace(case, buildings=buildings, manner=replace(case.manner, door="rectangle"))


def _with_wide(building: Building, kind: str, share: float, rng: Random) -> Building:
    openings = list(building.openings)
    for f in facings_of(building):
        if f.right >= 0 or f.length < 2.6 or rng.random() > share:
            continue
        width = f.length - 0.3 if kind == "window" else min(f.length - 0.4, rng.choice((2.2, 2.4, 3.0, 4.8)))
        a, b = f.part((f.length - width) / 2, width)
        wide = TrueOpening(kind, a, b, f.thick)
        near = [o for o in openings if wide.strip().distance(o.strip()) < 0.15]
        if all(o.kind == "window" for o in near):
            openings = [*(o for o in openings if o not in near), wide]
    return replace(building, openings=tuple(openings))
