"""What is read from sound files, against ezdxf's own geometry (`ezdxf.path`, `get_measurement`) and known shapes.

The DXF reference (2018 edition, entity sections) is the source for object coordinates, bulges, layer 0 and flags.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from ezdxf.path import make_path

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.read import read_drawing
from tests.drawing.conftest import corpus

Make = Callable[..., Path]
DOWN = {"extrusion": (0, 0, -1)}


def areas(drawing: Drawing) -> list[float]:
    return sorted(shapely.Polygon(region.ring).area for region in drawing.regions)


def chords_of(drawing: Drawing, kind: str) -> np.ndarray:
    """Ends of the segments of entities of `kind`, in the drawing's own coordinates."""
    mine = np.array([drawing.entities[n].kind == kind for n in drawing.segments.entity])
    return drawing.segments.ends[mine].reshape(-1, 2) + drawing.origin


def some_of_each(document: Any) -> None:
    model = document.modelspace()
    r12 = document.dxfversion == "AC1009"
    model.add_line((0, 0), (4, 3))
    model.add_circle((10, 10), 2)
    model.add_arc((20, 0), 3, 30, 120)
    model.add_polyline2d([(0, 20), (5, 20, 0, 0, 1), (5, 25)], format="xyseb", close=True)
    model.add_polyline3d([(0, 30, 0), (5, 30, 7), (5, 34, 9)])
    model.add_solid([(30, 0), (32, 0), (30, 5), (32, 5)])
    model.add_text("HALL", height=0.5).set_placement((1, 1))
    block = document.blocks.new("door")
    block.add_line((0, 0), (1, 0))
    block.add_attdef("TAG", (0, 0), "D?", height=0.3)
    model.add_blockref("door", (40, 0)).add_attrib("TAG", "D01", (40, 1))
    if not r12:
        model.add_lwpolyline([(50, 0), (55, 0), (55, 5), (50, 5)], close=True)
        model.add_ellipse((60, 0), (4, 0), 0.5)
        model.add_mtext("one\\Ptwo", dxfattribs={"insert": (0, -5), "char_height": 0.5})


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_every_version_as_text_and_binary(make: Make, version: str, binary: bool) -> None:
    drawing = read_drawing(make(some_of_each, version, fmt="bin" if binary else "asc"))
    kinds = {entity.kind for entity in drawing.entities}
    assert {"LINE", "CIRCLE", "ARC", "POLYLINE", "SOLID", "TEXT", "ATTRIB"} <= kinds
    assert (version == "R12") == ("LWPOLYLINE" not in kinds)
    assert version in drawing.format and ("binary" in drawing.format) == binary
    assert drawing.queries == ()
    assert "HALL" in {text.value for text in drawing.texts}
    (door,) = drawing.symbols
    assert (door.name, door.attributes) == ("door", (("TAG", "D01"),))
    (tag,) = [text for text in drawing.texts if text.tag == "TAG"]
    assert drawing.entities[tag.entity].symbol == 0


@pytest.mark.parametrize("attribs", [{}, DOWN, {"extrusion": (0.3, -0.4, 0.8)}], ids=["up", "down", "askew"])
def test_curves_lie_where_ezdxf_puts_them(make: Make, attribs: dict[str, Any]) -> None:
    """Object to world coordinates, by ezdxf's path module (true to 0.03 % of a radius) as the other way."""

    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_arc((20, 5), 3, 300, 40, dxfattribs=attribs)
        model.add_circle((10, 10), 2, dxfattribs=attribs)
        model.add_ellipse((60, 0), (4, 1), 0.4, 0.5, 4)
        bulged = [(0, 0, 0, 0, -0.7), (5, 0), (5, 4, 0, 0, 0.3), (1, 6)]
        model.add_lwpolyline(bulged, close=True, dxfattribs={"elevation": 2, **attribs})
        model.add_polyline2d(bulged, format="xyseb", dxfattribs=attribs)

    path = make(draw)
    drawing = read_drawing(path)
    for entity in ezdxf.readfile(path).modelspace():
        curve = shapely.LineString([(p.x, p.y) for p in make_path(entity).flattening(1e-5)])
        ends = chords_of(drawing, entity.dxftype())
        assert shapely.distance(curve, shapely.points(ends)).max() < 1e-3
        chords = shapely.multilinestrings([shapely.linestrings(ends.reshape(-1, 2, 2))])
        assert shapely.length(chords)[0] == pytest.approx(curve.length, rel=2e-3)


