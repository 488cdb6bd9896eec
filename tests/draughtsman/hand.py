"""How a building is put on paper: `Manner` says how, `draw` gives the strokes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from shapely import LineString, Point, Polygon, line_merge, union_all
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from tests.draughtsman.strokes import Arc, Dim, Fill, Line, MLine, Note, Part, Poly, Stroke, Symbol, ring_lines
from tests.draughtsman.world import Building, TrueOpening, Xy, lines_of, spot, strip

LEAF = 0.04
"""Thickness of a door leaf drawn with two lines, metres."""
LINING = 0.03
PAIR = 0.9
"""Narrower doors have a single leaf even where pairs are drawn (common practice: leaves of 450 mm and more)."""
_ON_CIRCLE = 1e-4
"""How far from a circle a chord's end may lie, metres: mitred corners of chords differ by less."""


@dataclass(frozen=True)
class Manner:
    """How one draughtsman draws."""

    walls: str = "lines"
    """'lines', 'polylines', 'hatch' (fill alone), 'hatched' (outline and fill), 'wide', 'mline', 'single',
    'unbroken' (openings drawn over walls that run on), 'pieces' (every wall an outline of its own), 'crossed' (the
    same, run over each other at the corners)."""
    layers: int = 0
    """Lines inside the walls for their layers."""
    bonded: bool = True
    """Inner walls run into the outer one, else they are bodies of their own that touch it."""
    cavity: bool = False
    jambs: bool = True
    door: str = "swing"
    """'swing', 'lined' (a swing in its lining), 'rectangle', 'double', 'sliding', 'folding', 'pocket'."""
    leaf_lines: int = 2
    thresholds: bool = False
    """Lines on the doors' layer carry the wall's faces across."""
    window_lines: int = 3
    blocks: bool = True
    attributes: bool = False
    labels: str = "name"
    """'name', 'name and area', 'attributes' (of a tag's block), 'none'."""
    furniture: int = 0
    """Pieces a room."""
    dims: str = ""
    """'' none, 'outside', 'across' (through the rooms)."""
    stairs: bool = True


def draw(building: Building, manner: Manner, rng: Random) -> list[Stroke]:
    """All strokes of one storey."""
    strokes: list[Stroke] = []
    strokes += _walls(building, manner)
    strokes += _columns(building, manner)
    for opening in building.openings:
        strokes += _opening(opening, manner, rng)
    strokes += _labels(building, manner)
    strokes += _stairs(building)
    strokes += _furniture(building, manner, rng)
    strokes += _dims(building, manner)
    return strokes


# Walls -----------------------------------------------------------------------------------------------------


def cuts(building: Building) -> BaseGeometry:
    return union_all([o.strip() for o in building.openings])


def _walls(building: Building, manner: Manner) -> list[Stroke]:
    if manner.walls in ("wide", "mline"):
        return _runs(building, manner)
    if manner.walls == "single":
        return _single(building)
    if manner.walls in ("pieces", "crossed"):
        return _pieces(building, crossed=manner.walls == "crossed")
    gone = Polygon() if manner.walls == "unbroken" else cuts(building)
    strokes: list[Stroke] = []
    for body in _bodies(building, manner):
        strokes += _body(body.difference(gone), building, manner)
    for n in range(1, manner.layers + 1):
        strokes += _layer(building.body(), 0.015 * n * n, gone)
    return strokes


def _layer(body: BaseGeometry, depth: float, gone: BaseGeometry) -> list[Stroke]:
    """The line between two layers of the walls, `depth` behind their faces."""
    inner = body.buffer(-depth, join_style="mitre")
    rings = [LineString(r.coords) for p in getattr(inner, "geoms", [inner]) if not p.is_empty for r in _rings(p)]
    return [line for ring in rings for piece in lines_of(ring.difference(gone))
            for line in ring_lines("layer", tuple((x, y) for x, y in piece.coords))]


def _pieces(building: Building, crossed: bool) -> list[Stroke]:
    """Each straight length of wall as an outline of its own, cut at openings."""
    half = building.outer_thick / 2
    rings = _rings(building.inside.buffer(half, join_style="mitre"))
    runs = [*((r, building.outer_thick) for r in rings), *building.runs]
    body = building.body()
    taken: list[BaseGeometry] = []
    strokes: list[Stroke] = []
    for a, b, thick in [(a, b, t) for line, t in runs for a, b in pairwise(line.coords)]:
        piece = strip(a, b, thick, thick / 2).intersection(body).difference(cuts(building))
        if not crossed:
            piece = piece.difference(union_all(taken)) if taken else piece
            taken.append(piece.buffer(1e-6))
        for part in getattr(piece, "geoms", [piece]):
            if part.area > 1e-3:
                strokes.append(Poly("wall", tuple((x, y) for x, y in part.exterior.coords)[:-1]))
    return strokes


