"""The marked plan: the drawing in grey, each room tinted and labelled, openings tagged, angles and queries marked.

It must be legible in black and white: what matters is told by line, shape and letter, the tint only helps.
  side of a room    thick line: drawn; long dashes: across an opening; dots: a healed gap; dash-dot: assumed
  external angle    small black square
  query             black disc with its number
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from takeoff.documents.fonts import printable, text_width, wrapped
from takeoff.documents.page import (
    A3,
    BLACK,
    WHITE,
    Clip,
    Colour,
    Disc,
    Item,
    Label,
    Lines,
    Page,
    Shape,
    Stroke,
    grey,
    to_pdf,
    to_svg,
)
from takeoff.documents.sheet import View, fitted
from takeoff.drawing.model import Drawing
from takeoff.measure.model import Measured
from takeoff.plan.model import Opening, Plan, Room, Storey
from takeoff.query import Query

__all__ = ["CAUTION", "marked_plan_pages", "marked_plan_pdf", "marked_plan_svgs", "room_page"]

CAUTION = "Measured from the drawing as read. It is not a survey: check sizes on site before you order or cut."

MARGIN = 28.0
COLUMN = 250.0
AROUND_M = 1.5
"""How much of the drawing round the rooms is shown."""
ROOM_AROUND_M = 0.6
DRAWN_GREY = Stroke(0.35, grey(0.62))
TINTS: tuple[Colour, ...] = ((0.93, 0.95, 1.0), (1.0, 0.96, 0.88), (0.91, 0.98, 0.92), (0.98, 0.92, 0.95))
SUPPORT = {
    "drawn": Stroke(1.1, BLACK),
    "opening": Stroke(0.8, BLACK, (5, 2)),
    "healed": Stroke(1.1, BLACK, (1, 1.5)),
    "assumed": Stroke(1.3, BLACK, (6, 2, 1, 2)),
}
NUDGES = (
    (8, 8),
    (-8, 8),
    (8, -8),
    (-8, -8),
    (0, 24),
    (24, 0),
    (-24, 0),
    (0, -24),
    (30, 24),
    (-30, 24),
    (40, 0),
    (-40, 0),
)
"""Where a query's disc may stand from its place, in points, nearest first."""
SURE = 0.9
"""Rooms of lower confidence carry a question mark after their area."""


def marked_plan_svgs(plan: Plan, pages: Sequence[Page]) -> dict[str, str]:
    """One SVG per storey, by storey ref, of what `marked_plan_pages` gave."""
    return {storey.ref: to_svg(page) for storey, page in zip(plan.storeys, pages, strict=False)}


def marked_plan_pdf(drawing: Drawing, pages: Sequence[Page]) -> bytes:
    """All storeys, a page each, and further pages for queries that do not fit beside the plan."""
    return to_pdf(pages, f"Marked plan of {drawing.file}")


def marked_plan_pages(drawing: Drawing, plan: Plan, measured: Measured | None, queries: Sequence[Query]) -> list[Page]:
    """A page per storey in the order of the plan, then pages of queries that found no room."""
    pages: list[Page] = []
    left_over: list[Query] = []
    for number, storey in enumerate(plan.storeys):
        mine = [q for q in queries if _belongs(q, storey, plan, first=number == 0)]
        page, rest = _storey_page(drawing, plan, measured, storey, mine)
        pages.append(page)
        left_over.extend(rest)
    while left_over:
        page, left_over = _query_page(drawing, left_over)
        pages.append(page)
    return pages


def room_page(drawing: Drawing, plan: Plan, measured: Measured | None, room: Room, width: float, height: float) -> Page:
    """One room by itself on a page of `width` x `height` points: its walls numbered, its openings and angles marked."""
    page = Page(width, height, f"{room.ref} {room.name}".strip())
    view = fitted(_extent([room], _storey_of(plan, room), ROOM_AROUND_M), (0.0, 0.0, width, height), to_scale=False)
    here = {ref for side in room.sides for ref in side.openings}
    inside: list[Item] = [_tint(room, view, 0), Lines(view.ends(drawing.segments.ends), DRAWN_GREY)]
    inside += [*_outlines([room], view), *_angles(measured, [room], view), *_room_label(room, view)]
    inside += [item for opening in plan.openings if opening.ref in here for item in _opening_tag(opening, view)]
    inside += _wall_tags(measured, room, view)
    page.add(Clip(view.rect, tuple(inside)))
    return page


