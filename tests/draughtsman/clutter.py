"""Things strewn over a plan that are no walls: texts, dimensions, beams, frames, stairs, sections, removed walls."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from random import Random

from shapely import LineString, Polygon

from tests.draughtsman.cases import Case
from tests.draughtsman.hand import cuts
from tests.draughtsman.strokes import Arc, Dim, Fill, Line, Note, Poly, Stroke, exploded
from tests.draughtsman.world import lines_of, spot

Strokes = Iterable[Stroke]


def adding(things: Callable[[Case, float, Random], Strokes]) -> Callable[[Case, float, Random], Case]:
    """Strokes put on top of what is drawn."""
    return lambda case, x, rng: replace(case, strokes=(*case.strokes, *things(case, x, rng)))


def texts(case: Case, count: float, rng: Random) -> Strokes:
    words = ("see detail 4", "2.40", "EQ", "FFL +0.15", "12.5 mm board", "do not scale", "A", "%%c40", "1:50", "R1")
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        for _ in range(int(count)):
            at = (rng.uniform(x0 - 2, x1 + 2), rng.uniform(y0 - 2, y1 + 2))
            yield Note("text", rng.choice(words), at, rng.choice((0.1, 0.15, 0.25)), rng.choice((0, 0, 90, 45)))


def crossing(case: Case, x: float, _rng: Random) -> Strokes:
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


def beams(case: Case, _x: float, _rng: Random) -> Strokes:
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


def surround(case: Case, _x: float, _rng: Random) -> Strokes:
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


def section(case: Case, _x: float, _rng: Random) -> Strokes:
    """A section beside the plan: floors, walls cut, a roof, heights."""
    x0 = max(b.outline.bounds[2] for b in case.buildings) + 6
    for y in (0.0, 2.7):
        yield _box("wall", x0, y - 0.25, 8.0, 0.25)
        for x in (0.0, 3.9, 7.7):
            yield _box("wall", x0 + x, y, 0.3 if x != 3.9 else 0.1, 2.4)
    yield Poly("wall", ((x0 - 0.5, 5.1), (x0 + 4, 8.0), (x0 + 8.5, 5.1)), closed=True)
    yield Dim("dims", (x0 + 2, 0), (x0 + 2, 2.4), 0.0)
    yield Note("text", "Section A-A", (x0 + 4, -1.2), 0.3)


def stray(case: Case, metres: float, _rng: Random) -> Strokes:
    """A hatch and a line far away."""
    yield Fill("hatch", (((metres, metres), (metres + 1, metres), (metres + 1, metres + 1)),))
    yield Line("wall", (-metres, 0.0), (-metres, 0.3))


def parapet(case: Case, _x: float, _rng: Random) -> Strokes:
    """A pair of lines round the house that look like a wall."""
    for b in case.buildings:
        for off in (1.2, 1.4):
            ring = b.outline.buffer(off, join_style="mitre").exterior.coords
            yield Poly("wall", tuple((x, y) for x, y in ring)[:-1])


def steps(case: Case, _x: float, _rng: Random) -> Strokes:
    """A flight of stairs in the largest room, its treads as far apart as walls are thick."""
    for b in case.buildings:
        room = max((r.polygon for r in b.rooms if not r.optional), key=lambda p: p.area)
        x, y = spot(room)
        treads = [Line("stair", (x - 0.5, y + n * 0.25), (x + 0.5, y + n * 0.25)) for n in range(-5, 5)]
        strings = [Line("stair", (x + s, y - 1.25), (x + s, y + 1.0)) for s in (-0.5, 0.5)]
        yield from (t for t in [*treads, *strings] if room.contains(LineString([t.a, t.b])))


def stub(case: Case, _x: float, _rng: Random) -> Strokes:
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



def removed_walls(case: Case, _x: float, _rng: Random) -> Strokes:
    """Walls that are to go, dashed on a layer of their own, across the larger rooms."""
    for b in case.buildings:
        for room in b.rooms:
            if room.polygon.area < 6 or room.optional:
                continue
            _, y0, _, y1 = room.polygon.bounds
            x, _ = spot(room.polygon)
            for dx in (-0.7, -0.6):
                for part in lines_of(LineString([(x + dx, y0 - 1), (x + dx, y1 + 1)]).intersection(room.polygon)):
                    yield Line("removed", part.coords[0], part.coords[-1])


def hidden_walls(case: Case, _x: float, _rng: Random) -> Strokes:
    """An older scheme, still in the file, on a layer that is 1 off or 2 frozen."""
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        for k in (0.3, 0.55, 0.8):
            for off in (0.0, 0.12):
                x, y = x0 + (x1 - x0) * k + off, y0 + (y1 - y0) * k + off
                yield Line("hidden", (x, y0), (x, y1))
                yield Line("hidden", (x0, y), (x1, y))


def loose_hatching(case: Case, x: float, _rng: Random) -> Strokes:
    """The walls' hatching as loose slanting lines, 1 on the hatch's layer, 2 on the walls'."""
    for b in case.buildings:
        body = b.body().difference(cuts(b))
        x0, y0, x1, y1 = b.outline.bounds
        width = x1 - x0 + y1 - y0
        lines = [LineString([(x0 + d, y0), (x0 + d - width, y0 + width)]) for d in _steps(width, 0.15)]
        for line in lines:
            for part in lines_of(line.intersection(body)):
                yield Line("wall" if x == 2 else "hatch", part.coords[0], part.coords[-1])


