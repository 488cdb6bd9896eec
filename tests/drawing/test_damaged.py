"""Files that are no drawing, or a damaged or hostile one: one clear sentence, or a query when reading can go on.

That recovery silently returns nothing of a file cut short, and a little less than all of a damaged one, was
measured on ezdxf 1.4; the counts here are taken from the file's own text, not from the reader.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from takeoff.drawing.model import Drawing
from takeoff.drawing.read import read_drawing
from takeoff.errors import DrawingError
from tests.drawing.conftest import corpus

Make = Callable[..., Path]


def walls(document: Any) -> None:
    """A drawing with entities of several parts: 60 lines, 20 polylines with vertices, 20 references with attributes."""
    model = document.modelspace()
    block = document.blocks.new("door")
    block.add_line((0, 0), (1, 0))
    for n in range(20):
        for m in range(3):
            model.add_line((n, m), (n + 1, m + 0.5))
        model.add_polyline2d([(n, 0), (n, 5), (n + 1, 5)])
        model.add_blockref("door", (n, 9)).add_attrib("TAG", f"D{n}", (n, 9))
        model.add_text(f"ROOM {n}").set_placement((n, 2))


def said(drawing: Drawing, kind: str) -> str:
    """The one query of `kind`, which is one sentence of sane length that ends as a sentence."""
    (query,) = [query for query in drawing.queries if query.kind == kind]
    assert query.concerns == "plan" and query.says.endswith(".") and len(query.says) < 400
    return query.says


def refused(path: Path) -> str:
    with pytest.raises(DrawingError) as caught:
        read_drawing(path)
    sentence = str(caught.value)
    assert path.name in sentence and "\n" not in sentence and len(sentence) < 300
    return sentence


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "empty"),
        (b"\x00\x00  \r\n", "empty"),
        (b"AC1027\x00\x00\x00" + bytes(200), "DWG"),
        (b"%PDF-1.7\n...", "PDF"),
        (b"PK\x03\x04rest", "ZIP"),
        (b"\x89PNG\r\n\x1a\n", "picture"),
        (b"<!DOCTYPE html><p>moved", "web page"),
        (b"ISO-10303-21;\nHEADER;", "IFC"),
        (b"Dear architect,\nplease send the plan.\n", "not a DXF"),
        (bytes(range(256)) * 20, "not a DXF"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_no_dxf_is_named(tmp_path: Path, content: bytes, expected: str) -> None:
    path = tmp_path / "plan.dxf"
    path.write_bytes(content)
    assert expected in refused(path)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    assert "No such file" in refused(tmp_path / "none.dxf")
    assert "Cannot read" in refused(tmp_path)


def entities_in_text(data: bytes, whole_only: bool) -> int:
    """Main entities from ENTITIES on, counted pair of lines by pair of lines: another way than the reader's."""
    lines = data.decode("utf-8", "replace").splitlines()
    pairs = list(zip(lines[0::2], lines[1::2], strict=False))
    start = next(n for n, (code, value) in enumerate(pairs) if code.strip() == "2" and value.strip() == "ENTITIES")
    names = [value.strip() for code, value in pairs[start:] if code.strip() == "0"]
    names = names[: names.index("ENDSEC")] if "ENDSEC" in names else names
    mains = [n for n, name in enumerate(names) if name not in ("VERTEX", "ATTRIB", "SEQEND")]
    return len(mains) - whole_only


@pytest.mark.parametrize("share", [0.12, 0.3, 0.45, 0.6, 0.75, 0.9, 0.97])
def test_a_file_cut_short_gives_exactly_what_its_text_holds(make: Make, tmp_path: Path, share: float) -> None:
    data = make(walls).read_bytes()
    start, end = data.index(b"ENTITIES"), data.index(b"ENDSEC", data.index(b"ENTITIES"))
    cut = data[: int(start + (end - start) * share)]
    path = tmp_path / "cut.dxf"
    path.write_bytes(cut)
    drawing = read_drawing(path)
    kept = [e for e in drawing.entities if "/" not in e.handle and e.kind != "ATTRIB"]
    symbols = [s for s in drawing.symbols if "/" not in s.handle]
    held = entities_in_text(cut, whole_only=True)
    # An entity is whole when another begins after it; SEQEND and code 0 also show the one before to be whole.
    assert len(kept) + len(symbols) in (held, held + 1)
    assert "cut short in its section ENTITIES" in said(drawing, "file-damaged")


