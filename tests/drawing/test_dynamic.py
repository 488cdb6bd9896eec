"""Dynamic blocks: true names and settings.

How they lie in a file was read off a real drawing of the shared corpus, which the last test reads; the drawings made
here have the same dictionaries, records and parameters. Labels of visibility and lookup parameters are from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.entities import factory
from ezdxf.lldxf.extendedtags import ExtendedTags

from takeoff.drawing.model import in_metres
from takeoff.drawing.read import read_drawing
from takeoff.plan.layers import layer_roles
from takeoff.plan.symbols import find_marks
from tests.drawing.conftest import CORPUS

Make = Callable[..., Path]
LINEAR = "100\nAcDbBlock2PtParameter\n301\nDisplacementX\n100\nAcDbBlockLinearParameter\n305\n{}\n140\n-7.5\n"
STATES = "100\nAcDbBlock1PtParameter\n93\n0\n100\nAcDbBlockVisibilityParameter\n301\n{}\n303\nOpen\n303\nShut\n"


def added(document: Any, text: str) -> Any:
    """An object from the text of its tags, as a reader of files makes it."""
    handle = document.entitydb.next_handle()
    made: Any = factory.load(ExtendedTags.from_text(text.replace("HANDLE", handle)), document)
    document.entitydb.add(made)
    document.objects.add_object(made)
    return made


def dynamic_door(document: Any, name: str = "Door single", **xdata: str) -> Any:
    """Block record of a dynamic block with a width, and its state; `xdata` names an anonymous one."""
    for application in ("AcDbBlockRepBTag", "AcDbDynamicBlockTrueName"):
        if application not in document.appids:
            document.appids.add(application)
    record = document.blocks.new(name).block_record
    for application, value in xdata.items():
        record.set_xdata(application, [(1000, value)])
    graph = added(document, "0\nACAD_EVALUATION_GRAPH\n5\nHANDLE\n330\n0\n100\nAcDbEvalGraph\n96\n9\n")
    record.new_extension_dict().dictionary.add("ACAD_ENHANCEDBLOCK", graph)
    for node, kind, label in ((1, LINEAR, "Width"), (4, STATES, "State"), (6, LINEAR, "Height")):
        named = "LINEAR" if kind is LINEAR else "VISIBILITY"
        added(document, f"0\nBLOCK{named}PARAMETER\n5\nHANDLE\n330\n{graph.dxf.handle}\n100\nAcDbEvalExpr\n90\n{node}\n"
              f"100\nAcDbBlockElement\n300\nany\n100\nAcDbBlockParameter\n280\n1\n{kind.format(label)}")
    return record


def placed(document: Any, record: Any, name: str, settings: dict[int, list[tuple[int, Any]]]) -> Any:
    """A reference to the copy `name` of a dynamic block, set to `settings` (values of each node)."""
    copy = document.blocks.new(name)
    copy.add_line((0, 0), (900, 0))
    copy.block_record.set_xdata("AcDbBlockRepBTag", [(1070, 1), (1005, record.dxf.handle)])
    reference = document.modelspace().add_blockref(name, (3000, 3000))
    represents = reference.new_extension_dict().add_dictionary("AcDbBlockRepresentation")
    data = added(document, f"0\nACDB_BLOCKREPRESENTATION_DATA\n5\nHANDLE\n330\n{represents.dxf.handle}\n"
                 f"100\nAcDbBlockRepresentationData\n70\n1\n340\n{record.dxf.handle}\n")
    represents.add("AcDbRepData", data)
    cache = represents.add_new_dict("AppDataCache").add_new_dict("ACAD_ENHANCEDBLOCKDATA")
    for node, values in settings.items():
        document_record = cache.add_xrecord(str(node))
        document_record.reset([(1071, 18597260), (1071, 25303744), (70, 25), (70, 104), *values])
    return reference


SET: dict[int, list[tuple[int, Any]]] = {
    1: [(10, (0.0, 5.0, 0.0)), (10, (900.0, 5.0, 0.0)), (10, (0.0, 0.0, -1.0))], 4: [(1, "Shut")], 6: [(40, 2100.0)],
    9: [(40, 1.0)],
}  # fmt: skip


@pytest.mark.parametrize("fmt", ["asc", "bin"])
def test_settings_are_attributes_of_the_symbol(make: Make, fmt: str) -> None:
    def draw(document: Any) -> None:
        placed(document, dynamic_door(document), "*U7", SET).add_attrib("MARK", "D01", (3000, 3000))

    drawing = read_drawing(make(draw, fmt=fmt))
    (door,) = drawing.symbols
    assert door.name == "Door single"
    assert door.attributes == (("MARK", "D01"), ("Width", "900"), ("State", "Shut"), ("Height", "2100"))
    metres = in_metres(drawing, 0.001)
    (mark,) = find_marks(metres, layer_roles(metres))
    assert (mark.kind, mark.width, mark.height, mark.tag) == ("door", 0.9, 2.1, "D01")


def test_a_dynamic_block_that_is_anonymous_itself(make: Make) -> None:
    def draw(document: Any) -> None:
        record = dynamic_door(document, "*U3", AcDbDynamicBlockTrueName="Window double")
        placed(document, record, "*U9", {})
        document.blocks.get("*U3").add_line((0, 0), (5, 5))
        document.modelspace().add_blockref("*U3", (0, 0))

    assert {symbol.name for symbol in read_drawing(make(draw)).symbols} == {"Window double"}


def test_a_copy_whose_dynamic_block_is_lost(make: Make) -> None:
    def draw(document: Any) -> None:
        placed(document, dynamic_door(document), "*U7", SET)
        document.blocks.get("*U7").block_record.set_xdata("AcDbBlockRepBTag", [(1070, 1), (1005, "FFFF")])
        for item in list(document.objects):
            if item.dxftype() == "ACDB_BLOCKREPRESENTATION_DATA":
                document.objects.delete_entity(item)

    (door,) = read_drawing(make(draw)).symbols
    assert (door.name, door.attributes) == ("*U7", ())


@pytest.mark.skipif(not CORPUS.is_dir(), reason="the shared drawings are not beside the project")
def test_settings_of_a_real_drawing() -> None:
    """Two copies of one dynamic block, whose lengths lie as pairs of points: 320 x 315 and 505 x 410 (read off)."""
    path = CORPUS / "drawn" / "cn-survey-bare-1.dxf"
    drawing = read_drawing(path)
    found = [tuple(value for _, value in s.attributes) for s in drawing.symbols if len(s.attributes) == 2]
    assert found == [("320", "315"), ("505", "410")]
    names = {tag.value for block in ezdxf.readfile(path).blocks
             if block.block_record.has_xdata("AcDbDynamicBlockTrueName")
             for tag in block.block_record.get_xdata("AcDbDynamicBlockTrueName") if tag.code == 1000}
    assert {s.name for s in drawing.symbols if len(s.attributes) == 2} == names


@pytest.mark.parametrize(("value", "metres"), [("2'-8\"", 0.8128), ("910 mm", 0.91), ("36", 0.9144), ("n/a", None)])
def test_sizes_in_attributes(make: Make, value: str, metres: float | None) -> None:
    def draw(document: Any) -> None:
        document.blocks.new("Door").add_line((0, 0), (32, 0))
        document.modelspace().add_blockref("Door", (0, 0)).add_attrib("Door width", value, (0, 0))

    drawing = in_metres(read_drawing(make(draw)), 0.0254)
    (mark,) = find_marks(drawing, layer_roles(drawing))
    assert mark.width == (pytest.approx(metres) if metres else None)
