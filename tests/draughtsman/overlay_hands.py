"""What lies over or across rooms on other offices' plans, and walls drawn in ways of their own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from random import Random

from shapely import LineString, Polygon, affinity, box

from tests.draughtsman.cases import Case
from tests.draughtsman.strokes import Arc, Line, Note, Poly, Stroke
from tests.draughtsman.world import Building, TrueRoom, Xy, lines_of, spot

_LARGE = 9.0
"""Rooms larger than this, m2, are crossed by low walls and rails."""


def _across(room: Polygon, offsets: tuple[float, ...], role: str, reach: float = 1e3) -> Iterator[Line]:
    """Upright lines through a room left of its middle, from wall to wall or `reach` metres up from the wall."""
    x, _ = spot(room)
    _, y0, _, y1 = room.bounds
    for off in offsets:
        for part in lines_of(LineString([(x - 0.8 + off, y0 - 1), (x - 0.8 + off, y1 + 1)]).intersection(room))[:1]:
            (ax, ay), (bx, by) = sorted((part.coords[0], part.coords[-1]), key=lambda p: p[1])
            yield Line(role, (ax, ay), (bx, min(by, ay + reach)))


def low_walls(case: Case, x: float, _rng: Random) -> Case:
    """Walls of half height: 1 across the larger rooms on a layer that says so, 2 the same on a layer that says nothing,
    3 a stub of 1.1 m on the walls' layer.
    """
    role = {1: "half", 2: "silent", 3: "wall"}[int(x)]
    more: list[Stroke] = []
    for room in (r.polygon for b in case.buildings for r in b.rooms if r.polygon.area > _LARGE and not r.optional):
        faces = list(_across(room, (0.0, 0.1), role, 1.1 if x == 3 else 1e3))
        more += faces
        if x == 3 and len(faces) == 2:
            more.append(Line(role, faces[0].b, faces[1].b))
    return replace(case, strokes=(*case.strokes, *more))


def rails(case: Case, x: float, _rng: Random) -> Case:
    """Balustrades across the larger rooms: two lines 40 mm apart with posts, 1 on their layer, 2 on one that says
    nothing.
    """
    role = "silent" if x == 2 else "rail"
    more: list[Stroke] = []
    for room in (r.polygon for b in case.buildings for r in b.rooms if r.polygon.area > _LARGE and not r.optional):
        lines = list(_across(room, (0.0, 0.04), role))
        more += lines
        if lines:
            (px, py), length = lines[0].a, lines[0].length
            more += [_box(role, px - 0.01, py + length * k / 4, 0.06, 0.06) for k in (1, 2, 3)]
    return replace(case, strokes=(*case.strokes, *more))


def _box(role: str, x: float, y: float, w: float, h: float) -> Poly:
    return Poly(role, ((x, y), (x + w, y), (x + w, y + h), (x, y + h)))


def match_lines(case: Case, x: float, _rng: Random) -> Case:
    """A match line each way through the building, 1 on its layer, 2 on layer 0."""
    role = "zero" if x == 2 else "match"
    more: list[Stroke] = []
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        cx, cy = x0 + 0.47 * (x1 - x0), y0 + 0.53 * (y1 - y0)
        more += [Line(role, (cx, y0 - 2), (cx, y1 + 2)), Line(role, (x0 - 2, cy), (x1 + 2, cy))]
        more += [Note("text", "MATCH LINE - SEE SHEET 12", (cx, y1 + 2.3), 0.2)]
    return replace(case, strokes=(*case.strokes, *more))


def view_frames(case: Case, x: float, _rng: Random) -> Case:
    """Frames of views of the plan drawn over it, 1 on their layer, 2 on layer 0, 3 on a layer that says nothing."""
    role = {1: "view", 2: "zero", 3: "silent"}[int(x)]
    more: list[Stroke] = []
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        w, h = x1 - x0, y1 - y0
        more += [_box(role, x0 - 1, y0 - 1, 0.55 * w + 1, h + 2),
                 _box(role, x0 + 0.45 * w, y0 - 1.5, 0.55 * w + 2, h + 3),
                 _box(role, x0 + 0.2 * w, y0 + 0.2 * h, 0.5 * w, 0.5 * h)]
    return replace(case, strokes=(*case.strokes, *more))


def grids(case: Case, x: float, _rng: Random) -> Case:
    """The structure's grid in unbroken lines every 3.3 m through the rooms, 1 on layer 0, 2 on a layer that says
    nothing, 3 two lines a beam apart on a layer that says nothing.
    """
    role = "zero" if x == 1 else "silent"
    more: list[Stroke] = []
    for b in case.buildings:
        x0, y0, x1, y1 = b.outline.bounds
        for off in (0.0, 0.2) if x == 3 else (0.0,):
            for n in range(1, int((x1 - x0) / 3.3) + 1):
                at = x0 + 3.3 * n - 1.2 + off
                more += [Line(role, (at, y0 - 1.5), (at, y1 + 1.5)), Arc(role, (at, y1 + 1.8), 0.3, 0, 360)]
            for n in range(1, int((y1 - y0) / 3.3) + 1):
                at = y0 + 3.3 * n - 1.2 + off
                more += [Line(role, (x0 - 1.5, at), (x1 + 1.5, at)), Arc(role, (x0 - 1.8, at), 0.3, 0, 360)]
    return replace(case, strokes=(*case.strokes, *more))


def lighting(case: Case, x: float, _rng: Random) -> Case:
    """Lamps, panels and switching lines in every room, 1 on their layer, 2 on one that says nothing."""
    role = "silent" if x == 2 else "light"
    more: list[Stroke] = []
    for b in case.buildings:
        for room in b.rooms:
            cx, cy = spot(room.polygon)
            x0, y0, _, _ = room.polygon.bounds
            more += [Arc(role, (cx, cy), 0.15, 0, 360), Line(role, (cx - 0.15, cy), (cx + 0.15, cy)),
                     Line(role, (cx, cy - 0.15), (cx, cy + 0.15)), _box(role, cx + 0.5, cy - 0.3, 0.6, 0.6)]
            more += [Line(role, (cx, cy), (x0, cy - 0.4)), Arc(role, (x0 + 0.06, cy - 0.4), 0.06, 0, 360),
                     Line(role, (cx, cy), (cx + 0.3, y0 - 0.1))]
    return replace(case, strokes=(*case.strokes, *more))


def crossed_rooms(case: Case, x: float, _rng: Random) -> Case:
    """The largest room open to the storey above or below, crossed corner to corner: 1 on a layer that says so, 2 on one
    that says nothing, 3 on the walls'.
    """
    role = {1: "void", 2: "silent", 3: "wall"}[int(x)]
    more: list[Stroke] = []
    for b in case.buildings:
        room = max((r.polygon for r in b.rooms if not r.optional), key=lambda p: p.area)
        more += _cross(role, room)
    return replace(case, strokes=(*case.strokes, *more))


def _cross(role: str, room: Polygon) -> Iterator[Line]:
    """The longest diagonals of the box round a room, as far as they run inside it."""
    x0, y0, x1, y1 = room.bounds
    for line in (LineString([(x0, y0), (x1, y1)]), LineString([(x0, y1), (x1, y0)])):
        for part in lines_of(line.intersection(room)):
            yield Line(role, part.coords[0], part.coords[-1])


def lifts(case: Case, _x: float, _rng: Random) -> Case:
    """The smallest room is a lift: no name, its car drawn and crossed on the walls' layer."""
    return replace(case, buildings=tuple(_with_lift(b) for b in case.buildings))