def _storey_of(plan: Plan, room: Room) -> Storey:
    return next(storey for storey in plan.storeys if storey.ref == room.plan)


def _wall_tags(measured: Measured | None, room: Room, view: View) -> list[Item]:
    """The walls' own numbers (W1, W2 ...) just inside each wall run."""
    sides = {side.ref: side for side in room.sides}
    items: list[Item] = []
    for surface in measured.surfaces if measured else ():
        side = sides.get(surface.side)
        if surface.room != room.ref or surface.kind not in ("wall", "pier") or side is None:
            continue
        (x0, y0), (x1, y1) = view.point(side.start), view.point(side.end)
        length = float(np.hypot(x1 - x0, y1 - y0)) or 1.0
        x, y = (x0 + x1) / 2 - (y1 - y0) / length * 7, (y0 + y1) / 2 + (x1 - x0) / length * 7
        items.append(Label(x, y - 2, surface.ref.split("-")[-1], 5.5, anchor="middle", colour=grey(0.25)))
    return items


def _belongs(query: Query, storey: Storey, plan: Plan, first: bool) -> bool:
    """Whether `query` is told on the page of `storey`: by its place, by what it is about, else on the first page."""
    if query.at is not None:
        x0, y0, x1, y1 = storey.bounds
        inside = x0 <= query.at[0] <= x1 and y0 <= query.at[1] <= y1
        return inside or (first and not any(_within(query.at, s.bounds) for s in plan.storeys))
    where = {r.ref: r.plan for r in plan.rooms} | {o.ref: o.plan for o in plan.openings}
    plans = {where[ref] for ref in query.about if ref in where}
    return storey.ref in plans if plans else first


def _within(at: tuple[float, float], bounds: tuple[float, float, float, float]) -> bool:
    return bounds[0] <= at[0] <= bounds[2] and bounds[1] <= at[1] <= bounds[3]


def _storey_page(
    drawing: Drawing, plan: Plan, measured: Measured | None, storey: Storey, queries: list[Query]
) -> tuple[Page, list[Query]]:
    page = Page(A3[1], A3[0], f"{drawing.file}: {storey.title or storey.ref}")
    rooms = [r for r in plan.rooms if r.plan == storey.ref]
    openings = [o for o in plan.openings if o.plan == storey.ref]
    view = fitted(_extent(rooms, storey), (MARGIN, MARGIN, page.width - COLUMN - 2 * MARGIN, page.height - MARGIN))
    inside: list[Item] = [_tint(room, view, n) for n, room in enumerate(rooms)]
    inside.append(Lines(view.ends(drawing.segments.ends), DRAWN_GREY))
    inside += _outlines(rooms, view)
    inside += _angles(measured, rooms, view)
    for room in rooms:
        inside += _room_label(room, view)
    inside += [item for opening in openings for item in _opening_tag(opening, view)]
    labels = [i for i in inside if isinstance(i, Label)]
    inside += _query_marks([q for q in queries if q.at], view, [_label_middle(i) for i in labels])
    page.add(Clip(view.rect, tuple(inside)))
    x0, y0, x1, y1 = view.rect
    page.add(Shape((_box(x0, y0, x1, y1),), None, Stroke(0.5)))
    rest = _column(page, drawing, storey, view, rooms, openings, queries)
    return page, rest


def _extent(rooms: Sequence[Room], storey: Storey, around: float = AROUND_M) -> tuple[float, float, float, float]:
    if not rooms:
        return storey.bounds
    points = np.array([p for room in rooms for p in room.outline])
    (x0, y0), (x1, y1) = points.min(axis=0) - around, points.max(axis=0) + around
    return float(x0), float(y0), float(x1), float(y1)