def _steps(length: float, by: float) -> list[float]:
    return [by * n for n in range(1, int(length / by))]


def worktops(case: Case, x: float, _rng: Random) -> Strokes:
    """Kitchen units about a corner of every room that has it square, 1 on their layer, 2 on layer 0."""
    for b in case.buildings:
        for room in b.rooms:
            x0, y0, _, _ = room.polygon.bounds
            corner = [(0.0, 1.8), (0.6, 1.8), (0.6, 0.6), (1.8, 0.6), (1.8, 0.0)]
            points = tuple((x0 + p, y0 + q) for p, q in corner)
            if room.polygon.buffer(1e-6).contains(Polygon([*points, (x0, y0)])):
                yield Poly("zero" if x == 2 else "worktop", points, closed=False)


def tiles(case: Case, x: float, _rng: Random) -> Strokes:
    """A floor of tiles as loose lines in the smaller rooms, 1 on a layer of their own, 2 on layer 0."""
    for b in case.buildings:
        for room in b.rooms:
            if room.polygon.area > 8 or room.optional:
                continue
            x0, y0, x1, y1 = room.polygon.bounds
            level = [LineString([(x0, y0 + d), (x1, y0 + d)]) for d in _steps(y1 - y0, 0.3)]
            upright = [LineString([(x0 + d, y0), (x0 + d, y1)]) for d in _steps(x1 - x0, 0.3)]
            for line in (*level, *upright):
                for part in lines_of(line.intersection(room.polygon)):
                    yield Line("zero" if x == 2 else "tiles", part.coords[0], part.coords[-1])


def area_outlines(case: Case, x: float, _rng: Random) -> Strokes:
    """The rooms' areas as closed outlines, 1 at the faces, 2 at the middles of the inner walls."""
    for b in case.buildings:
        for room in b.rooms:
            shape = room.polygon if x == 1 else room.polygon.buffer(b.inner_thick / 2, join_style="mitre")
            yield Poly("area", tuple((p, q) for p, q in shape.exterior.coords)[:-1])


def label_boxes(case: Case, _x: float, _rng: Random) -> Strokes:
    """A box about every label, a line to the door."""
    for b in case.buildings:
        for room in b.rooms:
            x, y = spot(room.polygon)
            yield _box("text", x - 0.8, y - 0.3, 1.6, 0.6)
            yield Line("text", (x - 0.8, y), (x + 0.8, y))
            yield Arc("text", (x, y - 0.5), 0.2, 0, 360)


def clouds(case: Case, _x: float, _rng: Random) -> Strokes:
    """Revision clouds across walls."""
    for b in case.buildings:
        for room in b.rooms[::3]:
            x0, y0, x1, y1 = room.polygon.buffer(0.4).bounds
            for k in range(round((x1 - x0) / 0.5)):
                yield Arc("cloud", (x0 + 0.25 + 0.5 * k, y0), 0.25, 180, 360)
                yield Arc("cloud", (x0 + 0.25 + 0.5 * k, y1), 0.25, 0, 180)
            for k in range(round((y1 - y0) / 0.5)):
                yield Arc("cloud", (x0, y0 + 0.25 + 0.5 * k), 0.25, 90, 270)
                yield Arc("cloud", (x1, y0 + 0.25 + 0.5 * k), 0.25, 270, 450)


def site(case: Case, _x: float, _rng: Random) -> Strokes:
    """The plot's boundary, paving, trees, and a neighbour's outline."""
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        yield _box("site", x0 - 4, y0 - 5, x1 - x0 + 8, y1 - y0 + 9)
        yield _box("site", x0 - 1.2, y0 - 1.2, x1 - x0 + 2.4, y1 - y0 + 2.4)
        yield _box("site", x0 - 16, y0, 9.0, 8.0)
        for k in range(4):
            yield Arc("site", (x0 - 2.5, y0 + 2.5 * k), 1.1, 0, 360)