def _with_lift(b: Building) -> Building:
    n = min((k for k, r in enumerate(b.rooms) if not r.optional), key=lambda k: b.rooms[k].polygon.area)
    rooms = [TrueRoom(r.polygon, "", optional=True) if k == n else r for k, r in enumerate(b.rooms)]
    return replace(b, rooms=tuple(rooms))


def cars(case: Case, _x: float, _rng: Random) -> Case:
    """The cars of the lifts."""
    more: list[Stroke] = []
    for room in (r.polygon for b in case.buildings for r in b.rooms if r.optional and not r.name):
        x0, y0, x1, y1 = room.bounds
        car = box(x0 + 0.2, y0 + 0.2, min(x1 - 0.2, x0 + 1.8), min(y1 - 0.4, y0 + 2.0))
        if room.contains(car):
            more += [Poly("wall", tuple((p, q) for p, q in car.exterior.coords)[:-1]), *_cross("wall", car)]
    return replace(case, strokes=(*case.strokes, *more))


def outlined(case: Case, x: float, _rng: Random) -> Case:
    """The rooms' outlines closed on a layer that says nothing, 1 at the faces, 2 at the middles of the inner walls,
    3 at the faces and into the doorways.
    """
    more: list[Stroke] = []
    for b in case.buildings:
        for room in b.rooms:
            shape = room.polygon if x != 2 else room.polygon.buffer(b.inner_thick / 2, join_style="mitre")
            if x == 3:
                near = [o.strip(0.0) for o in b.openings if o.kind != "window" and _beside(o.strip(0.0), room.polygon)]
                for strip in near:
                    shape = shape.union(strip.buffer(1e-6))
            if isinstance(shape, Polygon):
                more.append(Poly("silent", tuple((p, q) for p, q in shape.exterior.coords)[:-1]))
    return replace(case, strokes=(*case.strokes, *more))


