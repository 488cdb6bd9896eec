"""Doors, windows and furniture of the sample drawings, as blocks. Sizes in millimetres of the building."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from ezdxf.layouts.blocklayout import BlockLayout
from office import Point, Sheet
from shapely import Polygon, union_all
from shapely.geometry.base import BaseGeometry

LINING = 30.0
"""Thickness of a door lining; the leaf fills what is left of the structural opening but for clearances."""
CLEARANCE = 8.0
"""Leaf to lining, both sides together (common practice 3-4 mm a side)."""
LEAF = 44.0


@dataclass(frozen=True)
class Hole:
    """An opening through a wall. `a` and `b` are its jambs on the wall's centre line. Doors: hinges at `a`, the
    leaf opens to the left of the way from a to b unless `right`. Windows: the room lies to the left."""

    no: str
    a: Point
    b: Point
    thick: float
    look: str = "door"
    """'door', 'double', 'frame' (an external door), 'folding', 'overhead', 'plain' (leaf and swing only), 'window',
    'sash' (three lines), 'open' (nothing drawn)."""
    right: bool = False
    attributes: dict[str, str] = field(default_factory=dict)

    @property
    def width(self) -> float:
        return math.dist(self.a, self.b)

    def cut(self) -> Polygon:
        """The wall's body that the opening removes."""
        return strip(self.a, self.b, self.thick + 2)


def strip(a: Point, b: Point, thick: float) -> Polygon:
    """The rectangle of width `thick` about the line from `a` to `b`."""
    length = math.dist(a, b)
    nx, ny = -(b[1] - a[1]) / length * thick / 2, (b[0] - a[0]) / length * thick / 2
    return Polygon([(a[0] + nx, a[1] + ny), (a[0] - nx, a[1] - ny), (b[0] - nx, b[1] - ny), (b[0] + nx, b[1] + ny)])


def cut_all(body: BaseGeometry, holes: Sequence[Hole]) -> BaseGeometry:
    return body.difference(union_all([h.cut() for h in holes]))


def shifted(holes: Sequence[Hole], dx: float, dy: float = 0.0) -> list[Hole]:
    """The same openings moved along the sheet."""
    return [Hole(h.no, (h.a[0] + dx, h.a[1] + dy), (h.b[0] + dx, h.b[1] + dy), h.thick, h.look, h.right, h.attributes)
            for h in holes]


def place(sheet: Sheet, hole: Hole, tags: Sequence[str] = (), role: str = "", exploded: bool = False) -> None:
    """Inserts the symbol of `hole`; `tags` are the attributes that its block carries. `exploded`: loose lines."""
    if hole.look == "open":
        return
    draw = LOOKS[hole.look]
    role = role or ("window" if hole.look in ("window", "sash") else "door")
    name = f"{hole.look.upper()}-{hole.width:.0f}-{hole.thick:.0f}"
    if name not in sheet.doc.blocks:
        block = sheet.doc.blocks.new(name)
        draw(sheet, block, role, hole.width, hole.thick)
        for n, tag in enumerate(tags):
            block.add_attdef(tag, sheet.pt((hole.width / 2, 150 - n * 60)), height=50 * sheet.u,
                             dxfattribs=sheet.layer("symbol text") | {"style": "OFFICE", "flags": 0 if n == 0 else 1})
    angle = math.degrees(math.atan2(hole.b[1] - hole.a[1], hole.b[0] - hole.a[0]))
    insert = sheet.msp.add_blockref(
        name, sheet.pt(hole.a), sheet.layer(role) | {"rotation": angle, "yscale": -1.0 if hole.right else 1.0})
    if tags:
        insert.add_auto_attribs({"NO": hole.no} | hole.attributes)
    if exploded:
        insert.explode()


