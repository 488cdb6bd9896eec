"""A page of vector drawing that prints alike as SVG and as PDF. Points (1/72 inch), y upwards.

Build a `Page`, add items, then `to_svg(page)` or `to_pdf(pages, title)`. Both give the same bytes for the same page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from io import BytesIO
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from takeoff.documents.fonts import font_for, printable

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = [
    "A3",
    "A4",
    "BLACK",
    "WHITE",
    "Clip",
    "Disc",
    "Label",
    "Lines",
    "Page",
    "Shape",
    "Stroke",
    "draw_on",
    "grey",
    "plain_bytes",
    "to_pdf",
    "to_svg",
]

MM = 72 / 25.4
FINE = 0.01
"""Points: lines are written in whole steps of this, 3.5 thousandths of a millimetre on paper."""
A4 = (210 * MM, 297 * MM)
A3 = (297 * MM, 420 * MM)

Colour = tuple[float, float, float]
Rect = tuple[float, float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)


def grey(level: float) -> Colour:
    """0 black to 1 white."""
    return (level, level, level)


@dataclass(frozen=True, slots=True)
class Stroke:
    width: float = 0.5
    colour: Colour = BLACK
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Lines:
    """Separate straight lines, `ends` (n, 4) x1 y1 x2 y2."""

    ends: npt.NDArray[np.float64]
    stroke: Stroke


@dataclass(frozen=True, slots=True)
class Shape:
    """Closed rings filled by the even-odd rule, or an open line when `closed` is false."""

    rings: tuple[npt.NDArray[np.float64], ...]
    fill: Colour | None = None
    stroke: Stroke | None = None
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Label:
    x: float
    y: float
    """Of the text's base line."""
    text: str
    size: float = 7.0
    bold: bool = False
    anchor: str = "start"
    """'start', 'middle' or 'end'."""
    colour: Colour = BLACK
    rotation: float = 0.0
    """Degrees, counter-clockwise."""


@dataclass(frozen=True, slots=True)
class Disc:
    x: float
    y: float
    radius: float
    fill: Colour | None = None
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True)
class Clip:
    """Items drawn only inside `rect` (x0, y0, x1, y1)."""

    rect: Rect
    items: tuple[Item, ...]


Item = Lines | Shape | Label | Disc | Clip


@dataclass(slots=True)
class Page:
    width: float
    height: float
    title: str = ""
    items: list[Item] = field(default_factory=list)

    def add(self, *items: Item) -> None:
        """Draw `items` over what is there."""
        self.items.extend(items)


# ---------------------------------------------------------------- SVG


def to_svg(page: Page) -> str:
    """The page as an SVG document, real size in millimetres."""
    clips: list[Rect] = []
    body = "\n".join(_svg(item, page.height, clips) for item in page.items)
    defs = "".join(
        f'<clipPath id="c{n}"><rect x="{_n(x0)}" y="{_n(page.height - y1)}" '
        f'width="{_n(x1 - x0)}" height="{_n(y1 - y0)}"/></clipPath>'
        for n, (x0, y0, x1, y1) in enumerate(clips)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(page.width / MM)}mm" height="{_n(page.height / MM)}mm" '
        f'viewBox="0 0 {_n(page.width)} {_n(page.height)}" font-family="Helvetica, Arial, sans-serif">\n'
        f"<title>{escape(printable(page.title))}</title>\n<defs>{defs}</defs>\n"
        f'<rect width="100%" height="100%" fill="#fff"/>\n{body}\n</svg>\n'
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") or "0"


def _hex(colour: Colour) -> str:
    return "#" + "".join(f"{round(255 * c):02x}" for c in colour)


def _svg_stroke(stroke: Stroke | None) -> str:
    if stroke is None:
        return ""
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in stroke.dash)}"' if stroke.dash else ""
    return f' stroke="{_hex(stroke.colour)}" stroke-width="{_n(stroke.width)}"{dash}'


def _svg(item: Item, height: float, clips: list[Rect]) -> str:
    match item:
        case Lines():
            turned = f"matrix({FINE} 0 0 -{FINE} 0 {_n(height)})"
            look = f'stroke-linejoin="round" transform="{turned}"{_svg_stroke(_finely(item.stroke))}'
            return f'<path fill="none" {look} d="{_strokes(item.ends, "M%d %d", "L%d %d")}"/>'
        case Shape():
            path = "".join(
                _ring(ring * [1, -1] + [0, height], "M", "L", "Z" if item.closed else "") for ring in item.rings
            )
            fill = _hex(item.fill) if item.fill else "none"
            return f'<path fill="{fill}" fill-rule="evenodd"{_svg_stroke(item.stroke)} d="{path}"/>'
        case Disc():
            fill = _hex(item.fill) if item.fill else "none"
            x, y, radius = _n(item.x), _n(height - item.y), _n(item.radius)
            return f'<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}"{_svg_stroke(item.stroke)}/>'
        case Label():
            x, y = _n(item.x), _n(height - item.y)
            weight = ' font-weight="bold"' if item.bold else ""
            turn = f' transform="rotate({_n(-item.rotation)} {x} {y})"' if item.rotation else ""
            return (
                f'<text x="{x}" y="{y}" font-size="{_n(item.size)}" text-anchor="{item.anchor}" '
                f'fill="{_hex(item.colour)}"{weight}{turn}>{escape(printable(item.text))}</text>'
            )
        case Clip():
            clips.append(item.rect)
            name = len(clips) - 1
            inner = "\n".join(_svg(i, height, clips) for i in item.items)
            return f'<g clip-path="url(#c{name})">\n{inner}\n</g>'


