"""What is not drawn flat or not as lines: faces, meshes, leaders, tables, bodies and pictures.

Edges against ezdxf's own mesh builder (`ezdxf.render.MeshBuilder`), flags against the DXF reference (2018).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.math import Vec2
from ezdxf.render import MeshBuilder, forms, mleader

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.read import read_drawing
from takeoff.errors import DrawingError
from takeoff.plan.schedules import read_schedules

Make = Callable[..., Path]
Edges = set[tuple[tuple[float, float], ...]]


def edges_of(drawing: Drawing, kind: str) -> Edges:
    """Distinct edges of entities of `kind`, seen from above."""
    mine = [drawing.entities[n].kind == kind for n in drawing.segments.entity]
    ends = drawing.segments.ends[mine].reshape(-1, 2, 2) + drawing.origin
    return {seen(*edge) for edge in ends.tolist()}


def seen(*points: Any) -> tuple[tuple[float, float], ...]:
    return tuple(sorted((round(float(p[0]), 6), round(float(p[1]), 6)) for p in points))


def theirs(entity: Any) -> Edges:
    """The same by ezdxf; an edge seen from above as a point is none."""
    mesh = MeshBuilder.from_polyface(entity) if entity.dxftype() == "POLYLINE" else MeshBuilder()
    if entity.dxftype() == "MESH":
        mesh.vertices, mesh.faces = list(map(ezdxf.math.Vec3, entity.vertices)), [list(f) for f in entity.faces]
    edges = set()
    for face in mesh.faces_as_vertices():
        corners = list(face)
        edges |= {seen(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)}
    return {edge for edge in edges if edge[0] != edge[1]}


@pytest.mark.parametrize("kind", ["mesh", "polyface", "grid"])
def test_edges_of_meshes_are_line_work(make: Make, kind: str) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        cone = forms.cone(7, radius=3, apex=(0.5, 0.25, 4))
        if kind == "mesh":
            cone.render_mesh(model)
        elif kind == "polyface":
            cone.render_polyface(model)
        else:
            grid = model.add_polymesh((4, 3))
            for m in range(4):
                for n in range(3):
                    grid.set_mesh_vertex((m, n), (10 * m + n * n, 7 * n, m + n))

    path = make(draw)
    (entity,) = ezdxf.readfile(path).modelspace()
    wanted = theirs(entity)
    assert len(wanted) > 10
    assert edges_of(read_drawing(path), entity.dxftype()) == wanted


def test_a_grid_closes_where_its_flags_say(make: Make) -> None:
    """Flag 1 closes it in M, 32 in N: the last row to the first, the last column to the first."""

    def draw(document: Any) -> None:
        grid = document.modelspace().add_polymesh((3, 3))
        for m in range(3):
            for n in range(3):
                grid.set_mesh_vertex((m, n), (10 * m + n * n, 7 * n + m * m, 0))
        grid.close(m_close=True, n_close=True)

    edges = edges_of(read_drawing(make(draw)), "POLYLINE")
    assert len(edges) == 18
    assert {seen((0, 0), (20, 4)), seen((0, 0), (4, 14))} <= edges


def test_faces_show_their_visible_edges(make: Make) -> None:
    """Bits 1, 2, 4, 8 hide the first to the fourth edge; of a triangle the third is of no length."""

    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_3dface([(0, 0, 0), (4, 0, 1), (4, 3, 2), (0, 3, 0)], dxfattribs={"invisible_edges": 2 | 8})
        model.add_3dface([(10, 0), (14, 0), (12, 3)], dxfattribs={"invisible_edges": 1})
        model.add_3dface([(20, 0, 0), (25, 0, 0), (25, 0, 3), (20, 0, 3)])  # a wall's face, seen as one line
        model.add_3dface([(30, 0), (31, 0), (31, 1), (30, 1)], dxfattribs={"invisible_edges": 15})

    drawing = read_drawing(make(draw))
    assert edges_of(drawing, "3DFACE") == {
        seen((0, 0), (4, 0)), seen((0, 3), (4, 3)), seen((14, 0), (12, 3)), seen((12, 3), (10, 0)),
        seen((20, 0), (25, 0)),
    }  # fmt: skip
    assert {(item.what, item.count) for item in drawing.left_out} == {("3DFACE without visible edges", 1)}


def test_faces_in_a_block_are_placed_with_it(make: Make) -> None:
    def draw(document: Any) -> None:
        document.blocks.new("wall").add_3dface([(0, 0), (2, 0), (2, 1), (0, 1)])
        document.modelspace().add_blockref("wall", (10, 0), dxfattribs={"xscale": 3, "rotation": 90})

    assert seen((10, 0), (10, 6)) in edges_of(read_drawing(make(draw)), "3DFACE")


def test_texts_of_leaders_are_read(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (100, 0))
        leader = model.add_multileader_mtext("Standard")
        leader.set_content("Ceiling 2.70 m\\Punder beam", char_height=3, style="OpenSans")
        leader.add_leader_line(mleader.ConnectionSide.left, [Vec2(0, 0)])
        leader.build(insert=Vec2(40, 20))
        tag = document.blocks.new("door tag")
        tag.add_circle((0, 0), 4)
        tag.add_attdef("MARK", (0, 0), "")
        symbol = model.add_multileader_block("Standard")
        symbol.set_content(name="door tag")
        symbol.set_attribute("MARK", "D07")
        symbol.add_leader_line(mleader.ConnectionSide.left, [Vec2(50, 50)])
        symbol.build(insert=Vec2(80, 60))

    path = make(draw)
    drawing = read_drawing(path)
    texts = {text.value: text for text in drawing.texts}
    assert set(texts) == {"Ceiling 2.70 m", "under beam", "D07"}
    assert texts["Ceiling 2.70 m"].height == pytest.approx(3)
    # Where ezdxf itself would print it: the top left corner of its MTEXT.
    leaders = ezdxf.readfile(path).modelspace().query("MULTILEADER")
    (mtext,) = [part for part in leaders[0].virtual_entities() if part.dxftype() == "MTEXT"]
    at, text = np.array(texts["Ceiling 2.70 m"].at) + drawing.origin, texts["Ceiling 2.70 m"]
    assert at - (text.width / 2, -1.5) == pytest.approx(np.array(mtext.dxf.insert)[:2])
    (found,) = drawing.symbols
    assert (found.name, found.attributes) == ("door tag", (("MARK", "D07"),))


SCHEDULE = [["Mark", "Width", "Height"], ["D1", "926", "2040"], ["D2", "1226", "2040"], ["W1", "1810", "1210"]]
SIZES = {"D1": (0.926, 2.04), "D2": (1.226, 2.04), "W1": (1.81, 1.21)}


def cells_in(block: Any) -> None:
    """The schedule with its ruling lines, as a table's picture has it."""
    for n, row in enumerate(SCHEDULE):
        block.add_line((0, -500 * n), (6000, -500 * n))
        for m, value in enumerate(row):
            block.add_mtext(value, dxfattribs={
                "insert": (2000 * m + 1000, -500 * n - 250), "char_height": 180, "attachment_point": 5, "width": 1900})


