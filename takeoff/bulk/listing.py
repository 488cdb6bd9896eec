"""Which drawings a run is over: those in folders, those named, those in list files; each with its job file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from takeoff.bulk.model import Entry
from takeoff.errors import DrawingError

__all__ = ["entries", "named_beside"]

DRAWINGS = (".dxf",)
LISTS = (".txt", ".lst")
_NOT_IN_NAMES = re.compile(r"[^\w.,()+-]+")
"""What a folder or a link in a workbook may not be sure to bear."""


def entries(paths: Sequence[Path], job: Path | None = None, leave_out: Path | None = None) -> tuple[Entry, ...]:
    """The drawings of `paths` in the order of their names, each once: a folder is searched to its depths, a list file
    (.txt) names drawings or folders line by line, from its own folder on; `#` begins a remark.

    A drawing's job file is the .toml beside it with the same stem, or else `job`. A drawing that another one's job file
    names is part of that job. Nothing in the folder `leave_out` is taken.

    Raises `DrawingError` for a path that there is not, and when there is no drawing at all.
    """
    found: dict[Path, str] = {}
    for path in paths:
        for drawing, name in _drawings(path):
            if leave_out is None or not drawing.is_relative_to(leave_out):
                found.setdefault(drawing, name)
    if not found:
        raise DrawingError(
            f"No drawing (.dxf) was found in {', '.join(map(str, paths))}. Name a folder that holds some."
        )
    parts = {drawing.parent / name for drawing in found for name in named_beside(_own_job(drawing))}
    alone = [(drawing, name) for drawing, name in found.items() if drawing not in parts]
    return tuple(_named(sorted(alone, key=lambda pair: (pair[1], str(pair[0]))), job))


def named_beside(job: Path | None) -> tuple[str, ...]:
    """Drawings beside the first that a job file names; none where it cannot be read, which is told when it is used."""
    try:
        table = tomllib.loads(job.read_text(encoding="utf-8")).get("drawing", {}) if job else {}
        names = table.get("more", [])
    except (OSError, ValueError, AttributeError):
        return ()
    return tuple(name for name in names if isinstance(name, str)) if isinstance(names, list) else ()


def _own_job(drawing: Path) -> Path | None:
    beside = drawing.with_suffix(".toml")
    return beside if beside.is_file() else None


def _drawings(path: Path) -> Iterator[tuple[Path, str]]:
    """Each drawing of `path`, with its name as seen from there."""
    if path.is_dir():
        for drawing in sorted(path.rglob("*")):
            if drawing.suffix.lower() in DRAWINGS and drawing.is_file():
                yield drawing, drawing.relative_to(path).with_suffix("").as_posix()
    elif path.suffix.lower() in LISTS:
        for line in _lines(path):
            inner = path.parent / line
            if inner.suffix.lower() in LISTS:
                raise DrawingError(f"{path} names another list, {line}: a list names drawings and folders.")
            yield from _drawings(inner)
    else:  # a drawing that is not there is one result of the run, as a broken one is
        yield path, path.stem


def _lines(path: Path) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise DrawingError(f"Cannot read the list {path}: {fault}. It is a text file, a drawing a line.") from fault
    lines = (line.partition("#")[0].strip() for line in text.splitlines())
    return [line for line in lines if line]


def _named(found: Iterable[tuple[Path, str]], job: Path | None) -> Iterator[Entry]:
    """Entries whose names any disk and any link can bear, each different from the others."""
    taken: set[str] = set()
    for drawing, name in found:
        plain = "/".join(_NOT_IN_NAMES.sub("-", part).strip(".-") or "drawing" for part in name.split("/"))
        unique, number = plain, 1
        while unique.lower() in taken:
            number += 1
            unique = f"{plain}-{number}"
        taken.add(unique.lower())
        yield Entry(unique, drawing, _own_job(drawing) or job)
