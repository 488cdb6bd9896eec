"""The job file (TOML): everything a person decides about a takeoff, validated, with file and line in each error.

Every key is described in ``docs/job-file.md``; a test fails when one is missing there. Lengths in metres.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from pydantic import PrivateAttr, ValidationError

from takeoff.errors import JobError
from takeoff.job_stock_tables import BeadsTable, BeadStockRow, BoardsTable, BoardStockRow, ListedBead
from takeoff.job_tables import (
    Accept,
    AlternativeRow,
    BuildUpRow,
    ConditionsTable,
    DrawingTable,
    FindingRow,
    FramingTable,
    GangTable,
    Heights,
    JobTable,
    Join,
    KnownLength,
    LabourRow,
    LayerRow,
    MarkedOpening,
    Markup,
    MaterialRow,
    MeasureTable,
    MixingTable,
    OpeningKindRow,
    OpeningRow,
    OrderTable,
    Payment,
    Plant,
    PriceTable,
    RiskTable,
    RoomRow,
    ServicesTable,
    Slope,
    Split,
    SurfaceRow,
    Table,
    WallRow,
    WallTypeRow,
    WasteRow,
)

__all__ = ["Job", "Overlay", "faults_told", "job_from", "job_laid_over", "job_of", "key_error", "line_of", "read_job"]


@dataclass(frozen=True, slots=True)
class Overlay:
    """Tables of a job file that stand under `place` in another file, to be laid over a job."""

    path: str
    text: str
    place: tuple[str, ...]
    data: Mapping[str, Any]

    def holds(self, key: tuple[str | int, ...]) -> bool:
        """Whether `key` is set here."""
        table: Any = self.data
        for name in key:
            if isinstance(name, str) and isinstance(table, Mapping):
                if name not in table:
                    return False
                table = table[name]
        return True

    def error(self, key: tuple[str | int, ...], wrong: str, right: str) -> JobError:
        """The error for `key`, at its place in the other file."""
        return key_error(self.path, self.text, (*self.place, *key), wrong, right)


class Job(Table):
    """A whole job file."""

    job: JobTable = JobTable()
    drawing: DrawingTable = DrawingTable()
    heights: Heights = Heights()
    measure: MeasureTable = MeasureTable()
    rooms: dict[str, RoomRow] = {}
    split: tuple[Split, ...] = ()
    join: tuple[Join, ...] = ()
    wall: tuple[WallRow, ...] = ()
    opening: tuple[MarkedOpening, ...] = ()
    openings: dict[str, OpeningRow] = {}
    opening_kinds: dict[Literal["door", "window", "opening", "rooflight"], OpeningKindRow] = {}
    wall_types: dict[Literal["masonry", "partition", "unknown"], WallTypeRow] = {}
    surfaces: dict[str, SurfaceRow] = {}
    build_ups: dict[str, BuildUpRow] = {}
    materials: dict[str, MaterialRow] = {}
    waste: dict[str, WasteRow] = {}
    order: OrderTable = OrderTable()
    framing: FramingTable = FramingTable()
    boards: BoardsTable = BoardsTable()
    beads: BeadsTable = BeadsTable()
    mixing: MixingTable = MixingTable()
    labour: dict[str, LabourRow] = {}
    services: ServicesTable = ServicesTable()
    gang: GangTable = GangTable()
    conditions: ConditionsTable = ConditionsTable()
    findings: tuple[FindingRow, ...] = ()
    alternatives: tuple[AlternativeRow, ...] = ()
    price: PriceTable = PriceTable()
    risk: RiskTable = RiskTable()
    accept: tuple[Accept, ...] = ()

    _path: str = PrivateAttr("")
    _text: str = PrivateAttr("")
    _findings_from: str = PrivateAttr("")
    _overlays: tuple[Overlay, ...] = PrivateAttr(())

    def adopt(self, other: Job, findings_from: str) -> None:
        """Speak of `other`'s file in errors, and of `findings_from` for findings: for a job made of both."""
        self._path, self._text, self._findings_from = other._path, other._text, findings_from

    def error(self, key: tuple[str | int, ...], wrong: str, right: str) -> JobError:
        """The error to raise for `key` (such as ``("rooms", "R9", "height")``): file, line, key, wrong, right."""
        if key[0] == "findings" and self._findings_from:
            return key_error(self._findings_from, "", key, wrong, right)
        for overlay in reversed(self._overlays):
            if overlay.holds(key):
                return overlay.error(key, wrong, right)
        return key_error(self._path, self._text, key, wrong, right)