def scheduled(path: Path) -> dict[str, tuple[float | None, float | None]]:
    found = read_schedules(in_metres(read_drawing(path), 0.001)).sizes
    return {mark: (size.width_m, size.height_m) for mark, size in found.items()}


def test_a_schedule_in_a_block_with_lines(make: Make) -> None:
    def draw(document: Any) -> None:
        cells_in(document.blocks.new("door schedule"))
        document.modelspace().add_blockref("door schedule", (9000, 0), dxfattribs={"xscale": 2, "yscale": 2})

    assert scheduled(make(draw)) == SIZES


@pytest.mark.parametrize("picture", [True, False], ids=["with picture", "cells alone"])
def test_a_schedule_in_a_table(make: Make, tmp_path: Path, picture: bool) -> None:
    """ACAD_TABLE: its picture is an anonymous block; else the cells stand in the entity (groups 141, 142, 302)."""

    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1000, 1000))
        if picture:
            cells_in(document.blocks.new("*T1"))

    tags = ["0", "ACAD_TABLE", "5", "ABC", "330", "1F", "100", "AcDbEntity", "8", "0", "100", "AcDbBlockReference"]
    tags += ["2", "*T1", "10", "20000.0", "20", "9000.0", "30", "0.0", "100", "AcDbTable", "11", "1.0", "21", "0.0"]
    tags += ["31", "0.0", "91", "4", "92", "3", *["141", "500.0"] * 4, *["142", "2000.0"] * 3, "140", "180.0"]
    for value in (value for row in SCHEDULE for value in row):
        tags += ["171", "1", "301", "CELL_VALUE", "90", "4", "302", value, "304", "ACVALUE_END"]
    data = make(draw).read_bytes()
    at = data.index(b"ENTITIES\n") + len(b"ENTITIES\n")
    path = tmp_path / "table.dxf"
    path.write_bytes(data[:at] + "".join(f"{tag}\n" for tag in tags).encode() + data[at:])
    assert scheduled(path) == SIZES
    drawing = read_drawing(path)
    mark = next(text for text in drawing.texts if text.value == "D2")
    assert np.array(mark.at) + drawing.origin == pytest.approx([21000, 9000 - 1250])