def _box(x0: float, y0: float, x1: float, y1: float) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)


def _tint(room: Room, view: View, number: int) -> Shape:
    rings = tuple(view.points(np.array(ring)) for ring in (room.outline, *room.holes))
    return Shape(rings, TINTS[number % len(TINTS)])


def _outlines(rooms: Sequence[Room], view: View) -> list[Item]:
    """The sides of all rooms, those of one support in one go."""
    sides = [side for room in rooms for side in room.sides]
    items: list[Item] = []
    for support, stroke in SUPPORT.items():
        chains = [s.points or (s.start, s.end) for s in sides if s.support == support]
        if chains:
            ends = np.array([[*a, *b] for chain in chains for a, b in pairwise(chain)])
            items.append(Lines(view.points(ends).reshape(-1, 4), stroke))
    return items


def _angles(measured: Measured | None, rooms: Sequence[Room], view: View) -> list[Item]:
    if measured is None:
        return []
    refs = {room.ref for room in rooms}
    places = [e.at for e in measured.edges if e.kind == "external angle" and e.at and e.room in refs]
    squares = [view.point(at) for at in places]
    return [Shape((_box(x - 2, y - 2, x + 2, y + 2),), BLACK) for x, y in squares]


def _room_label(room: Room, view: View) -> list[Item]:
    """Ref, name and area, as large as the room allows; the ref alone where it is tight."""
    x, y = view.point(room.label_at)
    across = _clear_width(room) * view.points_per_m
    doubt = "" if room.confidence >= SURE else " ?"
    lines = [room.ref, room.name, f"{room.floor_area_m2:.2f} m2{doubt}"]
    lines = [line for line in lines if line]
    wide = max(text_width(line, 1.0, True) for line in lines)
    size = 8.0
    while size > 4.5 and wide * size > across:
        size -= 0.5
    if wide * size > across:
        lines = [f"{room.ref}{doubt}"]
    top = y + size * 0.55 * len(lines) - size * 0.8
    return [Label(x, top - n * size * 1.15, line, size, bold=n == 0, anchor="middle") for n, line in enumerate(lines)]


def _clear_width(room: Room) -> float:
    """Width in metres of the room along a level line through its label point."""
    x, y = room.label_at
    ring = np.array(room.outline)
    after = np.roll(ring, -1, axis=0)
    crossing = (ring[:, 1] > y) != (after[:, 1] > y)
    if not crossing.any():
        return 0.0
    a, b = ring[crossing], after[crossing]
    xs = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    left, right = xs[xs <= x], xs[xs > x]
    return float(2 * min(x - left.max(), right.min() - x)) if len(left) and len(right) else 0.0


def _opening_tag(opening: Opening, view: View) -> list[Item]:
    x, y = view.point(opening.at)
    size = 6.0
    half = text_width(opening.ref, size, True) / 2 + 1.2
    box = _box(x - half, y - 3.8, x + half, y + 3.8)
    return [
        Shape((box,), WHITE, Stroke(0.4)),
        Label(x, y - 2.1, opening.ref, size, bold=True, anchor="middle"),
    ]


def _query_marks(queries: Sequence[Query], view: View, taken: list[tuple[float, float]]) -> list[Item]:
    """A disc by each query's place, clear of labels and of other discs, tied to the place by a thin line."""
    items: list[Item] = []
    for query in queries:
        assert query.at is not None
        x, y = view.point(query.at)
        spots = [(x + dx, y + dy) for dx, dy in NUDGES]
        free = (s for s in spots if all(abs(s[0] - u) > 14 or abs(s[1] - v) > 12 for u, v in taken))
        at = next(free, spots[0])
        taken.append(at)
        items += [Lines(np.array([[x, y, *at]]), Stroke(0.5, BLACK)), *_disc(*at, query.ref)]
    return items


def _label_middle(label: Label) -> tuple[float, float]:
    return label.x, label.y + label.size * 0.35