def _bodies(building: Building, manner: Manner) -> list[BaseGeometry]:
    """Wall bodies that are drawn each on their own."""
    whole = building.body()
    if not manner.cavity and manner.bonded:
        return [whole]
    inside = building.inside
    partitions = whole.intersection(inside)
    if not manner.cavity:
        return [building.outline.difference(inside), partitions]
    leaf = 0.1
    inner = inside.buffer(leaf, join_style="mitre")
    outer = inside.buffer(building.outer_thick - leaf, join_style="mitre")
    inner_leaf = inner.difference(inside)
    first = [union_all([inner_leaf, partitions])] if manner.bonded else [inner_leaf, partitions]
    return [building.outline.difference(outer), *first]


def _body(body: BaseGeometry, building: Building, manner: Manner) -> list[Stroke]:
    strokes: list[Stroke] = []
    for polygon in sorted((p for p in getattr(body, "geoms", [body]) if p.area > 1e-6), key=lambda p: p.bounds):
        rings = [tuple((x, y) for x, y in r.coords) for r in _rings(polygon)]
        if manner.walls in ("hatch", "hatched"):
            pattern = "SOLID" if manner.walls == "hatch" else "ANSI31"
            strokes.append(Fill("hatch", tuple(r[:-1] for r in rings), pattern))
        if manner.walls == "hatch":
            continue
        for ring in rings:
            strokes += _outline(ring, building, manner)
    return strokes


def _rings(polygon: Polygon) -> list[LineString]:
    polygon = orient(polygon)
    return [polygon.exterior, *polygon.interiors]


def _outline(ring: tuple[Xy, ...], building: Building, manner: Manner) -> list[Stroke]:
    """One closed outline, curves as arcs, jambs left out where they are not drawn."""
    pieces = _with_arcs(ring, building)
    if not manner.jambs:
        pieces = [p for p in pieces if not (isinstance(p, Line) and _is_jamb(p, building.openings))]
    elif manner.walls == "polylines" and all(isinstance(p, Line) for p in pieces):
        return [Poly("wall", ring[:-1])]
    return list(pieces)


def _with_arcs(ring: tuple[Xy, ...], building: Building) -> list[Part]:
    """Lines of a ring; runs of chords that lie on one of the building's circles become one arc."""
    lines = ring_lines("wall", ring)
    if not building.arcs:
        return list(lines)
    found: list[Part] = []
    chords: list[Line] = []
    circle: tuple[Xy, float] | None = None

    def close() -> None:
        if circle is not None and len(chords) > 3:
            found.append(_arc(chords, circle))
        else:
            found.extend(chords)
        chords.clear()

    start = next((n for n, ln in enumerate(lines) if _circle_of(ln, building) is None), 0)
    for line in [*lines[start:], *lines[:start]]:
        own = _circle_of(line, building)
        if own != circle:
            close()
            circle = own
        if own is None:
            found.append(line)
        else:
            chords.append(line)
    close()
    return found


def _circle_of(line: Line, building: Building) -> tuple[Xy, float] | None:
    for centre, radius in building.arcs:
        if all(abs(math.dist(centre, p) - radius) < _ON_CIRCLE for p in (line.a, line.b)) and line.length < radius / 2:
            return (centre, radius)
    return None


