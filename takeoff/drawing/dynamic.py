"""Dynamic blocks: the name their author gave them, and what each reference was set to.

Terms:
  dynamic block   a block with parameters (a width, a visibility state ...) that each reference may set.
  copy            the anonymous block that a changed reference really shows.
  parameter       an object of the dynamic block's evaluation graph; references keep their values by its node number.
  setting         label of a parameter and the value that one reference gives it.

The DXF reference does not describe the settings; how they lie was read off real drawings: the reference's extension
dictionary leads over AcDbBlockRepresentation, AppDataCache and ACAD_ENHANCEDBLOCKDATA to an XRECORD for each node.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from takeoff.drawing.words import sound

__all__ = ["CACHE", "Settings", "true_name"]

CACHE = "ACAD_ENHANCEDBLOCKDATA"
"""Dictionary of a reference's settings; a file without the word has none."""
_COPY_OF = "AcDbBlockRepBTag"
"""Extended data of a copy's block record: the dynamic block's handle."""
_TRUE_NAME = "AcDbDynamicBlockTrueName"
"""Extended data of a dynamic block that is anonymous itself: the name its author gave it."""
_LABEL = {
    "BLOCKLINEARPARAMETER": 305, "BLOCKROTATIONPARAMETER": 305, "BLOCKVISIBILITYPARAMETER": 301,
    "BLOCKLOOKUPPARAMETER": 303,
}  # fmt: skip
"""Group code of each parameter's label, in its last subclass."""
_NODE, _HANDLE, _STRING, _REAL, _POINT = 90, 1005, 1, 40, 10
Values = Sequence[tuple[int, Any]]


def true_name(document: Any, name: str, encoding: str) -> str:
    """Name of block `name` as its author knows it: a copy has that of its dynamic block."""
    layout = document.blocks.get(name)
    record = layout.block_record if layout is not None and name.startswith("*") else None
    if record is None:
        return sound(name, encoding)
    original = document.entitydb.get(_first(record, _COPY_OF, _HANDLE)) or record
    called = _first(original, _TRUE_NAME, 1000) or str(original.dxf.get("name", name))
    return sound(called, encoding)


def _first(record: Any, application: str, code: int) -> str:
    """First value with group `code` in the extended data of `record` by `application`, '' where there is none."""
    if not record.has_xdata(application):
        return ""
    return next((str(tag.value) for tag in record.get_xdata(application) if tag.code == code), "")


@dataclass
class Settings:
    """The settings of the references in one document; its objects are looked through once."""

    document: Any

    def of(self, insert: Any, encoding: str) -> Iterator[tuple[str, str]]:
        """Label and value of what a block reference was set to; lengths in the block's units."""
        represents = _inside(insert.get_extension_dict().dictionary, "AcDbBlockRepresentation")
        cache = _inside(_inside(represents, "AppDataCache"), CACHE)
        if cache is None:
            return
        original = _original(self.document, insert, represents)
        labels = self.labels.get(_graph(original), {}) if original is not None else {}
        for node, record in cache.items():
            if str(node) in labels and (value := _value(_values(self.document, record))):
                yield sound(labels[str(node)], encoding), sound(value, encoding)

    @cached_property
    def labels(self) -> dict[str, dict[str, str]]:
        """By the handle of an evaluation graph, the label of each parameter by its node number."""
        found: dict[str, dict[str, str]] = defaultdict(dict)
        for parameter in self.document.objects:
            code = _LABEL.get(parameter.dxftype())
            if code is None:
                continue
            tags = [tag for part in parameter.xtags.subclasses for tag in part]
            node = next((tag.value for tag in tags if tag.code == _NODE), None)
            label = next((tag.value for tag in parameter.xtags.subclasses[-1] if tag.code == code), "")
            if node is not None and label:
                found[str(parameter.dxf.owner)][str(node)] = str(label)
        return found


def _inside(dictionary: Any, key: str) -> Any:
    """The dictionary called `key` in another, None where there is none."""
    found = dictionary.get(key) if dictionary is not None else None
    return found if hasattr(found, "items") else None


def _original(document: Any, insert: Any, represents: Any) -> Any:
    """Block record of the dynamic block that `insert` shows a copy of, None where the file does not tell."""
    data = represents.get("AcDbRepData")
    tags = data.xtags.subclasses[-1] if hasattr(data, "xtags") else ()
    handle = next((tag.value for tag in tags if tag.code == 340), "")
    layout = document.blocks.get(insert.dxf.get("name", ""))
    if not handle and layout is not None:
        handle = _first(layout.block_record, _COPY_OF, _HANDLE)
    record = document.entitydb.get(handle)
    return record if record is not None and record.dxftype() == "BLOCK_RECORD" else None


def _graph(record: Any) -> str:
    """Handle of the evaluation graph of the dynamic block `record`, '' where it has none."""
    graph = record.get_extension_dict().dictionary.get("ACAD_ENHANCEDBLOCK") if record.has_extension_dict else ""
    return graph if isinstance(graph, str) else str(graph.dxf.handle) if graph is not None else ""


def _values(document: Any, record: Any) -> Values:
    """Group codes and values of an XRECORD, by its handle where it was passed over in reading."""
    if not isinstance(record, str):
        return [(tag.code, tag.value) for tag in record.tags]
    found: list[tuple[int, Any]] = []
    pairs = iter(getattr(document, "records", {}).get(record, ()))
    for line, text in pairs:
        code = int(line)
        if code == _POINT:
            y = next(pairs, (line, "0"))[1]
            found.append((code, (float(text), float(y), 0.0)))
        elif code == _REAL:
            found.append((code, float(text)))
        elif code == _STRING:
            found.append((code, text.strip("\r\n")))
    return found


def _value(values: Values) -> str:
    """A setting as text: words as they are, else the length between two points, else the number."""
    words = [str(value) for code, value in values if code == _STRING]
    points = [value for code, value in values if code == _POINT]
    numbers = [value for code, value in values if code == _REAL]
    if words:
        return words[0]
    if len(points) > 1:
        return f"{math.dist(tuple(points[0])[:2], tuple(points[1])[:2]):.10g}"
    return f"{numbers[0]:.10g}" if numbers else ""