def test_bulges_make_the_right_area(make: Make) -> None:
    """A square with one side bulged to a half circle outwards: 4 x 4 + half of pi 2^2."""

    def draw(document: Any) -> None:
        document.modelspace().add_lwpolyline([(0, 0), (4, 0, 0, 0, 1), (4, 4), (0, 4)], close=True)

    drawing = read_drawing(make(draw))
    assert areas(drawing) == [pytest.approx(16 + math.pi * 2, rel=1e-3)]
    centre_x, centre_y, radius, start, sweep = drawing.arcs.shape[0]
    assert (centre_x + drawing.origin[0], centre_y + drawing.origin[1], radius) == pytest.approx((4, 2, 2))
    assert (start, sweep) == pytest.approx((1.5 * math.pi, math.pi))


def test_polylines_that_close_without_the_flag_are_regions(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_lwpolyline([(0, 0), (3, 0), (3, 2), (0, 2), (0, 0)])
        model.add_lwpolyline([(9, 0), (12, 0), (12, 2), (9, 2)])

    drawing = read_drawing(make(draw))
    assert [entity.closed for entity in drawing.entities] == [True, False]
    assert areas(drawing) == [pytest.approx(6)]
    assert len(drawing.regions[0].ring) == 4


def test_hatches_give_their_boundaries(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        solid = model.add_hatch()
        solid.paths.add_polyline_path([(0, 0), (6, 0), (6, 5), (0, 5)], flags=1)
        solid.paths.add_polyline_path([(1, 1), (3, 1), (3, 2), (1, 2)], flags=1)  # the flag says outer, wrongly
        solid.paths.add_polyline_path([(4, 3, 1), (5, 3, 1)], flags=1)  # a circle
        brick = model.add_hatch(dxfattribs=DOWN)
        brick.set_pattern_fill("ANSI31")
        edges = brick.paths.add_edge_path()
        edges.add_line((-20, 0), (-24, 0))
        edges.add_arc((-24, 2), 2, 90, 270, ccw=False)  # ezdxf: angles always counter-clockwise
        edges.add_line((-24, 4), (-20, 4))
        edges.add_line((-20, 4), (-20, 0))

    drawing = read_drawing(make(draw))
    found = [(r.pattern, r.hole, round(shapely.Polygon(r.ring).area, 2)) for r in drawing.regions]
    assert all(region.filled for region in drawing.regions)
    assert found[:2] == [("SOLID", False, 30.0), ("SOLID", True, 2.0)]
    assert found[2] == ("SOLID", True, pytest.approx(math.pi / 4, abs=0.01))
    assert found[3][:2] == ("ANSI31", False)
    assert found[3][2] == pytest.approx(16 + math.pi * 2, rel=2e-3)
    assert min(drawing.regions[3].ring[:, 0] + drawing.origin[0]) > 15  # extrusion -Z mirrors x


def test_splines_that_are_arcs_are_arcs(make: Make) -> None:
    from ezdxf.math import BSpline, ConstructionArc

    curve = BSpline.from_arc(ConstructionArc((3, 4), 0.9, 10, 100))

    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_spline().apply_construction_tool(curve)
        model.add_spline([(10, 0), (11, 3), (13, -2), (15, 4)])

    drawing = read_drawing(make(draw))
    assert len(drawing.arcs.shape) == 1
    x, y, radius, start, sweep = drawing.arcs.shape[0]
    assert (x + drawing.origin[0], y + drawing.origin[1], radius) == pytest.approx((3, 4, 0.9), abs=1e-3)
    assert np.degrees([start, sweep]) == pytest.approx([10, 90], abs=0.1)


def test_mlines_show_all_their_lines(make: Make) -> None:
    def draw(document: Any) -> None:
        style = document.mline_styles.new("cavity")
        for offset in (0.5, 0.1, -0.1, -0.5):
            style.elements.append(offset)
        document.modelspace().add_mline([(0, 0), (10, 0)], dxfattribs={"style_name": "cavity", "scale_factor": 1})

    ends = read_drawing(make(draw)).segments.ends
    long = ends[np.abs(ends[:, 2] - ends[:, 0]) > 9]
    assert len(np.unique(np.round(long[:, 1], 6))) == 4


def test_wide_polylines_become_faces_in_metres(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_lwpolyline([(0, 0), (5000, 0), (5000, 4000)], dxfattribs={"const_width": 200})
        model.add_lwpolyline([(0, 9000), (5000, 9000)], dxfattribs={"const_width": 10})
        model.add_lwpolyline([(0, 8000, 300, 0), (400, 8000, 300, 0)])  # an arrow head

    drawing = read_drawing(make(draw))
    assert [(r.pattern, r.filled) for r in drawing.regions] == [("WIDE", True)] * 2
    metres = in_metres(drawing, 0.001)
    faces = metres.segments.ends[metres.segments.entity == 0]
    ys = np.unique(np.round(faces[:, (1, 3)] + metres.origin[1] / 1000, 6))
    assert {-0.1, 0.1} <= set(ys.tolist()) and 0.0 not in ys
    assert len(metres.segments.ends[metres.segments.entity == 1]) == 1


def test_what_is_not_seen_is_left_out_and_counted(make: Make) -> None:
    def draw(document: Any) -> None:
        document.layers.add("cold").freeze()
        document.layers.add("dark").off()
        model = document.modelspace()
        model.add_line((0, 0), (1, 0))
        for layer in ("cold", "dark", "dark"):
            model.add_line((0, 0), (5, 5), dxfattribs={"layer": layer})
        model.add_line((0, 0), (6, 6), dxfattribs={"invisible": 1})
        model.add_point((0, 0))
        block = document.blocks.new("b")
        block.add_line((0, 0), (7, 0))
        block.add_line((0, 0), (8, 0), dxfattribs={"layer": "plain"})
        model.add_blockref("b", (0, 0), dxfattribs={"layer": "dark"})
        model.add_blockref("b", (0, 0), dxfattribs={"layer": "cold"})

    drawing = read_drawing(make(draw))
    # A reference on a layer that is off still shows what stands on other layers; on a frozen one it shows nothing.
    assert sorted(np.abs(drawing.segments.ends[:, 2] - drawing.segments.ends[:, 0])) == [1, 8]
    assert {(item.reason, item.what): item.count for item in drawing.left_out} == {
        ("layer frozen", "cold"): 2,
        ("layer off", "dark"): 3,
        ("invisible", "LINE"): 1,
        ("not drawable", "POINT"): 1,
    }


def test_dimensions_agree_with_ezdxf(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        model.add_linear_dim(base=(0, 5), p1=(0, 0), p2=(4, 3)).render()
        model.add_linear_dim(base=(0, 5), p1=(0, 0), p2=(4, 3), angle=90, text="about <>").render()
        model.add_aligned_dim(p1=(0, 0), p2=(4, 3), distance=1, text="13'-6\"").render()
        model.add_radius_dim(center=(0, 0), radius=2, angle=45).render()

    path = make(draw)
    drawing = read_drawing(path)
    theirs = [d.get_measurement() for d in ezdxf.readfile(path).modelspace().query("DIMENSION")][:3]
    assert theirs == pytest.approx([4, 3, 5])
    assert [d.measured for d in drawing.dimensions] == pytest.approx(theirs)
    assert [d.text for d in drawing.dimensions] == ["", "about <>", "13'-6\""]
    assert drawing.dimensions[2].printed == "13'-6\""
    assert [(item.what, item.count) for item in drawing.left_out] == [("DIMENSION", 1)]


@pytest.mark.parametrize("path", corpus("drawn/*.dxf"), ids=lambda p: p.stem)
def test_corpus_dimensions_agree_with_ezdxf(path: Path) -> None:
    drawing = read_drawing(path)
    mine = {d.handle: d for d in drawing.dimensions if "/" not in d.handle}
    for entity in ezdxf.readfile(path).modelspace().query("DIMENSION"):
        if entity.dxf.handle in mine:
            measured = mine[entity.dxf.handle].measured * mine[entity.dxf.handle].linear_factor
            assert measured == pytest.approx(abs(entity.get_measurement()) * mine[entity.dxf.handle].linear_factor)


@pytest.mark.parametrize(
    ("raw", "value"),
    [
        ("%%uHALL%%u 20%%d %%c90 %%p5", "HALL 20° Ø90 ±5"),
        ("{\\fArial|b1;Living} \\C1;room", "Living room"),
        ("15.00 m\\S2^ ;", "15.00 m2"),
        ("13'-6{\\H0.7x;\\S1/2;}\"", "13'-6 1/2\""),
        ("\\U+5BA2\\U+5385", "客厅"),
        ("\\M+18EB9", bytes.fromhex("8EB9").decode("cp932")),
    ],
)
def test_formatting_codes_are_resolved(make: Make, raw: str, value: str) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1, 1))
        document.modelspace().add_mtext(raw)

    assert [text.value for text in read_drawing(make(draw)).texts] == [value]


PAGES = [("cp932", "厨房 居間"), ("gbk", "客厅 卫生间"), ("cp1251", "Кухня"), ("cp1256", "غرفة")]


@pytest.mark.parametrize(("page", "words"), PAGES)
@pytest.mark.parametrize("binary", [False, True])
def test_code_pages(make: Make, page: str, words: str, binary: bool) -> None:
    def draw(document: Any) -> None:
        document.encoding = page
        document.layers.add(words)
        document.modelspace().add_line((0, 0), (1, 1), dxfattribs={"layer": words})
        document.modelspace().add_text(words)

    drawing = read_drawing(make(draw, "R2000", fmt="bin" if binary else "asc"))
    assert [text.value for text in drawing.texts] == [words]
    assert drawing.layer_of(0) == words


def test_utf8_in_a_file_that_claims_a_code_page(make: Make, tmp_path: Path) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1, 1))
        document.modelspace().add_text("XXYY")
        document.modelspace().add_text("ZZZZ")

    data = make(draw, "R2000").read_bytes()
    data = data.replace(b"XXYY", "Küche".encode()).replace(b"ZZZZ", "Küche".encode("cp1252"))
    (tmp_path / "mixed.dxf").write_bytes(data)
    assert [text.value for text in read_drawing(tmp_path / "mixed.dxf").texts] == ["Küche", "Küche"]


