"""Drawings made on the spot for the tests of reading a plan: all invented, in metres unless told otherwise."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import ezdxf
import pytest
from ezdxf.enums import TextEntityAlignment
from shapely import STRtree
from shapely.geometry import Point, Polygon

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.read import read_drawing
from takeoff.plan.model import Room

CORPUS = Path(__file__).resolve().parents[3] / "shared" / "corpus"

Draw = Callable[[Any], None]


def sheet(draw: Draw, metres_per_unit: float = 1.0) -> Drawing:
    """The drawing that `draw` makes in an empty model space, read back through a real file, in metres.

    A sheet of nothing but texts gets one line: no drawing is without.
    """
    document = ezdxf.new("R2010", setup=True)
    space = document.modelspace()
    draw(space)
    if not space.query("LINE HATCH"):
        space.add_line((0, 0), (1, 0))
    with TemporaryDirectory() as folder:
        path = Path(folder) / "made.dxf"
        document.saveas(path)
        return in_metres(read_drawing(path), metres_per_unit)


def write(
    space: Any, text: str, x: float, y: float, height: float = 0.2, layer: str = "A-ANNO", turn: float = 0.0
) -> None:
    """A text whose middle is at x, y."""
    entity = space.add_text(text, height=height, rotation=turn, dxfattribs={"layer": layer})
    entity.set_placement((x, y), align=TextEntityAlignment.MIDDLE_CENTER)


def stack(space: Any, lines: list[str], x: float, y: float, height: float = 0.2, layer: str = "A-ANNO") -> None:
    """Texts one below the other, as in a room's label."""
    for n, text in enumerate(lines):
        write(space, text, x, y - 1.6 * height * n, height if n == 0 else 0.8 * height, layer)


def box(space: Any, x: float, y: float, width: float, depth: float, layer: str = "A-WALL") -> None:
    """A rectangle of four lines."""
    corners = [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        space.add_line(a, b, dxfattribs={"layer": layer})


def house(space: Any, x: float = 0.0, y: float = 0.0, width: float = 9.0, depth: float = 7.0) -> None:
    """A small house: two-faced walls, a partition, two door swings."""
    box(space, x, y, width, depth)
    box(space, x + 0.3, y + 0.3, width - 0.6, depth - 0.6)
    for dx in (0.0, 0.1):
        space.add_line((x + 4 + dx, y + 0.3), (x + 4 + dx, y + depth - 0.3), dxfattribs={"layer": "A-WALL"})
    for dy in (1.5, 4.0):
        space.add_arc((x + 4, y + dy), 0.8, 90, 180, dxfattribs={"layer": "A-DOOR"})


def room(ref: str, outline: list[tuple[float, float]], **more: Any) -> Room:
    """A room as the plan would hold it, without sides."""
    shape = Polygon(outline)
    facts: dict[str, Any] = {
        "ref": ref,
        "name": "",
        "plan": "P1",
        "outline": tuple(outline),
        "holes": (),
        "sides": (),
        "floor_area_m2": shape.area,
        "perimeter_m": shape.length,
        "height_m": None,
        "height_from": "default",
        "confidence": 0.9,
        "label_at": (0.0, 0.0),
    }
    return Room(**{**facts, **more})


@dataclass(frozen=True)
class Truth:
    """One drawing of the shared corpus with what is true of it; coordinates in the drawing's local metres."""

    name: str
    drawing: Drawing
    rooms: tuple[dict[str, Any], ...]
    polygons: tuple[Polygon, ...]


def corpus(pattern: str) -> Iterator[Truth]:
    """The drawings with a known unit; skips the test where the corpus is absent."""
    paths = [p for p in sorted(CORPUS.glob(pattern)) if p.with_suffix(".truth.json").exists()]
    if not paths:
        pytest.skip("the shared corpus is not beside the project")
    for path in paths:
        truth = json.loads(path.with_suffix(".truth.json").read_text(encoding="utf-8"))
        if truth["metres_per_unit"]:
            yield _truth(path, truth)


def _truth(path: Path, truth: dict[str, Any]) -> Truth:
    k = truth["metres_per_unit"]
    drawing = in_metres(read_drawing(path), k)
    east, north = drawing.origin[0] * k, drawing.origin[1] * k
    polygons = []
    for entry in truth["rooms"]:
        if "polygons" in entry:
            ring = entry["polygons"][0]
            ring = ring if not isinstance(ring[0][0], list) else ring[0]
            polygons.append(Polygon([(x - east, y - north) for x, y in ring]).buffer(0))
        else:
            x, y = entry["label_xy"]
            polygons.append(Point(x * k - east, y * k - north).buffer(1.2))
    return Truth(path.stem, drawing, tuple(truth["rooms"]), tuple(polygons))


def brute_components(shapes: list[Any], gap: float) -> list[set[int]]:
    """Groups of shapes closer than `gap`, by exact distances (shapely), for holding the grid against."""
    tree = STRtree(shapes)
    left, groups = set(range(len(shapes))), []
    while left:
        group, fresh = set(), {left.pop()}
        while fresh:
            group |= fresh
            near = {int(j) for i in fresh for j in tree.query(shapes[i], predicate="dwithin", distance=gap)}
            fresh = near - group
        groups.append(group)
        left -= group
    return groups
