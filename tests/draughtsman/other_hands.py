"""How other offices draw walls, doors and labels: manners that no vice of one line can make of an orderly drawing."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise
from random import Random

from shapely import LineString, affinity

from tests.draughtsman import clutter
from tests.draughtsman.cases import Case
from tests.draughtsman.hand import cuts
from tests.draughtsman.strokes import Arc, Fill, Line, Note, Part, Poly, Stroke, Symbol
from tests.draughtsman.world import Building, Xy, lines_of, spot
from tests.draughtsman.write import LAYERS

Change = Callable[[Case, float, Random], Case]

_AJAR = 45
"""Degrees that a door stands open on many drawings (common practice)."""


def leaves(case: Case, x: float, _rng: Random) -> Case:
    """Doors as 1 a leaf alone, 2 leaf and swing half open, 3 a leaf half open alone, 4 a swing alone, 5 a leaf and
    the straight line from its tip to the jamb.
    """
    found: list[Stroke] = []
    for s in case.strokes:
        if isinstance(s, Symbol) and s.role == "door":
            s = replace(s, name=f"hand{x:.0f}-{s.name}", parts=tuple(_redrawn(s.parts, int(x))))
        found.append(s)
    return replace(case, strokes=tuple(found))


def _redrawn(parts: Iterable[Part], x: int) -> list[Part]:
    """The single leaves among a door's `parts` drawn another way; `parts` without a swing stay."""
    parts = list(parts)
    swings = [p for p in parts if isinstance(p, Arc)]
    if not swings:
        return parts
    found: list[Part] = []
    for swing in swings:
        c, r = swing.centre, swing.radius
        left = swing.start >= 45  # the leaf hangs at the right jamb
        shut = 180.0 if left else 0.0
        turn = _AJAR if x in (2, 3) else 90
        open_ = shut - turn if left else shut + turn
        tip, jamb = _on(c, r, open_), _on(c, r, shut)
        if x != 4:
            found.append(Line("door", c, tip))
        if x in (2, 4):
            found.append(Arc("door", c, r, min(open_, shut), max(open_, shut)))
        if x == 5:
            found.append(Line("door", tip, jamb))
    return found


def _on(centre: Xy, radius: float, degrees: float) -> Xy:
    a = math.radians(degrees)
    return (centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a))


def untrimmed(case: Case, x: float, _rng: Random) -> Case:
    """Every wall two lines run through to the middle of the walls they meet (1), or to their far faces (2)."""
    strokes = [s for s in case.strokes if s.role != "wall"]
    for b in case.buildings:
        strokes += _through(b, x > 1)
    return replace(case, strokes=tuple(strokes))


def _through(b: Building, far: bool) -> list[Stroke]:
    middle = b.inside.buffer(b.outer_thick / 2, join_style="mitre")
    rings = [LineString(r.coords) for r in (middle.exterior, *middle.interiors)]
    walls = [(p, q, b.outer_thick) for r in rings for p, q in pairwise(r.coords)]
    walls += [(p, q, t) for line, t in b.runs for p, q in pairwise(line.coords)]
    gone = cuts(b)
    body = b.body()
    found: list[Stroke] = []
    for p, q, thick in walls:
        run = LineString([p, q])
        long = affinity.scale(run, *(2 * [(run.length + 2 * b.outer_thick) / run.length])) if far else run
        for side in (-1, 1):
            for part in lines_of(long.offset_curve(side * thick / 2).intersection(body.buffer(1e-6)).difference(gone)):
                found += [Line("wall", u, v) for u, v in pairwise(part.coords)]
    for o in b.openings:
        nx, ny = -(o.b[1] - o.a[1]) / o.width * o.thick / 2, (o.b[0] - o.a[0]) / o.width * o.thick / 2
        found += [Line("wall", (e[0] + nx, e[1] + ny), (e[0] - nx, e[1] - ny)) for e in (o.a, o.b)]
    return found


