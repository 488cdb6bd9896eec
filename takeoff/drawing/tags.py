"""The pairs of lines of a text DXF as ezdxf's tags, in one pass.

ezdxf makes each tag twice, once as text and once with its value, and asks a method for each code and value. That is
half of the time it takes to load a drawing. Here a tag is made once and its code and value are plain attributes; the
tags, and what is drawn in the document they load into, are the same. What only serves looking at the file, editing or
printing it (thumbnail, draw order, styles of shading, paper layouts) is passed over: nothing drawn depends on it; the
lines of extra records are kept as they stand where a dynamic block's settings may be in them. Whatever is not plain is
left to ezdxf: it raises here, and the caller lets ezdxf read the file by itself, which knows best what to say about it.
"""

from __future__ import annotations

import io
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, takewhile
from typing import Any, TextIO

from ezdxf.document import Drawing as Document
from ezdxf.filemanagement import dxf_stream_info
from ezdxf.lldxf.types import BINARY_DATA, POINT_CODES, TYPE_TABLE, DXFBinaryTag, DXFTag, DXFVertex
from ezdxf.lldxf.validator import is_dxf_stream
from ezdxf.version import version

from takeoff.drawing.dynamic import CACHE
from takeoff.drawing.paper import without_paper
from takeoff.drawing.plain import FORMS, Followers, Runs

__all__ = ["PASSED_OVER", "compiled_tags", "text_document"]

PASSED_OVER = frozenset({
    "ACAD_EVALUATION_GRAPH", "CELLSTYLEMAP", "CLASS", "DIMASSOC", "IDBUFFER", "SCALE", "SORTENTSTABLE", "VISUALSTYLE",
    "XRECORD",
})  # fmt: skip
"""Objects and classes (DXF reference, OBJECTS and CLASSES sections) that hold nothing drawn; they can be half of a
file."""
_THUMBNAIL = re.compile(rb"SECTION[ \t]*\r?\n[ \t]*2[ \t]*\r?\n[ \t]*THUMBNAILIMAGE\s")
_ENDSEC = re.compile(rb"ENDSEC[ \t]*\r?\n[ \t]*0[ \t]*\r?\n")
"""The end of a section and the group code 0 of what follows."""
_COMMENT = 999
_HANDLE = 5
_RELEASE = (1, 4)
"""Releases of ezdxf that what is read beside it was compared with; any other reads the whole file by itself."""
_Pair = tuple[str, str]
_END: _Pair = ("", "")
"""Stands for the pair of lines after the last one."""
_NEXT: _Pair = ("0\n", "\n")
"""Stands for the beginning of the next entity."""

_SLOTS = vars(DXFTag)
"""Where ezdxf keeps a tag's code and value."""


class _Tag(DXFTag):
    """A tag whose parts are read from its slots, without a call."""

    __slots__ = ()
    code = _SLOTS["_code"]
    value = _SLOTS["_value"]

    def __init__(self, code: int, value: Any) -> None:
        self._code = code
        self._value = value


class _Vertex(DXFVertex):
    """A point as `_Tag` holds it."""

    __slots__ = ()
    code = _SLOTS["_code"]
    value = _SLOTS["_value"]
    __init__ = _Tag.__init__


class _Kinds(dict[str, tuple[int, Any]]):
    """Line with a group code -> the code and what its value becomes: `float`, `int`, `str`, `_Vertex` or bytes.

    A file has few different ones, so that each is looked up once.
    """

    def __missing__(self, line: str) -> tuple[int, Any]:
        code = int(line)
        kind = TYPE_TABLE.get(code, str)
        if code in POINT_CODES:
            kind = _Vertex
        elif code in BINARY_DATA:
            kind = bytes
        self[line] = code, kind
        return code, kind


class _TextDocument(Document):
    """A document beside which its plain entities stand, see `takeoff.drawing.plain`."""

    followers: Followers
    on_paper: Counter[str]
    """Entities of paper layouts that were passed over."""
    records: Mapping[str, Sequence[_Pair]]
    """Lines of the XRECORDs by their handles, where a dynamic block's settings may be among them."""


