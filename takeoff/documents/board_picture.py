"""The boards of a room as a picture for the person who fixes them: SVG, legible in black and white.

Every surface unrolled, with each piece's number and cut size, joints, openings and framing; below, every sheet that is
cut for the room, with what is cut from it and what is waste. A piece bears the number of its sheet; where several
pieces come from one sheet they are lettered, 13a being cut first. The off-cut of a sheet begun elsewhere says where.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from takeoff.documents.safe_text import clean
from takeoff.materials.boards_model import BoardLayout, Laid, Piece, Sheet
from takeoff.measure.model import Surface

__all__ = ["board_picture", "board_pictures"]

Point = tuple[float, float]

PAGE = 1120.0
MARGIN = 30.0
MOST_PX_PER_M = 105.0
SHEET_PX_PER_M = 62.0
LINE = 15.0
GAP = 46.0
ACROSS_PX, LEAST_PX = 84.0, 24.0
"""A piece with this much room takes its label level; with less, upright along its length; below the second only its
number."""
LINE_PX = 12.0
OPENING_PX = 70.0
"""An opening narrower than this takes its size upright."""
ROOM_M = 0.02
"""How exactly the roomiest place of a piece is found."""

NAME_PX, SMALL_PX = 9.0, 5.6
"""About how wide a letter is."""
WAYS = {
    "up": "sheets upright",
    "along": "sheets lying",
    "long": "sheets along the room",
    "short": "sheets across the room",
}
KEY = (
    "The number is that of the sheet. Pieces with a letter share a sheet: a is cut first, the others are its off-cuts. "
    "Under a sheet: where its other pieces go."
)

STYLE = """
text{font-family:Helvetica,Arial,sans-serif;font-size:11px;fill:#000}
.title{font-size:18px;font-weight:bold}.name{font-size:13px;font-weight:bold}.number{font-size:13px;font-weight:bold}
.small{font-size:9.5px}.piece{stroke:#000;stroke-width:1.2}.whole{fill:#fff}.cut{fill:url(#cut)}.off{fill:url(#off)}
.opening{fill:#fff;stroke:#000;stroke-width:1}.cross{stroke:#000;stroke-width:0.5}
.framing{stroke:#000;stroke-width:0.6;stroke-dasharray:1.5 5}.end-joint{stroke:#000;stroke-width:2.6}
.cut-joint{stroke:#000;stroke-width:2.2;stroke-dasharray:7 3}
.halo{stroke:#fff;stroke-width:3.5px;stroke-linejoin:round}.waste{fill:url(#waste);stroke:#000}
"""
PATTERNS = """<defs>
<pattern id="cut" width="9" height="9" patternUnits="userSpaceOnUse"><rect width="9" height="9" fill="#fff"/>
<path d="M0 4.5H9" stroke="#000" stroke-width="0.35"/></pattern>
<pattern id="off" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect width="8" height="8" fill="#fff"/><path d="M0 4H8" stroke="#000" stroke-width="0.7"/></pattern>
<pattern id="waste" width="4" height="4" patternUnits="userSpaceOnUse"><rect width="4" height="4" fill="#fff"/>
<circle cx="2" cy="2" r="0.75" fill="#000"/></pattern></defs>"""
LEGEND = (("whole", "whole sheet"), ("cut", "cut from a new sheet"), ("off", "off-cut"), ("waste", "waste"))
LINES = (("end-joint", "end joint"), ("cut-joint", "joint of cut edges"), ("framing", "framing"))


def board_pictures(
    layouts: Sequence[BoardLayout], surfaces: Iterable[Surface], names: Mapping[str, str], boards: Mapping[str, str]
) -> dict[str, str]:
    """An SVG for each room that has boards, by room ref, with the rooms' `names` and the titles of `boards`."""
    by_ref = {s.ref: s for s in surfaces}
    rooms = dict.fromkeys(room for layout in layouts for room in layout.rooms())
    return {room: board_picture(room, layouts, by_ref, names.get(room, ""), boards) for room in rooms}


def board_picture(
    room: str,
    layouts: Sequence[BoardLayout],
    surfaces: Mapping[str, Surface],
    name: str = "",
    boards: Mapping[str, str] | None = None,
) -> str:
    """The SVG of one room: a part for each layout (board or layer) that has pieces there."""
    page = _Page()
    page.text(MARGIN, "title", f"{room} {name}".strip(), 24.0)
    page.legend()
    page.text(MARGIN, "small", KEY, 10.0)
    for layout in layouts:
        own = [laid for laid in layout.surfaces.values() if laid.room == room]
        if own:
            _draw_layout(page, layout, own, surfaces, (boards or {}).get(layout.spec.board, layout.spec.board))
    return page.svg(f"Boards of {room} {name}".strip())


class _Page:
    """SVG elements collected from the top down; `y` is where the next thing goes."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.y = MARGIN

    def add(self, element: str) -> None:
        self.parts.append(element)

    def text(self, x: float, kind: str, words: str, down: float = LINE) -> None:
        """A line of text at the left, and on to the next line."""
        self.y += down
        self.add(_text(x, self.y, kind, words))

    def legend(self) -> None:
        x, self.y = MARGIN, self.y + 12
        for kind, words in LEGEND:
            css = "waste" if kind == "waste" else f"piece {kind}"
            self.add(f'<rect class="{css}" x="{_n(x)}" y="{_n(self.y)}" width="26" height="13"/>')
            self.add(_text(x + 32, self.y + 11, "", words))
            x += 44 + 6.2 * len(words)
        for kind, words in LINES:
            self.add(f'<path class="{kind}" d="M{_n(x)} {_n(self.y + 7)}h26"/>{_text(x + 32, self.y + 11, "", words)}')
            x += 44 + 6.2 * len(words)
        self.y += 22

    def svg(self, title: str) -> str:
        height = self.y + MARGIN
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(PAGE)}" height="{_n(height)}" '
            f'viewBox="0 0 {_n(PAGE)} {_n(height)}" role="img"><title>{escape(clean(title))}</title>'
            f"<style>{STYLE}</style>"
        )
        ground = f'<rect width="{_n(PAGE)}" height="{_n(height)}" fill="#fff"/>'
        return "\n".join([head, PATTERNS, ground, *self.parts, "</svg>", ""])


@dataclass(frozen=True)
class _Frame:
    """Metres of a surface (y up) to pixels of the page (y down)."""

    x0: float
    top: float
    left: float
    y: float
    scale: float

    def at(self, point: Point) -> Point:
        return self.left + (point[0] - self.x0) * self.scale, self.y + (self.top - point[1]) * self.scale

    def path(self, *rings: Sequence[Point]) -> str:
        return "".join("M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in map(self.at, ring)) + "Z" for ring in rings)


def _draw_layout(
    page: _Page, layout: BoardLayout, own: Sequence[Laid], surfaces: Mapping[str, Surface], board: str
) -> None:
    labels = _labels(layout)
    page.text(MARGIN, "name", f"{board}: {_counts(own)}", 26.0)
    widest = max(_size(_points(laid))[0] for laid in own)
    scale = min(MOST_PX_PER_M, (PAGE - 2 * MARGIN - GAP) / widest)
    x, tallest = MARGIN + 14, 0.0
    page.y += 14
    for laid in own:
        width = _size(_points(laid))[0] * scale
        if x > MARGIN + 14 and x + width > PAGE - MARGIN:
            x, page.y, tallest = MARGIN + 14, page.y + tallest, 0.0
        used = _draw_surface(page, laid, surfaces.get(laid.surface), labels, x, scale)
        tallest = max(tallest, used)
        x += max(width, _title_px(laid)) + GAP
    page.y += tallest
    _draw_sheets(page, layout, own, labels)


def _labels(layout: BoardLayout) -> dict[str, str]:
    """What each piece is called: its sheet's number, with a letter where several come from one sheet."""
    labels = {}
    for sheet in layout.sheets:
        for n, placed in enumerate(sheet.pieces):
            labels[placed.piece] = f"{sheet.number}{chr(97 + n) if len(sheet.pieces) > 1 else ''}"
    return labels


def _counts(own: Sequence[Laid]) -> str:
    pieces = [piece for laid in own for piece in laid.pieces]
    whole = sum(piece.shape == "sheet" for piece in pieces)
    off = sum(piece.off_cut for piece in pieces)
    joints = sum(laid.joint_m() for laid in own)
    screws, kg = sum(laid.fixings.screws for laid in own), sum(laid.fixings.adhesive_kg for laid in own)
    fixed = f"{screws} screws" if screws else f"{kg:.0f} kg adhesive"
    noggings = sum(laid.fixings.noggings_m for laid in own)
    more = f", noggings {noggings:.1f} m" if noggings else ""
    return (
        f"{len(pieces)} pieces, {whole} of them whole sheets and {off} off-cuts; joints {joints:.1f} m, {fixed}{more}"
    )


def _title_px(laid: Laid) -> float:
    """About how wide the title of a surface is."""
    return NAME_PX * len(laid.surface) + SMALL_PX * len(f"{laid.kind}, {WAYS[laid.direction]}") + 6


def _points(laid: Laid) -> list[Point]:
    return [point for piece in laid.pieces for point in piece.outline]


def _size(points: Sequence[Point]) -> Point:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def _draw_surface(
    page: _Page, laid: Laid, surface: Surface | None, labels: Mapping[str, str], left: float, scale: float
) -> float:
    """Draw one surface with its top at the page's place, and return the height used."""
    points = _points(laid)
    width, height = _size(points)
    x0, top = min(x for x, _ in points), max(y for _, y in points)
    frame = _Frame(x0, top, left, page.y + 20, scale)
    page.add(_text(left, page.y + 12, "name", laid.surface))
    page.add(
        _text(left + NAME_PX * len(laid.surface) + 6, page.y + 12, "small", f"{laid.kind}, {WAYS[laid.direction]}")
    )
    for hole in surface.holes if surface is not None else ():
        page.add(f'<path class="opening" d="{frame.path(hole)}"/>')
        for a, b in ((0, 2), (1, 3)):
            if len(hole) == 4:
                (xa, ya), (xb, yb) = frame.at(hole[a]), frame.at(hole[b])
                page.add(f'<path class="cross" d="M{_n(xa)} {_n(ya)}L{_n(xb)} {_n(yb)}"/>')
    for piece in laid.pieces:
        kind = "whole" if piece.shape == "sheet" else "off" if piece.off_cut else "cut"
        page.add(f'<path class="piece {kind}" fill-rule="evenodd" d="{frame.path(piece.outline, *piece.holes)}"/>')
    for line in laid.framing:
        page.add(_line("framing", frame, *line))
    for joint in laid.joints:
        if joint.kind in ("end", "cut"):
            page.add(_line(joint.kind + "-joint", frame, joint.start, joint.end))
    for piece in laid.pieces:
        _label_piece(page, piece, labels[piece.ref], frame)
    bottom_m = min(y for _, y in points)
    for hole in surface.holes if surface is not None else ():
        _label_opening(page, hole, frame, bottom_m)
    bottom = page.y + 20 + height * scale
    below = _marks(page, laid, frame, bottom, width)
    for n, note in enumerate(laid.notes):
        page.add(_text(left, bottom + below + LINE * n + 10, "small", f"Note: {note}"))
    return 20 + height * scale + below + LINE * len(laid.notes) + 22


def _marks(page: _Page, laid: Laid, frame: _Frame, bottom: float, width: float) -> float:
    """Places of joints in millimetres: upright ones under the surface from its left, level ones beside it from below.

    Returns the height used.
    """
    left = frame.left
    height = (bottom - frame.y) / frame.scale
    page.add(_text(left, bottom + 24, "small", f"{width * 1000:.0f} x {height * 1000:.0f} mm over all"))
    upright = {round((j.start[0] - frame.x0) * 1000) for j in laid.joints if abs(j.start[0] - j.end[0]) < 1e-4}
    last = -100.0
    for place in sorted(upright):
        x = left + place / 1000 * frame.scale
        page.add(f'<path class="cross" d="M{_n(x)} {_n(bottom)}v4"/>')
        if x - last >= 30:
            page.add(_text(x, bottom + 13, "small", str(place), anchor="middle"))
            last = x
    right, low = left + width * frame.scale, frame.top - height
    for up in sorted({round((j.start[1] - low) * 1000) for j in laid.joints if abs(j.start[1] - j.end[1]) < 1e-4}):
        y = bottom - up / 1000 * frame.scale
        page.add(f'<path class="cross" d="M{_n(right)} {_n(y)}h4"/>{_text(right + 6, y + 3, "small", str(up))}')
    return 28.0


def _label_opening(page: _Page, hole: Sequence[Point], frame: _Frame, bottom: float) -> None:
    """Size of an opening and its place from the surface's lower left corner, in millimetres, in its middle."""
    (x0, y0), (width, height) = (min(x for x, _ in hole), min(y for _, y in hole)), _size(hole)
    lines = [f"{width * 1000:.0f} x {height * 1000:.0f}", f"{(x0 - frame.x0) * 1000:.0f} from left"]
    lines += [f"{(y0 - bottom) * 1000:.0f} from below"] if y0 - bottom > ROOM_M else []
    x, y = frame.at((x0 + width / 2, y0 + height / 2))
    turn = (
        f' transform="rotate(-90 {_n(x)} {_n(y)})"' if width * frame.scale < OPENING_PX < height * frame.scale else ""
    )
    rows = "".join(_clear_text(x, y + 4 + LINE_PX * (n - 1), "small", words) for n, words in enumerate(lines))
    page.add(f"<g{turn}>{rows}</g>")


def _label_piece(page: _Page, piece: Piece, label: str, frame: _Frame) -> None:
    """Number, cut size and origin where the piece is roomiest; fewer lines, or upright, where there is less room."""
    spot, radius = _roomiest([piece.outline, *piece.holes])
    x, y = frame.at(spot)
    room = 2 * radius * frame.scale
    wide, high = (side * frame.scale for side in _size(piece.outline))
    lines = [("number", label), ("small", f"{piece.width_mm:.0f} x {piece.length_mm:.0f}")]
    lines += [("small", words) for words, said in _said_of(piece) if said]
    upright = room < ACROSS_PX and high > wide
    if room < LEAST_PX or max(room, high if upright else wide) < ACROSS_PX:
        page.add(_clear_text(x, y + 4, "small", label))
        return
    lines = lines[: max(2, int(room // LINE_PX))]
    first = 4.0 - (len(lines) - 1) * LINE_PX / 2
    turn = f' transform="rotate(-90 {_n(x)} {_n(y)})"' if upright else ""
    rows = "".join(_clear_text(x, y + first + LINE_PX * n, kind, words) for n, (kind, words) in enumerate(lines))
    page.add(f"<g{turn}>{rows}</g>")


def _said_of(piece: Piece) -> tuple[tuple[str, bool], ...]:
    return ("off-cut", piece.off_cut), ("cut round", piece.shape == "notched"), ("sloping", piece.shape == "sloping")


def _roomiest(rings: Sequence[Sequence[Point]]) -> tuple[Point, float]:
    """A place in a shape with room round it, near its middle where that will do, and the room as a radius."""
    from shapely import Polygon, maximum_inscribed_circle

    shape = Polygon(rings[0], rings[1:])
    circle = maximum_inscribed_circle(shape, tolerance=ROOM_M)
    middle = shape.representative_point()
    if shape.exterior.distance(middle) >= 0.8 * circle.length and not shape.interiors:
        return (float(middle.x), float(middle.y)), float(shape.exterior.distance(middle))
    x, y = circle.coords[0]
    return (float(x), float(y)), float(circle.length)


def _draw_sheets(page: _Page, layout: BoardLayout, own: Sequence[Laid], labels: Mapping[str, str]) -> None:
    """The sheets that pieces of the room are cut from, whole ones left out."""
    here = {piece.ref: piece for laid in own for piece in laid.pieces}
    numbers = sorted({piece.sheet for piece in here.values() if piece.shape != "sheet"})
    if not numbers:
        return
    page.text(MARGIN, "name", "Sheets to cut (dotted is waste)", 18.0)
    page.y += 26
    x, tallest = MARGIN + 14, 0.0
    for number in numbers:
        sheet = layout.sheets[number - 1]
        width, height = (side / 1000 * SHEET_PX_PER_M for side in (sheet.width_mm, sheet.length_mm))
        elsewhere = list(_elsewhere(sheet, here, labels))
        step = max(width, 84.0, *(SMALL_PX * len(words) for words in elsewhere))
        if x + step > PAGE - MARGIN:
            x, page.y, tallest = MARGIN + 14, page.y + tallest, 0.0
        page.add(_text(x, page.y, "number", str(number)))
        page.add(_text(x, page.y + 11, "small", f"{sheet.width_mm:.0f} x {sheet.length_mm:.0f}"))
        frame = _Frame(0.0, sheet.length_mm / 1000, x, page.y + 16, SHEET_PX_PER_M)
        _draw_sheet(page, sheet, here, labels, frame)
        for n, words in enumerate(elsewhere):
            page.add(_text(x, page.y + 16 + height + 11 * (n + 1), "small", words))
        tallest = max(tallest, 16 + height + 11 * len(elsewhere) + 30)
        x += step + 16
    page.y += tallest


def _draw_sheet(page: _Page, sheet: Sheet, here: Mapping[str, Piece], labels: Mapping[str, str], frame: _Frame) -> None:
    width, length = sheet.width_mm / 1000, sheet.length_mm / 1000
    page.add(f'<path class="waste" d="{frame.path(((0, 0), (width, 0), (width, length), (0, length)))}"/>')
    for placed in sheet.pieces:
        rings = [[(x / 1000, y / 1000) for x, y in ring] for ring in (placed.outline, *placed.holes)]
        kind = "cut" if placed.piece in here else "whole"
        page.add(f'<path class="piece {kind}" fill-rule="evenodd" d="{frame.path(*rings)}"/>')
        x, y = frame.at(_roomiest(rings)[0])
        page.add(_clear_text(x, y + 4, "small", labels[placed.piece]))


def _elsewhere(sheet: Sheet, here: Mapping[str, Piece], labels: Mapping[str, str]) -> Iterator[str]:
    """Pieces of a sheet that go to other rooms."""
    for placed in sheet.pieces:
        if placed.piece not in here:
            yield f"{labels[placed.piece]}: {placed.piece.rsplit('-', 1)[0]}"


def _line(kind: str, frame: _Frame, start: Point, end: Point) -> str:
    (xa, ya), (xb, yb) = frame.at(start), frame.at(end)
    return f'<path class="{kind}" d="M{_n(xa)} {_n(ya)}L{_n(xb)} {_n(yb)}"/>'


def _text(x: float, y: float, kind: str, words: str, anchor: str = "") -> str:
    css = f' class="{kind}"' if kind else ""
    place = f' text-anchor="{anchor}"' if anchor else ""
    return f'<text{css} x="{_n(x)}" y="{_n(y)}"{place}>{escape(clean(words))}</text>'


def _clear_text(x: float, y: float, kind: str, words: str) -> str:
    """Text in the middle of x on a white edge, so that it stands out from lines and hatching."""
    return _text(x, y, f"{kind} halo", words, "middle") + _text(x, y, kind, words, "middle")


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
