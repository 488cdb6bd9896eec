"""Plain entities read without ezdxf, against those that ezdxf makes of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import ezdxf
import numpy as np
import pytest
from ezdxf.enums import TextEntityAlignment
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from takeoff.drawing.plain import FORMS, together
from takeoff.drawing.read import read_drawing
from takeoff.drawing.tags import text_document
from tests.draughtsman.buildings import KINDS
from tests.draughtsman.cases import make as make_case
from tests.draughtsman.run import kinds_of
from tests.draughtsman.vices import VICES
from tests.draughtsman.write import document_of
from tests.drawing.conftest import corpus

Make = Callable[..., Path]
FILES = corpus("drawn/*.dxf") + corpus("bim/*.dxf")
SAMPLES = sorted((Path(__file__).resolve().parents[2] / "samples").glob("*.dxf"))
EVERY = (*KINDS, "three storeys")
READ = (
    "handle", "layer", "linetype", "color", "invisible", "start", "end", "location", "center", "radius", "start_angle",
    "end_angle", "vtx0", "vtx1", "vtx2", "vtx3", "insert", "align_point", "text", "height", "rotation", "width",
    "style", "halign", "valign", "flags", "const_width", "elevation",
)  # fmt: skip
"""Attributes that are read of plain entities, and of what might be one but is not; `extrusion` is of the latter."""

LOOKS: list[dict[str, Any]] = [
    {}, {}, {}, {"color": 3}, {"color": 0}, {"linetype": "DASHED"}, {"lineweight": 25, "ltscale": 0.5},
    {"invisible": 1}, {"thickness": 2.0}, {"extrusion": (0, 0, -1)}, {"true_color": 255}, {"layer": "Wände §"},
    {"layer": "Off"},
]  # fmt: skip
SPACES = st.sampled_from(["model", "model", "paper", "block"])
THINGS = st.sampled_from([
    "line", "line", "line", "xdata", "reactors", "circle", "arc", "point", "solid", "text", "text at", "polyline",
    "wide polyline", "curved polyline", "polyline of no points", "ellipse", "symbol", "row of symbols", "tagged symbol",
])  # fmt: skip
DRAWN = st.lists(st.tuples(SPACES, THINGS, st.sampled_from(LOOKS), st.floats(-1e6, 1e6)), max_size=25)


def held(document: Any, data: bytes) -> dict[str, list[Any]]:
    """What the model space and each block of `document`, read from `data`, hold, in order: type, and of the kinds that
    may be plain all that is read; handles only that the file holds, as ezdxf counts on for what has none. Paper layouts
    are passed over, see `test_paper.py`.
    """
    handles = {match.decode() for match in re.findall(rb"\n *5\r?\n *([0-9A-Fa-f]+)", data)}
    return {
        block.name: [
            (entity.dxftype(), read_of(entity, handles) if entity.DXFTYPE in FORMS else None)
            for entity in together(document, block)
        ]
        for block in document.blocks
        if not block.name.casefold().startswith("*paper_space")
    }


def _line(space: Any, x: float, looks: dict[str, Any]) -> Any:
    return space.add_line((x, 0, 1), (0, x), dxfattribs=looks)


def _polyline(
    space: Any, x: float, looks: dict[str, Any], form: str = "xy", points: Any = ((0, 0), (1, 0), (1, 2))
) -> Any:
    return space.add_lwpolyline([(x, *point) for point in points], format=form, dxfattribs=looks)


def _text_at(space: Any, x: float, looks: dict[str, Any]) -> Any:
    text = space.add_text("50 %%d §", height=3, rotation=x % 360, dxfattribs={"width": 0.8, **looks})
    return text.set_placement((x, 1), (x + 4, 1), align=TextEntityAlignment.FIT)


def _tagged(symbol: Any) -> Any:
    symbol.add_attrib("NO", "D1", (0, 0))
    return symbol


ADD: dict[str, Callable[[Any, float, dict[str, Any]], Any]] = {
    "line": _line,
    "xdata": _line,
    "reactors": _line,
    "circle": lambda space, x, looks: space.add_circle((x, 0, 2), abs(x) + 1, dxfattribs=looks),
    "arc": lambda space, x, looks: space.add_arc((x, 0), 2, x, 90, dxfattribs=looks),
    "point": lambda space, x, looks: space.add_point((x, 0), dxfattribs=looks),
    "solid": lambda space, x, looks: space.add_solid([(x, 0), (1, 0), (0, 1), (1, 1)], dxfattribs=looks),
    "text": lambda space, x, looks: space.add_text("LINE", dxfattribs=looks),
    "text at": _text_at,
    "polyline": lambda space, x, looks: _polyline(space, x, {"flags": 1, "elevation": x, **looks}, "xyb"),
    "wide polyline": lambda space, x, looks: _polyline(
        space, x, looks, "xyse", ((0, 0.1, 0.1), (1, 0, 0), (2, 0.1, 0.3))
    ),
    "curved polyline": lambda space, x, looks: _polyline(
        space, x, {"const_width": 2, **looks}, "xyb", ((0, 0.5), (1, 0), (2, -1))
    ),
    "symbol": lambda space, x, looks: space.add_blockref("S", (x, 1, 2), dxfattribs={"xscale": -1, **looks}),
    "row of symbols": lambda space, x, looks: space.add_blockref(
        "S", (x, 1), dxfattribs={"row_count": 3, "row_spacing": x, "rotation": 30, **looks}
    ),
    "tagged symbol": lambda space, x, looks: _tagged(space.add_blockref("S", (x, 1), dxfattribs=looks)),
    "polyline of no points": lambda space, x, looks: _polyline(space, x, looks, points=()),
    "ellipse": lambda space, x, looks: space.add_ellipse((x, 0), (2, 0), dxfattribs={"color": looks.get("color", 1)}),
}


MODERN = ("polyline", "wide polyline", "curved polyline", "polyline of no points", "ellipse")
"""Not in R12."""


def read_of(entity: Any, handles: set[str]) -> list[Any]:
    have = {key: value for key, value in vars(entity.dxf).items() if key != "handle" or value in handles}
    attributes = [attrib.dxf.text for attrib in getattr(entity, "attribs", ())]
    vertices = plain(getattr(getattr(entity, "lwpoints", None), "values", None))
    return [*(have.get(key) for key in READ), attributes, getattr(entity, "has_extension_dict", False), vertices]


def drawn(things: list[tuple[str, str, dict[str, Any], float]]) -> Callable[[Any], None]:
    def draw(document: Any) -> None:
        document.appids.add("OURS")
        document.layers.add("Off").off()
        document.blocks.new("S").add_circle((0, 0), 1)
        spaces = {"model": document.modelspace(), "paper": document.paperspace(), "block": document.blocks.new("B")}
        for where, what, looks, x in things:
            old = document.dxfversion == "AC1009" and what in MODERN
            if "symbol" in what:
                looks = {key: value for key, value in looks.items() if key != "thickness"}  # symbols have none
            entity = ADD["line" if old else what](spaces[where], x, looks)
            if what == "xdata" or looks.get("color") == 3:
                entity.set_xdata("OURS", [(1000, "EOF"), (1010, (1, 2, 3)), (1070, 4)])
            if what == "reactors":
                entity.append_reactor_handle("0")

    return draw


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(things=DRAWN)
def test_as_ezdxf_has_them(make: Make, version: str, things: list[Any]) -> None:
    path = make(drawn(things), version)
    data = path.read_bytes()
    assert held(text_document(data), data) == held(ezdxf.readfile(path), data)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_real_drawings(path: Path) -> None:
    data = path.read_bytes()
    assert held(text_document(data), data) == held(ezdxf.readfile(path), data)


if not FILES:

    @pytest.mark.skip(reason="the shared corpus is not beside the project")
    def test_real_drawings_missing() -> None: ...


def plain(value: Any) -> Any:
    """`value` in lists and dictionaries, to be compared to the last bit."""
    if isinstance(value, np.ndarray):
        return str(value.dtype), value.tolist()
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [plain(part) for part in value]
    return value


def as_ezdxf_reads(path: Path) -> Any:
    """The drawing at `path` when nothing is read beside ezdxf."""
    with patch("takeoff.drawing.tags.text_document", side_effect=ValueError) as ours:
        drawing = read_drawing(path)
    assert ours.call_count == 1
    return plain(drawing)


@pytest.mark.parametrize("path", [*SAMPLES, *FILES], ids=lambda p: p.stem)
def test_both_ways_give_the_same_drawing(path: Path) -> None:
    text_document(path.read_bytes())  # it is our way that is compared
    assert repr(plain(read_drawing(path))) == repr(as_ezdxf_reads(path))


@pytest.mark.parametrize("vice", [None, *VICES])
def test_both_ways_give_the_same_generated_drawing(vice: str | None, tmp_path: Path) -> None:
    """A plan of every kind of building as it should be drawn, and one with each bad habit."""
    for kind in kinds_of(VICES[vice], EVERY)[:1] if vice else EVERY:
        case = make_case(kind, 3, ((VICES[vice], VICES[vice].strengths[-1]),) if vice else ())
        path = tmp_path / f"{kind}.dxf"
        document_of(case.strokes, case.page).saveas(path)
        assert repr(plain(read_drawing(path))) == repr(as_ezdxf_reads(path))


@pytest.mark.parametrize("name", ["version", "followers"])
def test_whatever_is_not_expected_of_ezdxf(make: Make, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another release, or lines that are not found again behind their leader: ezdxf reads the file by itself."""
    path = make(row_of_lines)
    wanted = as_ezdxf_reads(path)
    if name == "version":
        monkeypatch.setattr("takeoff.drawing.tags.version", (1, 5, 0))
        with pytest.raises(ValueError, match="release"):
            text_document(path.read_bytes())
    else:
        monkeypatch.setattr("takeoff.drawing.count.together", lambda _, entities: entities)
    with patch("ezdxf.filemanagement.readfile", side_effect=ezdxf.readfile) as theirs:
        assert plain(read_drawing(path)) == wanted
    assert theirs.call_count == 1


