"""The starter job file: what was found, ready to be changed, with every query where it is answered.

What the drawing gave stands in remarks, so that the file read back unchanged leaves the takeoff as it is; what a
job file already decided stands as it was decided. To answer, take away the ``#`` before a line and change its value.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from takeoff.documents.safe_text import clean
from takeoff.documents.toml_text import one_line, remark, toml_key, toml_value
from takeoff.errors import OutputError
from takeoff.files import write_whole
from takeoff.job import Job
from takeoff.plan.model import Opening
from takeoff.query import Query
from takeoff.record import Takeoff

__all__ = ["starter_text", "write_starter"]

Place = tuple[str, ...]
"""Where a table stands: ('rooms', 'R1')."""
Offered = dict[str, tuple[Any, str]]
"""By key: the value found, and a remark."""
READY = ("job", "drawing", "heights", "measure", "rooms", "openings", "materials")
"""Tables whose headings may stand without a key in them."""
BESIDE = 34
"""Column in which remarks begin."""


def write_starter(takeoff: Takeoff, drawing: Path, target: Path) -> Path:
    """Write the starter job file of `takeoff`, made from `drawing`, to `target`. Returns `target`.

    Raises `OutputError` when `target` exists: nobody's decisions are written over.
    """
    if target.exists():
        raise OutputError(f"{target} exists already and stays as it is. Choose another name, or move it away first.")
    try:
        file = os.path.relpath(drawing, target.parent)
    except ValueError:  # on another drive, where there is no way from one to the other
        file = str(drawing)
    write_whole(target, starter_text(takeoff, Path(file).as_posix()))
    return target


@dataclass
class _Section:
    """One table of the file: what is decided, and what is offered in remarks."""

    decided: dict[str, Any] = field(default_factory=dict)
    offered: Offered = field(default_factory=dict)
    asked: list[Query] = field(default_factory=list)
    about: str = ""


def starter_text(takeoff: Takeoff, drawing_file: str) -> str:
    """The text of the starter job file; `drawing_file` is the drawing's path from the folder of the job file."""
    sections = _found(takeoff)
    sections["drawing",].decided["file"] = drawing_file
    loose = _attach(takeoff.queries, sections)
    _decide(takeoff.job, sections)
    parts = [_opening_remarks(takeoff), *(_section(path, section) for path, section in sections.items())]
    parts += list(_rows(takeoff.job))
    parts += [_loose(query) for query in loose]
    if takeoff.queries:
        parts.append(_accepting(takeoff.queries[0]))
    return "\n\n".join(parts) + "\n"


def _found(takeoff: Takeoff) -> dict[Place, _Section]:
    """The tables of the file in order, with what the takeoff found."""
    job = takeoff.job
    names = ("name", "reference", "site", "prepared_for", "prepared_by", "date")
    words: Offered = {key: (getattr(job.job, key), "") for key in names}
    words["existing"] = (False, "true: the rooms stand already, preparation is allowed for")
    words["built_before_2000"] = (False, "false only when you know it: else the asbestos caution stands")
    evidence = "told by " + ", ".join(e.witness for e in takeoff.plan.unit_evidence if e.unit == takeoff.plan.unit)
    default = next((r.height_m for r in takeoff.measured.rooms if r.height_from == "default"), job.heights.default)
    usual = {
        key: (getattr(job.heights, key), "where nothing gives one") for key in ("door", "window", "sill", "opening")
    }
    unit: Offered = {} if takeoff.job.drawing.known_length else {"unit": (takeoff.plan.unit, evidence)}
    sections: dict[Place, _Section] = {
        ("job",): _Section(offered=words),
        ("drawing",): _Section(offered=unit),
        ("heights",): _Section(offered={"default": (default, "ceilings where nothing gives a height"), **usual}),
        ("measure",): _Section(offered={"rule": (takeoff.measured.rule, "rule of measurement")}),
    }
    sections |= _rooms(takeoff)
    sections |= {("openings", opening.ref): _opening(opening) for opening in takeoff.plan.openings}
    for line in takeoff.order.lines:
        material = line.material
        offered: Offered = {"waste": (material.waste_pct, "per cent"), "price": (None, f"for one {material.pack}")}
        sections["materials", material.slug] = _Section(offered=offered, about=material.title)
    return sections


def _rooms(takeoff: Takeoff) -> dict[Place, _Section]:
    measured = {room.room: room for room in takeoff.measured.rooms}
    sections: dict[Place, _Section] = {}
    for room in takeoff.plan.rooms:
        offered: Offered = {"name": (clean(room.name), "")}
        if room.ref in measured:
            offered["height"] = (measured[room.ref].height_m, f"from {measured[room.ref].height_from}")
        offered["measured"] = (room.ref in takeoff.covered_rooms, "false leaves the room out")
        about = f"{room.name}, {room.floor_area_m2:.2f} m2, {room.perimeter_m:.2f} m round, plan {room.plan}"
        sections["rooms", room.ref] = _Section(offered=offered, about=about)
    return sections


