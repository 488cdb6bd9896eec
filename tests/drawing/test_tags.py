"""Tags made in one pass against ezdxf's own, and documents loaded from them against ezdxf's."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from conftest import corpus
from ezdxf.filemanagement import dxf_file_info
from ezdxf.lldxf.tagger import ascii_tags_loader, tag_compiler
from hypothesis import given, settings
from hypothesis import strategies as st

from takeoff.drawing.tags import compiled_tags, text_document

Make = Callable[..., Path]
FILES = corpus("drawn/*.dxf") + corpus("bim/*.dxf")


def plain(tags: Any) -> list[Any]:
    """What a tag is worth to a reader: its code, its value, its text in a file."""
    return [(tag.code, repr(tag.value), tag.dxfstr()) for tag in tags]


def both(text: str) -> tuple[Any, Any]:
    """The tags by ezdxf and by us; None for a side that raises."""
    sides = []
    for tags in (lambda: tag_compiler(ascii_tags_loader(io.StringIO(text))), lambda: compiled_tags(io.StringIO(text))):
        try:
            sides.append(plain(tags()))
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
values = st.sampled_from(["EOF", " LINE ", "12", " 1.5 ", "2.0", "1e3", "0A1F", "text ", "", "nan", "{ACAD"])


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
    """Written again, to the last byte; the time of writing is the same by an option made for tests."""
    monkeypatch.setattr(ezdxf.options, "write_fixed_meta_data_for_testing", True)

    def draw(document: Any) -> None:
        space = document.modelspace()
        space.add_lwpolyline([(0, 0), (4, 0, 0.5), (4, 3)], close=True) if version != "R12" else None
        space.add_circle((1, 2, 3), 4)
        block = document.blocks.new("TÜR")
        block.add_line((0, 0), (1, 1))
        space.add_blockref("TÜR", (5, 5)).add_attrib("NR", "§7")

    path = make(draw, version)
    written = []
    for document in (ezdxf.readfile(path), text_document(path.read_bytes())):
        out = io.StringIO()
        document.write(out)
        written.append(out.getvalue())
    assert written[0] == written[1] and "TÜR" in written[0]
