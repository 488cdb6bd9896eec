"""Doors and windows as other offices draw them, their labels, and doors hard up against a corner.

Symbols are drawn afresh from the true openings, in the frame of `hand`: hinge at the origin, the wall along x.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace
from random import Random

from shapely import LineString

from tests.draughtsman.cases import Case
from tests.draughtsman.habits import facings_of
from tests.draughtsman.strokes import Arc, Line, Note, Part, Poly, Stroke, Symbol
from tests.draughtsman.world import Building, TrueOpening, Xy

FOOT, INCH = 0.3048, 0.0254
BLOCK = 0.19
"""A glass block, metres (common practice)."""


def _box(role: str, x0: float, y0: float, x1: float, y1: float) -> Poly:
    return Poly(role, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)))


def _redrawn(case: Case, kind: str, role: str, parts_of: Callable[[float, float], list[Part]], name: str) -> Case:
    """Every symbol of the openings of one kind drawn by `parts_of` their width and wall."""
    strokes: list[Stroke] = [s for s in case.strokes if s.role != kind]
    for b in case.buildings:
        for o in b.openings:
            if o.kind == kind:
                turn = math.degrees(math.atan2(o.b[1] - o.a[1], o.b[0] - o.a[0]))
                label = f"{name}-{o.width * 1000:.0f}-{o.thick * 1000:.0f}"
                strokes.append(Symbol(role, label, tuple(parts_of(o.width, o.thick)), o.a, turn))
    return replace(case, strokes=tuple(strokes))


# Windows ---------------------------------------------------------------------------------------------------


def _outlined(w: float, t: float) -> list[Part]:
    return [_box("window", 0, -t / 2, w, t / 2), Line("window", (0, 0), (w, 0))]


def _with_cills(w: float, t: float) -> list[Part]:
    glass: list[Part] = [Line("window", (0, y), (w, y)) for y in (-t / 2, -0.02, 0.02, t / 2)]
    return [*glass, _box("window", -0.05, -t / 2 - 0.06, w + 0.05, -t / 2),
            _box("window", -0.03, t / 2, w + 0.03, t / 2 + 0.04)]


def _glass_blocks(w: float, t: float) -> list[Part]:
    size = min(BLOCK, t)
    count = max(1, round(w / size))
    return [_box("window", w * k / count, -size / 4, w * (k + 1) / count, size / 4) for k in range(count)]


def _high_level(w: float, t: float) -> list[Part]:
    return [Line("high", (0, y), (w, y)) for y in (-t / 2, 0.0, t / 2)]


def _framed(w: float, _t: float) -> list[Part]:
    posts: list[Part] = [_box("window", x, -0.035, x + 0.06, 0.035) for x in (0.0, w / 2 - 0.03, w - 0.06)]
    panes: list[Part] = [Line("window", (a, 0), (b, 0)) for a, b in ((0.06, w / 2 - 0.03), (w / 2 + 0.03, w - 0.06))]
    return [*posts, *panes]


_WINDOWS = (_outlined, _with_cills, _glass_blocks, _high_level, _framed)


def windows(case: Case, x: float, _rng: Random) -> Case:
    """1 outlined over the whole wall, 2 with cills inside and out, 3 glass blocks, 4 high up and dashed, 5 frames."""
    return _redrawn(case, "window", "window", _WINDOWS[int(x) - 1], f"win{x:.0f}")


# Doors -----------------------------------------------------------------------------------------------------


def _single(w: float, t: float) -> list[Part]:
    return [_box("furniture", 0, t / 2, 0.04, t / 2 + w), Arc("furniture", (0, t / 2), w, 0, 90)]


def _both_ways(w: float, _t: float) -> list[Part]:
    return [Line("door", (0, 0), (0, w)), Line("door", (0, 0), (0, -w)), Arc("door", (0, 0), w, 0, 90),
            Arc("door", (0, 0), w, 270, 360)]


def _pivot(w: float, _t: float) -> list[Part]:
    at = 0.15 * w
    swings = [Arc("door", (at, 0), w - at, 0, 90), Arc("door", (at, 0), at, 180, 270)]
    return [Line("door", (at, -at), (at, w - at)), *swings]


def _ajar(w: float, t: float) -> list[Part]:
    tip = (w * math.cos(math.radians(30)), t / 2 + w * math.sin(math.radians(30)))
    return [Line("door", (0, t / 2), tip), Arc("door", (0, t / 2), w, 0, 30)]


def _bifold(w: float, t: float) -> list[Part]:
    k, rise = w / 4, w / 4
    left = ((0.0, t / 2), (k * 0.7, t / 2 + rise), (k * 1.4, t / 2))
    right = tuple((w - x, y) for x, y in left)
    return [Poly("door", left, closed=False), Poly("door", right, closed=False)]


def _in_front(w: float, t: float) -> list[Part]:
    return [_box("door", 0.55 * w, t / 2 + 0.02, 1.6 * w, t / 2 + 0.06)]


_DOORS = (_single, _both_ways, _pivot, _ajar, _bifold, _in_front)


def doors(case: Case, x: float, _rng: Random) -> Case:
    """1 on the furniture's layer, 2 both ways, 3 on a pivot, 4 30 degrees open, 5 folding in pairs, 6 sliding in front
    of the wall.
    """
    return _redrawn(case, "door", "furniture" if x == 1 else "door", _DOORS[int(x) - 1], f"door{x:.0f}")


def overhead(case: Case, x: float, _rng: Random) -> Case:
    """Doors of two metres and more as 1 dashed lines along both faces, 2 one dashed line and the open leaf dashed."""
    def drawn(o: TrueOpening, side: float) -> list[Part]:
        w, y = o.width, side * o.thick / 2
        if x == 1:
            return [Line("beam", (0, s * o.thick / 2), (w, s * o.thick / 2)) for s in (-1, 1)]
        return [Line("beam", (0, 0), (w, 0)), *(
            Line("beam", p, q) for p, q in (((0, y), (0, 3 * y)), ((w, y), (w, 3 * y)), ((0, 3 * y), (w, 3 * y))))]

    wide = [o for b in case.buildings for o in b.openings if o.kind == "door" and o.width > 2.0]
    gone = {o.a for o in wide}
    strokes = [s for s in case.strokes if not (isinstance(s, Symbol) and s.role == "door" and s.at in gone)]
    for o in wide:
        turn = math.degrees(math.atan2(o.b[1] - o.a[1], o.b[0] - o.a[0]))
        strokes.append(Symbol("beam", f"up{x:.0f}-{o.width:.3f}-{o.thick:.3f}", tuple(drawn(o, 1.0)), o.a, turn))
    return replace(case, strokes=tuple(strokes))


# Labels ----------------------------------------------------------------------------------------------------


def labels(case: Case, x: float, rng: Random) -> Case:
    """At every opening 1 its width in mm, 2 width over height in cm in two lines, 3 the same with a stroke, 4 its tag
    in a circle, 5 in a hexagon, 6 feet and inches.
    """
    found: list[Stroke] = list(case.strokes)
    for b in case.buildings:
        for n, o in enumerate(b.openings, 1):
            found += _label(o, int(x), n, rng)
    return replace(case, strokes=tuple(found))


def _label(o: TrueOpening, x: int, number: int, rng: Random) -> Iterator[Stroke]:
    ux, uy = (o.b[0] - o.a[0]) / o.width, (o.b[1] - o.a[1]) / o.width
    off = o.thick / 2 + 0.28
    at = (o.at[0] - uy * off, o.at[1] + ux * off)
    turn = math.degrees(math.atan2(uy, ux)) if x < 4 else 0.0
    wide, high = round(o.width * 100), rng.choice((201, 210, 120))
    if x == 1:
        yield Note("text", f"{o.width * 1000:.0f}", at, 0.1, turn)
    elif x == 2:
        for k, text in ((0.08, f"{wide}"), (-0.08, f"{high}")):
            yield Note("text", text, (at[0] - uy * k, at[1] + ux * k), 0.1, turn)
    elif x == 3:
        yield Note("text", f"{wide}/{high}", at, 0.1, turn)
    elif x == 6:
        inches = round(o.width / INCH)
        yield Note("text", f"{inches // 12}'-{inches % 12}\"", at, 0.1)
    else:
        yield _ring(at, 4 if x == 4 else 6)
        yield Note("text", f"{o.kind[0].upper()}{number:02d}", at, 0.1)


def _ring(at: Xy, sides: int) -> Part:
    if sides == 4:
        return Arc("text", at, 0.2, 0, 360)
    turns = [math.radians(60 * k) for k in range(6)]
    return Poly("text", tuple((at[0] + 0.2 * math.cos(a), at[1] + 0.2 * math.sin(a)) for a in turns))


# Corners ---------------------------------------------------------------------------------------------------


def cornered(case: Case, nib: float, _rng: Random) -> Case:
    """Every door moved along its wall until only `nib` metres of it are left beside the corner."""
    return replace(case, buildings=tuple(_cornered(b, nib) for b in case.buildings))


def _cornered(building: Building, nib: float) -> Building:
    openings = list(building.openings)
    for n, o in enumerate(openings):
        if o.kind == "window":
            continue
        for f in facings_of(building):
            line = LineString([f.a, f.b])
            if not line.buffer(1e-6).covers(LineString([o.a, o.b])) or f.length < o.width + 2 * nib:
                continue
            a, b = f.part(nib, o.width)
            moved = replace(o, a=a, b=b)
            others = [p for k, p in enumerate(openings) if k != n]
            if all(moved.strip().distance(p.strip()) > 0.1 for p in others):
                openings[n] = moved
                break
    return replace(building, openings=tuple(openings))
