"""Paper layouts passed over, against the same documents of ezdxf without them and ezdxf's own reading of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest

from takeoff.drawing.count import count_loaded, count_raw
from takeoff.drawing.paper import without_paper
from takeoff.drawing.read import read_drawing
from takeoff.drawing.tags import text_document
from takeoff.errors import DrawingError

Draw = Callable[[Any], None]


def plan(document: Any) -> None:
    """A room and a block in model space; the text would pass for a mark of paper if codes and values were mixed up."""
    space = document.modelspace()
    space.add_lwpolyline([(0, 0), (4, 0), (4, 3), (0, 3)], close=True)
    door = document.blocks.new("DOOR")
    door.add_line((0, 0), (0.8, 0))
    door.add_attdef("TAG", (0, 0))
    space.add_blockref("DOOR", (1, 0)).add_attrib("TAG", "D1", (1, 0))
    space.add_mtext("67" * 200)
    space.add_line((0, 0), (4, 3))


def title_block(layout: Any) -> None:
    for n in range(30):
        layout.add_line((n, 0), (n, 5))
    layout.add_text("Sheet 1")
    layout.add_polyline2d([(0, 0), (1, 0), (1, 1)])
    layout.add_blockref("DOOR", (5, 5)).add_attrib("TAG", "D9", (5, 5))
    layout.add_line((0, 9), (30, 9))


def with_paper(document: Any) -> None:
    plan(document)
    title_block(document.layout("Layout1"))
    title_block(document.layouts.new("Second"))


def saved(folder: Path, draw: Draw, version: str = "R2010") -> Path:
    document = ezdxf.new(version)
    draw(document)
    path = folder / f"{draw.__name__}.dxf"
    document.saveas(path)
    return path


@pytest.mark.parametrize("version", ["R2000", "R2010", "R2018"])
@pytest.mark.parametrize("newline", [b"\n", b"\r\n"])
def test_what_is_left_is_the_model(tmp_path: Path, version: str, newline: bytes) -> None:
    data = saved(tmp_path, with_paper, version).read_bytes().replace(b"\r\n", b"\n").replace(b"\n", newline)
    kept, gone = without_paper(data)
    sheet = Counter({"LINE": 31, "TEXT": 1, "POLYLINE": 1, "INSERT": 1})
    assert gone == sheet + sheet - Counter({"LINE": 1})  # the last entity of the section is left where it is
    assert b"Sheet 1" not in kept and data.count(b"Sheet 1") == 2
    raw = Counter({name: n for name, n in count_raw(data).items() if name not in ("VERTEX", "ATTRIB", "SEQEND")})
    assert not raw - count_loaded(text_document(data))


def test_a_drawing_is_the_same_whatever_is_on_paper(tmp_path: Path) -> None:
    bare, full = (read_drawing(saved(tmp_path, draw)) for draw in (plan, with_paper))
    assert np.array_equal(bare.segments.ends, full.segments.ends)
    assert [s.attributes for s in bare.symbols] == [s.attributes for s in full.symbols]
    assert [t.value for t in bare.texts] == [t.value for t in full.texts]
    assert not full.queries and full.left_out == bare.left_out


def test_a_layout_that_is_used_as_a_block_is_kept(tmp_path: Path) -> None:
    def used(document: Any) -> None:
        with_paper(document)
        document.modelspace().add_blockref(document.layout("Second").block_record_name, (50, 0))

    data = saved(tmp_path, used).read_bytes()
    assert without_paper(data) == (data, Counter())


def test_a_sheet_without_a_model_is_refused_with_what_its_layouts_hold(tmp_path: Path) -> None:
    def paper_alone(document: Any) -> None:
        document.blocks.new("DOOR").add_line((0, 0), (1, 0))
        title_block(document.layout("Layout1"))

    with pytest.raises(DrawingError, match=r"only its paper layouts hold anything \(34 entities\)"):
        read_drawing(saved(tmp_path, paper_alone))
