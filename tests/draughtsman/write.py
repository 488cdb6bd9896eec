"""Strokes into a DXF document: on file, or in memory for the many small plans of the tests.

Both ways run the project's reader over the same ezdxf document; only the file in between differs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from unittest.mock import patch

from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from takeoff.drawing.load import Loaded
from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from tests.draughtsman.strokes import Arc, Dim, Fill, Line, MLine, Note, Poly, Spline, Stroke, Symbol, Xy

START_SQUARE, END_SQUARE = 16, 256
"""Bits of a multiline style, as the DXF reference gives them (group 70 of MLINESTYLE)."""
METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
INSUNITS = {"in": 1, "ft": 2, "mm": 4, "cm": 5, "m": 6}
LAYERS = {
    "wall": "A-WALL", "hatch": "A-WALL-PATT", "column": "S-COLS", "door": "A-DOOR", "window": "A-GLAZ",
    "text": "A-AREA-IDEN", "furniture": "I-FURN", "dims": "A-ANNO-DIMS", "stair": "A-FLOR-STRS",
    "beam": "S-BEAM", "layer": "A-WALL-LAYR", "area": "A-AREA", "tiles": "A-FLOR-PATT",
    "worktop": "A-FLOR-CASE", "cloud": "A-ANNO-REVC", "site": "C-SITE", "zero": "0", "removed": "A-WALL-DEMO",
    "hidden": "A-WALL-OLDX", "grid": "S-GRID", "frame": "A-ANNO-TTLB", "roof": "A-ROOF-OTLN",
    "high": "A-GLAZ-HIGH",
    "existing": "A-WALL-EXST", "new": "A-WALL-NEWW", "mark": "A-ANNO-SYMB", "ceiling": "A-CLNG-GRID",
    "floor": "A-FLOR-FINI", "half": "A-WALL-PRHT", "rail": "A-FLOR-HRAL", "silent": "Q7", "light": "E-LITE",
    "view": "VIEWPORT", "match": "A-ANNO-MTCH", "void": "A-FLOR-OPNG",
}
DASHED = ("beam", "roof", "grid", "removed", "high")


@dataclass(frozen=True)
class Page:
    """How the sheet is set up: unit, what the header claims, where the plan lies, what the layers are called."""

    unit: str = "mm"
    claims: int | None = None
    """$INSUNITS; None: the true one."""
    turn: float = 0.0
    """Degrees about the origin."""
    shift: Xy = (0.0, 0.0)
    """Metres, after turning."""
    mirrored: bool = False
    """The whole plan inside one block, mirrored."""
    nested: int = 0
    """Blocks within blocks that hold the whole plan."""
    anonymous: bool = False
    """Symbols in anonymous blocks."""
    raised: float = 0.0
    """Metres: lines drawn again so high up, and joined by upright ones."""
    hidden: str = ""
    """'off' or 'frozen': the layer of what is hidden."""
    down: bool = False
    """Flat things written with extrusion 0, 0, -1."""
    layers: dict[str, str] = field(default_factory=lambda: dict(LAYERS))
    pens: bool = False
    """Each role in a colour of its own."""
    caps: bool = False
    """Double lines of one entity are closed at their ends."""

    def matrix(self) -> list[float]:
        """Plan metres to sheet metres, for shapely: a b d e x y."""
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        m = -1.0 if self.mirrored else 1.0
        return [m * c, -m * s, s, c, m * self.shift[0], self.shift[1]]

    def on_sheet(self, shape: BaseGeometry) -> Any:
        return affinity.affine_transform(shape, self.matrix())

    def point_on_sheet(self, p: Xy) -> Xy:
        a, b, d, e, x, y = self.matrix()
        return (a * p[0] + b * p[1] + x, d * p[0] + e * p[1] + y)


class _Pen:
    """Writes strokes into one layout of a document."""

    def __init__(self, document: Document, page: Page, layout: Any, plain: bool = False) -> None:
        """`plain`: inside a block, where neither turn nor shift applies."""
        self.document, self.page, self.layout = document, page, layout
        self.k = 1 / METRES[page.unit]
        self.turn = 0.0 if plain else page.turn
        self.shift = (0.0, 0.0) if plain else page.shift
        self.down = page.down and not plain
        self.c, self.s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        self.plain = plain
        self.names: dict[str, str] = {}
        """Block in the file for each symbol."""

    def p(self, at: Xy) -> Xy:
        x, y = at
        return ((self.c * x - self.s * y + self.shift[0]) * self.k, (self.s * x + self.c * y + self.shift[1]) * self.k)

    def flat(self, at: Xy) -> Xy:
        """In object coordinates: of the world turned over when the page says so."""
        x, y = self.p(at)
        return (-x, y) if self.down else (x, y)

    def style(self, role: str, flat: bool = False) -> dict[str, Any]:
        name = self.page.layers[role]
        if name not in self.document.layers:
            layer = self.document.layers.add(name, linetype="DASHED" if role in DASHED else "CONTINUOUS")
            if role == "hidden" and self.page.hidden == "off":
                layer.off()
            elif role == "hidden":
                layer.freeze()
        found: dict[str, Any] = {"layer": name}
        if self.page.pens:
            found["color"] = 1 + list(LAYERS).index(role)
        if flat and self.down:
            found["extrusion"] = (0, 0, -1)
        return found

    def write(self, stroke: Stroke) -> None:
        getattr(self, f"_{type(stroke).__name__.lower()}")(stroke)

    def _line(self, s: Line) -> None:
        self.layout.add_line(self.p(s.a), self.p(s.b), self.style(s.role))
        if self.page.raised and s.role == "wall":
            z = self.page.raised * self.k
            a, b = (*self.p(s.a), z), (*self.p(s.b), z)
            self.layout.add_line(a, b, self.style(s.role))
            self.layout.add_line((*self.p(s.a), 0.0), a, self.style(s.role))

    def _arc(self, s: Arc) -> None:
        start, end = s.start + self.turn, s.end + self.turn
        if self.down:
            start, end = 180 - end, 180 - start
        style = self.style(s.role, flat=True)
        if abs(s.end - s.start) >= 360:
            self.layout.add_circle(self.flat(s.centre), s.radius * self.k, style)
        else:
            self.layout.add_arc(self.flat(s.centre), s.radius * self.k, start, end, dxfattribs=style)

    def _poly(self, s: Poly) -> None:
        points = [self.flat(q) for q in s.points]
        if s.closed and not s.flag:
            points.append(points[0])
        entity = self.layout.add_lwpolyline(points, close=s.closed and s.flag, dxfattribs=self.style(s.role, flat=True))
        if s.width:
            entity.dxf.const_width = s.width * self.k

    def _spline(self, s: Spline) -> None:
        self.layout.add_spline([(*self.p(q), 0) for q in s.points], dxfattribs=self.style(s.role))

    def _mline(self, s: MLine) -> None:
        style = "CAPPED" if self.page.caps else "Standard"
        self.layout.add_mline([self.p(q) for q in s.points], dxfattribs=self.style(s.role) | {
            "justification": 1, "scale_factor": s.thick * self.k, "style_name": style})

    def _fill(self, s: Fill) -> None:
        hatch = self.layout.add_hatch(dxfattribs=self.style(s.role, flat=True))
        if s.pattern == "SOLID":
            hatch.set_solid_fill()
        else:
            hatch.set_pattern_fill(s.pattern, scale=0.05 * self.k)
        for n, ring in enumerate(s.rings):
            hatch.paths.add_polyline_path([self.flat(q) for q in ring], is_closed=True, flags=1 if n == 0 else 16)

    def _note(self, s: Note) -> None:
        self.layout.add_text(s.value, height=s.height * self.k, rotation=s.turn + self.turn, dxfattribs=self.style(
            s.role)).set_placement(self.p(s.at), align=TextEntityAlignment.MIDDLE_CENTER)

    def _dim(self, s: Dim) -> None:
        turn = math.atan2(s.b[1] - s.a[1], s.b[0] - s.a[0])
        base = (s.a[0] - s.offset * math.sin(turn), s.a[1] + s.offset * math.cos(turn))
        scale = self.k / 1000
        self.layout.add_linear_dim(
            base=self.p(base), p1=self.p(s.a), p2=self.p(s.b), angle=math.degrees(turn) + self.turn,
            override={"dimtxt": 120 * scale, "dimasz": 100 * scale, "dimtsz": 80 * scale, "dimexo": 50 * scale,
                      "dimexe": 50 * scale, "dimgap": 30 * scale, "dimdec": 0 if self.page.unit == "mm" else 3,
                      "dimlfac": 1.0, "dimpost": "<>", "dimrnd": 0, "dimzin": 8},
            dxfattribs=self.style(s.role)).render()

    def _symbol(self, s: Symbol) -> None:
        name = self.names.get(s.name)
        if name is None:
            blocks = self.document.blocks
            block = blocks.new_anonymous_block() if self.page.anonymous else blocks.new(s.name)
            name = self.names[s.name] = block.name
            inner = _Pen(self.document, self.page, block, plain=True)
            for part in s.parts:
                inner.write(part)
        style = self.style(s.role, flat=True)
        turn, sx, sy = s.turn + self.turn, s.stretch[0], s.stretch[1] * (-1 if s.mirrored else 1)
        if self.down:
            turn, sx = -turn, -sx
        insert = self.layout.add_blockref(
            name, self.flat(s.at), style | {"rotation": turn, "xscale": sx, "yscale": sy})
        for n, (tag, value) in enumerate(s.attributes):
            at = self.p(s.at)
            insert.add_attrib(tag, value, (at[0], at[1] - n * 0.15 * self.k), {
                "height": 0.1 * self.k, "layer": style["layer"], "flags": 0 if n == 0 else 1})


def document_of(strokes: Sequence[Stroke], page: Page) -> Document:
    """The strokes as an ezdxf document."""
    document = new("R2010", setup=False)
    document.linetypes.add("DASHED", [0.75, 0.5, -0.25])
    document.header["$INSUNITS"] = INSUNITS[page.unit] if page.claims is None else page.claims
    if page.caps:
        style = document.mline_styles.duplicate_entry("Standard", "CAPPED")
        style.dxf.flags = START_SQUARE | END_SQUARE
    space = document.modelspace()
    layout: Any = space
    for level in range(max(page.nested, 1 if page.mirrored else 0)):
        block = document.blocks.new(f"PLAN-{level}")
        layout.add_blockref(block.name, (0, 0), {"xscale": -1 if page.mirrored and level == 0 else 1})
        layout = block
    pen = _Pen(document, page, layout)
    for stroke in strokes:
        pen.write(stroke)
    return document


def read_in_memory(document: Document) -> Drawing:
    """What the reader makes of the document, no file in between: opening the file is the one step left out."""
    with patch("takeoff.drawing.load.load_dxf", return_value=Loaded(document, "", "in memory")):
        return read_drawing(Path("generated.dxf"))