def read_job(path: Path) -> Job:
    """The job file at `path`. Raises `JobError` for the first things wrong, each with its line."""
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise JobError(f"{path}: not a text file in UTF-8. Save the job file as plain text.") from None
    except OSError as fault:
        raise JobError(f"Cannot read the job file {path}: {fault.strerror}. Check its name and folder.") from fault
    return job_of(text, str(path))


def job_of(text: str, path: str) -> Job:
    """The job file that holds `text`; `path` is what the errors call it. Raises `JobError` as `read_job` does."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        raise JobError(f"{path}: {fault}. Mend that line: a job file is TOML, key = value.") from None
    return job_from(data, path, text)


def job_from(data: dict[str, Any], path: str = "job file", text: str = "") -> Job:
    """A job from parsed TOML `data`; `path` and `text` serve the errors."""
    try:
        job = Job.model_validate(data)
    except ValidationError as faults:
        raise faults_told(faults, path, text, _keys_beside) from None
    job._path, job._text = path, text
    return job


def faults_told(
    faults: ValidationError,
    path: str,
    text: str,
    keys_beside: Callable[[tuple[str, ...]], list[str]],
    place: tuple[str, ...] = (),
) -> JobError:
    """The first faults of a validated file, a line each; what was validated stands under `place` in it."""
    lines = [
        str(key_error(path, text, (*place, *fault["loc"]), _wrong(dict(fault)), _right(dict(fault), keys_beside)))
        for fault in faults.errors(include_url=False)[:10]
    ]
    return JobError("\n".join(lines))


def job_laid_over(job: Job, overlays: Sequence[Overlay]) -> Job:
    """`job` with `overlays` laid over it in turn: tables are joined key by key, an array takes the other's place.

    Raises `JobError` at the line of the overlay that is wrong.
    """
    data: dict[str, Any] = job.model_dump(exclude_unset=True)
    for overlay in overlays:
        try:
            Job.model_validate(overlay.data)
        except ValidationError as faults:
            raise faults_told(faults, overlay.path, overlay.text, _keys_beside, overlay.place) from None
        data = _joined(data, overlay.data)
    made = job_from(data, job._path, job._text)
    made._overlays = tuple(overlays)
    return made


def _joined(below: Mapping[str, Any], above: Mapping[str, Any]) -> dict[str, Any]:
    joined = dict(below)
    for name, value in above.items():
        before = joined.get(name)
        both = isinstance(before, Mapping) and isinstance(value, Mapping)
        joined[name] = _joined(before, value) if both else value  # type: ignore[arg-type]
    return joined


def _wrong(fault: dict[str, Any]) -> str:
    if fault["type"] == "extra_forbidden":
        return "no such key"
    if fault["type"] == "missing":
        return "is missing"
    return f"{fault['input']!r} will not do"


_BOUNDS = {
    "greater_than_equal": ("ge", "{} or more"),
    "greater_than": ("gt", "more than {}"),
    "less_than_equal": ("le", "{} or less"),
    "less_than": ("lt", "less than {}"),
}
"""Pydantic's faults of size: where the limit stands in them, and how to say it."""


def _right(fault: dict[str, Any], keys_beside: Callable[[tuple[str, ...]], list[str]]) -> str:
    if fault["type"] == "extra_forbidden":
        known = keys_beside(tuple(k for k in fault["loc"][:-1] if isinstance(k, str)))
        return f"one of: {', '.join(known)}" if known else "see docs/job-file.md"
    if bound := _BOUNDS.get(fault["type"]):
        limit, words = bound
        return words.format(f"{fault['ctx'][limit]:g}" if fault["ctx"][limit] < 1000 else f"{fault['ctx'][limit]:,}")
    message = str(fault["msg"])
    return message[0].lower() + message[1:]


