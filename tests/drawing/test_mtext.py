"""MTEXT as it is printed, against ezdxf's own layout of it (`ezdxf.addons.MTextExplode`, with real font metrics).

Inline codes, columns and spacing: DXF reference (2018), MTEXT.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
from ezdxf.addons import MTextExplode
from ezdxf.entities.mtext_columns import make_static_columns_r2000, make_static_columns_r2018

from takeoff.drawing.model import Drawing, in_metres
from takeoff.drawing.read import read_drawing
from takeoff.plan.labels import read_labels

Make = Callable[..., Path]
BOXES = [
    ("LIVING ROOM AND DINING", {"width": 20, "attachment_point": 5}),
    ("Right hand side label that wraps", {"width": 24, "attachment_point": 9, "line_spacing_factor": 1.4}),
    ("STORE", {"width": 0, "attachment_point": 3}),
    ("\\pxqc;Bedroom one with dressing room\\P\\pql;left again", {"width": 24, "attachment_point": 1}),
    ("{\\H1.5x;KITCHEN}\\P{\\H3;diner}", {"width": 0, "attachment_point": 1}),
]


def drawn(make: Make, raw: str, version: str = "R2010", **attribs: Any) -> Drawing:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1, 1))
        document.modelspace().add_mtext(raw, dxfattribs={"insert": (100, 50), "char_height": 2, **attribs})

    return read_drawing(make(draw, version))


def places(drawing: Drawing) -> np.ndarray:
    return np.array([text.at for text in drawing.texts]) + drawing.origin


@pytest.mark.parametrize(("raw", "attribs"), BOXES, ids=[raw[:12] for raw, _ in BOXES])
def test_lines_stand_where_ezdxf_lays_them_out(make: Make, raw: str, attribs: dict[str, Any]) -> None:
    drawing = drawn(make, raw, style="OpenSans", **attribs)
    document = ezdxf.readfile(make(lambda _: None))
    text = document.modelspace().add_mtext(
        raw, dxfattribs={"insert": (100, 50), "char_height": 2, "style": "OpenSans", **attribs})
    with MTextExplode(document.modelspace()) as explode:
        explode.explode(text)
    rows: dict[float, list[Any]] = {}
    for word in document.modelspace().query("TEXT"):
        rows.setdefault(round(word.dxf.insert.y, 1), []).append(word)
    assert [t.value for t in drawing.texts] == [" ".join(w.dxf.text for w in row) for row in rows.values()]
    for own, at, row in zip(drawing.texts, places(drawing), rows.values(), strict=True):
        assert own.height == pytest.approx(row[0].dxf.height)
        assert at[1] == pytest.approx(row[0].dxf.insert.y + own.height / 2, abs=0.15 * own.height)
        assert at[0] - own.width / 2 == pytest.approx(row[0].dxf.insert.x, abs=0.15 * own.width)


def test_a_name_wrapped_by_its_box_is_one_name(make: Make) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (9000, 0))
        document.modelspace().add_mtext(
            "Living room 21.50 m\\S2^ ;", dxfattribs={"insert": (2000, 2000), "char_height": 200, "width": 1500})
        document.modelspace().add_mtext(
            "Dressing area", dxfattribs={"insert": (6000, 2000), "char_height": 200, "width": 1300})

    drawing = in_metres(read_drawing(make(draw)), 0.001)
    assert [text.value for text in drawing.texts] == ["Living room", "21.50 m2", "Dressing", "area"]
    labels = read_labels(drawing, ())
    assert [(label.name, label.area and label.area.m2) for label in labels] == [
        ("Living room", 21.5), ("Dressing area", None)]


def test_a_joined_paragraph_lies_in_the_middle_of_its_lines(make: Make) -> None:
    drawing = drawn(make, "Bedroom with dressing room", width=20, attachment_point=5, rotation=30)
    assert [text.wraps for text in drawing.texts] == [False, True]
    (whole,) = drawing.paragraphs
    assert whole.value == "Bedroom with dressing room"
    assert np.array(whole.at) + drawing.origin == pytest.approx([100, 50])
    apart = places(drawing)[0] - places(drawing)[1]
    assert apart == pytest.approx(10 / 3 * np.array([-math.sin(math.pi / 6), math.cos(math.pi / 6)]), abs=1e-6)


def test_the_height_that_the_file_states_tells_the_number_of_lines(make: Make, tmp_path: Path) -> None:
    """Group 43: the height of the whole text as the program that wrote it laid it out."""
    raw = "Cloaks and store under stairs"
    path = make(lambda _: None)
    values = {}
    for lines in (1, 2, 3):
        high = 2 + (lines - 1) * 2 * 5 / 3
        drawn(make, raw, width=26)
        data = path.read_bytes().replace(b"\n 41\n26.0\n", f"\n 41\n26.0\n 43\n{high}\n".encode())
        (tmp_path / "stated.dxf").write_bytes(data)
        values[lines] = [text.value for text in read_drawing(tmp_path / "stated.dxf").texts]
    assert [len(found) for found in values.values()] == [2, 2, 3]  # nothing makes it one line
    assert all(" ".join(found) == raw for found in values.values())


@pytest.mark.parametrize("version", ["R2000", "R2018"])
def test_columns_stand_side_by_side(make: Make, version: str) -> None:
    """Columns of their own entities before R2018, of one text after it."""
    columns = make_static_columns_r2018 if version == "R2018" else make_static_columns_r2000

    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        attribs = {"insert": (100, 50), "char_height": 2, "attachment_point": 1}
        text = columns(["first\\Pof these", "second"], width=30, gutter_width=5, height=20, dxfattribs=attribs)
        model.add_entity(text)

    drawing = read_drawing(make(draw, version))
    assert [text.value for text in drawing.texts] == ["first", "of these", "second"]
    left = [at[0] - text.width / 2 for at, text in zip(places(drawing), drawing.texts, strict=True)]
    if version == "R2018":  # ezdxf does not place the linked ones; a program that draws does
        assert left == pytest.approx([100, 100, 135])
        assert places(drawing)[0][1] == pytest.approx(places(drawing)[2][1])


def test_chinese_names_wrap_between_any_two_characters(make: Make) -> None:
    drawing = drawn(make, "客厅与餐厅", width=9)
    assert len(drawing.texts) == 2
    assert [text.value for text in drawing.paragraphs] == ["客厅与餐厅"]


def test_a_text_seen_from_behind(make: Make) -> None:
    """Extrusion -Z: the angle counts in the object's own axes, of which x runs to the left."""
    drawing = drawn(make, "one\\Ptwo", attachment_point=1, extrusion=(0, 0, -1))
    one, two = places(drawing)
    assert one[0] < 100 and two[1] < one[1]
    assert abs(drawing.texts[0].rotation) == pytest.approx(math.pi)


