"""What offices put on a plan beside its walls, and how they part the walls among layers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from random import Random

from shapely import LineString, Polygon, box

from tests.draughtsman.cases import Case
from tests.draughtsman.strokes import Arc, Fill, Line, Note, Part, Poly, Stroke, Symbol
from tests.draughtsman.world import Building, Xy, lines_of, spot

_PLASTER = 0.015
"""Depth of the plaster before the wall's own face, metres (common practice: 13 to 20 mm)."""


def built_and_new(case: Case, x: float, _rng: Random) -> Case:
    """An extension: walls left of the middle are there already, the others new, on layers that 1 say so by a code,
    2 say so in a word, 3 say nothing.
    """
    names = {1: ("A-WALL-EXST", "A-WALL-NEWW"), 2: ("Bestand", "Neubau"), 3: ("17", "23")}[int(x)]
    x0, _, x1, _ = case.buildings[0].outline.bounds
    cut = (x0 + x1) / 2

    def parted(s: Stroke) -> Stroke:
        if s.role != "wall" or not isinstance(s, Line | Arc):
            return s
        x = (s.a[0] + s.b[0]) / 2 if isinstance(s, Line) else s.centre[0]
        return replace(s, role="existing" if x < cut else "new")

    layers = case.page.layers | dict(zip(("existing", "new"), names, strict=True))
    return replace(case, strokes=tuple(map(parted, case.strokes)), page=replace(case.page, layers=layers))


def marks(case: Case, x: float, _rng: Random) -> Case:
    """Section lines, levels, leaders and a north arrow through the rooms, 1 on a layer of their own, 2 on layer 0."""
    role = "zero" if x == 2 else "mark"
    more: list[Stroke] = []
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        level, upright = y0 + 0.37 * (y1 - y0), x0 + 0.41 * (x1 - x0)
        for a, z in (((x0 - 2, level), (x1 + 2, level)), ((upright, y0 - 2), (upright, y1 + 2))):
            more += [Line(role, a, z), Arc(role, a, 0.3, 0, 360), Note(role, "A", a, 0.25)]
        for room in b.rooms:
            cx, cy = spot(room.polygon)
            more += _level(role, (cx + 0.5, cy - 0.5)) + _leader(role, (cx, cy), (x1 + 3, cy + 2))
        north = spot(max((r.polygon for r in b.rooms), key=lambda p: p.area))
        more += [Arc(role, north, 0.5, 0, 360), Line(role, (north[0], north[1] - 0.5), (north[0], north[1] + 0.5)),
                 Poly(role, ((north[0] - 0.15, north[1]), (north[0], north[1] + 0.5), (north[0] + 0.15, north[1])))]
    return replace(case, strokes=(*case.strokes, *more))


def _level(role: str, at: Xy) -> list[Stroke]:
    x, y = at
    top = y + 0.15
    return [Poly(role, ((x - 0.1, top), (x + 0.1, top), (x, y))), Line(role, (x, top), (x + 0.6, top)),
            Note(role, "+0.00", (x + 0.35, y + 0.25), 0.12)]


def _leader(role: str, tip: Xy, text: Xy) -> list[Stroke]:
    return [Line(role, tip, text), Line(role, text, (text[0] + 1.0, text[1])), Note(role, "12", text, 0.15)]


def ceilings(case: Case, x: float, _rng: Random) -> Case:
    """A ceiling of tiles 600 by 600 with lights in every room, 1 on a layer of its own, 2 on layer 0."""
    role = "zero" if x == 2 else "ceiling"
    more: list[Stroke] = []
    for b in case.buildings:
        for room in b.rooms:
            x0, y0, x1, y1 = room.polygon.bounds
            lines = [LineString([(x0, y), (x1, y)]) for y in _steps(y0, y1)]
            lines += [LineString([(p, y0), (p, y1)]) for p in _steps(x0, x1)]
            more += [Line(role, part.coords[0], part.coords[-1])
                     for line in lines for part in lines_of(line.intersection(room.polygon))]
            for p in _steps(x0, x1)[1:-1:2]:
                light = box(p, y0 + 1.3, p + 0.6, y0 + 1.9)
                if room.polygon.contains(light):
                    more.append(Poly(role, tuple(light.exterior.coords)[:-1]))
    return replace(case, strokes=(*case.strokes, *more))


def _steps(low: float, high: float, by: float = 0.6) -> list[float]:
    start = low + ((high - low) % by) / 2
    return [start + by * n for n in range(int((high - start) / by) + 1)]


def floors(case: Case, x: float, _rng: Random) -> Case:
    """Every floor filled to its walls, 1 with a pattern, 2 with a colour, 3 with a colour on layer 0."""
    role, pattern = ("zero" if x == 3 else "floor"), ("NET" if x == 1 else "SOLID")
    more = [Fill(role, (tuple(room.polygon.exterior.coords)[:-1],), pattern)
            for b in case.buildings for room in b.rooms if not room.polygon.interiors]
    return replace(case, strokes=(*more, *case.strokes))


def on_walls(case: Case, x: float, _rng: Random) -> Case:
    """On the walls' layer: 1 doors, 2 doors and windows, 3 those and stairs."""
    roles = ("door", "window", "stair")[: int(x)]
    wall = case.page.layers["wall"]
    return replace(case, page=replace(case.page, layers=case.page.layers | dict.fromkeys(roles, wall)))


