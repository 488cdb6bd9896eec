"""Open a DXF file: as it is when it is sound, mended or recovered when it is not, and say so."""

from __future__ import annotations

import codecs
import hashlib
import logging
import re
from collections import Counter
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

from takeoff.drawing.count import PARTS, count_loaded, count_raw
from takeoff.drawing.mend import Cut, as_text, cut_short
from takeoff.drawing.pairs import essentials, in_step, only, without
from takeoff.drawing.sniff import check_dxf, is_binary
from takeoff.errors import BoundsError, DrawingError
from takeoff.query import Query, query

__all__ = ["Loaded", "load_dxf"]

logging.getLogger("ezdxf").addHandler(logging.NullHandler())
"""What ezdxf remarks about a file is for whoever asks for it; else it stands among the program's own words."""

_STUMBLES = 12
"""Damaged entities taken out one by one before the file is given up."""
_BEFORE_BARE = 2
"""So many are taken out before everything that draws nothing is thrown away."""
_HANDLE = re.compile(r"\(#([0-9A-Fa-f]+)\)")
"""How ezdxf names the entity it stumbled over."""
_PLAIN = frozenset({
    "LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "HATCH", "SOLID", "TEXT", "MTEXT", "ATTDEF",
    "INSERT", "DIMENSION",
})  # fmt: skip
"""Kinds of entity that are kept when nothing else helps: those that plans are drawn with."""
_BEFORE_DRAWN = ("HEADER", "CLASSES", "TABLES", "BLOCKS")
"""Sections that come before the drawn entities (DXF reference)."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """A document, and what had to be said about opening it."""

    document: Any
    """Of ezdxf; it has a model space."""
    sha256: str
    format: str
    queries: tuple[Query, ...] = ()


def load_dxf(path: Path, most: int | None = None) -> Loaded:
    """The DXF document at `path`.

    Damage is mended as far as possible and becomes a query that says what was lost: entities counted in the file
    against entities loaded. Raises `DrawingError` when nothing can be read, `BoundsError`
    when it holds more than `most` entities: it is not looked into then.
    """
    try:
        data = path.read_bytes()
    except OSError as fault:
        raise DrawingError(f"Cannot read {path}: {fault.strerror or fault}. Check its name and folder.") from fault
    check_dxf(path.name, data)
    sha256, data = hashlib.sha256(data).hexdigest(), _plain_lines(data)
    held = count_raw(data)
    _check_size(path.name, held.total(), most)
    wanted = Counter({name: count for name, count in held.items() if name not in PARTS})
    document, says = _opened(path, data, wanted)
    says += _lost(wanted, document)
    kind = "binary" if is_binary(data) else "text"
    version = f"DXF {document.loaded_dxfversion or document.dxfversion}"
    queries = (query("file-damaged", _sentence(path.name, says)),) if says else ()
    return Loaded(document, sha256, f"{version} ({document.acad_release}), {kind}", queries)


def _check_size(name: str, held: int, most: int | None) -> None:
    if most is not None and held > most:
        raise BoundsError(
            f"{name} holds {held:,} entities, more than the {most:,} allowed: allow more with --entities, or purge it "
            "and take out what is not the plan."
        )


def _plain_lines(data: bytes) -> bytes:
    """`data` without a byte order mark, and with line feeds where its lines end on carriage returns alone."""
    if is_binary(data):
        return data
    data = data.removeprefix(codecs.BOM_UTF8)
    return data if b"\n" in data else data.replace(b"\r", b"\n")


def _sentence(name: str, says: list[str]) -> str:
    return (
        f"{name} is damaged: {'; '.join(says)}. Ask for the file again, or check the marked plan against the drawing."
    )


def _opened(path: Path, data: bytes, wanted: Counter[str]) -> tuple[Any, list[str]]:
    """The document, and what was wrong with the file."""
    cut = None if is_binary(data) else cut_short(data)
    if cut is not None:
        return _recovered(path.name, _drawn(path.name, cut)), [_cut_says(cut)]
    try:
        return _as_it_is(path, data, wanted), []
    except MemoryError:  # what needs less memory would not be the whole file
        raise
    except Exception as fault:  # ezdxf lets bare ValueError, IndexError and others out on damaged files
        return _mended(path.name, data, fault)


def _as_it_is(path: Path, data: bytes, wanted: Counter[str]) -> Any:
    """The document in `path`, whose content is `data` with so many entities; raises what ezdxf raises."""
    from ezdxf.filemanagement import readfile

    whole = None if is_binary(data) else _from_tags(data, wanted)
    return readfile(path) if whole is None else whole


def _from_tags(data: bytes, wanted: Counter[str]) -> Any | None:
    """The document in text `data`, None where it does not come out whole with so many entities."""
    from takeoff.drawing.tags import text_document

    try:
        document = text_document(data)
        return None if wanted - count_loaded(document) else document
    except MemoryError:
        raise
    except Exception:  # whatever it is, ezdxf meets it again and says so better
        return None


def _mended(name: str, data: bytes, fault: Exception) -> tuple[Any, list[str]]:
    """A document from data that does not load as it is."""
    says = [_plain(fault)]
    if is_binary(data):
        data = as_text(data)
        cut = cut_short(data)
        if cut is not None:
            says, data = [_cut_says(cut)], _drawn(name, cut)
    data, lines = in_step(data)
    if lines:
        says = [f"{lines} line{'s' if lines > 1 else ''} out of step, put right as far as they could be"]
    return _recovered(name, data), says


def _drawn(name: str, cut: Cut) -> bytes:
    """The mended file. Raises `DrawingError` when it ends before anything is drawn."""
    if cut.section in _BEFORE_DRAWN:
        raise DrawingError(
            f"{name} is cut short before anything is drawn (in its section {cut.section}): "
            "copy, download or export it again."
        )
    return cut.mended


def _cut_says(cut: Cut) -> str:
    return f"the file is cut short in its section {cut.section} and what follows is lost"


def _recovered(name: str, data: bytes) -> Any:
    """What recovery makes of `data`, without what it stumbles over. Raises `DrawingError` when that is nothing."""
    from ezdxf import recover

    bare, plain = False, False
    for attempt in range(_STUMBLES):
        try:
            document = recover.read(BytesIO(data))[0]
            document.modelspace()
            return document
        except Exception as fault:  # see `_opened`
            last = fault
        culprit = _HANDLE.search(str(last))
        if culprit and (bare or attempt < _BEFORE_BARE):
            rest = without(data, culprit[1].encode())
        elif not bare:
            bare, rest = True, essentials(in_step(data)[0])
        elif not plain:
            plain, rest = True, only(data, _PLAIN)
        else:
            break
        if rest == data and plain:
            break
        data = rest
    raise DrawingError(
        f"{name} is too damaged to be read ({_plain(last)}). Ask for the file again, or save it anew as DXF "
        "from the program that made it."
    ) from last


def _plain(fault: Exception) -> str:
    text = " ".join(str(fault).split()).rstrip(".")
    return text[:1].lower() + text[1:] if text else type(fault).__name__


def _lost(wanted: Counter[str], document: Any) -> list[str]:
    """What the raw file holds and the document does not."""
    missing = wanted - count_loaded(document)
    if not missing:
        return []
    kinds = ", ".join(f"{count} {kind}" for kind, count in sorted(missing.items()))
    return [f"{missing.total()} of {wanted.total()} entities could not be read ({kinds})"]