def insulated(case: Case, x: float, _rng: Random) -> Case:
    """Outer walls with 1 a zigzag of insulation on the walls' layer, 2 the same on a layer of its own, 3 a line along
    the insulation's inner face.
    """
    strokes = list(case.strokes)
    for b in case.buildings:
        inner = b.inside.buffer(b.outer_thick * 0.55, join_style="mitre")
        outer = b.inside.buffer(b.outer_thick * 0.95, join_style="mitre")
        gone = cuts(b).buffer(1e-4)
        for ring_a, ring_b in zip(
            (inner.exterior, *inner.interiors), (outer.exterior, *outer.interiors), strict=True
        ):
            strokes += [Line("wall", u, v) for part in lines_of(LineString(ring_a.coords).difference(gone))
                        for u, v in pairwise(part.coords)]
            if x == 3:
                continue
            a, c = LineString(ring_a.coords), LineString(ring_b.coords)
            count = int(a.length / 0.12)
            points = [(a if n % 2 else c).interpolate(n / count, normalized=True) for n in range(count + 1)]
            zigzag = LineString(points).difference(gone)
            strokes += [Line("wall" if x == 1 else "hatch", u, v) for part in lines_of(zigzag)
                        for u, v in pairwise(part.coords)]
    return replace(case, strokes=tuple(strokes))


def grid_columns(case: Case, x: float, _rng: Random) -> Case:
    """Square columns on a grid in and beside the outer walls, drawn over the walls, 1 on their layer, 2 filled on the
    walls'. Only where they stay inside the wall's body are rooms unchanged: so they are as wide as the wall.
    """
    strokes = list(case.strokes)
    for b in case.buildings:
        middle = LineString(b.inside.buffer(b.outer_thick / 2, join_style="mitre").exterior.coords)
        half = b.outer_thick / 2
        gone = cuts(b)
        for n in range(int(middle.length / 3.0)):
            at = middle.interpolate(3.0 * n)
            ring = tuple((at.x + dx * half, at.y + dy * half) for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
            piece = Poly("wall" if x == 2 else "column", ring)
            if not gone.intersects(LineString([*ring, ring[0]])) and b.body().buffer(1e-6).covers(
                LineString([*ring, ring[0]])
            ):
                strokes += [piece, Fill("wall" if x == 2 else "column", (ring,))]
    return replace(case, strokes=tuple(strokes))


def numbered(case: Case, _x: float, _rng: Random) -> Case:
    """Rooms called by a number in a circle and a name in two lines, the area in a box below."""
    strokes = [s for s in case.strokes if s.role != "text"]
    for b in case.buildings:
        for n, room in enumerate(b.rooms, 1):
            x, y = spot(room.polygon)
            strokes += [Arc("text", (x, y + 0.45), 0.2, 0, 360), Note("text", f"{n}", (x, y + 0.45), 0.18)]
            words = room.name.split(" ") if room.name else []
            strokes += [Note("text", w, (x, y + 0.12 - 0.2 * k), 0.14) for k, w in enumerate(words)]
    return replace(case, strokes=tuple(strokes))


def mullions(case: Case, x: float, _rng: Random) -> Case:
    """Long windows as curtain walling: two lines along and a box every metre and a bit."""
    strokes: list[Stroke] = []
    for s in case.strokes:
        if isinstance(s, Symbol) and s.role == "window":
            width = max((max(p.a[0], p.b[0]) for p in s.parts if isinstance(p, Line)), default=0.0)
            if width > 2.4:
                count = round(width / 1.2)
                posts = tuple(
                    Poly("window", tuple((k * width / count + dx * 0.025, dy * 0.06)
                                         for dx, dy in ((-1, -1), (1, -1), (1, 1), (-1, 1))))
                    for k in range(1, count))
                panes: tuple[Part, ...] = tuple(Line("window", (0, dy), (width, dy)) for dy in (-0.02, 0.02))
                s = replace(s, name=f"mull{x:.0f}-{s.name}", parts=(*panes, *posts))
        strokes.append(s)
    return replace(case, strokes=tuple(strokes))


def merged(case: Case, x: float, rng: Random) -> Case:
    """Everything on layer 0, worktops and all, 1 in a colour for each kind of thing, 2 in one colour."""
    strokes = (*case.strokes, *clutter.worktops(case, 1, rng))
    page = replace(case.page, layers=dict.fromkeys(LAYERS, "0"), pens=x == 1)
    return replace(case, strokes=strokes, page=page)