def _arc(chords: list[Line], circle: tuple[Xy, float]) -> Arc:
    centre, radius = circle
    along = (chords[0].a, chords[len(chords) // 2].a, chords[-1].b)
    turns = [math.degrees(math.atan2(p[1] - centre[1], p[0] - centre[0])) for p in along]
    forward = (turns[1] - turns[0]) % 360 < 180
    start, end = (turns[0], turns[2]) if forward else (turns[2], turns[0])
    return Arc("wall", centre, radius, start, end)


def _is_jamb(line: Line, openings: Iterable[TrueOpening]) -> bool:
    middle = Point((line.a[0] + line.b[0]) / 2, (line.a[1] + line.b[1]) / 2)
    for o in openings:
        if line.length > o.thick + 0.01 or min(middle.distance(Point(o.a)), middle.distance(Point(o.b))) > o.thick / 2:
            continue
        along = ((o.b[0] - o.a[0]) / o.width, (o.b[1] - o.a[1]) / o.width)
        across = abs((line.b[0] - line.a[0]) * along[0] + (line.b[1] - line.a[1]) * along[1]) < 1e-6
        on_end = min(abs((middle.x - p[0]) * along[0] + (middle.y - p[1]) * along[1]) for p in (o.a, o.b)) < 1e-6
        if across and on_end:
            return True
    return False


def _runs(building: Building, manner: Manner) -> list[Stroke]:
    """Walls as centre lines with a width, or as double lines of one entity."""
    middle = building.inside.buffer(building.outer_thick / 2, join_style="mitre")
    around = [LineString(r.coords) for r in _rings(middle)]
    gone = cuts(building)
    strokes: list[Stroke] = []
    for line, thick in [*((r, building.outer_thick) for r in around), *building.runs]:
        for piece in lines_of(_merged(line.difference(gone))):
            points = tuple((x, y) for x, y in piece.coords)
            if manner.walls == "wide":
                strokes.append(Poly("wall", points, closed=False, width=thick))
            else:
                strokes.append(MLine("wall", points, thick))
    return strokes


def _merged(shape: BaseGeometry) -> BaseGeometry:
    """Pieces of a cut ring that meet end to end made one."""
    return line_merge(shape) if shape.geom_type == "MultiLineString" else shape


def _single(building: Building) -> list[Stroke]:
    """Walls without thickness: the rooms are drawn to their boundaries (see `thin`)."""
    edges = union_all([r.polygon.boundary for r in building.rooms])
    gone = union_all([strip(o.a, o.b, 0.02) for o in building.openings])
    found: list[Stroke] = []
    for line in lines_of(_merged(edges.difference(gone))):
        points = [(x, y) for x, y in LineString(line.simplify(1e-6)).coords]
        found += ring_lines("wall", points)
    return found


def _columns(building: Building, manner: Manner) -> list[Stroke]:
    found: list[Stroke] = []
    for n, column in enumerate(building.columns):
        points = tuple((x, y) for x, y in column.exterior.coords)[:-1]
        found.append(Poly("column", points))
        if n % 2 == 0:
            found.append(Fill("column", (points,)))
    return found


# Openings --------------------------------------------------------------------------------------------------


def _opening(o: TrueOpening, manner: Manner, rng: Random) -> list[Stroke]:
    parts: list[Part]
    if o.kind == "window":
        parts = list(_window(o, manner))
    elif o.kind == "opening":
        return []
    else:
        parts = list(_door(o, manner))
    role = "window" if o.kind == "window" else "door"
    mirrored = o.kind == "door" and rng.random() < 0.5
    turn = math.degrees(math.atan2(o.b[1] - o.a[1], o.b[0] - o.a[0]))
    attributes: tuple[tuple[str, str], ...] = ()
    if manner.attributes:
        attributes = (("NO", f"{role[0].upper()}{rng.randrange(100):02d}"), ("WIDTH", f"{o.width * 1000:.0f}"))
    name = f"{role}-{manner.door}-{manner.window_lines}-{o.width * 1000:.0f}-{o.thick * 1000:.0f}"
    symbol = Symbol(role, name, tuple(parts), o.a, turn, mirrored, attributes=attributes)
    return [symbol] if manner.blocks else list(symbol.exploded())


def _box(role: str, x: float, y: float, w: float, h: float) -> Poly:
    return Poly(role, ((x, y), (x + w, y), (x + w, y + h), (x, y + h)))


def _door(o: TrueOpening, manner: Manner) -> list[Part]:
    """Door symbol, hinge at the origin, wall along x."""
    w, t = o.width, o.thick
    frame: list[Part] = []
    if manner.walls == "unbroken":
        frame.append(_box("door", 0, -t / 2, w, t))
    if manner.thresholds:
        frame += [Line("door", (0, y), (w, y)) for y in (-t / 2, t / 2)]
    if manner.door == "lined":
        linings: list[Part] = [_box("door", x, -t / 2, LINING, t) for x in (0.0, w - LINING)]
        return [*frame, *linings, *_leaf(LINING, t / 2, w - 2 * LINING, manner)]
    if manner.door == "rectangle":
        return frame or [_box("door", 0, -t / 2, w, t)]
    if manner.door == "double" and w > PAIR:
        return [*frame, *_leaf(0, t / 2, w / 2, manner), *_leaf(w, t / 2, w / 2, manner, left=True)]
    if manner.door == "sliding":
        return [*frame, _box("door", 0, -0.04, w * 0.55, 0.04), _box("door", w * 0.45, 0.0, w * 0.55, 0.04)]
    if manner.door == "pocket":
        return [*frame, _box("door", -w * 0.9, -0.02, w * 1.4, 0.04)]
    if manner.door == "folding":
        zigzag = [(w * n / 4 * 0.9, t / 2 + (w / 5 if n % 2 else 0.0)) for n in range(5)]
        return [*frame, Poly("door", tuple(zigzag), closed=False)]
    return [*frame, *_leaf(0, t / 2, w, manner)]


def _leaf(x: float, y: float, length: float, manner: Manner, left: bool = False) -> list[Part]:
    swing = Arc("door", (x, y), length, 90 if left else 0, 180 if left else 90)
    if manner.leaf_lines == 1:
        return [Line("door", (x, y), (x, y + length)), swing]
    return [_box("door", x - (LEAF if left else 0), y, LEAF, length), swing]


def _window(o: TrueOpening, manner: Manner) -> list[Part]:
    """`window_lines` lines along the wall, spread over its thickness."""
    w, t, n = o.width, o.thick, manner.window_lines
    offsets = {0: (), 1: (0.0,)}.get(n) if n < 2 else tuple(-t / 2 + t * k / (n - 1) for k in range(n))
    parts: list[Part] = [Line("window", (0, y), (w, y)) for y in offsets or ()]
    if manner.walls == "unbroken":
        parts.append(_box("window", 0, -t / 2, w, t))
    return parts


# The rest --------------------------------------------------------------------------------------------------


def _labels(building: Building, manner: Manner) -> list[Stroke]:
    found: list[Stroke] = []
    if manner.labels == "none":
        return found
    for room in building.rooms:
        if not room.name:
            continue
        x, y = spot(room.polygon)
        if manner.labels == "attributes":
            told = (("NAME", room.name), ("AREA", f"{room.polygon.area:.2f}"))
            found.append(Symbol("text", "ROOM-TAG", (), (x, y), attributes=told))
            continue
        found.append(Note("text", room.name, (x, y + 0.1)))
        if manner.labels == "name and area":
            found.append(Note("text", f"{room.polygon.area:.2f} m²", (x, y - 0.15), 0.12))
    if building.title:
        x0, y0, _, _ = building.outline.bounds
        found.append(Note("text", building.title, (x0 + 2, y0 - 1.5), 0.3))
    return found


def _stairs(building: Building) -> list[Stroke]:
    found: list[Stroke] = []
    for well in building.stairs:
        x0, y0, x1, y1 = well.bounds
        low, high, count = y0 + 1.0, min(y1 - 0.9, y0 + 1.0 + 0.26 * 10), 10
        for n in range(count + 1):
            y = low + (high - low) * n / count
            found += [Line("stair", (x0, y), (x0 + 1.0, y)), Line("stair", (x1 - 1.0, y), (x1, y))]
        found += [Line("stair", (x, low), (x, high)) for x in (x0 + 1.0, x1 - 1.0)]
    return found


def _furniture(building: Building, manner: Manner, rng: Random) -> list[Stroke]:
    """Rectangles, circles and crossed boxes, half of them backed against a wall."""
    found: list[Stroke] = []
    for room in building.rooms:
        for n in range(manner.furniture):
            size = rng.choice(((0.6, 0.6), (1.9, 0.9), (2.0, 1.5), (1.6, 0.6), (0.45, 0.4)))
            x0, y0, x1, y1 = room.polygon.bounds
            x = x0 if n % 2 == 0 else rng.uniform(x0, max(x0, x1 - size[0]))
            y = rng.uniform(y0, max(y0, y1 - size[1])) if n % 2 == 0 else rng.choice((y0, max(y0, y1 - size[1])))
            outline = _box("furniture", x, y, *size)
            if not room.polygon.buffer(1e-6).contains(Polygon(outline.points)):
                continue
            found.append(outline)
            if n % 3 == 0:
                found.append(Line("furniture", (x, y), (x + size[0], y + size[1])))
            elif n % 3 == 1:
                found.append(Arc("furniture", (x + size[0] / 2, y + size[1] / 2), min(size) / 3, 0, 360))
            else:
                found.append(_box("furniture", x + 0.05, y + 0.05, size[0] - 0.1, size[1] - 0.1))
    return found


def _dims(building: Building, manner: Manner) -> list[Stroke]:
    found: list[Stroke] = []
    x0, y0, x1, y1 = building.outline.bounds
    if manner.dims:
        found += [Dim("dims", (x0, y0), (x1, y0), -1.2), Dim("dims", (x0, y0), (x0, y1), 1.2)]
    if manner.dims == "across":
        for room in building.rooms:
            a0, b0, a1, b1 = room.polygon.bounds
            at = spot(room.polygon)
            level = room.polygon.intersection(LineString([(a0 - 1, at[1] - 0.3), (a1 + 1, at[1] - 0.3)]))
            upright = room.polygon.intersection(LineString([(at[0] + 0.4, b0 - 1), (at[0] + 0.4, b1 + 1)]))
            for line in [*lines_of(level)[:1], *lines_of(upright)[:1]]:
                (ax, ay), (bx, by) = line.coords[0], line.coords[-1]
                found.append(Dim("dims", (ax, ay), (bx, by), 0.0))
    return found
