"""The house style of the sample drawings: layers, text, dimensions, title block, grids.

Everything is given in millimetres of the building; `Sheet.u` turns it into the drawing's own unit. Drawn the way
an office draws by hand, so that the samples hold what real drawings hold: blocks with attributes, dimension
entities, hatches, a page frame around it all. The scenario is invented; see docs/samples.md.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from ezdxf import units
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.enums import MTextEntityAlignment, TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.base import BaseLayout
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

Point = tuple[float, float]

PAPER = {"A1": (841.0, 594.0), "A2": (594.0, 420.0)}
"""Width and height of a sheet in millimetres (ISO 216)."""


@dataclass(frozen=True)
class Style:
    """How one kind of thing is drawn: layer name, colour (ACI), line type, line weight in 1/100 mm."""

    name: str
    colour: int = 7
    linetype: str = "CONTINUOUS"
    weight: int = 18


class Sheet:
    """One drawing file under way. `styles` maps the roles used below (wall, door, text ...) to layers."""

    def __init__(self, unit: str, scale: float, styles: Mapping[str, Style], version: str = "R2010") -> None:
        self.u = {"mm": 1.0, "m": 0.001}[unit]
        self.scale = scale
        """Millimetres of building per millimetre of paper: 50 for 1:50."""
        self.styles = styles
        options.write_fixed_meta_data_for_testing = True  # same dates and GUIDs in every run
        self.doc: Drawing = new(version, setup=["linetypes"])
        self.doc.units = {"mm": units.MM, "m": units.M}[unit]
        self.msp: BaseLayout = self.doc.modelspace()
        self.doc.header["$LTSCALE"] = 10 * scale * self.u
        for style in {s.name: s for s in styles.values()}.values():
            self.doc.layers.add(style.name, color=style.colour, linetype=style.linetype, lineweight=style.weight)
        self.doc.styles.add("OFFICE", font="arial.ttf")
        self._dimension_style()

    def _dimension_style(self) -> None:
        style = self.doc.dimstyles.new("OFFICE")
        paper = self.scale * self.u
        for key, value in {
            "dimtxt": 2.5 * paper, "dimasz": 2.0 * paper, "dimtsz": 1.5 * paper, "dimexo": 2.0 * paper,
            "dimexe": 1.5 * paper, "dimgap": 1.0 * paper, "dimdec": 0 if self.u == 1.0 else 2, "dimtad": 1,
            "dimzin": 0, "dimclrd": 256, "dimclre": 256, "dimclrt": 256,
            "dimtxsty": "OFFICE", "dimdsep": ord("."),
        }.items():
            style.dxf.set(key, value)

    # Lines -----------------------------------------------------------------------------------------------

    def layer(self, role: str) -> dict[str, str]:
        return {"layer": self.styles[role].name}

    def _target(self, on: BaseLayout | None) -> BaseLayout:
        return self.msp if on is None else on  # an empty block is falsy

    def pt(self, at: Point) -> Point:
        return (at[0] * self.u, at[1] * self.u)

    def line(self, role: str, *points: Point, on: BaseLayout | None = None) -> None:
        """Separate LINE entities through `points`."""
        for a, b in pairwise(points):
            self._target(on).add_line(self.pt(a), self.pt(b), self.layer(role))

    def poly(self, role: str, points: Sequence[Point], close: bool = True, on: BaseLayout | None = None) -> None:
        self._target(on).add_lwpolyline([self.pt(p) for p in points], close=close, dxfattribs=self.layer(role))

    def box(self, role: str, x: float, y: float, w: float, h: float, on: BaseLayout | None = None) -> None:
        self.poly(role, [(x, y), (x + w, y), (x + w, y + h), (x, y + h)], on=on)

    def circle(self, role: str, at: Point, radius: float, on: BaseLayout | None = None) -> None:
        self._target(on).add_circle(self.pt(at), radius * self.u, self.layer(role))

    def arc(self, role: str, at: Point, radius: float, start: float, end: float, on: BaseLayout | None = None) -> None:
        """Counter-clockwise from `start` to `end`, degrees."""
        self._target(on).add_arc(self.pt(at), radius * self.u, start, end, dxfattribs=self.layer(role))

    def bodies(self, role: str, shape: BaseGeometry, as_lines: bool, hatch: str = "") -> None:
        """The outlines of `shape` (cut wall bodies), as LINEs or closed polylines, with a hatch inside."""
        for body in polygons(shape):
            rings = [list(r.coords)[:-1] for r in (body.exterior, *body.interiors)]
            for ring in rings:
                if as_lines:
                    self.line(role, *ring, ring[0])
                else:
                    self.poly(role, ring)
            if hatch:
                self.hatch("hatch", rings, hatch)

    def hatch(self, role: str, rings: Sequence[Sequence[Point]], pattern: str, spacing: float = 60) -> None:
        """A pattern fill, its lines about `spacing` millimetres of building apart."""
        hatch = self.msp.add_hatch(color=256, dxfattribs=self.layer(role))
        if pattern == "SOLID":
            hatch.set_solid_fill(color=256)
        else:
            hatch.set_pattern_fill(pattern, color=256, scale=spacing / 3.175 * self.u)
        for n, ring in enumerate(rings):
            flags = 1 if n == 0 else 16  # outermost boundary, hole
            hatch.paths.add_polyline_path([self.pt(p) for p in ring], is_closed=True, flags=flags)

    # Texts and dimensions --------------------------------------------------------------------------------

    def text(self, role: str, value: str, at: Point, paper: float = 2.5, turn: float = 0, on: BaseLayout | None = None,
             align: TextEntityAlignment = TextEntityAlignment.LEFT) -> None:
        """A one-line text, `paper` millimetres high on the print."""
        text = self._target(on).add_text(
            value, height=paper * self.scale * self.u, rotation=turn, dxfattribs=self.layer(role) | {"style": "OFFICE"})
        text.set_placement(self.pt(at), align=align)

    def label(self, role: str, lines: Iterable[str], at: Point, paper: float = 2.5) -> None:
        """A centred MTEXT of several lines."""
        text = self.msp.add_mtext(
            "\\P".join(lines), self.layer(role) | {"style": "OFFICE", "char_height": paper * self.scale * self.u})
        text.set_location(self.pt(at), attachment_point=MTextEntityAlignment.MIDDLE_CENTER)

    def dimension(self, a: Point, b: Point, offset: float) -> None:
        """From `a` to `b`, level or upright, the line `offset` to the left of the way from a to b."""
        turn = math.atan2(b[1] - a[1], b[0] - a[0])
        base = (a[0] - offset * math.sin(turn), a[1] + offset * math.cos(turn))
        self.msp.add_linear_dim(
            base=self.pt(base), p1=self.pt(a), p2=self.pt(b), angle=math.degrees(turn), dimstyle="OFFICE",
            dxfattribs=self.layer("dims")).render()

    def chain(self, points: Sequence[Point], offset: float) -> None:
        """A run of dimensions from point to point."""
        for a, b in pairwise(points):
            self.dimension(a, b, offset)

    # What every sheet carries ----------------------------------------------------------------------------

    def grid(self, name: str, a: Point, b: Point) -> None:
        """A grid line from `a` to `b`, its bubble beyond `a`."""
        turn = math.atan2(a[1] - b[1], a[0] - b[0])
        radius = 4 * self.scale
        centre = (a[0] + radius * math.cos(turn), a[1] + radius * math.sin(turn))
        self.line("grid", a, b)
        self.circle("grid", centre, radius)
        self.text("grid", name, centre, 3.5, align=TextEntityAlignment.MIDDLE_CENTER)

    def section_mark(self, name: str, a: Point, b: Point) -> None:
        """A cut line through the plan with an arrow and the section's letter at each end."""
        self.line("section", a, b)
        turn = math.atan2(b[1] - a[1], b[0] - a[0])
        for end in (a, b):
            s = 4 * self.scale
            tip = (end[0] - s * math.sin(turn), end[1] + s * math.cos(turn))
            wings = [(end[0] + k * s / 2 * math.cos(turn), end[1] + k * s / 2 * math.sin(turn)) for k in (-1, 1)]
            self.msp.add_solid([self.pt(p) for p in (*wings, tip)], self.layer("section"))
            self.text("section", name, (tip[0], tip[1] + s), 3.5, align=TextEntityAlignment.MIDDLE_CENTER)

    def north(self, at: Point) -> None:
        r = 8 * self.scale
        self.circle("text", at, r)
        self.poly("text", [(at[0] - r / 3, at[1] - r / 2), (at[0], at[1] + r), (at[0] + r / 3, at[1] - r / 2)])
        self.text("text", "N", (at[0], at[1] + r * 1.4), 5, align=TextEntityAlignment.MIDDLE_CENTER)

    def title_block(self, size: str, corner: Point, fields: Mapping[str, str]) -> None:
        """A page frame with its lower left `corner` there, and a title panel of attributes at the right."""
        width, height = PAPER[size]
        block = self.doc.blocks.new(f"TITLE-{size}")
        paper = Sheet.__new__(Sheet)  # the block is drawn in paper millimetres
        paper.u, paper.scale, paper.styles, paper.msp = 1.0, 1.0, self.styles, block
        paper.box("frame", 0, 0, width, height)
        paper.box("frame", 10, 10, width - 20, height - 20)
        left, row = width - 190, 14.0
        paper.box("frame", left, 10, 180, row * len(fields))
        for n, tag in enumerate(reversed(list(fields))):
            y = 10 + n * row
            paper.line("frame", (left, y + row), (left + 180, y + row))
            paper.text("frame", tag.replace("_", " "), (left + 2, y + row - 4), 1.8)
            block.add_attdef(tag, (left + 4, y + 3), height=4, dxfattribs=self.layer("frame") | {"style": "OFFICE"})
        insert = self.msp.add_blockref(f"TITLE-{size}", self.pt(corner), self.layer("frame"))
        insert.dxf.xscale = insert.dxf.yscale = insert.dxf.zscale = self.scale * self.u
        insert.add_auto_attribs(dict(fields))

    def table(self, at: Point, widths: Sequence[float], rows: Sequence[Sequence[str]], title: str) -> None:
        """A schedule drawn of lines and texts (column `widths` in paper millimetres), first row its headings."""
        row = 7 * self.scale
        x0, y0 = at
        edges = [x0]
        for w in widths:
            edges.append(edges[-1] + w * self.scale)
        bottom = y0 - row * len(rows)
        for n in range(len(rows) + 1):
            self.line("table", (x0, y0 - n * row), (edges[-1], y0 - n * row))
        for x in edges:
            self.line("table", (x, y0), (x, bottom))
        self.text("table", title, (x0, y0 + 2 * self.scale), 3.5)
        for n, cells in enumerate(rows):
            for x, cell in zip(edges, cells, strict=False):
                self.text("table", cell, (x + 2 * self.scale, y0 - n * row - 4.75 * self.scale))

    def save(self, path: Path) -> None:
        for kind in sorted(self.doc.entitydb.dxf_types_in_use()):
            self.doc.classes.add_class(kind)  # else in the order of a set, another in every run
        self.doc.saveas(path)


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of `shape`, counter-clockwise, in a fixed order."""
    parts = [p for p in getattr(shape, "geoms", [shape]) if isinstance(p, Polygon) and p.area > 1.0]
    return sorted((orient(p) for p in parts), key=lambda p: p.bounds)