def _disc(x: float, y: float, text: str) -> list[Item]:
    return [
        Disc(x, y, 6.2, BLACK, Stroke(0.6, WHITE)),
        Label(x, y - 2, text, 5.5, bold=True, anchor="middle", colour=WHITE),
    ]


# ---------------------------------------------------------------- the column beside the plan


def _column(
    page: Page,
    drawing: Drawing,
    storey: Storey,
    view: View,
    rooms: Sequence[Room],
    openings: Sequence[Opening],
    queries: Sequence[Query],
) -> list[Query]:
    """Title, legend and as many queries as fit; returns those that do not."""
    x = page.width - COLUMN - MARGIN
    y = page.height - MARGIN - 12
    total = sum(room.floor_area_m2 for room in rooms)
    title = printable(storey.title) or f"Plan {storey.ref}"
    page.add(
        Label(x, y, title, min(14.0, 14.0 * COLUMN / text_width(title, 14, True)), bold=True),
        Label(x, y - 14, drawing.file, 8),
        Label(x, y - 26, f"Scale 1:{view.scale} on A3   Unit of the drawing: {_unit_text(drawing)}", 8),
        Label(x, y - 38, f"{len(rooms)} rooms, {total:.2f} m2 of floor, {len(openings)} openings", 8),
    )
    y = _legend(page, x, y - 58)
    for line in wrapped(CAUTION, 7.5, COLUMN, bold=True):
        page.add(Label(x, y, line, 7.5, bold=True))
        y -= 10
    return _list_queries(page, queries, x, y - 12, COLUMN)


def _unit_text(drawing: Drawing) -> str:
    return f"1 unit = {drawing.metres_per_unit:g} m"


def _legend(page: Page, x: float, y: float) -> float:
    words = {
        "drawn": "wall face as drawn",
        "opening": "across an opening",
        "healed": "small gap healed",
        "assumed": "assumed: check",
    }
    for support, text in words.items():
        page.add(Lines(np.array([[x, y + 2.5, x + 34, y + 2.5]]), SUPPORT[support]), Label(x + 42, y, text, 7.5))
        y -= 12
    page.add(Shape((_box(x + 15, y, x + 19, y + 4),), BLACK), Label(x + 42, y, "external angle, full height", 7.5))
    y -= 12
    page.add(
        Shape((_box(x + 9, y - 1, x + 25, y + 6),), WHITE, Stroke(0.4)), Label(x + 17, y + 0.8, "D1", 5, True, "middle")
    )
    page.add(Label(x + 42, y, "opening (D door, W window, O plain opening, L rooflight)", 7.5))
    y -= 13
    page.add(*_disc(x + 17, y + 2.5, "Q1"), Label(x + 42, y, "query: see below and in the workbook", 7.5))
    y -= 13
    page.add(Label(x + 12, y, "m2 ?", 7.5), Label(x + 42, y, "a room whose outline is less sure", 7.5))
    return y - 18


def _list_queries(page: Page, queries: Sequence[Query], x: float, y: float, width: float) -> list[Query]:
    heading = "To settle before you commit to a price" if queries else "Nothing is asked about this plan."
    page.add(Label(x, y, heading, 9, bold=True))
    y -= 14
    for number, query in enumerate(queries):
        lines = wrapped(query.says, 7.5, width - 26)
        if y - 9.5 * len(lines) < MARGIN + 10:
            return list(queries[number:])
        page.add(Label(x, y, query.ref, 7.5, bold=True))
        for line in lines:
            page.add(Label(x + 26, y, line, 7.5))
            y -= 9.5
        y -= 3
    return []


def _query_page(drawing: Drawing, queries: Sequence[Query]) -> tuple[Page, list[Query]]:
    page = Page(A3[1], A3[0], f"{drawing.file}: queries, continued")
    rest = list(queries)
    y = page.height - MARGIN - 12
    wide = (page.width - 4 * MARGIN) / 3
    for column in range(3):
        if rest:
            rest = _list_queries(page, rest, MARGIN + column * (wide + MARGIN), y, wide)
    return page, rest