@pytest.mark.parametrize(
    ("raw", "value"),
    [
        ("%<\\AcObjProp Object(%<\\_ObjId 2129>%).Area \\f \"%lu2\">%", None),
        ("Hall %<\\AcVar Date>%", "Hall"),
        ("\\A1;\\W0.8;\\T1.1;\\Q15;\\LStudy\\l \\~1", "Study  1"),
        ("\\pi-3,l3,t3;\\C1;\\c255;Utility", "Utility"),
        ("2\\S1#2;\" board", "2 1/2\" board"),
        ("\\S+0.1^-0.1;", "+0.1/-0.1"),
        ("\\S+0.1^ -0.1;", "+0.1/-0.1"),
        ("a \\{b\\} c\\\\d", "a {b} c\\d"),
        ("%%c100 %%d %%p %%065", "Ø100 ° ± A"),
        ("K\\U+00FCche", "Küche"),
    ],
)
def test_codes_never_show(make: Make, raw: str, value: str | None) -> None:
    assert [text.value for text in drawn(make, raw).texts] == ([value] if value else [])


@pytest.mark.parametrize(
    ("raw", "values"),
    [
        ("{\\fArial|b0|i0;Dining} room", ["Dining room"]),
        ("LIVING\\PROOM", ["LIVING", "ROOM"]),
        ("C:\\PLANS\\A1.dwg", ["C:\\PLANS\\A1.dwg"]),
        ("%%065%%132", ["A„"]),
        ("%%uSTUDY%%u %%%", ["STUDY %"]),
    ],
)
def test_codes_of_an_mtext_in_a_plain_text(make: Make, raw: str, values: list[str]) -> None:
    def draw(document: Any) -> None:
        document.modelspace().add_line((0, 0), (1, 1))
        document.modelspace().add_text(raw)

    assert [text.value for text in read_drawing(make(draw)).texts] == values
