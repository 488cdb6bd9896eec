"""The bad habits of draughtsmen, each with its strengths. `VICES` lists them all.

Every failure that a real drawing brings to light belongs here as a vice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise
from random import Random

from shapely import LineString, Polygon

from tests.draughtsman.cases import Case, Vice, thin
from tests.draughtsman.strokes import (
    Arc,
    Dim,
    Fill,
    Line,
    Note,
    Part,
    Poly,
    Spline,
    Stroke,
    Symbol,
    each_part,
    exploded,
    ring_lines,
)
from tests.draughtsman.world import Xy, lines_of, spot
from tests.draughtsman.write import INSUNITS, LAYERS

Strokes = Iterable[Stroke]


def manner(**of_strength: Callable[[float], object]) -> Callable[[Case, float, Random], Case]:
    """A change of the manner alone: each keyword gives a field's value from the strength."""
    return lambda case, x, _rng: replace(
        case, manner=replace(case.manner, **{k: f(x) for k, f in of_strength.items()}))  # type: ignore[arg-type]


def walls_only(change: Callable[[Line, float, Random], Iterable[Part]]) -> Callable[[Case, float, Random], Case]:
    """A change of every wall line; wall polylines are drawn as lines first."""

    def after(case: Case, x: float, rng: Random) -> Case:
        found: list[Stroke] = []
        for stroke in case.strokes:
            if isinstance(stroke, Poly) and stroke.role == "wall" and not stroke.width:
                points = (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
                for line in ring_lines("wall", points):
                    found += change(line, x, rng)
            elif isinstance(stroke, Line) and stroke.role == "wall":
                found += change(stroke, x, rng)
            else:
                found.append(stroke)
        return replace(case, strokes=tuple(found))

    return after


# Wall lines ------------------------------------------------------------------------------------------------


def _missed(line: Line, mm: float, rng: Random) -> list[Part]:
    """Each end short or over by up to `mm`, one end in three."""
    def off() -> float:
        return rng.uniform(-mm, mm) / 1000 if rng.random() < 1 / 3 else 0.0

    start, end = off(), line.length + off()
    return [Line(line.role, line.at(start), line.at(end))] if end - start > 0.02 else [line]


def _jitter(line: Line, mm: float, rng: Random) -> list[Part]:
    """Every end off in any direction by up to `mm`."""
    def p(at: Xy) -> Xy:
        return (at[0] + rng.uniform(-mm, mm) / 1000, at[1] + rng.uniform(-mm, mm) / 1000)

    return [Line(line.role, p(line.a), p(line.b))]


def _split(line: Line, pieces: float, rng: Random) -> list[Part]:
    at = sorted([0.0, line.length, *(rng.uniform(0, line.length) for _ in range(rng.randint(0, int(pieces))))])
    return [Line(line.role, line.at(a), line.at(b)) for a, b in pairwise(at) if b - a > 1e-6]


def _doubled(line: Line, share: float, rng: Random) -> list[Part]:
    """Drawn again, the other way round or half a millimetre beside."""
    if rng.random() >= share:
        return [line]
    off = rng.choice((0.0, 0.0, 0.0005))
    nx, ny = -(line.b[1] - line.a[1]) / line.length * off, (line.b[0] - line.a[0]) / line.length * off
    return [line, Line(line.role, (line.b[0] + nx, line.b[1] + ny), (line.a[0] + nx, line.a[1] + ny))]


def _overlap(line: Line, share: float, rng: Random) -> list[Part]:
    """In two pieces that run over each other."""
    if rng.random() >= share or line.length < 0.3:
        return [line]
    a, b = sorted((rng.uniform(0, line.length), rng.uniform(0, line.length)))
    return [Line(line.role, line.a, line.at(b)), Line(line.role, line.at(a), line.b)]


def _lost(line: Line, per_cent: float, rng: Random) -> list[Part]:
    return [] if rng.random() < per_cent / 100 else [line]


def _two_point(line: Line, _x: float, _rng: Random) -> list[Part]:
    return [Poly(line.role, (line.a, line.b), closed=False)]


# Everything drawn ------------------------------------------------------------------------------------------


def _exploded(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, strokes=tuple(exploded(case.strokes)))


def _no_flag(case: Case, _x: float, _rng: Random) -> Case:
    def change(p: Part) -> list[Part]:
        return [replace(p, flag=False)] if isinstance(p, Poly) else [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def _splines(case: Case, _x: float, _rng: Random) -> Case:
    def change(p: Part) -> list[Part]:
        if isinstance(p, Arc) and abs(p.end - p.start) < 360:
            return [Spline(p.role, tuple(p.points(8)))]
        return [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def _chopped(case: Case, _x: float, _rng: Random) -> Case:
    """Arcs as short lines, as some exports give them."""
    def change(p: Part) -> list[Part]:
        return list(ring_lines(p.role, p.points(12))) if isinstance(p, Arc) else [p]

    return replace(case, strokes=tuple(each_part(case.strokes, change)))


def _layers(case: Case, x: float, rng: Random) -> Case:
    """1 names that say nothing, 2 all on layer 0, 3 walls on the columns' layer, doors on the furniture's."""
    if x == 1:
        layers = {role: f"L{rng.randrange(10**6):06d}" for role in LAYERS}
    elif x == 2:
        layers = dict.fromkeys(LAYERS, "0")
    else:
        layers = LAYERS | {"wall": LAYERS["column"], "door": LAYERS["furniture"], "window": LAYERS["wall"]}
    return replace(case, page=replace(case.page, layers=layers))


def _claims(case: Case, x: float, _rng: Random) -> Case:
    """The header says 0 nothing, 1 inches, 4 millimetres, 6 metres; the drawing is in another unit."""
    unit = {0: "m", 1: "mm", 4: "m", 6: "cm"}[int(x)]
    return replace(case, page=replace(case.page, unit=unit, claims=int(x)))


def _unit(case: Case, x: float, _rng: Random) -> Case:
    """Drawn in unit $INSUNITS `x`, said rightly."""
    unit = next(u for u, code in INSUNITS.items() if code == int(x))
    return replace(case, page=replace(case.page, unit=unit))


def _turned(case: Case, degrees: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, turn=degrees))


def _far(case: Case, metres: float, rng: Random) -> Case:
    return replace(case, page=replace(case.page, shift=(metres * rng.uniform(0.5, 1), -metres * rng.uniform(0.5, 1))))


def _mirrored(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, mirrored=True))


def _down(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, page=replace(case.page, down=True))


def _single(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, buildings=tuple(map(thin, case.buildings)), manner=replace(case.manner, walls="single"))


# Things strewn over the plan -------------------------------------------------------------------------------


def adding(things: Callable[[Case, float, Random], Strokes]) -> Callable[[Case, float, Random], Case]:
    """Strokes put on top of what is drawn."""
    return lambda case, x, rng: replace(case, strokes=(*case.strokes, *things(case, x, rng)))


def _texts(case: Case, count: float, rng: Random) -> Strokes:
    words = ("see detail 4", "2.40", "EQ", "FFL +0.15", "12.5 mm board", "do not scale", "A", "%%c40", "1:50", "R1")
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        for _ in range(int(count)):
            at = (rng.uniform(x0 - 2, x1 + 2), rng.uniform(y0 - 2, y1 + 2))
            yield Note("text", rng.choice(words), at, rng.choice((0.1, 0.15, 0.25)), rng.choice((0, 0, 90, 45)))


def _crossing(case: Case, x: float, _rng: Random) -> Strokes:
    """1 dimensions through the rooms, 2 the same taken apart, 3 taken apart on the walls' layer."""
    for b in case.buildings:
        for room in b.rooms:
            x0, y0, x1, y1 = room.polygon.bounds
            at = spot(room.polygon)
            for line in (LineString([(x0 - 1, at[1] + 0.3), (x1 + 1, at[1] + 0.3)]),
                         LineString([(at[0] - 0.4, y0 - 1), (at[0] - 0.4, y1 + 1)])):
                for part in lines_of(line.intersection(room.polygon))[:1]:
                    (ax, ay), (bx, by) = part.coords[0], part.coords[-1]
                    dim = Dim("wall" if x == 3 else "dims", (ax, ay), (bx, by), 0.0)
                    yield from exploded([dim]) if x > 1 else [dim]


def _beams(case: Case, _x: float, _rng: Random) -> Strokes:
    """A dashed pair of lines over every larger room, wall to wall."""
    for b in case.buildings:
        for room in b.rooms:
            if room.polygon.area < 8:
                continue
            x0, _, x1, _ = room.polygon.bounds
            _, y = spot(room.polygon)
            for dy in (-0.55, -0.75):
                for part in lines_of(LineString([(x0 - 1, y + dy), (x1 + 1, y + dy)]).intersection(room.polygon)):
                    yield Line("beam", part.coords[0], part.coords[-1])


def _surround(case: Case, _x: float, _rng: Random) -> Strokes:
    """Page frame, title panel, grid lines through the plan, the roof's overhang dashed around it."""
    boxes = [b.outline.bounds for b in case.buildings]
    x0, y0 = min(b[0] for b in boxes) - 5, min(b[1] for b in boxes) - 6
    x1, y1 = max(b[2] for b in boxes) + 9, max(b[3] for b in boxes) + 5
    for inset in (0.0, 0.5):
        yield _box("frame", x0 + inset, y0 + inset, x1 - x0 - 2 * inset, y1 - y0 - 2 * inset)
    for n, value in enumerate(("Drawing 12", "1:50", "House", "Sheet A1", "2024-05-01")):
        yield _box("frame", x1 - 4.5, y0 + 0.5 + n * 0.8, 4.0, 0.8)
        yield Note("frame", value, (x1 - 2.5, y0 + 0.9 + n * 0.8))
    for b in case.buildings:
        a0, b0, a1, b1 = b.outline.bounds
        for n, gx in enumerate((a0 + 0.15, (a0 + a1) / 2, a1 - 0.15)):
            yield Line("grid", (gx, b0 - 2), (gx, b1 + 2))
            yield Arc("grid", (gx, b1 + 2.3), 0.3, 0, 360)
            yield Note("grid", "ABC"[n], (gx, b1 + 2.3), 0.25)
        roof = b.outline.buffer(0.5, join_style="mitre").exterior.coords
        yield Poly("roof", tuple((x, y) for x, y in roof)[:-1])


def _section(case: Case, _x: float, _rng: Random) -> Strokes:
    """A section beside the plan: floors, walls cut, a roof, heights."""
    x0 = max(b.outline.bounds[2] for b in case.buildings) + 6
    for y in (0.0, 2.7):
        yield _box("wall", x0, y - 0.25, 8.0, 0.25)
        for x in (0.0, 3.9, 7.7):
            yield _box("wall", x0 + x, y, 0.3 if x != 3.9 else 0.1, 2.4)
    yield Poly("wall", ((x0 - 0.5, 5.1), (x0 + 4, 8.0), (x0 + 8.5, 5.1)), closed=True)
    yield Dim("dims", (x0 + 2, 0), (x0 + 2, 2.4), 0.0)
    yield Note("text", "Section A-A", (x0 + 4, -1.2), 0.3)


def _stray(case: Case, metres: float, _rng: Random) -> Strokes:
    """A hatch and a line far away."""
    yield Fill("hatch", (((metres, metres), (metres + 1, metres), (metres + 1, metres + 1)),))
    yield Line("wall", (-metres, 0.0), (-metres, 0.3))


def _parapet(case: Case, _x: float, _rng: Random) -> Strokes:
    """A pair of lines round the house that look like a wall."""
    for b in case.buildings:
        for off in (1.2, 1.4):
            ring = b.outline.buffer(off, join_style="mitre").exterior.coords
            yield Poly("wall", tuple((x, y) for x, y in ring)[:-1])


def _steps(case: Case, _x: float, _rng: Random) -> Strokes:
    """A flight of stairs in the largest room, its treads as far apart as walls are thick."""
    for b in case.buildings:
        room = max((r.polygon for r in b.rooms if not r.optional), key=lambda p: p.area)
        x, y = spot(room)
        treads = [Line("stair", (x - 0.5, y + n * 0.25), (x + 0.5, y + n * 0.25)) for n in range(-5, 5)]
        strings = [Line("stair", (x + s, y - 1.25), (x + s, y + 1.0)) for s in (-0.5, 0.5)]
        yield from (t for t in [*treads, *strings] if room.contains(LineString([t.a, t.b])))


def _stub(case: Case, _x: float, _rng: Random) -> Strokes:
    """A free-standing length of wall in the larger rooms."""
    for b in case.buildings:
        for room in b.rooms:
            x, y = spot(room.polygon)
            piece = _box("wall", x - 0.6, y - 0.9, 1.2, 0.1)
            clear = room.polygon.buffer(-0.3).contains(Polygon(piece.points))
            if clear and room.polygon.area > 9 and not room.optional:
                yield piece


def _box(role: str, x: float, y: float, w: float, h: float) -> Poly:
    return Poly(role, ((x, y), (x + w, y), (x + w, y + h), (x, y + h)))


def _heavy_furniture(case: Case, pieces: float, _rng: Random) -> Case:
    """Furniture drawn on the walls' layer."""
    return replace(
        case, manner=replace(case.manner, furniture=int(pieces)),
        page=replace(case.page, layers=case.page.layers | {"furniture": case.page.layers["wall"]}))


def _stretched(case: Case, _x: float, _rng: Random) -> Case:
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


def _leaf_over(case: Case, _x: float, _rng: Random) -> Case:
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


def _bare(case: Case, share: float, rng: Random) -> Case:
    """Doors drawn as a gap alone: nothing tells them from plain openings, so that is what they are."""
    return replace(case, buildings=tuple(replace(b, openings=tuple(
        replace(o, kind="opening") if o.kind == "door" and rng.random() < share else o for o in b.openings
    )) for b in case.buildings))


def _blocks(case: Case, _x: float, _rng: Random) -> Case:
    return replace(case, manner=replace(case.manner, blocks=True))


_DOORS = ("rectangle", "double", "sliding", "folding", "pocket")

VICES: dict[str, Vice] = {v.name: v for v in (
    Vice("tidy", (0,), says="no vice at all"),
    Vice("ends missed", (2, 5, 15, 30), after=walls_only(_missed), says="mm short or over, one end in three"),
    Vice("jitter", (0.5, 2, 5), after=walls_only(_jitter), says="mm, every end in any direction"),
    Vice("split", (2, 8, 25), after=walls_only(_split), says="up to so many cuts a line"),
    Vice("doubled", (0.2, 1.0), after=walls_only(_doubled), says="share of lines drawn twice"),
    Vice("overlaps", (0.3, 1.0), after=walls_only(_overlap), says="share of lines in two overlapping pieces"),
    Vice("lines lost", (1, 3), after=walls_only(_lost), says="per cent of the wall lines missing"),
    Vice("two-point polylines", (1,), after=walls_only(_two_point)),
    Vice("exploded", (1,), after=_exploded),
    Vice("closed without the flag", (1,), before=manner(walls=lambda _x: "polylines"), after=_no_flag),
    Vice("arcs to splines", (1,), before=_blocks, after=_splines),
    Vice("arcs to chords", (1,), after=_chopped),
    Vice("layers scrambled", (1, 2, 3), after=_layers, says="1 random, 2 all on 0, 3 on each other's"),
    Vice("layer 0, exploded", (1,), after=lambda c, x, r: _layers(_exploded(c, x, r), 2, r)),
    Vice("unit wrong", (0, 1, 4, 6), after=_claims, says="what $INSUNITS claims"),
    Vice("other units", (1, 2, 5, 6), after=_unit, says="$INSUNITS of the unit drawn in"),
    Vice("rotated", (3, 17, 45, 90), after=_turned, says="degrees"),
    Vice("mirrored", (1,), after=_mirrored),
    Vice("extrusion down", (1,), before=_blocks, after=_down),
    Vice("far away", (1e4, 1.7e6, 1e8), after=_far, says="metres from the origin"),
    Vice("furniture", (2, 5), before=manner(furniture=lambda x: int(x)), says="pieces a room"),
    Vice("furniture on the walls' layer", (2, 5), before=_heavy_furniture, says="pieces a room"),
    Vice("texts strewn in", (10, 40), after=adding(_texts), says="texts a plan"),
    Vice("dimensions across rooms", (1, 2, 3), after=adding(_crossing),
         says="1 whole, 2 exploded, 3 exploded on the walls' layer"),
    Vice("beams", (1,), after=adding(_beams)),
    Vice("frame, grid and roof", (1,), after=adding(_surround)),
    Vice("section beside", (1,), after=adding(_section)),
    Vice("strays", (200, 20000), after=adding(_stray), says="metres away"),
    Vice("parapet", (1,), after=adding(_parapet)),
    Vice("stairs like walls", (1,), after=adding(_steps)),
    Vice("free-standing walls", (1,), after=adding(_stub)),
    Vice("bare gaps", (0.3, 1.0), before=_bare, says="share of doors without symbol"),
    Vice("door styles", (0, 1, 2, 3, 4), before=manner(door=lambda x: _DOORS[int(x)]), says=", ".join(_DOORS)),
    Vice("no jambs", (1,), before=manner(jambs=lambda _x: False, walls=lambda _x: "lines")),
    Vice("stretched symbols", (1,), before=_blocks, after=_stretched),
    Vice("leaf over the wall", (1,), before=_blocks, after=_leaf_over),
    Vice("window lines", (1, 2, 3, 4, 5), before=manner(window_lines=lambda x: int(x)), says="lines along the wall"),
    Vice("no labels", (1,), before=manner(labels=lambda _x: "none")),
    Vice("single-line walls", (1,), before=_single, kinds=("house", "skew house", "two wings", "corridor")),
    Vice("closed polylines", (1,), before=manner(walls=lambda _x: "polylines")),
    Vice("solid hatch alone", (1,), before=manner(walls=lambda _x: "hatch")),
    Vice("wide polylines", (1,), before=manner(walls=lambda _x: "wide")),
    Vice("multilines", (1,), before=manner(walls=lambda _x: "mline"), kinds=(
        "house", "two wings", "corridor", "flats", "bays", "columns", "room in a room")),
    Vice("cavity walls", (1,), before=manner(cavity=lambda _x: True)),
    Vice("unbroken walls", (1,), before=manner(walls=lambda _x: "unbroken")),
)}
