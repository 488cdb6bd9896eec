"""Block references against ezdxf's own, independent explosion (`Insert.virtual_entities`)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from tests.drawing.conftest import corpus


def exploded(entities: Any) -> Iterator[Any]:
    """Every entity below `entities` in world coordinates, by ezdxf."""
    for entity in entities:
        if entity.dxftype() == "INSERT":
            for copy in entity.multi_insert() if entity.mcount > 1 else [entity]:
                yield from exploded(copy.virtual_entities())
        else:
            yield entity


def ezdxf_points(entities: Any) -> np.ndarray:
    """Ends of lines and vertices of polylines, seen from above."""
    points = []
    for entity in exploded(entities):
        if entity.dxftype() == "LINE" and entity.dxf.start != entity.dxf.end:
            points += [entity.dxf.start, entity.dxf.end]
        elif entity.dxftype() == "LWPOLYLINE":
            points += list(entity.vertices_in_wcs())
    return np.array([(p.x, p.y) for p in points]).reshape(-1, 2)


def own_points(drawing: Drawing) -> np.ndarray:
    """The same of what was read; chords have points that ezdxf does not list."""
    return drawing.segments.ends.reshape(-1, 2) + drawing.origin


def missing(wanted: np.ndarray, have: np.ndarray, within: float) -> int:
    """How many of `wanted` have nothing of `have` nearer than `within`."""
    from shapely import STRtree, points

    if not len(wanted):
        return 0
    _, distance = STRtree(points(have)).query_nearest(
        points(wanted), return_distance=True, all_matches=False
    )
    return int((distance > within).sum())


def nested(document: Any) -> None:
    """Blocks in blocks, with base points, mirrored, unequally scaled, turned, and with extrusion -Z."""
    leaf = document.blocks.new("leaf", base_point=(2, 1))
    leaf.add_line((0, 0), (3, 1))
    leaf.add_lwpolyline([(0, 0), (4, 0, 0, 0, 0.4), (4, 2)], close=True)
    leaf.add_line((1, 1), (2, 5), dxfattribs={"layer": "own"})
    branch = document.blocks.new("branch", base_point=(-1, 4))
    branch.add_blockref("leaf", (5, 5), dxfattribs={"rotation": 30, "xscale": -2, "yscale": 2, "layer": "mid"})
    branch.add_blockref("leaf", (9, 5), dxfattribs={"rotation": 75, "extrusion": (0, 0, -1)})
    model = document.modelspace()
    model.add_blockref("branch", (100, 50), dxfattribs={"rotation": 200, "xscale": 3, "yscale": 3})
    model.add_blockref("branch", (-70, 20), dxfattribs={"xscale": -1, "extrusion": (0, 0, -1), "layer": "top"})
    model.add_blockref(
        "leaf", (10, 10),
        dxfattribs={"rotation": 40, "xscale": -1, "row_count": 3, "column_count": 2, "row_spacing": 7}
        | {"column_spacing": 11},
    )  # fmt: skip
    model.add_line((0, 0), (1, 1))


def test_nested_blocks_land_where_ezdxf_explodes_them(make: Callable[..., Path]) -> None:
    path = make(nested)
    drawing = read_drawing(path)
    wanted = ezdxf_points(ezdxf.readfile(path).modelspace())
    assert len(wanted) == 2 + (2 + 3 + 2) * (2 + 2 + 6)
    assert missing(wanted, own_points(drawing), 1e-9) == 0
    # And nothing but chords of the bulge lies elsewhere.
    straight = drawing.segments.ends[drawing.segments.arc < 0].reshape(-1, 2) + drawing.origin
    assert missing(straight, wanted, 1e-9) == 0


def test_unequally_scaled_arcs_become_chords_on_the_true_ellipse(make: Callable[..., Path]) -> None:
    def draw(document: Any) -> None:
        document.blocks.new("round").add_circle((0, 0), 1)
        document.modelspace().add_blockref("round", (5, 5), dxfattribs={"xscale": 4, "yscale": 1})

    drawing = read_drawing(make(draw))
    x, y = (drawing.segments.ends[:, :2] + drawing.origin - (5, 5)).T
    assert np.allclose((x / 4) ** 2 + y**2, 1.0)
    assert len(drawing.arcs.shape) == 0
    assert drawing.regions[0].ring.shape[1] == 2


def test_layer_nought_line_types_and_colours_come_down_from_the_reference(make: Callable[..., Path]) -> None:
    def draw(document: Any) -> None:
        document.layers.add("walls", color=3, linetype="DASHED")
        block = document.blocks.new("b")
        block.add_line((0, 0), (1, 0))
        block.add_line((0, 0), (2, 0), dxfattribs={"linetype": "ByBlock", "color": 0})
        block.add_line((0, 0), (3, 0), dxfattribs={"layer": "fixed", "linetype": "CONTINUOUS"})
        outer = document.blocks.new("outer")
        outer.add_blockref("b", (0, 0))
        attribs = {"layer": "walls", "linetype": "DOT", "color": 5}
        document.modelspace().add_blockref("outer", (0, 0), dxfattribs=attribs)
        document.modelspace().add_blockref("b", (9, 9), dxfattribs=attribs)

    drawing = read_drawing(make(draw))
    seen = [(drawing.layer_of(n), e.dashed, e.colour) for n, e in enumerate(drawing.entities)]
    # DXF reference: by layer is the entity's layer, which is the reference's for layer 0; by block is the reference's.
    through_two = [("walls", True, 3), ("walls", True, 3), ("fixed", False, 7)]
    through_one = [("walls", True, 3), ("walls", True, 5), ("fixed", False, 7)]
    assert sorted(seen) == sorted(through_two + through_one)


@pytest.mark.parametrize("path", corpus("bim/*.dxf") + corpus("drawn/*.dxf"), ids=lambda p: p.stem)
def test_corpus_points_land_where_ezdxf_explodes_them(path: Path) -> None:
    drawing = read_drawing(path)
    document = ezdxf.readfile(path)
    off = {layer.dxf.name for layer in document.layers if layer.is_off() or layer.is_frozen()}
    model = [e for e in document.modelspace() if e.dxf.layer not in off and not e.dxf.get("invisible")]
    wanted = ezdxf_points(model)
    assert len(wanted) > 0
    # Lines of blocks may stand on layers that are off.
    allowed = 0 if not off else len(wanted) // 50
    assert missing(wanted, own_points(drawing), 1e-6) <= allowed


@settings(max_examples=60, deadline=None)
@given(
    at=st.tuples(st.floats(-1e4, 1e4), st.floats(-1e4, 1e4)),
    scale=st.tuples(*[st.floats(0.1, 20) | st.floats(-20, -0.1)] * 2),
    turn=st.floats(0, 360),
    down=st.booleans(),
)
def test_any_reference_agrees_with_ezdxf(
    tmp_path_factory: pytest.TempPathFactory,
    at: tuple[float, float],
    scale: tuple[float, float],
    turn: float,
    down: bool,
) -> None:
    document = ezdxf.new()
    block = document.blocks.new("b", base_point=(1.5, -2))
    block.add_line((0, 0), (3, 1))
    block.add_arc((1, 1), 2, 10, 100)
    attribs = {"rotation": turn, "xscale": scale[0], "yscale": scale[1], "extrusion": (0, 0, -1 if down else 1)}
    document.modelspace().add_blockref("b", at, dxfattribs=attribs)
    path = tmp_path_factory.mktemp("any") / "any.dxf"
    document.saveas(path)
    drawing = read_drawing(path)
    have = own_points(drawing)
    size = 1e-9 * max(abs(v) for v in (*at, 100))
    assert missing(ezdxf_points(document.modelspace()), have, size) == 0
    # Every chord end of the arc lies on the curve that ezdxf makes of it.
    curve = next(e for e in exploded(document.modelspace()) if e.dxftype() in ("ARC", "ELLIPSE"))
    on = np.array([(p.x, p.y) for p in curve.flattening(1e-4)])
    chords = drawing.segments.ends[[drawing.entities[n].kind == "ARC" for n in drawing.segments.entity]]
    from shapely import LineString, distance, points

    assert distance(LineString(on), points(chords.reshape(-1, 2) + drawing.origin)).max() < 2e-3
    if np.isclose(abs(scale[0]), abs(scale[1]), rtol=1e-9):
        assert len(drawing.arcs.shape) == 1
