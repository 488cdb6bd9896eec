"""Kinds of buildings, each from a seed, with exact truth. `KINDS` lists them all."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from random import Random

from shapely import LineString, Point, Polygon, affinity, box, remove_repeated_points, union_all

from tests.draughtsman.world import Building, Draft, Facing, TrueOpening, TrueRoom, Xy, strip

NAMES = {
    "en": ("Living room", "Kitchen", "Bedroom", "Bathroom", "Hall", "Study", "Utility", "WC", "Dining", "Store"),
    "de": ("Wohnzimmer", "Küche", "Schlafzimmer", "Bad", "Flur", "Büro", "Diele", "WC", "Essen", "Abstellraum"),
    "fr": ("Séjour", "Cuisine", "Chambre", "Salle de bain", "Entrée", "Bureau", "Cellier", "WC", "Salon", "Placard"),
    "es": ("Sala", "Cocina", "Dormitorio", "Baño", "Pasillo", "Estudio", "Lavadero", "Aseo", "Comedor", "Despensa"),
    "pl": ("Salon", "Kuchnia", "Sypialnia", "Łazienka", "Korytarz", "Gabinet", "Pralnia", "WC", "Jadalnia", "Hol"),
    "zh": ("客厅", "厨房", "卧室", "卫生间", "走廊", "书房", "洗衣房", "厕所", "餐厅", "储藏室"),
}
DOORS = (0.76, 0.84, 0.91, 1.01)
"""Structural widths of single doors, metres (common practice: leaf and about 76 mm)."""
WINDOWS = (0.61, 0.91, 1.2, 1.5, 1.8)
NIB = 0.1
"""Least wall between a door and a corner."""


def house(seed: int) -> Building:
    """A rectangular house, some rooms L-shaped."""
    rng = Random(seed)
    draft = plot(rng, _rectangle(rng, 8, 12, 7, 10))
    _share_out(draft, rng, rng.uniform(9, 15), 0.0)
    if rng.random() < 0.6:
        _merge_one(draft, rng)
    return finish(draft, rng)


def skew_house(seed: int) -> Building:
    """Four outer walls at no right angle, inner ones nearly square to them."""
    rng = Random(seed)
    w, d = rng.uniform(8, 12), rng.uniform(7, 10)

    def off() -> float:
        return rng.uniform(-0.12, 0.12)

    corners = [(w * off(), d * off()), (w * (1 + off()), d * off()), (w * (1 + off()), d * (1 + off())), (w * off(), d)]
    draft = plot(rng, Polygon(corners))
    _share_out(draft, rng, rng.uniform(11, 16), 12.0)
    return finish(draft, rng)


def l_house(seed: int) -> Building:
    """Two wings at a right angle or bent against each other."""
    rng = Random(seed)
    long, deep = rng.uniform(9, 13), rng.uniform(4.5, 6)
    wing = box(0, 0, deep, rng.uniform(8, 11))
    bend = rng.choice((0.0, 0.0, 15.0, 30.0))
    plan = union_all([box(0, 0, long, deep), affinity.rotate(wing, -bend, origin=(deep, deep))])
    assert isinstance(plan, Polygon)
    draft = plot(rng, Polygon(plan.exterior))
    _share_out(draft, rng, rng.uniform(12, 18), 0.0)
    return finish(draft, rng)


def corridor(seed: int) -> Building:
    """Rooms on both sides of a corridor: offices, a school."""
    rng = Random(seed)
    w, deep, wide = rng.uniform(16, 24), round(rng.uniform(4, 6), 2), round(rng.uniform(1.5, 2.4), 2)
    draft = plot(rng, box(0, 0, round(w, 2), round(2 * deep + wide + 2 * 0.12, 2)), inner=0.12)
    for y in (deep + 0.06, deep + wide + 0.18):
        _cut_last(draft, LineString([(-1, y), (w + 1, y)]))
    for side in sorted(range(3), key=lambda n: -draft.rooms[n].area)[:2]:
        room = draft.rooms[side]
        x = 0.0
        while x + 7 < w:
            x += round(rng.uniform(2.8, 4.5), 2)
            at = next((n for n, r in enumerate(draft.rooms) if r.contains(Point(x, room.centroid.y))), None)
            if at is not None:
                draft.cut(at, LineString([(x, -1), (x, 40)]))
    return finish(draft, rng)


def flats(seed: int) -> Building:
    """Four flats about a stair and a lift: separating walls thick, partitions thin."""
    rng = Random(seed)
    w, d, core = round(rng.uniform(17, 21), 2), round(rng.uniform(12, 14), 2), 3.2
    draft = plot(rng, box(0, 0, w, d), inner=0.2, outer=0.365)
    for x in ((w - core) / 2, (w + core) / 2):
        _cut_last(draft, LineString([(x, -1), (x, d + 1)]))
    for x in (1.0, w - 1.0):
        at = next(n for n, r in enumerate(draft.rooms) if r.contains(Point(x, 1)))
        draft.cut(at, LineString([(-1, d / 2), (w + 1, d / 2)]))
    middle = next(n for n, r in enumerate(draft.rooms) if r.contains(Point(w / 2, 1)))
    draft.cut(middle, LineString([(0, d * 0.55), (w, d * 0.55)]))
    _share_out(draft, rng, 14, 0.0, spare=lambda r: abs(r.centroid.x - w / 2) < core / 2)
    return finish(draft, rng, stairs=[next(n for n, r in enumerate(draft.rooms) if r.contains(Point(w / 2, d - 1)))])


def courtyard(seed: int) -> Building:
    """Rooms all round an open court."""
    rng = Random(seed)
    w, d, deep = round(rng.uniform(15, 19), 2), round(rng.uniform(14, 17), 2), round(rng.uniform(3.8, 4.6), 2)
    ring = box(0, 0, w, d).difference(box(deep, deep, w - deep, d - deep))
    draft = plot(rng, ring)
    _share_out(draft, rng, rng.uniform(12, 18), 0.0)
    built = finish(draft, rng)
    court = Polygon(built.outline.interiors[0])
    return _with(built, rooms=(*built.rooms, TrueRoom(court, "Courtyard", optional=True)))


def bays(seed: int) -> Building:
    """A house with canted or square bays."""
    rng = Random(seed)
    draft = plot(rng, _rectangle(rng, 9, 12, 7, 9))
    _share_out(draft, rng, rng.uniform(12, 16), 0.0)
    for f in _outer_facings(draft, rng, 2.4)[:2]:
        n, a, b = _face(draft, f)
        width = min(f.length - 0.6, rng.uniform(1.8, 3.0))
        _add_on(draft, n, _bay(a, b, (f.length - width) / 2, width, rng.uniform(0.6, 0.9), rng.choice((0.0, 0.5))))
    return finish(draft, rng)


def bows(seed: int) -> Building:
    """A house with a curved outer wall."""
    rng = Random(seed)
    draft = plot(rng, _rectangle(rng, 9, 12, 7, 9))
    _share_out(draft, rng, rng.uniform(12, 16), 0.0)
    f = _outer_facings(draft, rng, 2.4)[0]
    n, a, b = _face(draft, f)
    width = min(f.length - 0.5, rng.uniform(2.0, 4.0))
    rise = width * rng.uniform(0.15, 0.35)
    piece, centre, radius = _bow(a, b, (f.length - width) / 2, width, rise)
    _add_on(draft, n, piece)
    step = 2 * math.asin(min(1.0, width / 2 / radius)) / 48 / 2
    outer = radius + draft.outer / math.cos(step)  # mitred chords stand a little outside the circle
    built = finish(draft, rng)
    return _with(built, arcs=((centre, radius), (centre, outer)))


def columns(seed: int) -> Building:
    """Large rooms with columns, some free, some in the walls."""
    rng = Random(seed)
    draft = plot(rng, _rectangle(rng, 14, 18, 9, 12), outer=0.3, inner=0.15)
    _share_out(draft, rng, 70, 0.0)
    size, posts = rng.choice((0.3, 0.4)), []
    x0, y0, x1, y1 = draft.inside.bounds
    for i in range(1, 4):
        for j in range(1, 3):
            at = Point(x0 + (x1 - x0) * i / 4, y0 + (y1 - y0) * j / 3)
            posts.append(box(at.x - size / 2, at.y - size / 2, at.x + size / 2, at.y + size / 2))
    free = [p for p in posts if any(r.buffer(-0.3).contains(p) for r in draft.rooms)]
    draft.rooms = [_first(r.difference(union_all(free))) for r in draft.rooms]
    return _with(finish(draft, rng), columns=tuple(free))


def room_in_room(seed: int) -> Building:
    """A hall with a booth standing free in it."""
    rng = Random(seed)
    draft = plot(rng, _rectangle(rng, 9, 12, 8, 10), inner=0.12)
    booth = box(2.5, 2.5, round(rng.uniform(4.6, 5.4), 2), round(rng.uniform(4.3, 5.0), 2))
    shell = booth.buffer(0.12, join_style="mitre")
    draft.rooms = [_first(draft.inside.difference(shell)), booth]
    ring = booth.buffer(0.06, join_style="mitre").exterior
    draft.runs.append((LineString(ring.coords), 0.12))
    return finish(draft, rng)


KINDS: dict[str, Callable[[int], Building]] = {
    "house": house, "skew house": skew_house, "two wings": l_house, "corridor": corridor, "flats": flats,
    "courtyard": courtyard, "bays": bays, "bow": bows, "columns": columns, "room in a room": room_in_room,
}


# Laying out ------------------------------------------------------------------------------------------------


def plot(rng: Random, inside: Polygon, inner: float | None = None, outer: float | None = None) -> Draft:
    """An empty house of one room, its wall thicknesses drawn from what is built."""
    draft = Draft(inside, outer or rng.choice((0.3, 0.303, 0.365, 0.25)), inner or rng.choice((0.1, 0.115, 0.12, 0.15)))
    draft.rooms = [inside]
    return draft


def _rectangle(rng: Random, w0: float, w1: float, d0: float, d1: float) -> Polygon:
    return box(0, 0, round(rng.uniform(w0, w1), 2), round(rng.uniform(d0, d1), 2))


def _share_out(draft: Draft, rng: Random, area: float, skew: float,
               spare: Callable[[Polygon], bool] = lambda _r: False) -> None:
    """Cuts rooms over `area` across their length until none is left, walls up to `skew` degrees off the square."""
    given_up: set[bytes] = set()
    while True:
        big = [n for n, r in enumerate(draft.rooms) if r.area > area and r.wkb not in given_up and not spare(r)]
        if not big:
            return
        room = draft.rooms[big[0]]
        if not any(draft.cut(big[0], _across(room, rng, skew)) for _ in range(6)):
            given_up.add(room.wkb)


def _across(room: Polygon, rng: Random, skew: float) -> LineString:
    """A line across the longer way of a room, at a place rounded to the centimetre."""
    x, y = room.minimum_rotated_rectangle.exterior.coords.xy
    sides = [(math.hypot(x[k + 1] - x[k], y[k + 1] - y[k]), k) for k in (0, 1)]
    length, k = max(sides)
    at = round(length * rng.uniform(0.35, 0.65), 2) / length
    px, py = x[k] + (x[k + 1] - x[k]) * at, y[k] + (y[k + 1] - y[k]) * at
    angle = math.atan2(y[k + 1] - y[k], x[k + 1] - x[k]) + math.pi / 2 + math.radians(rng.uniform(-skew, skew))
    dx, dy = 50 * math.cos(angle), 50 * math.sin(angle)
    if abs(dx) < 1e-9 or abs(dy) < 1e-9:  # keep square walls exactly square
        dx, dy = round(dx, 6), round(dy, 6)
    return LineString([(px - dx, py - dy), (px + dx, py + dy)])


def _cut_last(draft: Draft, line: LineString) -> None:
    at = max(range(len(draft.rooms)), key=lambda n: draft.rooms[n].intersection(line).length)
    draft.cut(at, line)


def _merge_one(draft: Draft, rng: Random) -> None:
    """Makes one room of two that share a wall."""
    inner = [f for f in draft.facings() if f.right >= 0 and f.length > 1.5]
    if inner and len(draft.rooms) > 4:
        draft.merge(rng.choice(inner))


def _outer_facings(draft: Draft, rng: Random, least: float) -> list[Facing]:
    found = [f for f in draft.facings() if f.right < 0 and f.length >= least]
    rng.shuffle(found)
    return found


def _face(draft: Draft, f: Facing) -> tuple[int, Xy, Xy]:
    """The room and the ends of its face along an outer facing, outdoors to the right of a to b."""
    ux, uy = (f.b[0] - f.a[0]) / f.length, (f.b[1] - f.a[1]) / f.length
    nx, ny = -uy * f.thick / 2, ux * f.thick / 2
    return f.left, (f.a[0] + nx, f.a[1] + ny), (f.b[0] + nx, f.b[1] + ny)


def _local(a: Xy, b: Xy, along: float, out: float) -> Xy:
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    return (a[0] + ux * along + uy * out, a[1] + uy * along - ux * out)


def _bay(a: Xy, b: Xy, start: float, width: float, out: float, cant: float) -> Polygon:
    return Polygon([_local(a, b, start, -1e-7), _local(a, b, start + width, -1e-7),
                    _local(a, b, start + width - cant, out), _local(a, b, start + cant, out)])


def _bow(a: Xy, b: Xy, start: float, width: float, rise: float) -> tuple[Polygon, Xy, float]:
    """A circular segment, its centre and radius."""
    radius = (width * width / 4 + rise * rise) / (2 * rise)
    half = math.asin(width / 2 / radius)
    centre = _local(a, b, start + width / 2, rise - radius)
    ring = []
    for n in range(49):
        turn = -half + 2 * half * n / 48
        ring.append(_local(a, b, start + width / 2 + radius * math.sin(turn), rise - radius + radius * math.cos(turn)))
    inward = [_local(a, b, start + width, -1e-7), _local(a, b, start, -1e-7)]
    return Polygon([*ring, *inward]), centre, radius


def _add_on(draft: Draft, room: int, piece: Polygon) -> None:
    """Lets a room out through the outer wall; the wall follows."""
    draft.rooms[room] = _first(remove_repeated_points(union_all([draft.rooms[room], piece]), 1e-5))
    draft.inside = _first(remove_repeated_points(union_all([draft.inside, piece]), 1e-5))


def _first(shape: object) -> Polygon:
    assert isinstance(shape, Polygon), shape
    return shape


def _with(building: Building, **changes: object) -> Building:
    return replace(building, **changes)  # type: ignore[arg-type]


# Openings and names ----------------------------------------------------------------------------------------


def finish(draft: Draft, rng: Random, stairs: list[int] | None = None) -> Building:
    """Doors so that every room is reached, an entrance, windows, names."""
    every = draft.facings()
    openings = _doors(every, len(draft.rooms), rng)
    openings += _windows([f for f in every if f.right < 0], openings, rng)
    words = NAMES[rng.choice(("en", "en", "en", *NAMES))]
    start = rng.randrange(len(words))
    rooms = tuple(TrueRoom(r, words[(start + n) % len(words)]) for n, r in enumerate(draft.rooms))
    return Building(rooms, draft.inside, draft.outer, draft.inner, tuple(openings), tuple(draft.runs),
                    stairs=tuple(draft.rooms[n] for n in stairs or []))


def _doors(every: list[Facing], count: int, rng: Random) -> list[TrueOpening]:
    """A door in a spanning tree of the rooms, some more, and one to outdoors."""
    inner = [f for f in every if f.right >= 0 and f.length >= min(DOORS) + 2 * NIB]
    rng.shuffle(inner)
    group = list(range(count))
    found: list[TrueOpening] = []
    for f in inner:
        joined = group[f.left] == group[f.right]
        if joined and rng.random() > 0.1:
            continue
        door = _door(f, rng)
        if any(door.strip().buffer(0.05).intersects(o.strip()) for o in found):
            continue
        found.append(door)
        old, new = group[f.right], group[f.left]
        group = [new if g == old else g for g in group]
    outer = [f for f in every if f.right < 0 and f.length >= 1.4]
    if outer:
        found.append(_door(rng.choice(outer), rng))
    return found


def _door(f: Facing, rng: Random) -> TrueOpening:
    width = rng.choice([d for d in DOORS if d + 2 * NIB <= f.length])
    room = f.length - width - 2 * NIB
    a, b = f.part(NIB + rng.choice((0.0, room, rng.uniform(0, room))), width)
    return TrueOpening("door", a, b, f.thick) if rng.random() < 0.5 else TrueOpening("door", b, a, f.thick)


def _windows(outer: list[Facing], doors: list[TrueOpening], rng: Random) -> list[TrueOpening]:
    found: list[TrueOpening] = []
    taken = [d.strip().buffer(0.3) for d in doors]
    for f in outer:
        sizes = [w for w in WINDOWS if w + 0.6 <= f.length]
        if not sizes or rng.random() < 0.25:
            continue
        width = rng.choice(sizes)
        a, b = f.part(rng.uniform(0.3, f.length - width - 0.3), width)
        if not any(strip(a, b, f.thick).intersects(t) for t in taken):
            found.append(TrueOpening("window", a, b, f.thick))
    return found


def reachable(building: Building) -> bool:
    """Every room has an opening (a check on this generator, used by its tests)."""
    return all(
        any(r.polygon.distance(Point(o.at)) <= o.thick / 2 + 0.01 for o in building.openings)
        for r in building.rooms if not r.optional)

