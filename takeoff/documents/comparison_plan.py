"""The marked plan of changes: the later drawing in grey, and on it what is changed, new and gone.

It must be legible in black and white: words and lines tell, the tint only helps.
  changed, split, joined   thick outline, tinted
  new                      thick outline with a second line inside it, tinted
  gone                     the outline of before, dashed and crossed
  as before                its ref in grey
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from takeoff.documents.comparison import CHANGE_WORDS
from takeoff.documents.fonts import text_width, wrapped
from takeoff.documents.page import A3, BLACK, WHITE, Clip, Colour, Item, Label, Lines, Page, Shape, Stroke, grey
from takeoff.documents.sheet import View, fitted
from takeoff.plan.matching import room_shapes
from takeoff.plan.model import Plan, Room, Storey
from takeoff.plan.moves import STILL
from takeoff.revision.compare import Change, Comparison

__all__ = ["comparison_pages", "page_names"]

MARGIN, COLUMN, AROUND_M = 28.0, 250.0, 1.5
DRAWN_GREY = Stroke(0.35, grey(0.62))
THICK, INNER, GONE = Stroke(1.6, BLACK), Stroke(0.6, BLACK), Stroke(1.1, BLACK, (5, 2))
TINTS: dict[str, Colour] = {
    "changed": (1.0, 0.94, 0.80),
    "split": (1.0, 0.94, 0.80),
    "joined": (1.0, 0.94, 0.80),
    "renamed": (0.95, 0.95, 0.95),
    "added": (0.87, 0.96, 0.88),
}
INSET_M = 0.08
"""The second line of a new room runs so far inside the first, metres."""


def comparison_pages(comparison: Comparison) -> list[Page]:
    """A page for each storey of the later drawing."""
    return [_page(comparison, storey, n == 0) for n, storey in enumerate(comparison.after.plan.storeys)]


def _page(comparison: Comparison, storey: Storey, first: bool) -> Page:
    plan, drawing = comparison.after.plan, comparison.after.drawing
    page = Page(A3[1], A3[0], f"Changes: {drawing.file}: {storey.title or storey.ref}")
    rooms = {r.ref: r for r in plan.rooms if r.plan == storey.ref}
    gone = [(c, shape) for c, shape in _gone(comparison) if first or _over(shape, storey)]
    view = fitted(
        _extent(rooms, storey, gone), (MARGIN, MARGIN, page.width - COLUMN - 2 * MARGIN, page.height - MARGIN)
    )
    inside: list[Item] = []
    mine = [c for c in comparison.changes if any(ref in rooms for ref in c.after)]
    for change in mine:
        inside += [_tint(rooms[ref], change, view) for ref in change.after if ref in rooms and change.kind in TINTS]
    inside.append(Lines(view.ends(drawing.segments.ends), DRAWN_GREY))
    for change in mine:
        for room in (rooms[ref] for ref in change.after if ref in rooms):
            inside += _outline(room, change, view)
            inside += _label(room, change, view)
    for change, shape in gone:
        inside += _crossed(shape, change, view)
    page.add(Clip(view.rect, tuple(inside)))
    x0, y0, x1, y1 = view.rect
    page.add(Shape((np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]),), None, Stroke(0.5)))
    _column(page, comparison, storey, [c for c in mine if c.kind != "same"], [c for c, _ in gone])
    return page


def _gone(comparison: Comparison) -> list[tuple[Change, shapely.Polygon]]:
    """Rooms that are gone, in the local metres of the later plan: moved as most of their plan was."""
    before, after = comparison.before.plan, comparison.after.plan
    move = comparison.matching.moves[0] if comparison.matching.moves else STILL
    east, north = after.origin_m
    shapes = shapely.transform(move(room_shapes(before)), lambda p: p - np.array([east, north]))
    number = {r.ref: n for n, r in enumerate(before.rooms)}
    return [(c, shapes[number[ref]]) for c in comparison.changes if c.kind == "removed" for ref in c.before]


def _over(shape: shapely.Polygon, storey: Storey) -> bool:
    return bool(shapely.intersects(shape, shapely.box(*storey.bounds)))


def _extent(
    rooms: dict[str, Room], storey: Storey, gone: Sequence[tuple[Change, shapely.Polygon]]
) -> tuple[float, float, float, float]:
    points = [p for room in rooms.values() for p in room.outline]
    points += [tuple(p) for _, shape in gone for p in shapely.get_coordinates(shape)]
    if not points:
        return storey.bounds
    (x0, y0), (x1, y1) = np.array(points).min(axis=0) - AROUND_M, np.array(points).max(axis=0) + AROUND_M
    return float(x0), float(y0), float(x1), float(y1)


def _rings(room: Room, view: View) -> tuple[np.ndarray[tuple[int, ...], np.dtype[np.float64]], ...]:
    return tuple(view.points(np.array(ring)) for ring in (room.outline, *room.holes))


def _tint(room: Room, change: Change, view: View) -> Shape:
    return Shape(_rings(room, view), TINTS[change.kind])


def _outline(room: Room, change: Change, view: View) -> list[Item]:
    if change.kind in ("same", "renamed"):
        return []
    items: list[Item] = [Shape(_rings(room, view), None, THICK)]
    if change.kind == "added":
        inner = shapely.buffer(shapely.Polygon(room.outline), -INSET_M)
        if inner.geom_type == "Polygon" and not inner.is_empty:
            items.append(Shape((view.points(shapely.get_coordinates(inner.exterior)[:-1]),), None, INNER))
    return items


def _label(room: Room, change: Change, view: View) -> list[Item]:
    x, y = view.point(room.label_at)
    if change.kind == "same":
        return [Label(x, y, room.ref, 6.5, anchor="middle", colour=grey(0.45))]
    was = f"was {', '.join(change.before)}" if change.before and change.before != change.after else ""
    lines = [CHANGE_WORDS[change.kind].upper(), f"{room.ref} {room.name}".strip(), was]
    return [
        Label(x, y + 8 - n * 9, line, 7.5, bold=n == 0, anchor="middle") for n, line in enumerate(filter(None, lines))
    ]


def _crossed(shape: shapely.Polygon, change: Change, view: View) -> list[Item]:
    ring = view.points(shapely.get_coordinates(shape.exterior)[:-1])
    x0, y0, x1, y1 = shapely.bounds(shape)
    cross = shapely.intersection(shape, shapely.MultiLineString([[(x0, y0), (x1, y1)], [(x0, y1), (x1, y0)]]))
    ends = [c for line in shapely.get_parts(cross) for c in [shapely.get_coordinates(line)] if len(c) == 2]
    x, y = view.points(shapely.get_coordinates(shapely.point_on_surface(shape)))[0]
    label = f"GONE {change.title}"
    half = text_width(label, 7, True) / 2 + 2
    box = np.array([[x - half, y - 4], [x + half, y - 4], [x + half, y + 6], [x - half, y + 6]])
    lines = [Lines(view.points(np.vstack(ends)).reshape(-1, 4), INNER)] if ends else []
    return [Shape((ring,), None, GONE), *lines, Shape((box,), WHITE), Label(x, y - 1.5, label, 7, True, "middle")]


def _column(page: Page, comparison: Comparison, storey: Storey, mine: Sequence[Change], gone: Sequence[Change]) -> None:
    x, y = page.width - COLUMN - MARGIN, page.height - MARGIN - 12
    page.add(
        Label(x, y, f"Changes: {storey.title or storey.ref}", 13, bold=True),
        Label(x, y - 14, f"{comparison.before.drawing.file} -> {comparison.after.drawing.file}", 8),
        Label(x, y - 27, "Thick: changed.  Double: new.  Dashed and crossed: gone.  Grey: as before.", 7),
    )
    y -= 46
    if not mine and not gone:
        page.add(Label(x, y, "Nothing is changed on this plan.", 9, bold=True))
    for change in [*mine, *gone]:
        lines = [w for line in change.differs for w in wrapped(line, 7.5, COLUMN - 12)]
        if y - 9.5 * (len(lines) + 1) < MARGIN + 12:
            page.add(Label(x, y, "and more: see the variation sheet.", 7.5))
            return
        page.add(Label(x, y, f"{change.title}: {CHANGE_WORDS[change.kind]}", 8, bold=True))
        for line in lines:
            y -= 9.5
            page.add(Label(x + 12, y, line, 7.5))
        y -= 13


def page_names(plan: Plan) -> list[str]:
    """Names of the pages' files: the storey's ref where there are several."""
    return [f"changes-{s.ref}.svg" if len(plan.storeys) > 1 else "changes.svg" for s in plan.storeys]
