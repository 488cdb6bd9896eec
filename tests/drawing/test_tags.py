"""Tags made in one pass against ezdxf's own, and documents loaded from them against ezdxf's."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.filemanagement import dxf_file_info
from ezdxf.lldxf.tagger import ascii_tags_loader, tag_compiler
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.drawing.tags import PASSED_OVER, compiled_tags, text_document
from tests.drawing.conftest import corpus

Make = Callable[..., Path]
FILES = corpus("drawn/*.dxf") + corpus("bim/*.dxf")


def plain(tags: Any) -> list[Any]:
    """What a tag is worth to a reader: its code, its value, its text in a file."""
    return [(tag.code, repr(tag.value), tag.dxfstr()) for tag in tags]


def drawn(tags: Iterator[Any]) -> Iterator[Any]:
    """`tags` less the objects that hold nothing drawn."""
    over = False
    for tag in tags:
        over = tag.value in PASSED_OVER if tag.code == 0 else over
        if not over:
            yield tag


def both(text: str) -> tuple[Any, Any]:
    """The tags by ezdxf and by us; None for a side that raises."""
    theirs = drawn(tag_compiler(ascii_tags_loader(io.StringIO(text))))
    sides = []
    for tags in (theirs, compiled_tags(io.StringIO(text))):
        try:
            sides.append(plain(tags))
        except Exception:  # either may raise anything on nonsense
            sides.append(None)
    return sides[0], sides[1]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_real_drawings(path: Path) -> None:
    text = path.read_bytes().decode(dxf_file_info(str(path)).encoding, "surrogateescape")
    theirs, ours = both(text.replace("\r\n", "\n"))
    assert theirs and ours == theirs


if not FILES:

    @pytest.mark.skip(reason="the shared corpus is not beside the project")
    def test_real_drawings_missing() -> None: ...


codes = st.sampled_from(["0", "  2", "5", " 10", " 20", " 30", "11", "21", "31", "40", "70", "90", "210", "220", "310",
                         "999", "1000", "1010", "1020", "1071", "x", ""])  # fmt: skip
values = st.sampled_from(["EOF", "XRECORD", " LINE ", "12", " 1.5 ", "2.0", "1e3", "0A1F", "text ", "", "nan", "{ACAD"])


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(codes, values), max_size=12), st.booleans())
def test_any_pairs_of_lines(pairs: list[tuple[str, str]], broken_off: bool) -> None:
    """The same tags, or we raise. Half a pair at the end is dropped unseen, but then there is no end of file: that
    is refused when the tags are loaded."""
    lines = [line for pair in pairs for line in pair]
    theirs, ours = both("\n".join(lines[:-1] if broken_off else lines))
    assert ours is None or ours == theirs or (theirs is None and (0, "'EOF'") not in [tag[:2] for tag in ours])


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2018"])
def test_documents_are_the_same(make: Make, version: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Tables, blocks and entities written again, to the last byte; one has a thumbnail, which is never drawn. Plain
    entities behind others have tests of their own."""
    monkeypatch.setattr(ezdxf.options, "write_fixed_meta_data_for_testing", True)

    def draw(document: Any) -> None:
        space = document.modelspace()
        space.add_lwpolyline([(0, 0), (4, 0, 0.5), (4, 3)], close=True) if version != "R12" else None
        block = document.blocks.new("TÜR")
        block.add_arc((0, 0), 1, 0, 90)
        space.add_blockref("TÜR", (5, 5)).add_attrib("NR", "§7")
        space.add_circle((1, 2, 3), 4)

    path = make(draw, version)
    thumbnail = b"  0\nSECTION\n  2\nTHUMBNAILIMAGE\n 90\n2\n310\n0A0B\n  0\nENDSEC\n  0\nEOF\n"
    data = path.read_bytes().removesuffix(b"  0\nEOF\n") + thumbnail
    written = []
    for document in (ezdxf.readfile(path), text_document(data)):
        out = io.StringIO()
        document.write(out)
        written.append(out.getvalue().partition("\nTABLES\n")[2].partition("\nOBJECTS\n")[0])
    assert written[0] == written[1] and "TÜR" in written[0]