def _opening(opening: Opening) -> _Section:
    sizes = (
        ("width", opening.width_m, f"from {opening.size_from}"),
        ("height", opening.height_m, f"from {opening.height_from}"),
        ("sill", opening.sill_m, ""),
    )
    offered: Offered = {key: (size, source) for key, size, source in sizes if size is not None}
    between = " and ".join(opening.rooms) or "no room"
    return _Section(offered=offered, about=f"{opening.kind} {opening.tag}, {between}")


def _attach(queries: Iterable[Query], sections: dict[Place, _Section]) -> list[Query]:
    """Put each query into the tables that answer it. Returns those whose answer is no plain table."""
    loose = []
    for query in queries:
        tables = list(_answers(query.answer))
        if not tables:
            loose.append(query)
        for path, values in tables:
            section = sections.setdefault(path, _Section())
            if query not in section.asked:
                section.asked.append(query)
            for key, value in values.items():
                section.offered[key] = (value, f"answers {query.ref}")
    return loose


def _answers(fragment: str) -> Iterator[tuple[Place, dict[str, Any]]]:
    """The tables of a TOML fragment; none when it is something else, such as rows of [[split]]."""
    try:
        data = tomllib.loads(fragment)
    except tomllib.TOMLDecodeError:
        return
    tables = list(_tables(data, ()))
    if all(path for path, _ in tables):
        yield from tables


def _tables(data: Mapping[str, Any], path: Place) -> Iterator[tuple[Place, dict[str, Any]]]:
    """Each table of nested `data` that holds values of its own, with its path."""
    values = {key: value for key, value in data.items() if not isinstance(value, dict) and value is not None}
    if values:
        yield path, values
    for key, value in data.items():
        if isinstance(value, dict):
            yield from _tables(value, (*path, str(key)))


def _decide(job: Job, sections: dict[Place, _Section]) -> None:
    """Bring in what the job file of this takeoff has decided already; the rows of [[split]] and so on come later."""
    for path, values in _tables(job.model_dump(exclude_unset=True, by_alias=True, exclude={"drawing": {"file"}}), ()):
        if path:
            sections.setdefault(path, _Section()).decided.update(values)


def _opening_remarks(takeoff: Takeoff) -> str:
    lines = [
        f"Job file for {takeoff.drawing.file}.",
        "A line that begins with # is a remark. To decide something, take the # away and change the value.",
        "Read back as it stands, this file changes nothing. Every key is described in docs/job-file.md.",
        "",
    ]
    if takeoff.queries:
        lines.append(f"{len(takeoff.queries)} questions are open; each stands where it is answered:")
        lines += [f"  {query.ref} ({query.concerns}) {query.says}" for query in takeoff.queries]
    else:
        lines.append("No question is open.")
    return "\n".join(remark(line) for line in lines)


def _section(path: Place, section: _Section) -> str:
    header = f"[{toml_key(*path)}]"
    shown = bool(section.decided) or (path[0] in READY and len(path) <= 2)
    lines = [header if shown else f"# {header}"]
    if section.about:
        lines[0] = f"{lines[0]:{BESIDE - 1}} # {one_line(section.about)}"
    for query in section.asked:
        lines.append(remark(f"{query.ref} asks: {query.says}"))
        others = (line.lstrip("# ") for line in query.answer.splitlines() if line.startswith("#"))
        lines += [remark(f"  also: {line.removeprefix('or: ')}") for line in others]
    lines += [f"{toml_key(key)} = {toml_value(value)}" for key, value in section.decided.items()]
    for key, (value, why) in section.offered.items():
        if key not in section.decided:
            line = f"# {toml_key(key)} = {'' if value is None else toml_value(value)}"
            lines.append(f"{line:{BESIDE - 1}} # {one_line(why)}" if why else line)
    return "\n".join(line.rstrip() for line in lines)


def _rows(job: Job) -> Iterator[str]:
    """The rows that the job file has decided: [[split]], [[findings]] and so on."""
    for name, rows in job.model_dump(exclude_unset=True, exclude_none=True).items():
        if isinstance(rows, (list, tuple)):
            for row in rows:
                yield "\n".join(
                    [f"[[{name}]]", *(f"{toml_key(key)} = {toml_value(value)}" for key, value in row.items())]
                )


def _loose(query: Query) -> str:
    """A query whose answer is no table above: its words, then the answer to be edited, in remarks."""
    answer = query.answer.splitlines() or [f"see docs/queries.md, {query.kind}"]
    return "\n".join(remark(line) for line in (f"{query.ref} asks: {query.says}", *answer))


def _accepting(query: Query) -> str:
    about = query.about[0] if query.about else ""
    lines = [
        "To leave a question as it stands, name its kind (docs/queries.md) and what it is about; for example",
        "[[accept]]",
        f'kind = "{query.kind}"',
        *([f'about = "{about}"'] if about else []),
        'note = "looked at on site"',
    ]
    return "\n".join(remark(line) for line in lines)