def test_every_cut_of_a_small_file_is_survived(make: Make, tmp_path: Path) -> None:
    """Cut at every 97th byte: a drawing with a query or one clear sentence, never a crash, never silence."""
    data = make(walls, "R12").read_bytes()
    last = data.rindex(b"EOF")
    entities = data.index(b"ENTITIES")
    counts = []
    for size in range(1, last, max(97, last // 120)):
        path = tmp_path / "cut.dxf"
        path.write_bytes(data[:size])
        try:
            drawing = read_drawing(path)
        except DrawingError:
            assert size < entities + 400  # a first entity stands there
            continue
        counts.append(len(drawing.entities))
        if size < data.rindex(b"ENDSEC"):
            assert "cut short" in said(drawing, "file-damaged")
    assert len(counts) > 20 and counts == sorted(counts)


def test_cut_before_anything_is_drawn(make: Make, tmp_path: Path) -> None:
    data = make(walls).read_bytes()
    path = tmp_path / "cut.dxf"
    path.write_bytes(data[: data.index(b"BLOCKS") + 400])
    assert "cut short before anything is drawn (in its section BLOCKS)" in refused(path)


def test_binary_cut_short(make: Make, tmp_path: Path) -> None:
    data = make(walls, fmt="bin").read_bytes()
    start = data.index(b"ENTITIES")
    end = data.index(b"ENDSEC", start)
    path = tmp_path / "cut.dxf"
    path.write_bytes(data[: start + (end - start) * 6 // 10])
    drawing = read_drawing(path)
    assert 40 < len(drawing.entities) < 150
    assert "section ENTITIES" in said(drawing, "file-damaged")


@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_noise_in_the_file_is_said_or_refused(make: Make, tmp_path: Path, fmt: str) -> None:
    """NUL bytes over a stretch of the entities: whatever is lost is told, counted against the raw file."""
    data = bytearray(make(walls, fmt=fmt).read_bytes())
    start = data.index(b"ENTITIES") + 3000
    data[start : start + 200] = bytes(200)
    path = tmp_path / "noise.dxf"
    path.write_bytes(data)
    try:
        drawing = read_drawing(path)
    except DrawingError as fault:
        assert "too damaged" in str(fault)
    else:
        assert said(drawing, "file-damaged")


def test_losses_of_recovery_are_counted(make: Make, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Entities in the raw text that the document does not hold are told, kind by kind."""
    from takeoff.drawing import load

    document = __import__("ezdxf").readfile(make(walls))
    for line in list(document.modelspace().query("LINE"))[:2]:
        document.modelspace().delete_entity(line)
    monkeypatch.setattr("takeoff.drawing.tags.text_document", lambda *_: document)
    monkeypatch.setattr("ezdxf.filemanagement.readfile", lambda *_: document)
    loaded = load.load_dxf(make(walls))
    assert "2 of 124 entities could not be read (2 LINE)" in loaded.queries[0].says


def test_bare_errors_of_the_library_are_caught(make: Make, tmp_path: Path) -> None:
    data = make(walls).read_bytes().replace(b"\n 10\n3.0\n", b"\n 10\nthree\n")
    path = tmp_path / "words.dxf"
    path.write_bytes(data)
    drawing = read_drawing(path)
    assert len(drawing.entities) > 90
    assert said(drawing, "file-damaged")


@pytest.mark.parametrize("path", corpus("broken/*.dxf"), ids=lambda p: p.stem)
def test_invalid_group_codes(path: Path) -> None:
    drawing = read_drawing(path)
    lines = path.read_bytes().decode("utf-8", "replace").splitlines()
    for kind in ("LINE", "TEXT"):
        held = sum(value.strip() == kind and code.strip() == "0" for code, value in pairwise(lines))
        assert sum(entity.kind == kind for entity in drawing.entities) == held
    assert "out of step" in said(drawing, "file-damaged")


def test_a_text_broken_over_lines_is_put_together(make: Make, tmp_path: Path) -> None:
    data = make(walls).read_bytes().replace(b"ROOM 7\n", b"ROOM 7\nA: 4.57 m2\n")
    path = tmp_path / "broken.dxf"
    path.write_bytes(data)
    drawing = read_drawing(path)
    values = [text.value for text in drawing.texts]
    assert "ROOM 7" in values and "A: 4.57 m2" in values and len(values) == 41
    assert said(drawing, "file-damaged")


@pytest.mark.parametrize("tail", [b"", b"\x1a", b"\x00" * 600, b"\nleft over rubbish\n"])
def test_what_follows_the_end_does_not_matter(make: Make, tmp_path: Path, tail: bytes) -> None:
    path = tmp_path / "tail.dxf"
    path.write_bytes(make(walls).read_bytes() + tail)
    assert read_drawing(path).queries == ()


def test_a_byte_order_mark_does_not_matter(make: Make, tmp_path: Path) -> None:
    path = tmp_path / "mark.dxf"
    path.write_bytes(b"\xef\xbb\xbf" + make(walls).read_bytes())
    drawing = read_drawing(path)
    assert len(drawing.entities) == 140 and drawing.queries == ()


@pytest.mark.parametrize("version", ["R12", "R2010"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
def test_line_ends_do_not_matter(make: Make, tmp_path: Path, version: str, end: bytes) -> None:
    path = tmp_path / "ends.dxf"
    path.write_bytes(make(walls, version).read_bytes().replace(b"\r\n", b"\n").replace(b"\n", end))
    drawing = read_drawing(path)
    assert len(drawing.entities) == 140 and drawing.queries == ()
    assert "ROOM 7" in {text.value for text in drawing.texts}


def test_blocks_that_contain_themselves(make: Make) -> None:
    def draw(document: Any) -> None:
        one, two = document.blocks.new("one"), document.blocks.new("two")
        one.add_line((0, 0), (1, 0))
        one.add_blockref("two", (0, 0))
        two.add_blockref("one", (5, 0))
        document.modelspace().add_blockref("one", (0, 0))

    drawing = read_drawing(make(draw))
    assert len(drawing.segments.ends) == 1
    assert "one" in said(drawing, "blocks-left-out")


def test_a_block_array_of_a_billion_copies(make: Make) -> None:
    def draw(document: Any) -> None:
        document.blocks.new("brick").add_line((0, 0), (1, 0))
        model = document.modelspace()
        model.add_line((0, 0), (9, 0))
        many = {"row_count": 32000, "column_count": 32000, "row_spacing": 1, "column_spacing": 1}
        model.add_blockref("brick", (0, 0), dxfattribs=many)

    start = time.perf_counter()
    drawing = read_drawing(make(draw))
    assert time.perf_counter() - start < 5
    assert len(drawing.segments.ends) == 1
    assert "1,024,000,000" in said(drawing, "blocks-left-out")


def test_blocks_that_multiply_by_nesting(make: Make) -> None:
    """Ten references in each of twelve levels: 10^12 lines if they were drawn."""

    def draw(document: Any) -> None:
        document.blocks.new("b0").add_line((0, 0), (1, 0))
        for n in range(1, 13):
            block = document.blocks.new(f"b{n}")
            for m in range(10):
                block.add_blockref(f"b{n - 1}", (m, n))
        document.modelspace().add_line((0, 0), (9, 0))
        document.modelspace().add_blockref("b12", (0, 0))

    start = time.perf_counter()
    drawing = read_drawing(make(draw))
    assert time.perf_counter() - start < 60
    assert said(drawing, "blocks-left-out")


def test_blocks_nested_hundreds_deep(make: Make) -> None:
    def draw(document: Any) -> None:
        document.blocks.new("b0").add_line((0, 0), (1, 0))
        for n in range(1, 400):
            document.blocks.new(f"b{n}").add_blockref(f"b{n - 1}", (0, 0))
        document.modelspace().add_line((0, 0), (9, 0))
        document.modelspace().add_blockref("b399", (0, 0))

    assert said(read_drawing(make(draw)), "blocks-left-out")


@pytest.mark.parametrize("value", ["nan", "inf", "-1e300", "1e17"])
def test_coordinates_that_are_no_numbers_or_out_of_reach(make: Make, tmp_path: Path, value: str) -> None:
    def draw(document: Any) -> None:
        walls(document)
        model = document.modelspace()
        model.add_line((7777, 0), (1, 1))
        model.add_circle((7777, 0), 5)
        model.add_lwpolyline([(0, 0), (7777, 0), (5, 5)])
        model.add_text("FAR").set_placement((7777, 0))
        model.add_blockref("door", (7777, 0))

    data = make(draw).read_bytes().replace(b"\n7777.0\n", f"\n{value}\n".encode())
    path = tmp_path / "wild.dxf"
    path.write_bytes(data)
    drawing = read_drawing(path)
    assert said(drawing, "wild-coordinates").startswith("5 things")
    assert np.isfinite(drawing.segments.ends).all() and np.abs(drawing.segments.ends).max() < 100
    assert all(np.isfinite([*symbol.at, *symbol.bounds]).all() for symbol in drawing.symbols)
    assert np.isfinite(drawing.origin).all()


def test_everything_at_the_origin_is_nothing(make: Make) -> None:
    def draw(document: Any) -> None:
        for _ in range(5):
            document.modelspace().add_line((0, 0), (0, 0))

    assert "no lines at all" in refused(make(draw))


def test_nothing_drawn_says_where_it_may_be(make: Make) -> None:
    def paper(document: Any) -> None:
        document.layout("Layout1").add_line((0, 0), (1, 1))

    def hidden(document: Any) -> None:
        document.layers.add("walls").off()
        document.modelspace().add_line((0, 0), (1, 1), dxfattribs={"layer": "walls"})

    assert "paper layouts" in refused(make(paper))
    assert "off or frozen" in refused(make(hidden))
    assert "no lines at all" in refused(make(lambda document: None))


def test_megabytes_of_text_are_cut_and_quick(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        model.add_mtext("{\\fArial;wall 3'-6\" } " * 200_000)
        model.add_text("A" * 2_000_000)

    path = make(draw)
    start = time.perf_counter()
    drawing = read_drawing(path)
    assert time.perf_counter() - start < 20
    assert max(len(text.value) for text in drawing.texts) <= 20_000


def test_references_that_the_file_does_not_hold(make: Make) -> None:
    def draw(document: Any) -> None:
        model = document.modelspace()
        model.add_line((0, 0), (1, 1))
        document.add_xref_def("ground.dwg", "ground")
        model.add_blockref("ground", (0, 0))
        model.add_blockref("lost", (0, 0))

    sentence = said(read_drawing(make(draw)), "outside-reference")
    assert "ground" in sentence and "lost" in sentence


def test_objects_of_add_ons_are_counted(make: Make, tmp_path: Path) -> None:
    data = make(walls).read_bytes()
    proxy = b"  0\nACAD_PROXY_ENTITY\n  5\nABC\n330\n1F\n100\nAcDbEntity\n  8\n0\n100\nAcDbProxyEntity\n 90\n498\n"
    at = data.index(b"ENTITIES\n") + len(b"ENTITIES\n")
    path = tmp_path / "proxy.dxf"
    path.write_bytes(data[:at] + proxy + data[at:])
    assert said(read_drawing(path), "add-on-objects").startswith("1 object ")


def test_a_damaged_entity_does_not_take_the_drawing_with_it(make: Make, tmp_path: Path) -> None:
    """A circle without radius and centre fails only when it is looked at."""
    data = make(walls).read_bytes()
    circle = b"  0\nCIRCLE\n  5\nABC\n330\n1F\n100\nAcDbEntity\n  8\n0\n100\nAcDbCircle\n"
    at = data.index(b"ENTITIES\n") + len(b"ENTITIES\n")
    path = tmp_path / "circle.dxf"
    path.write_bytes(data[:at] + circle + data[at:])
    drawing = read_drawing(path)
    assert len(drawing.entities) == 140
    assert "CIRCLE" in said(drawing, "file-damaged")


@pytest.mark.parametrize("fmt", ["asc", "bin"])
@pytest.mark.parametrize("seed", range(6))
def test_random_damage_never_crashes(make: Make, tmp_path: Path, seed: int, fmt: str) -> None:
    """Bytes overwritten, taken out and doubled at random places: a drawing or one sentence, whatever happens."""
    rng = np.random.default_rng(seed)
    whole = make(walls, fmt=fmt).read_bytes()
    path = tmp_path / "hurt.dxf"
    for _ in range(6):
        data = bytearray(whole)
        at, size = int(rng.integers(len(data))), int(rng.choice([1, 20, 400]))
        kind = rng.integers(3)
        if kind == 0:
            data[at : at + size] = rng.bytes(size)
        elif kind == 1:
            del data[at : at + size]
        else:
            data[at:at] = data[at : at + size]
        path.write_bytes(data)
        try:
            drawing = read_drawing(path)
        except DrawingError as fault:
            assert path.name in str(fault)
        else:
            assert np.isfinite(drawing.segments.ends).all()


def test_one_damaged_entity_is_taken_out_of_the_file(make: Make, tmp_path: Path) -> None:
    """A polyline without its subclass stops the library; the others still come; the loss is counted (two in blocks)."""

    def draw(document: Any) -> None:
        walls(document)
        document.modelspace().add_lwpolyline([(0, 0), (5, 5)])

    data = make(draw).read_bytes()
    path = tmp_path / "hurt.dxf"
    path.write_bytes(data.replace(b"100\nAcDbPolyline\n", b""))
    drawing = read_drawing(path)
    assert len(drawing.entities) == 140
    assert "3 LWPOLYLINE" in said(drawing, "file-damaged")


def test_damage_outside_what_is_drawn_costs_nothing_drawn(make: Make, tmp_path: Path) -> None:
    data = make(walls).read_bytes()
    path = tmp_path / "hurt.dxf"
    path.write_bytes(data.replace(b"\n$ACADVER\n", b"\n$ACADVER\nrubbish\n").replace(b"{ACAD_", b"ACAD_"))
    assert len(read_drawing(path).entities) == 140