def test_texts_stand_where_they_are_printed(make: Make) -> None:
    from ezdxf.enums import TextEntityAlignment as Align

    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        model.add_text("MID", height=2).set_placement((10, 20), align=Align.MIDDLE_CENTER)
        model.add_text("RIGHT", height=2).set_placement((10, 20), align=Align.BOTTOM_RIGHT)
        model.add_text("FIT", height=2).set_placement((10, 20), (16, 20), align=Align.FIT)
        model.add_text("UP", height=2, rotation=90).set_placement((10, 20), align=Align.MIDDLE_CENTER)
        model.add_mtext("a\\Pb\\Pc", dxfattribs={"insert": (50, 50), "char_height": 3, "attachment_point": 5})

    texts = {text.value: text for text in read_drawing(make(draw)).texts}
    origin = np.array(read_drawing(make(draw)).origin)
    assert texts["MID"].at + origin == pytest.approx([10, 20])
    assert (texts["RIGHT"].at + origin)[0] < 9 and (texts["RIGHT"].at + origin)[1] == pytest.approx(21)
    assert texts["FIT"].at + origin == pytest.approx([13, 21]) and texts["FIT"].width == pytest.approx(6)
    assert texts["UP"].rotation == pytest.approx(math.pi / 2)
    assert texts["b"].at + origin == pytest.approx([50, 50])
    # MTEXT lines stand 5/3 of their height apart (DXF reference, MTEXT group 44).
    assert texts["a"].at[1] - texts["c"].at[1] == pytest.approx(10)
    assert texts["a"].entity == texts["c"].entity