_PRICE_TABLES: dict[str, type[Table]] = {"markups": Markup, "payments": Payment}
_CUTTING_TABLES: dict[tuple[str, ...], type[Table]] = {
    ("boards", "stock"): BoardStockRow,
    ("beads", "stock"): BeadStockRow,
    ("beads", "movement"): ListedBead,
    ("beads", "stop"): ListedBead,
}


def _keys_beside(table: tuple[str, ...]) -> list[str]:
    """The keys that the table named by `table` may hold."""
    tables: dict[str, type[Table]] = {
        "job": JobTable,
        "drawing": DrawingTable,
        "heights": Heights,
        "measure": MeasureTable,
        "rooms": RoomRow,
        "split": Split,
        "join": Join,
        "wall": WallRow,
        "opening": MarkedOpening,
        "openings": OpeningRow,
        "opening_kinds": OpeningKindRow,
        "wall_types": WallTypeRow,
        "surfaces": SurfaceRow,
        "build_ups": BuildUpRow,
        "materials": MaterialRow,
        "waste": WasteRow,
        "order": OrderTable,
        "framing": FramingTable,
        "boards": BoardsTable,
        "beads": BeadsTable,
        "mixing": MixingTable,
        "labour": LabourRow,
        "services": ServicesTable,
        "gang": GangTable,
        "conditions": ConditionsTable,
        "findings": FindingRow,
        "alternatives": AlternativeRow,
        "price": PriceTable,
        "risk": RiskTable,
        "accept": Accept,
    }
    model: type[Table] | None = tables.get(table[0]) if table else Job
    if table[:1] == ("price",) and table[1:2]:
        model = _PRICE_TABLES.get(table[1], Plant)
    if table[:1] in {("boards",), ("beads",)} and table[1:2]:
        model = _CUTTING_TABLES.get(table[:2])
    if table == ("drawing", "known_length"):
        model = KnownLength
    if table[2:] == ("slope",):
        model = Slope
    if table[2:3] == ("layers",):
        model = LayerRow
    return sorted(field.alias or name for name, field in model.model_fields.items()) if model else []


def key_error(path: str, text: str, key: tuple[str | int, ...], wrong: str, right: str) -> JobError:
    line = line_of(text, key)
    where = f"{path}, line {line}" if line else path
    name = ".".join(str(k) if isinstance(k, str) else f"[{k + 1}]" for k in key).replace(".[", "[")
    return JobError(f"{where}: {name}: {wrong}; right would be: {right}.")


_NAME = r"(?:[\w-]+|\"[^\"]*\"|'[^']*')"
_KEY = re.compile(rf"\s*({_NAME}(?:\s*\.\s*{_NAME})*)\s*=")


def line_of(text: str, key: tuple[str | int, ...]) -> int | None:
    """The 1-based line of the deepest part of `key` that the TOML `text` spells out, or None."""
    parts = [k for k in key if isinstance(k, str)]
    index = next((k for k in key if isinstance(k, int)), 0)
    best: tuple[int, int] | None = None
    table: tuple[str, ...] = ()
    seen: dict[tuple[str, ...], int] = {}
    arrays: set[tuple[str, ...]] = set()
    for number, line in enumerate(text.splitlines(), 1):
        if header := re.match(r"\s*\[(\[)?([^\[\]]+)\]", line):
            table = _dotted(header.group(2))
            seen[table] = seen.get(table, -1) + 1
            names = table
            if header.group(1):
                arrays.add(table)
            in_place = table not in arrays or seen[table] == index
        elif pair := _KEY.match(line):
            names = table + _dotted(pair.group(1))
            in_place = table not in arrays or seen[table] == index
        else:
            continue
        depth = len(names)
        if in_place and tuple(parts[:depth]) == names and (best is None or depth > best[0]):
            best = (depth, number)
    return best[1] if best else None


def _dotted(name: str) -> tuple[str, ...]:
    return tuple(p.strip().strip("\"'") for p in re.findall(r"\"[^\"]*\"|'[^']*'|[\w-]+", name))