def _finely(stroke: Stroke) -> Stroke:
    """`stroke` measured in `FINE` steps."""
    return Stroke(stroke.width / FINE, stroke.colour, tuple(d / FINE for d in stroke.dash))


def _strokes(ends: npt.NDArray[np.float64], to: str, along: str) -> str:
    """Lines (n, 4) as path operators in `FINE` steps: `to` moves the pen, `along` draws.

    The pen moves only where a line does not begin at the end of the one before: a plan of long polylines and curves is
    half as much to write. All numbers are written in one go, which is several times as fast as line by line.
    """
    steps = np.rint(ends / FINE).astype(np.int64)
    steps = steps[(steps[:, 0] != steps[:, 2]) | (steps[:, 1] != steps[:, 3])]
    new = np.ones(len(steps), np.bool_)
    new[1:] = (steps[1:, 0] != steps[:-1, 2]) | (steps[1:, 1] != steps[:-1, 3])
    written = np.ones(steps.shape, np.bool_)
    written[:, :2] = new[:, None]
    return "".join([to + along if moved else along for moved in new.tolist()]) % tuple(steps[written].tolist())


def _ring(points: npt.NDArray[np.float64], first: str, then: str, close: str) -> str:
    rounded = np.round(points, 2).tolist()
    return "".join(f"{then if n else first}{x:g} {y:g}" for n, (x, y) in enumerate(rounded)) + close


# ---------------------------------------------------------------- PDF


def to_pdf(pages: Sequence[Page], title: str) -> bytes:
    """The pages as one PDF file."""
    from reportlab.pdfgen.canvas import Canvas

    plain_bytes()
    stream = BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(printable(title))
    for page in pages:
        canvas.setPageSize((page.width, page.height))
        draw_on(canvas, page)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def plain_bytes() -> None:
    """Have the PDF library write bytes, not letters: a quarter of the time and of the size is saved. It knows this for
    all documents only, so each asks for it, whichever is written first."""
    from reportlab import rl_config

    rl_config.useA85 = 0


def draw_on(canvas: Canvas, page: Page) -> None:
    """Draw the page's items at the canvas's present origin."""
    for item in page.items:
        _pdf(canvas, item)


def _pdf_stroke(canvas: Canvas, stroke: Stroke | None) -> None:
    if stroke:
        canvas.setLineWidth(stroke.width)
        canvas.setStrokeColorRGB(*stroke.colour)
        canvas.setDash(list(stroke.dash))


def _pdf(canvas: Canvas, item: Item) -> None:
    match item:
        case Lines():
            canvas.saveState()
            canvas.scale(FINE, FINE)
            _pdf_stroke(canvas, _finely(item.stroke))
            canvas.setLineJoin(1)
            canvas.addLiteral(_strokes(item.ends, "%d %d m\n", "%d %d l\n") + "S")
            canvas.restoreState()
        case Shape():
            _pdf_shape(canvas, item)
        case Disc():
            _pdf_stroke(canvas, item.stroke)
            if item.fill:
                canvas.setFillColorRGB(*item.fill)
            canvas.circle(
                item.x, item.y, item.radius, stroke=int(item.stroke is not None), fill=int(item.fill is not None)
            )
        case Label():
            _pdf_label(canvas, item)
        case Clip():
            canvas.saveState()
            x0, y0, x1, y1 = item.rect
            box = canvas.beginPath()
            box.rect(x0, y0, x1 - x0, y1 - y0)
            canvas.clipPath(box, stroke=0, fill=0)
            for inner in item.items:
                _pdf(canvas, inner)
            canvas.restoreState()


def _pdf_shape(canvas: Canvas, item: Shape) -> None:
    _pdf_stroke(canvas, item.stroke)
    if item.fill:
        canvas.setFillColorRGB(*item.fill)
    paint = {(True, True): "B*", (True, False): "f*", (False, True): "S", (False, False): "n"}
    for ring in item.rings:
        rounded = np.round(ring, 2).tolist()
        canvas.addLiteral(
            "".join(f"{x:g} {y:g} {'l' if n else 'm'}\n" for n, (x, y) in enumerate(rounded))
            + ("h" if item.closed else "")
        )
    canvas.addLiteral(paint[item.fill is not None, item.stroke is not None])


def _pdf_label(canvas: Canvas, item: Label) -> None:
    text = printable(item.text)
    canvas.setFillColorRGB(*item.colour)
    canvas.setFont(font_for(text, item.bold), item.size)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[item.anchor]
    if not item.rotation:
        draw(item.x, item.y, text)
        return
    canvas.saveState()
    canvas.translate(item.x, item.y)
    canvas.rotate(item.rotation)
    draw(0, 0, text)
    canvas.restoreState()