def row_of_lines(document: Any) -> None:
    for x in range(10):
        document.modelspace().add_line((x, 0), (x, 5))


def test_most_lines_of_a_run_are_kept_apart(make: Make) -> None:
    """One goes to ezdxf, nine do not: else nothing would be gained."""
    document = text_document(make(row_of_lines).read_bytes())
    assert len(document.modelspace()) == 1
    assert [len(run) for run in document.followers.values()] == [9]
    assert len(read_drawing(make(row_of_lines)).segments.ends) == 10


@pytest.mark.parametrize(("old", "new"), [("\n 11\n3.0\n", "\n 11\nthree\n"), ("\n 62\n5\n", "\n 62\nred\n")])
def test_what_is_no_number_is_left_to_ezdxf(make: Make, old: str, new: str) -> None:
    def draw(document: Any) -> None:
        row_of_lines(document)
        document.modelspace().add_line((0, 0), (1, 1), dxfattribs={"color": 5})
        document.modelspace().add_line((0, 0), (1, 1))

    data = make(draw).read_bytes().replace(b"\r\n", b"\n")
    assert old.encode() in data
    with pytest.raises(ValueError):
        text_document(data.replace(old.encode(), new.encode()))


def test_handles_that_stand_twice_are_left_to_ezdxf(make: Make) -> None:
    """Followers are found by their leader's handle."""

    def draw(document: Any) -> None:
        for x in range(3):
            row_of_lines(document)
            document.modelspace().add_ellipse((x, 0), (1, 0))

    path = make(draw)
    first, second, _ = text_document(path.read_bytes()).followers
    data = path.read_bytes().replace(b"\r\n", b"\n")
    twice = data.replace(f"\n  5\n{second}\n".encode(), f"\n  5\n{first}\n".encode())
    assert twice != data
    with pytest.raises(ValueError, match="stands twice"):
        text_document(twice)
    path.write_bytes(twice)
    assert len([e for e in read_drawing(path).entities if e.kind == "LINE"]) == 30


def test_a_run_goes_through_all_plain_kinds(make: Make) -> None:
    def draw(document: Any) -> None:
        for what in ("line", "circle", "arc", "point", "solid", "text", "text at", "polyline", "curved polyline"):
            ADD[what](document.modelspace(), 3.0, {})

    document = text_document(make(draw).read_bytes())
    assert [e.DXFTYPE for e in document.modelspace()] == ["LINE"]
    assert [len(run) for run in document.followers.values()] == [8]