def _beside(strip: Polygon, room: Polygon) -> bool:
    return bool(strip.distance(room) < 1e-6)


def patterned(case: Case, x: float, _rng: Random) -> Case:
    """Floors of boards or tiles as loose lines in every room, on a layer that says nothing: 1 tiles 450 mm square, 2
    boards 140 mm wide.
    """
    more: list[Stroke] = []
    step = 0.45 if x == 1 else 0.14
    for room in (r.polygon for b in case.buildings for r in b.rooms if not r.optional):
        x0, y0, x1, y1 = room.bounds
        lines = [LineString([(x0 - 1, y0 + step * k), (x1 + 1, y0 + step * k)])
                 for k in range(1, int((y1 - y0) / step))]
        if x == 1:
            lines += [LineString([(x0 + step * k, y0 - 1), (x0 + step * k, y1 + 1)])
                      for k in range(1, int((x1 - x0) / step))]
        more += [Line("silent", p.coords[0], p.coords[-1]) for ln in lines for p in lines_of(ln.intersection(room))]
    return replace(case, strokes=(*case.strokes, *more))


def tapered(case: Case, lean: float, _rng: Random) -> Case:
    """Outer walls whose faces are not parallel: as the outer face alone leans by `lean` metres from end to end."""
    strokes: list[Stroke] = []
    bounds = [b.outline.bounds for b in case.buildings]

    def leaning(p: Xy) -> Xy:
        for x0, y0, x1, y1 in bounds:
            if x0 - 1e-6 <= p[0] <= x1 + 1e-6 and y0 - 1e-6 <= p[1] <= y1 + 1e-6:
                left, low = abs(p[0] - x0) < 1e-6, abs(p[1] - y0) < 1e-6
                along = (p[1] - y0) / (y1 - y0)
                return (p[0] - lean * along if left else p[0], p[1] - lean * (p[0] - x0) / (x1 - x0) if low else p[1])
        return p

    for s in case.strokes:
        if isinstance(s, Line) and s.role == "wall":
            s = replace(s, a=leaning(s.a), b=leaning(s.b))
        elif isinstance(s, Poly) and s.role == "wall":
            s = replace(s, points=tuple(map(leaning, s.points)))
        strokes.append(s)
    return replace(case, strokes=tuple(strokes))