def text_document(data: bytes) -> Any:
    """ezdxf's document of the text DXF `data`. Raises an exception of any class for what is not as it should be."""
    if version[: len(_RELEASE)] != _RELEASE:
        raise ValueError("a release of ezdxf that nothing here was compared with")
    if not is_dxf_stream(_lines(data, "utf-8", "ignore")):
        raise ValueError("no DXF")
    encoding = dxf_stream_info(_lines(data, "utf-8", "ignore")).encoding
    runs = Runs()
    records: dict[str, Sequence[_Pair]] | None = {} if CACHE.encode() in data else None
    data, passed = without_paper(_without_thumbnail(data))
    tags = compiled_tags(_lines(data, encoding, "surrogateescape"), runs, records)
    document: Any = _TextDocument.from_tags(tags)
    leaders = map(document.entitydb.get, runs.followers)
    if not all(leader is not None and leader.DXFTYPE in FORMS for leader in leaders):
        raise ValueError("an entity is lost with those behind it")
    document.followers = runs.followers
    document.on_paper = passed
    document.records = records or {}
    return document


def _without_thumbnail(data: bytes) -> bytes:
    """`data` without the section that holds its picture."""
    start = _THUMBNAIL.search(data)
    end = _ENDSEC.search(data, start.end()) if start else None
    return data[: start.start()] + data[end.end() :] if start and end else data


def _lines(data: bytes, encoding: str, errors: str) -> TextIO:
    return io.TextIOWrapper(io.BytesIO(data), encoding, errors)


def compiled_tags(
    lines: TextIO, runs: Runs | None = None, records: dict[str, Sequence[_Pair]] | None = None
) -> Iterator[DXFTag]:
    """The tags of `lines`, as ``tag_compiler(ascii_tags_loader(lines))`` of ezdxf gives them, less what is
    `PASSED_OVER` and what `runs` takes. `records` is filled with the lines of XRECORDs by their handles.

    Raises `ValueError` for values that are none and for points that are not whole.
    """
    return _compiled(zip(lines, lines, strict=False), _Kinds(), runs, records)


def _compiled(
    pairs: Iterator[_Pair], kinds: _Kinds, runs: Runs | None, records: dict[str, Sequence[_Pair]] | None = None
) -> Iterator[DXFTag]:
    pair = next(pairs, _END)
    while pair is not _END:
        line, text = pair
        code, kind = kinds[line]
        if kind is str:
            text = text.rstrip("\n")
            if code == 0:
                name = text.strip()
                if name in PASSED_OVER:
                    body, pair = _body(pairs, kinds)
                    if records is not None and name == "XRECORD":
                        records[_handle(body)] = body
                    continue
                if runs is not None:
                    if name in FORMS:
                        body, pair = _body(pairs, kinds)
                        if not runs.takes(name, body):
                            yield _Tag(0, name)
                            tags = _compiled(chain(body, [_NEXT]), kinds, None)
                            yield from takewhile(lambda tag: tag.code != 0, tags)
                        continue
                    runs.interrupted()
                yield _Tag(0, name)
                if text == "EOF":
                    return
            elif code != _COMMENT:
                yield _Tag(code, text)
        elif kind is _Vertex:
            point, pair = _point(code, text, pairs, kinds)
            yield point
            continue
        elif kind is bytes:
            yield DXFBinaryTag.from_string(code, text.rstrip("\n"))
        else:
            yield _Tag(code, _number(kind, text))
        pair = next(pairs, _END)


def _handle(body: Sequence[_Pair]) -> str:
    return next((text.strip() for line, text in body if int(line) == _HANDLE), "")


def _body(pairs: Iterator[_Pair], kinds: _Kinds) -> tuple[list[_Pair], _Pair]:
    """The pairs of lines up to the next entity, without comments, and the pair that begins it."""
    body: list[_Pair] = []
    for pair in pairs:
        code = kinds[pair[0]][0]
        if code == 0:
            return body, pair
        if code != _COMMENT:
            body.append(pair)
    return body, _END


def _point(code: int, x: str, pairs: Iterator[_Pair], kinds: _Kinds) -> tuple[_Vertex, _Pair]:
    """The point whose first coordinate is `x`, and the pair of lines after it."""
    line, y = next(pairs, _END)
    after = next(pairs, _END)
    third = kinds[after[0]][0]
    if kinds[line][0] != code + 10 or third == _COMMENT:
        raise ValueError("coordinates out of order")
    if third == code + 20:
        return _Vertex(code, (float(x), float(y), float(after[1]))), next(pairs, _END)
    return _Vertex(code, (float(x), float(y))), after


def _number(kind: type[int] | type[float], text: str) -> float:
    """`text` as a number; some programs write whole numbers as reals."""
    try:
        return kind(text)
    except ValueError:
        if kind is float:
            raise
        return int(float(text))