def with_bodies(path: Path, *kinds: str) -> Path:
    """The drawing at `path` with bodies added, which ezdxf does not write without their form."""
    data = path.read_bytes()
    at = data.index(b"ENTITIES\n") + len(b"ENTITIES\n")
    bodies = "".join(
        f"  0\n{kind}\n  5\nAB{n}\n330\n1F\n100\nAcDbEntity\n  8\n0\n100\nAcDbModelerGeometry\n 70\n1\n1\nmnn\n"
        for n, kind in enumerate(kinds)
    )
    path.write_bytes(data[:at] + bodies.encode() + data[at:])
    return path


def test_bodies_are_asked_about_and_pictures_counted(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        image = document.add_image_def("logo.png", (10, 10))
        model.add_image(image, (0, 0), (5, 5))
        model.add_wipeout([(0, 0), (4, 0), (4, 4)])

    drawing = read_drawing(with_bodies(make(draw), "REGION", "BODY", "3DSOLID", "REGION"))
    (query,) = drawing.queries
    assert query.kind == "solid-bodies" and query.says.startswith("4 solid bodies could not be read (3DSOLID, BODY")
    counted = {(item.reason, item.what): item.count for item in drawing.left_out}
    assert counted["picture", "IMAGE"] == 1
    assert counted["mask, what it hides is read", "WIPEOUT"] == 1


def test_a_drawing_of_nothing_but_bodies_or_pictures(make: Make) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_image(document.add_image_def("plan.png", (10, 10)), (0, 0), (5, 5))

    with pytest.raises(DrawingError, match=r"only things that cannot be measured \(3DSOLID, IMAGE\)"):
        read_drawing(with_bodies(make(draw), "3DSOLID"))


def test_an_underlay_is_a_reference_that_the_file_does_not_hold(make: Make) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1, 1))
        plan = document.add_underlay_def("plan.pdf", fmt="pdf", name="1")
        document.modelspace().add_underlay(plan)

    (query,) = read_drawing(make(draw)).queries
    assert query.kind == "outside-reference" and "PDFUNDERLAY" in query.says


def test_a_body_that_stops_the_reader_is_left_out_and_told(make: Make) -> None:
    """A surface without the part of its kind: neither the reader nor recovery can place the fault."""
    path = with_bodies(make(lambda d: d.modelspace().add_line((0, 0), (1, 1))), "EXTRUDEDSURFACE")
    drawing = read_drawing(path)
    assert len(drawing.segments.ends) == 1
    assert any("1 EXTRUDEDSURFACE" in query.says for query in drawing.queries if query.kind == "file-damaged")