def two_layers(case: Case, x: float, _rng: Random) -> Case:
    """The outer face of the outer walls on one layer, all inner faces on another, 1 called so, 2 by numbers."""
    names = {1: ("A-WALL-EXTR", "A-WALL-INTR"), 2: ("31", "32")}[int(x)]
    rims = [LineString(b.outline.exterior.coords).buffer(0.002) for b in case.buildings]

    def parted(s: Stroke) -> list[Stroke]:
        if isinstance(s, Poly) and s.role == "wall" and not s.width:
            points = (*s.points, s.points[0]) if s.closed else s.points
            return [parted(Line("wall", a, b))[0] for a, b in pairwise(points)]
        if not isinstance(s, Line) or s.role != "wall":
            return [s]
        outer = any(rim.contains(LineString([s.a, s.b])) for rim in rims)
        return [replace(s, role="existing" if outer else "new")]

    layers = case.page.layers | dict(zip(("existing", "new"), names, strict=True))
    strokes = tuple(piece for s in case.strokes for piece in parted(s))
    return replace(case, strokes=strokes, page=replace(case.page, layers=layers))


def twins(case: Case, _x: float, _rng: Random) -> Case:
    """The house and its mirror image, with the wall between them in common."""
    return replace(case, buildings=tuple(_twinned(b) for b in case.buildings))


def _twinned(b: Building) -> Building:
    x0, y0, x1, y1 = b.inside.bounds
    axis = x1 + b.outer_thick / 2
    kept = tuple(o for o in b.openings if min(o.a[0], o.b[0]) < x1 - 1e-6)

    def turned(p: Xy) -> Xy:
        return (2 * axis - p[0], p[1])

    def image(shape: Polygon) -> Polygon:
        return affinity.scale(shape, -1, 1, origin=(axis, 0))

    mirrored = tuple(replace(o, a=turned(o.b), b=turned(o.a)) for o in kept)
    rooms = (*b.rooms, *(replace(r, polygon=image(r.polygon)) for r in b.rooms))
    runs = (*b.runs, *((affinity.scale(line, -1, 1, origin=(axis, 0)), t) for line, t in b.runs))
    party = LineString([(axis, y0), (axis, y1)])
    return replace(b, rooms=rooms, inside=box(x0, y0, 2 * axis - x0, y1), openings=(*kept, *mirrored),
                   runs=(*runs, (party, b.outer_thick)), stairs=(*b.stairs, *map(image, b.stairs)))


_TONGUES = {
    1: {"wall": "VÄGG", "door": "DÖRR", "window": "FÖNSTER", "text": "RUMSNAMN", "furniture": "INREDNING"},
    2: {"wall": "СТЕНЫ", "door": "ДВЕРИ", "window": "ОКНА", "text": "ПОМЕЩЕНИЯ", "furniture": "МЕБЕЛЬ"},
    3: {"wall": "DUVAR", "door": "KAPI", "window": "PENCERE", "text": "MAHAL", "furniture": "MOBILYA"},
    4: {"wall": "SEINÄT", "door": "OVET", "window": "IKKUNAT", "text": "HUONETILAT", "furniture": "KALUSTEET"},
    5: {"wall": "ZDI", "door": "DVERE", "window": "OKNA", "text": "MISTNOSTI", "furniture": "NABYTEK"},
    6: {"wall": "壁", "door": "建具", "window": "サッシ", "text": "室名", "furniture": "家具"},
}
"""Layers' names as an office might have them, from memory: Swedish, Russian, Turkish, Finnish, Czech, Japanese."""


def tongues(case: Case, x: float, _rng: Random) -> Case:
    """Layers named in 1 Swedish, 2 Russian, 3 Turkish, 4 Finnish, 5 Czech, 6 Japanese; furniture and dimensions too."""
    return replace(case, page=replace(case.page, layers=case.page.layers | _TONGUES[int(x)]))


def capped(case: Case, _x: float, _rng: Random) -> Case:
    """Double lines of one entity that the style closes at their ends."""
    return replace(case, page=replace(case.page, caps=True))