def test_dynamic_blocks_keep_their_name(make: Make) -> None:
    def draw(document: Any) -> None:
        document.appids.add("AcDbBlockRepBTag")
        original = document.blocks.new("Door leaf")
        copy = document.blocks.new("*U7")
        copy.add_line((0, 0), (1, 0))
        copy.block_record.set_xdata("AcDbBlockRepBTag", [(1070, 1), (1005, original.block_record.dxf.handle)])
        document.modelspace().add_blockref("*U7", (3, 3))

    drawing = read_drawing(make(draw))
    assert drawing.symbols[0].name == "Door leaf"
    assert drawing.entities[0].block == "*U7"


def test_tables_show_their_cells(make: Make, tmp_path: Path) -> None:
    """A table is drawn by an anonymous block, placed like a reference (DXF reference, ACAD_TABLE)."""

    def draw(document: Any) -> None:
        cells = document.blocks.new("*T1")
        cells.add_line((0, 0), (8, 0))
        cells.add_mtext("D01", dxfattribs={"insert": (1, -1)})
        document.modelspace().add_line((0, 0), (1, 1))

    data = make(draw).read_bytes()
    table = b"  0\nACAD_TABLE\n  5\nABC\n330\n1F\n100\nAcDbEntity\n  8\n0\n100\nAcDbBlockReference\n  2\n*T1\n"
    table += b" 10\n50.0\n 20\n60.0\n 30\n0.0\n100\nAcDbTable\n"
    at = data.index(b"ENTITIES\n") + len(b"ENTITIES\n")
    (tmp_path / "table.dxf").write_bytes(data[:at] + table + data[at:])
    drawing = read_drawing(tmp_path / "table.dxf")
    assert [text.value for text in drawing.texts] == ["D01"]
    ends = drawing.segments.ends[["/" in drawing.entities[n].handle for n in drawing.segments.entity]]
    assert ends[0] + np.tile(drawing.origin, 2) == pytest.approx([50, 60, 58, 60])