def fitted(case: Case, _x: float, rng: Random) -> Case:
    """Worktops about a corner of each room, on the walls' layer."""
    from tests.draughtsman.clutter import worktops

    return replace(case, strokes=(*case.strokes, *(replace(s, role="wall") for s in worktops(case, 1, rng))))


def ducts(case: Case, _x: float, _rng: Random) -> Case:
    """A duct in a corner of every larger room."""
    return replace(case, buildings=tuple(_with_ducts(b) for b in case.buildings))


def _with_ducts(building: Building) -> Building:
    rooms = []
    for room in building.rooms:
        duct = _duct(building, room.polygon)
        rooms.append(replace(room, polygon=room.polygon.difference(duct)) if duct is not None else room)
    return replace(building, rooms=tuple(rooms))


def _duct(building: Building, room: Polygon) -> Polygon | None:
    """The place of a room's duct: in its lower left corner, clear of doors and windows."""
    x0, y0, _, _ = room.bounds
    found = box(x0, y0, x0 + 0.5, y0 + 0.7)
    clear = all(found.distance(o.strip()) > 0.4 for o in building.openings)
    left = room.difference(found)
    good = room.area > 7 and clear and room.buffer(1e-6).contains(found) and isinstance(left, Polygon)
    return found if good and not left.interiors else None


def crossed(case: Case, _x: float, _rng: Random) -> Case:
    """The ducts crossed, as boxes of their own before the walls."""
    more: list[Stroke] = []
    for b in case.buildings:
        for room in b.rooms:
            x0, y0, _, _ = room.polygon.bounds
            whole = box(x0, y0, x0 + 0.5, y0 + 0.7)
            if room.polygon.intersection(whole).area < 1e-6 and room.polygon.distance(whole) < 1e-6:
                (a, c, d, e) = tuple(whole.exterior.coords)[:-1]
                more += [Poly("wall", (a, c, d, e)), Line("wall", a, d), Line("wall", c, e)]
    return replace(case, strokes=(*case.strokes, *more))


def sills(case: Case, _x: float, _rng: Random) -> Case:
    """Windows with a sill before the outer face and a board before the inner one, wider than the opening."""
    def silled(s: Stroke) -> Stroke:
        if not isinstance(s, Symbol) or s.role != "window":
            return s
        ends = [p for part in s.parts if isinstance(part, Line) for p in (part.a, part.b)]
        if not ends:
            return s
        w, t = max(p[0] for p in ends), max(abs(p[1]) for p in ends)
        boards = tuple(_boards(w, t))
        return replace(s, name=f"sill-{s.name}", parts=(*s.parts, *boards))

    return replace(case, strokes=tuple(map(silled, case.strokes)))


def _boards(width: float, half: float) -> Iterator[Part]:
    for side, deep in ((1, 0.05), (-1, 0.03)):
        y = sorted((side * half, side * (half + deep)))
        yield Poly("window", ((-0.05, y[0]), (width + 0.05, y[0]), (width + 0.05, y[1]), (-0.05, y[1])))


def plastered(case: Case, _x: float, _rng: Random) -> Case:
    """The walls' own faces drawn behind the plaster's, on the same layer."""
    more: list[Stroke] = []
    for b in case.buildings:
        gone = [o.strip(wider=0.02) for o in b.openings]
        for room in b.rooms:
            behind = room.polygon.buffer(_PLASTER, join_style="mitre").exterior
            line = LineString(behind.coords)
            for g in gone:
                line = line.difference(g)
            for part in lines_of(line) if line.geom_type != "LineString" else [line]:
                more += _pieces("wall", part)
    return replace(case, strokes=(*case.strokes, *more))


def _pieces(role: str, line: LineString) -> Iterable[Stroke]:
    return [Line(role, p, q) for p, q in pairwise(line.coords)]


def detail(case: Case, _x: float, _rng: Random) -> Case:
    """A corner of the plan drawn again beside it, five times as large, with its layers."""
    more: list[Stroke] = []
    x1 = max(b.outline.bounds[2] for b in case.buildings)
    for b in case.buildings[-1:]:
        x0, y0, _, _ = b.outline.bounds
        near = box(x0 - 0.2, y0 - 0.2, x0 + 2.2, y0 + 1.8)

        def large(p: Xy, x0: float = x0, y0: float = y0) -> Xy:
            return ((p[0] - x0) * 5 + x1 + 6, (p[1] - y0) * 5 + y0)

        for s in case.strokes:
            if isinstance(s, Line) and s.role == "wall":
                for part in lines_of(LineString([s.a, s.b]).intersection(near)):
                    more.append(Line("wall", large(part.coords[0]), large(part.coords[-1])))
            elif isinstance(s, Poly) and s.role == "wall" and s.closed:
                for part in lines_of(LineString([*s.points, s.points[0]]).intersection(near)):
                    more += [Line("wall", large(p), large(q)) for p, q in pairwise(part.coords)]
        more.append(Note("text", "Detail 1:20", large((x0 + 1.0, y0 - 0.4)), 0.3))
    return replace(case, strokes=(*case.strokes, *more))