def _door(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """An internal door in its lining, drawn open, with its swing."""
    for x in (0.0, w - LINING):
        sheet.box(role, x, -t / 2, LINING, t, on=block)
    _leaf(sheet, block, role, LINING, t / 2, w - 2 * LINING - CLEARANCE)


def _leaf(sheet: Sheet, block: BlockLayout, role: str, hinge: float, y: float, leaf: float, left: bool = False) -> None:
    """A leaf `leaf` long, hinged at (hinge, y), open at a right angle; `left`: it shuts towards -x."""
    sheet.box(role, hinge - (LEAF if left else 0), y, LEAF, leaf, on=block)
    start, end = (90, 180) if left else (0, 90)
    sheet.arc(role, (hinge, y), leaf, start, end, on=block)


def _framed(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """An external door: frame 70 x 57 set 70 back from the outer face (-y), leaf opening inwards."""
    y = -t / 2 + 70
    for x in (0.0, w - 57):
        sheet.box(role, x, y, 57, 70, on=block)
    sheet.line("threshold", (0, -t / 2 - 40), (w, -t / 2 - 40), on=block)
    sheet.line("threshold", (0, -t / 2), (w, -t / 2), on=block)
    _leaf(sheet, block, role, 57, y + 70, w - 2 * 57 - CLEARANCE)


def _double(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """A pair of glazed external doors opening outwards (-y)."""
    y = -t / 2 + 70
    for x in (0.0, w - 57):
        sheet.box(role, x, y, 57, 70, on=block)
    leaf = (w - 2 * 57) / 2 - CLEARANCE / 2
    sheet.line("threshold", (0, -t / 2), (w, -t / 2), on=block)
    for hinge, side in ((57.0, 1), (w - 57.0, -1)):
        sheet.box(role, hinge - (LEAF if side < 0 else 0), y - leaf, LEAF, leaf, on=block)
        start, end = (270, 360) if side > 0 else (180, 270)
        sheet.arc(role, (hinge, y), leaf, start, end, on=block)


def _window(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """Frame 70 deep set 70 back from the outer face (-y), two glass lines, cill outside, window board inside."""
    y = -t / 2 + 70
    sheet.box(role, 0, y, w, 70, on=block)
    for glass in (y + 25, y + 45):
        sheet.line(role, (50, glass), (w - 50, glass), on=block)
    mullions = [w * n / round(w / 600) for n in range(1, round(w / 600))]
    for x in mullions:
        sheet.box(role, x - 25, y, 50, 70, on=block)
    sheet.line("threshold", (0, -t / 2), (w, -t / 2), on=block)
    sheet.poly("threshold", [(-50, -t / 2), (-50, -t / 2 - 45), (w + 50, -t / 2 - 45), (w + 50, -t / 2)],
               close=False, on=block)
    sheet.line("threshold", (0, t / 2), (w, t / 2), on=block)
    sheet.poly("threshold", [(-30, t / 2), (-30, t / 2 + 25), (w + 30, t / 2 + 25), (w + 30, t / 2)],
               close=False, on=block)


def _plain(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """Leaf as one line and its swing, straight from the jambs."""
    sheet.line(role, (0, t / 2), (0, t / 2 + w), on=block)
    sheet.arc(role, (0, t / 2), w, 0, 90, on=block)


def _folding(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """Four leaves folding outwards, drawn half open."""
    y = -t / 2 + 105
    for x in (0.0, w - 70):
        sheet.box(role, x, y - 35, 70, 70, on=block)
    leaf = (w - 140) / 4
    for n in range(4):
        a, b = 70 + n * leaf * 0.9, 70 + (n + 1) * leaf * 0.9
        fold = leaf * 0.43
        ends = ((a, y), (b, y - fold)) if n % 2 == 0 else ((a, y - fold), (b, y))
        sheet.line(role, *ends, on=block)
    sheet.line("threshold", (0, -t / 2), (w, -t / 2), on=block)
    sheet.line("threshold", (0, t / 2), (w, t / 2), on=block)


def _overhead(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """An up-and-over door: panel in the outer half of the wall, the open panel dashed overhead inside."""
    sheet.box(role, 0, -t / 2 + 30, w, 50, on=block)
    sheet.box("overhead", 50, t / 2, w - 100, 1950, on=block)


def _sash(sheet: Sheet, block: BlockLayout, role: str, w: float, t: float) -> None:
    """Old sliding sashes at the small scale: three lines along the wall."""
    for y in (-t / 2, -t / 6, t / 2):
        sheet.line(role, (0, y), (w, y), on=block)


LOOKS: dict[str, Callable[[Sheet, BlockLayout, str, float, float], None]] = {
    "door": _door, "double": _double, "frame": _framed, "window": _window, "plain": _plain, "folding": _folding,
    "overhead": _overhead, "sash": _sash,
}

# Furniture and fittings: each drawn from its lower left corner, backs to the lower side ---------------------


def _bed(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("furniture", 0, 0, w, d, on=b)
    pillows = 2 if w > 1200 else 1
    for n in range(pillows):
        sheet.box("furniture", w / pillows * n + 60, 60, w / pillows - 120, 340, on=b)
    sheet.line("furniture", (0, 650), (w, 650), on=b)


def _sofa(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("furniture", 0, 0, w, d, on=b)
    sheet.box("furniture", 180, 220, w - 360, d - 220, on=b)


def _table(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("furniture", 0, 0, w, d, on=b)
    for n in range(max(1, round(w / 600))):
        x = w / max(1, round(w / 600)) * (n + 0.5) - 200
        sheet.box("furniture", x, -250, 400, 350, on=b)
        sheet.box("furniture", x, d - 100, 400, 350, on=b)


def _wardrobe(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("furniture", 0, 0, w, d, on=b)
    sheet.line("furniture", (0, d / 2), (w, d / 2), on=b)
    for n in range(1, round(w / 100)):
        sheet.line("furniture", (n * 100, 80), (n * 100 + 20, d - 80), on=b)


def _pan(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("sanitary", 0, 0, w, 200, on=b)
    b.add_ellipse(sheet.pt((w / 2, 430)), (0, 250 * sheet.u), 0.7, dxfattribs=sheet.layer("sanitary"))


def _basin(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("sanitary", 0, 0, w, d, on=b)
    b.add_ellipse(sheet.pt((w / 2, d / 2 + 20)), (w * 0.4 * sheet.u, 0), 0.7, dxfattribs=sheet.layer("sanitary"))
    sheet.circle("sanitary", (w / 2, 60), 20, on=b)


def _bath(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("sanitary", 0, 0, w, d, on=b)
    sheet.box("sanitary", 60, 60, w - 120, d - 120, on=b)
    sheet.circle("sanitary", (150, d / 2), 25, on=b)


def _shower(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("sanitary", 0, 0, w, d, on=b)
    sheet.line("sanitary", (0, 0), (w, d), on=b)
    sheet.line("sanitary", (0, d), (w, 0), on=b)


def _worktop(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("fittings", 0, 0, w, d, on=b)
    for n in range(1, round(w / 600)):
        sheet.line("fittings", (n * 600, 0), (n * 600, d - 20), on=b)


def _sink(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("sanitary", 0, 0, w, d, on=b)
    sheet.box("sanitary", 50, 80, w / 2, d - 130, on=b)
    sheet.circle("sanitary", (50 + w / 4, d / 2), 40, on=b)


def _hob(sheet: Sheet, b: BlockLayout, w: float, d: float) -> None:
    sheet.box("fittings", 0, 0, w, d, on=b)
    for x in (0.28, 0.72):
        for y in (0.3, 0.7):
            sheet.circle("fittings", (w * x, d * y), 90, on=b)


PIECES: dict[str, Callable[[Sheet, BlockLayout, float, float], None]] = {
    "bed": _bed, "sofa": _sofa, "table": _table, "wardrobe": _wardrobe, "pan": _pan, "basin": _basin,
    "bath": _bath, "shower": _shower, "worktop": _worktop, "sink": _sink, "hob": _hob,
}


def furnish(sheet: Sheet, piece: str, at: Point, size: Point, turn: float = 0) -> None:
    """Inserts `piece` of `size` (width, depth) with its lower left corner at `at`, turned by `turn` degrees."""
    name = f"{piece.upper()}-{size[0]:.0f}X{size[1]:.0f}"
    if name not in sheet.doc.blocks:
        PIECES[piece](sheet, sheet.doc.blocks.new(name), *size)
    role = {"pan": "sanitary", "basin": "sanitary", "bath": "sanitary", "shower": "sanitary", "sink": "sanitary",
            "worktop": "fittings", "hob": "fittings"}.get(piece, "furniture")
    sheet.msp.add_blockref(name, sheet.pt(at), sheet.layer(role) | {"rotation": turn})


def stairs(sheet: Sheet, x: float, y: float, width: float, going: float, count: int, note: str) -> None:
    """A straight flight rising towards +y from (x, y): strings, nosings, the arrow of the walking line."""
    length = going * count
    sheet.box("stair", x, y, width, length)
    for n in range(1, count):
        sheet.line("stair", (x, y + n * going), (x + width, y + n * going))
    mid = x + width / 2
    sheet.line("stair", (mid, y + going / 2), (mid, y + length - going / 2))
    sheet.line("stair", (mid - 80, y + length - going), (mid, y + length - going / 2), (mid + 80, y + length - going))
    sheet.text("stair", note, (mid + 60, y + going), 2.0)
