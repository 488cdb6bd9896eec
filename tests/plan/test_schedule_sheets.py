"""Door and window schedules as different offices lay them out. Sheets and figures are invented; how offices write
marks, headings and sizes is common practice, and the foot is 0.3048 m by definition (agreement of 1959)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from ezdxf.enums import TextEntityAlignment

from takeoff.drawing.model import UnitFinding
from takeoff.job import Job
from takeoff.plan.schedules import Schedule, read_schedules
from takeoff.plan.understand import understand
from tests.plan.sheets import Draw, box, house, sheet, write

Rows = list[list[str]]
STEP, LINE, PRINT = 4.0, 0.6, 0.2
INCH = 0.0254
ROWS = [
    ["Mark", "Width", "Height", "Qty", "Remarks"],
    ["D01", "910", "2110", "2", "flush"],
    ["D02", "760", "2110", "1", "glazed"],
    ["W01", "1200", "1050", "4", "casement"],
]
SIZES = {"D1": (0.91, 2.11), "D2": (0.76, 2.11), "W1": (1.2, 1.05)}


def centred(space: Any, rows: Rows, x: float = 0.0) -> None:
    for n, row in enumerate(rows):
        for m, text in enumerate(row):
            if text:
                write(space, text, x + STEP * m, -LINE * n, PRINT)


def placed(space: Any, rows: Rows, step: float, line: float, align: TextEntityAlignment) -> None:
    for n, row in enumerate(rows):
        for m, text in enumerate(row):
            space.add_text(text, height=PRINT).set_placement((step * m, -line * n), align=align)


def flush_left(space: Any, rows: Rows) -> None:
    placed(space, rows, STEP, LINE, TextEntityAlignment.LEFT)


def close_set(space: Any, rows: Rows) -> None:
    placed(space, rows, 2.2, 0.32, TextEntityAlignment.LEFT)


def flush_right(space: Any, rows: Rows) -> None:
    placed(space, rows, STEP, LINE, TextEntityAlignment.RIGHT)


def ruled(space: Any, rows: Rows) -> None:
    centred(space, rows)
    left, right, low = -STEP / 2, STEP * (len(rows[0]) - 0.5), -LINE * (len(rows) - 0.5)
    for n in range(len(rows) + 1):
        space.add_line((left, LINE * (0.5 - n)), (right, LINE * (0.5 - n)))
    for m in range(len(rows[0]) + 1):
        space.add_line((left + STEP * m, LINE / 2), (left + STEP * m, low))


def block_per_row(space: Any, rows: Rows) -> None:
    flush_left(space, rows[:1])
    block = space.doc.blocks.new("ROW")
    tags = [text.upper() for text in rows[0]]
    for m, tag in enumerate(tags):
        block.add_attdef(tag, (STEP * m, 0), dxfattribs={"height": PRINT})
    for n, row in enumerate(rows[1:], 1):
        space.add_blockref("ROW", (0, -LINE * n)).add_auto_attribs(dict(zip(tags, row, strict=True)))


def tabs(space: Any, rows: Rows) -> None:
    space.add_mtext("\\P".join("^I".join(row) for row in rows), dxfattribs={"char_height": PRINT, "insert": (0, 0)})


def text_per_column(space: Any, rows: Rows) -> None:
    for m in range(len(rows[0])):
        column = "\\P".join(row[m] for row in rows)
        space.add_mtext(column, dxfattribs={"char_height": PRINT, "insert": (STEP * m, 0)})


def spaces(space: Any, rows: Rows) -> None:
    for n, row in enumerate(rows):
        line = "".join(text.ljust(11) for text in row)
        space.add_text(line, height=PRINT).set_placement((0, -LINE * n))


def turned(space: Any, rows: Rows) -> None:
    centred(space, [list(column) for column in zip(*rows, strict=True)])


def with_titles(space: Any, rows: Rows) -> None:
    write(space, "DOOR AND WINDOW SCHEDULE", 6, 1.0, 0.4)
    centred(space, rows)
    write(space, "All sizes to be checked on site before ordering", 8, -LINE * len(rows) - 0.3, PRINT)


def drawn(draw: Draw, metres_per_unit: float = 1.0) -> Schedule:
    return read_schedules(sheet(draw, metres_per_unit))


def sizes(rows: Rows, metres_per_unit: float = 1.0) -> dict[str, tuple[float | None, float | None]]:
    found = drawn(lambda space: ruled(space, rows), metres_per_unit)
    return {mark: (size.width_m, size.height_m) for mark, size in found.sizes.items()}


@pytest.mark.parametrize(
    "lay_out",
    [
        ruled, centred, flush_left, close_set, flush_right, block_per_row, tabs, text_per_column, spaces, turned,
        with_titles,
    ],
)
def test_layouts(lay_out: Callable[[Any, Rows], None]) -> None:
    found = drawn(lambda space: lay_out(space, ROWS))
    assert {mark: (size.width_m, size.height_m) for mark, size in found.sizes.items()} == SIZES
    assert found.unclear == {}


def test_two_tables_side_by_side() -> None:
    def draw(space: Any) -> None:
        centred(space, ROWS[:3])
        centred(space, [ROWS[0], ["W01", "1200", "1050", "4", "casement"], ["W02", "600", "900", "1", "fixed"]], 22)

    found = drawn(draw)
    assert {mark: (size.width_m, size.height_m) for mark, size in found.sizes.items()} == SIZES | {"W2": (0.6, 0.9)}


@pytest.mark.parametrize(
    ("marks", "keys"),
    [
        (["A", "B", "C"], ["A", "B", "C"]),
        (["D-A", "D-B", "W-A"], ["DA", "DB", "WA"]),
        (["D.01", "D.02", "W.01"], ["D1", "D2", "W1"]),
        (["F1", "F2", "F3"], ["F1", "F2", "F3"]),
        (["T 2", "T 3", "F 4"], ["T2", "T3", "F4"]),
        (["P-03", "P-04", "V-01"], ["P3", "P4", "V1"]),
        (["101", "102", "103A"], ["101", "102", "103A"]),
        (["(1)", "(2)", "(3)"], ["1", "2", "3"]),
        (["①", "②", "③"], ["1", "2", "3"]),
        (["D-GF-01", "D-GF-02", "W-GF-01"], ["DGF01", "DGF02", "WGF01"]),
        (["Д1", "Д2", "ОК-1"], ["Д1", "Д2", "ОК1"]),
        (["门1", "门2", "窗1"], ["门1", "门2", "窗1"]),
    ],
)
def test_marks(marks: list[str], keys: list[str]) -> None:
    rows = [ROWS[0], *([mark, *row[1:]] for mark, row in zip(marks, ROWS[1:], strict=True))]
    assert sizes(rows) == dict(zip(keys, SIZES.values(), strict=True))


@pytest.mark.parametrize(
    ("heading", "cell", "size"),
    [
        ("Size", "910 x 2110", (0.91, 2.11)),
        ("Size", "W 910 H 2110", (0.91, 2.11)),
        ("Size", "W910 x H2110", (0.91, 2.11)),
        ("Size", "H 2110 x W 910", (0.91, 2.11)),
        ("Size", "910(w) x 2110(h)", (0.91, 2.11)),
        ("Size", "910 mm wide x 2110 mm high", (0.91, 2.11)),
        ("Maße", "Breite 91 / Höhe 211", (0.91, 2.11)),
        ("尺寸", "宽910高2110", (0.91, 2.11)),
        ("Size", "0.91x2.11", (0.91, 2.11)),
        ("Size", "91/211", (0.91, 2.11)),
        ("Size", "3'-0\" x 6'-8\"", (36 * INCH, 80 * INCH)),
        ("Size", "3068", (36 * INCH, 80 * INCH)),
        ("Wymiary", "80/200", (0.8, 2.0)),
        ("Size (h x w)", "2110 x 910", (0.91, 2.11)),
        ("Height x width", "2110 x 910", (0.91, 2.11)),
        ("Size", "2110 x 910", (0.91, 2.11)),  # no door lies on its side
    ],
)
def test_sizes_in_one_cell(heading: str, cell: str, size: tuple[float, float]) -> None:
    rows = [["Mark", heading, "Qty"], ["D1", cell, "2"], ["D2", cell, "1"]]
    assert sizes(rows)["D1"] == (pytest.approx(size[0], abs=6e-5), pytest.approx(size[1], abs=6e-5))


@pytest.mark.parametrize(
    ("headings", "row", "size"),
    [
        (["Mark", "Height", "Width", "Qty"], ["D1", "2110", "910", "2"], (0.91, 2.11)),
        (["Qty", "Height", "Width", "Mark"], ["2", "2110", "910", "D1"], (0.91, 2.11)),
        (["Mark", "Leaf size", "Rough opening"], ["D1", "838 x 1981", "910 x 2040"], (0.91, 2.04)),
        (["Mark", "Rough opening", "Leaf size"], ["D1", "910 x 2040", "838 x 1981"], (0.91, 2.04)),
        (
            ["Mark", "Leaf width", "Leaf height", "R.O. width", "R.O. height"],
            ["D1", "838", "1981", "910", "2040"],
            (0.91, 2.04),
        ),
        (["Mark", "Width", "Height", "Frame width", "Head height"], ["D1", "910", "2110", "60", "2110"], (0.91, 2.11)),
        (["Mark", "Area", "Width", "Height"], ["D1", "1.92", "910", "2110"], (0.91, 2.11)),
        (["Mark", "Width (in)", "Height (in)"], ["D1", "36", "80"], (36 * INCH, 80 * INCH)),
        (["Mark", "Width", "Height"], ["D1", "1 500", "2 100"], (1.5, 2.1)),
        (["Mark", "Width", "Height"], ["D1", "2 x 750", "2100"], (1.5, 2.1)),
        (["Mark", "Width", "Height"], ["D1", "910", "-"], (0.91, None)),
    ],
)
def test_columns_in_any_order(headings: list[str], row: list[str], size: tuple[float, float | None]) -> None:
    other = ["D2" if text == "D1" else text for text in row]
    assert sizes([headings, row, other])["D1"] == tuple(None if s is None else pytest.approx(s, abs=6e-5) for s in size)


def test_a_heading_over_two_columns_says_whose_they_are() -> None:
    rows = [
        ["Mark", "Leaf", "", "Structural opening", ""],
        ["", "Width", "Height", "Width", "Height"],
        ["D1", "838", "1981", "910", "2040"],
        ["D2", "762", "1981", "834", "2040"],
    ]
    assert sizes(rows) == {"D1": (0.91, 2.04), "D2": (0.834, 2.04)}


def test_bare_inches_in_a_drawing_in_inches() -> None:
    found = sizes([["Mark", "Width", "Height"], ["D1", "36", "80"], ["D2", "30", "80"]], INCH)
    assert found["D1"] == (pytest.approx(36 * INCH), pytest.approx(80 * INCH))


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([["Mark", "Width", "Height"], ["D1", "1200", "1050"], ["D2", "910", "2110"]], "wider than it is high"),
        ([["Mark", "Width", "Height"], ["D1", "910", "2110"], ["D1", "760", "2110"]], "two rows"),
        ([["Mark", "Width", "Height", "Width", "Height"], ["D1", "910", "2110", "838", "2040"]], "more than one way"),
        ([["Mark", "Size", "Qty"], ["D1", "1000(500+500) x 2100", "1"]], "more than one way"),
    ],
)
def test_what_can_be_read_in_two_ways_is_asked(rows: Rows, says: str) -> None:
    found = drawn(lambda space: ruled(space, rows))
    assert "D1" not in found.sizes
    assert says in found.unclear["D1"]


@pytest.mark.parametrize(
    "headings",
    [
        ["Dør nr.", "Bredde", "Højde", "Antal"],
        ["Littera", "Bredd", "Höjd", "Antal"],
        ["Tunnus", "Leveys", "Korkeus", "Määrä"],
        ["Označení", "Šířka", "Výška", "Počet"],
        ["Poz. No", "Genişlik", "Yükseklik", "Adet"],
        ["Марка", "Ширина", "Высота", "Кол."],
        ["Позиція", "Ширина", "Висота", "Кількість"],
        ["Jel", "Szélesség", "Magasság", "Db"],
        ["Poz.", "Lățime", "Înălțime", "Nr. buc."],
        ["번호", "너비", "높이", "수량"],
        ["符号", "幅", "高さ", "数量"],
        ["Mark", "Πλάτος", "Ύψος", "Qty"],
        ["Clave", "Ancho (m)", "Alto (m)", "Cant."],
        ["Ref.", "Larg. (cm)", "Alt. (cm)", "Quant."],
    ],
)
def test_headings_of_other_languages(headings: list[str]) -> None:
    scale = {"(m)": 1, "(cm)": 100}.get(headings[1][-4:].strip(), 1000)
    rows = [headings, ["1", f"{0.91 * scale:g}", f"{2.11 * scale:g}", "2"], ["2", f"{scale:g}", f"{2 * scale:g}", "1"]]
    assert sizes(rows) == {"1": (0.91, 2.11), "2": (1.0, 2.0)}


def parted_house(space: Any, width: float = 0.8) -> None:
    """Two rooms whose partition has two doors, hung in gaps so wide."""
    box(space, 0, 0, 9, 7)
    box(space, 0.3, 0.3, 8.4, 6.4)
    ends = [0.3, 1.5, 1.5 + width, 4.0, 4.0 + width, 6.7]
    wall = {"layer": "A-WALL"}
    for low, high in zip(ends[::2], ends[1::2], strict=True):
        for x in (4.0, 4.1):
            space.add_line((x, low), (x, high), dxfattribs=wall)
    for y in ends[1:-1]:
        space.add_line((4.0, y), (4.1, y), dxfattribs=wall)
    for y in (1.5, 4.0):
        space.add_arc((4.0, y), width, 90, 180, dxfattribs={"layer": "A-DOOR"})
        space.add_line((4.0, y), (4.0 - width, y), dxfattribs={"layer": "A-DOOR"})
    write(space, "KITCHEN", 2, 3.3)
    write(space, "HALL", 7, 3.3)


@pytest.mark.parametrize("unbroken", [False, True])
def test_marks_of_one_letter_find_their_openings_and_contradictions_are_asked(unbroken: bool) -> None:
    """Two doors, 0.8 m in the drawing, are marked A and B; the schedule makes B 1.2 m wide and gives C twice."""

    def draw(space: Any) -> None:
        (house if unbroken else parted_house)(space)
        for name, y in (("A", 1.9), ("B", 4.4)):
            write(space, name, 4.6, y, 0.15)
        rows = [["Mark", "Width", "Height", "Qty"], ["A", "800", "2040", "1"], ["B", "1200", "2300", "1"]]
        centred(space, rows, 20)

    plan = understand(sheet(draw), UnitFinding("m", 1.0, ()), Job())
    assert {o.tag: (round(o.width_m, 2), o.height_m) for o in plan.openings} == {"A": (0.8, 2.04), "B": (0.8, 2.3)}
    (asked,) = [q for q in plan.queries if q.kind.startswith("schedule")]
    assert "(B) 0.80 m drawn, 1.20 m scheduled" in asked.says


def test_a_mark_on_the_plan_with_two_sizes_is_asked_about() -> None:
    def draw(space: Any) -> None:
        parted_house(space)
        for name, y in (("D1", 1.9), ("D2", 4.4)):
            write(space, name, 4.6, y, 0.15)
        rows = [["Mark", "Width", "Height"], ["D1", "800", "2040"], ["D1", "700", "2040"], ["D2", "800", "2300"]]
        centred(space, [*rows, ["D9", "1200", "1050"]], 20)

    plan = understand(sheet(draw), UnitFinding("m", 1.0, ()), Job())
    assert {o.tag: (round(o.width_m, 2), o.height_m) for o in plan.openings} == {"D1": (0.8, None), "D2": (0.8, 2.3)}
    (asked,) = [q for q in plan.queries if q.kind.startswith("schedule")]
    assert (asked.kind, asked.about) == ("schedule-unclear", tuple(o.ref for o in plan.openings if o.tag == "D1"))
    assert "D1: two rows give it different sizes" in asked.says