def test_symbols_know_their_place(make: Make) -> None:
    def draw(document: Any) -> None:
        leaf = document.blocks.new("leaf", base_point=(1, 0))
        leaf.add_line((1, 0), (2, 0))
        leaf.add_line((1, 0), (1, 3))
        plan = document.blocks.new("plan")
        plan.add_blockref("leaf", (10, 0), dxfattribs={"rotation": 90})
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        model.add_blockref("plan", (100, 200), dxfattribs={"xscale": -1})

    drawing = read_drawing(make(draw))
    plan, leaf = drawing.symbols
    assert (plan.name, plan.parent, leaf.name, leaf.parent) == ("plan", -1, "leaf", 0)
    assert np.array(leaf.at) + drawing.origin == pytest.approx([90, 200])
    assert leaf.mirrored and plan.mirrored
    assert np.array(leaf.bounds).reshape(2, 2) + drawing.origin == pytest.approx(np.array([[90, 200], [93, 201]]))
    assert plan.bounds == leaf.bounds
    inside = [entity for entity in drawing.entities if entity.symbol >= 0]
    assert {(entity.symbol, entity.inner, entity.block) for entity in inside} == {(0, 1, "leaf")}
    assert all(entity.handle.count("/") == 2 for entity in inside)


@pytest.mark.parametrize("shift", [0.0, 1.7e6, 5e8])
def test_far_coordinates_lose_no_accuracy(make: Make, shift: float) -> None:
    """Areas in millimetres moved by up to 5e8 change by less than 1e-6 m2."""
    rng = np.random.default_rng(5)
    rooms = np.round(rng.uniform(0, 9000, (40, 2)))

    def draw(document: Any) -> None:
        model = document.modelspace()
        block = document.blocks.new("round")
        block.add_circle((0, 0), 400)
        for x, y in rooms + shift:
            model.add_lwpolyline([(x, y), (x + 3137, y, 0, 0, 0.2), (x + 3137, y + 2411), (x, y + 2411)], close=True)
            model.add_blockref("round", (x, y), dxfattribs={"rotation": 33, "xscale": 1.5, "yscale": 1.5})

    drawing = read_drawing(make(draw))
    expected = read_drawing(make(lambda d: _at(draw, d, rooms, shift)))
    assert np.abs(np.array(areas(drawing)) - np.array(areas(expected))).max() * 1e-6 < 1e-6
    assert np.abs(np.array(drawing.origin) - np.array(expected.origin) - shift).max() <= 1
    assert np.abs(drawing.segments.ends).max() < 2e4


def _at(draw: Callable[[Any], None], document: Any, rooms: np.ndarray, shift: float) -> None:
    """Draw the same near the origin."""
    rooms -= shift
    draw(document)
    rooms += shift


def test_the_order_of_entities_does_not_move_the_origin(make: Make) -> None:
    lines = np.random.default_rng(3).uniform(-500, 9000, (31, 4))

    def draw(document: Any, order: np.ndarray) -> None:
        for x0, y0, x1, y1 in lines[order]:
            document.modelspace().add_line((x0, y0), (x1, y1))

    orders = [np.arange(31), np.arange(31)[::-1], np.random.default_rng(4).permutation(31)]
    origins = {read_drawing(make(lambda d, o=order: draw(d, o))).origin for order in orders}
    assert len(origins) == 1
    assert all(float(value).is_integer() for value in origins.pop())


@pytest.mark.parametrize("path", corpus("drawn/*.dxf") + corpus("bim/*.dxf"), ids=lambda p: p.stem)
def test_corpus_is_read_whole_and_without_queries(path: Path) -> None:
    drawing = read_drawing(path)
    assert drawing.queries == ()
    assert np.isfinite(drawing.segments.ends).all()
    assert (drawing.segments.entity < len(drawing.entities)).all()
    for text in drawing.texts:
        text.value.encode("utf-8")
    header = ezdxf.readfile(path).header
    low, high = (np.array(header.get(key, (1e20, 1e20))[:2]) for key in ("$EXTMIN", "$EXTMAX"))
    if (np.abs([low, high]) < 1e9).all() and not drawing.left_out:
        points = drawing.segments.ends.reshape(-1, 2) + drawing.origin
        slack = 0.02 * (high - low).max()  # the header counts dimension lines and texts too
        assert (points.min(axis=0) > low - slack).all() and (points.max(axis=0) < high + slack).all()


def test_same_file_same_drawing(make: Make) -> None:
    path = make(some_of_each)
    first, second = read_drawing(path), read_drawing(path)
    assert first.entities == second.entities and first.texts == second.texts and first.symbols == second.symbols
    assert first.segments.ends.tobytes() == second.segments.ends.tobytes()
