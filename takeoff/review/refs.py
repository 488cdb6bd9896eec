"""Decisions carried over when a change to the reading renumbers rooms, openings and walls.

A wall drawn, a layer ignored, a room split or another scale may give every room another ref. Each decision of the job
file then follows its place: headings, keys and values are rewritten where they stand. What has no place any more stays
as a remark, and a note says so.

Terms:
  reading  the tables of a job file that refs hang on: [drawing], [[wall]], [[opening]], [[split]], [[join]].
  stage    the reading up to one of these tables: a [[split]] names rooms as they are before it, a [[join]] as they are
           after the splits, all other tables as they are in the end.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from takeoff.documents.toml_text import toml_key, toml_value
from takeoff.job import Job, job_of
from takeoff.plan.model import Plan
from takeoff.review.changes import Change, apply
from takeoff.review.successors import Successors, successors
from takeoff.review.toml_places import Statement, names_in, remarked, row_statements, statements

__all__ = ["Carried", "carry", "rows_changed"]

PlanOf = Callable[[Job], Plan]
"""The plan of the job's drawing under a job."""

_READING = ("drawing", "wall", "opening", "split", "join")
_KEYED: tuple[tuple[str, ...], ...] = (
    ("rooms",), ("openings",), ("surfaces",), ("boards", "directions"), ("boards", "framing_from"),
)  # fmt: skip
"""Tables whose keys are refs."""
_ROWS: dict[tuple[str, ...], tuple[str, ...]] = {
    ("findings",): ("room", "place"), ("beads", "movement"): ("room",), ("beads", "stop"): ("room",),
    ("accept",): ("about",),
}  # fmt: skip
"""Rows that name refs, and the keys that hold them."""
_NO_PLACE = "Its place is no longer on the drawing"
_OWN = frozenset({"name"})
"""Keys of a room that its parts do not share."""


@dataclass(frozen=True, slots=True)
class Carried:
    """A job file's text once its refs are right, and what a person should know of it."""

    text: str
    notes: tuple[str, ...] = ()


def carry(before: str, after: str, plan_of: PlanOf) -> Carried:
    """The job file's text `after`, whose refs are still those of the text `before`, with its refs as they are after.

    Raises `JobError` as `job_of` and `plan_of` do.
    """
    old, new = job_of(before, "job file"), job_of(after, "job file")
    if all(getattr(old, table) == getattr(new, table) for table in _READING):
        return Carried(after)
    scale = _scale(old, new, plan_of)
    text = _rescaled(after, scale)
    notes: list[str] = []
    moved = old.drawing.file != new.drawing.file
    for tables, rewrite in ((_READING[:3], _splits), (_READING[:4], _joins), (_READING, _decisions)):
        job = job_of(text, "job file")
        if not _asks(job, rewrite):
            continue
        here, there = plan_of(_part(old, tables)), plan_of(_part(job, tables))
        found = rewrite(text, successors(here, there, scale=scale, moved=moved))
        text, notes = found.text, [*notes, *found.notes]
    return Carried(text, tuple(dict.fromkeys(notes)))


def _part(job: Job, tables: Sequence[str]) -> Job:
    """`job` with some of its tables only; errors still name its file and lines."""
    part = Job.model_construct(**{name: getattr(job, name) for name in tables})
    part.adopt(job, "")
    return part


def _asks(job: Job, rewrite: object) -> bool:
    """Whether there is anything for a rewriting to do."""
    return bool(job.split) if rewrite is _splits else bool(job.join) if rewrite is _joins else True


def _scale(old: Job, new: Job, plan_of: PlanOf) -> float:
    """What sheet metres are multiplied by from one reading to the other."""
    if old.drawing == new.drawing:
        return 1.0
    here, there = plan_of(_part(old, ("drawing",))), plan_of(_part(new, ("drawing",)))
    return there.metres_per_unit / here.metres_per_unit


def _rescaled(text: str, scale: float) -> str:
    """Places on the sheet multiplied by `scale`."""
    if abs(scale - 1.0) < 1e-12:
        return text
    changes: list[Change] = []
    for table, key in (("split", "line"), ("wall", "line"), ("opening", "at")):
        for index, row in enumerate(tomllib.loads(text).get(table, [])):
            changes.append(
                {"op": "change", "table": [table], "index": index, "row": {**row, key: _times(row[key], scale)}}
            )
    return apply(text, changes)


def _times(places: Any, scale: float) -> Any:
    return [_times(p, scale) for p in places] if isinstance(places, list) else round(places * scale, 6)


# -- rows -------------------------------------------------------------------------------------------------------------


def _splits(text: str, became: Successors) -> Carried:
    return rows_changed(text, ("split",), lambda row: _one_ref(row, "room", became))


def _joins(text: str, became: Successors) -> Carried:
    def joined(row: Mapping[str, Any]) -> dict[str, Any] | None:
        found = [became[ref] for ref in row["rooms"]]
        refs = dict.fromkeys(
            r for ref, own in zip(row["rooms"], found, strict=True) for r in (own if own is not None else (ref,))
        )
        return {**row, "rooms": list(refs)} if len(refs) > 1 else None

    return rows_changed(text, ("join",), joined)


def _one_ref(row: Mapping[str, Any], key: str, became: Successors) -> dict[str, Any] | None:
    """The row with its ref's first successor; None where there is none."""
    own = became[row[key]] if row.get(key) else None
    if own is None:
        return dict(row)
    return {**row, key: own[0]} if own else None


def rows_changed(
    text: str,
    table: tuple[str, ...],
    change: Callable[[Mapping[str, Any]], dict[str, Any] | None],
    why: str = _NO_PLACE,
) -> Carried:
    """Every row of `table` changed; one for which nothing comes out becomes a remark that says `why`."""
    notes = []
    for index, row in reversed(list(enumerate(_at(text, table)))):
        new = change(row)
        if new is None:
            text = _retired(text, table, index, row, why)
            notes.append(f"[[{toml_key(*table)}]], row {index + 1}, has lost its place: it is kept as a remark.")
        elif new != row:
            text = apply(text, [{"op": "change", "table": list(table), "index": index, "row": new}])
    return Carried(text, tuple(reversed(notes)))


def _at(text: str, path: tuple[str, ...]) -> Any:
    """What `text` holds at `path`, an empty list where nothing."""
    data: Any = tomllib.loads(text)
    for name in path:
        data = data.get(name, {}) if isinstance(data, dict) else {}
    return data or []


def _retired(text: str, table: tuple[str, ...], index: int, row: Mapping[str, Any], why: str) -> str:
    """The text with a row made a remark."""
    found = statements(text)
    own = row_statements(found, table, index)
    if own:
        return remarked(text, [found[n] for n in own], f"{why}:")
    text = apply(text, [{"op": "remove", "table": list(table), "index": index}])
    return text.rstrip("\n") + f"\n# {why}: {toml_key(*table)} {toml_value(row)}\n"


# -- all decisions ----------------------------------------------------------------------------------------------------


def _decisions(text: str, became: Successors) -> Carried:
    notes: list[str] = []
    for row in _at(text, ("findings",)):
        own = became[row["room"]] or ()
        if len(own) > 1:
            notes.append(
                f"Findings in {row['room']} now stand in {own[0]}: see whether they belong to {', '.join(own[1:])}."
            )
    for table, keys in _ROWS.items():
        found = rows_changed(text, table, lambda row, keys=keys: _all_refs(row, keys, became))  # type: ignore[misc]
        text, notes = found.text, [*notes, *found.notes]
    will = _Will.of(text, became)
    text, more = _retired_tables(_spelled_out(text, will), will)
    text, copies = _renamed(text, will)
    notes += more
    for table, old, refs in copies:
        text = _copied(text, table, refs)
        notes.append(f"{old} is now {' and '.join(refs)}: what was decided for it holds for each of them.")
    return Carried(_low_sides(text, became), tuple(dict.fromkeys(notes)))


def _all_refs(row: Mapping[str, Any], keys: Sequence[str], became: Successors) -> dict[str, Any] | None:
    new: dict[str, Any] | None = dict(row)
    for key in keys:
        new = _one_ref(new, key, became) if new is not None else None
    if new is not None and set(keys) == {"room", "place"} and became[str(row.get("place"))]:
        # a finding in a room that was split goes with its wall
        new["room"] = new["place"].partition("-")[0] if "-" in new["place"] else new["room"]
    return new


def _keyed(found: Sequence[Statement]) -> Iterator[tuple[Statement, tuple[str, ...], str]]:
    """The statements under a table of refs, with the table and the ref."""
    for s in found:
        for table in _KEYED:
            if s.path[: len(table)] == table and len(s.path) > len(table):
                yield s, table, s.path[len(table)]


@dataclass(frozen=True)
class _Will:
    """Who takes over what was decided for a ref."""

    became: Successors
    given: frozenset[tuple[tuple[str, ...], str]]
    """Tables of refs that were never in the plan before: decided for the plan after, they are not written over."""

    @classmethod
    def of(cls, text: str, became: Successors) -> _Will:
        named = ((table, ref) for _, table, ref in _keyed(statements(text)))
        return cls(became, frozenset((table, ref) for table, ref in named if became[ref] is None))

    def heirs(self, table: tuple[str, ...], ref: str) -> tuple[str, ...] | None:
        """Successors of `ref` that take its decisions over; None where the ref is not known."""
        own = self.became[ref]
        if own is None:
            return None
        mine = (r for r in own if table != ("rooms",) or self.became.heirs.get(r) == ref)
        return tuple(r for r in mine if (table, r) not in self.given)


def _retired_tables(text: str, will: _Will) -> tuple[str, list[str]]:
    """Tables of what is gone, or has become part of something with decisions of its own, made remarks."""
    gone: dict[str, list[Statement]] = {}
    for s, table, ref in _keyed(statements(text)):
        if will.heirs(table, ref) == ():
            gone.setdefault(ref, []).append(s)
    notes = []
    for ref in gone:
        heir = will.became[ref]
        why = f"{ref} is now part of {heir[0]}" if heir else f"{ref} is no longer on the drawing"
        notes.append(f"{why}: what was decided for it is kept as a remark.")
    order = sorted(gone.items(), key=lambda item: -item[1][0].start)
    for ref, _ in order:
        own = [s for s, _table, name in _keyed(statements(text)) if name == ref]
        heir = will.became[ref]
        text = remarked(
            text, own, f"{ref} is now part of {heir[0]}:" if heir else f"{ref} is no longer on the drawing:"
        )
    return text, notes


def _spelled_out(text: str, will: _Will) -> str:
    """Tables of refs that are written on one line, ``rooms = { R1 = {...} }``, with their refs renamed already."""
    for s in reversed(statements(text)):
        inside = [t for t in _KEYED if s.kind == "key" and s.path == t[: len(s.path)] and len(s.path) <= len(t)]
        for table in inside:
            rows = _at(text, table)
            new: dict[str, Any] = {}
            for ref, row in rows.items() if isinstance(rows, dict) else ():
                own = will.heirs(table, ref)
                new.update(dict.fromkeys((ref,) if own is None else own, row))
            if new != rows:
                text = apply(text, [{"op": "set", "key": list(table), "value": new}])
    return text


Copies = list[tuple[tuple[str, ...], str, tuple[str, ...]]]


def _renamed(text: str, will: _Will) -> tuple[str, Copies]:
    """The text with every ref of a heading or key renamed at once, and the refs that have several successors."""
    edits: list[tuple[int, int, str]] = []
    copies: Copies = []
    for s, table, ref in _keyed(statements(text)):
        own = will.heirs(table, ref)
        if not own:
            continue
        for name, start, end in names_in(text, s):
            if name == len(table) and own[0] != ref:
                edits.append((start, end, toml_key(own[0])))
        if len(own) > 1 and (table, ref, own) not in copies:
            copies.append((table, ref, own))
    for start, end, ref in sorted(edits, reverse=True):
        text = text[:start] + ref + text[end:]
    return text, copies


def _copied(text: str, table: tuple[str, ...], refs: Sequence[str]) -> str:
    """The text with what is decided for the first of `refs` decided for the others too, as far as they share it."""
    value = _at(text, (*table, refs[0]))
    changes: list[Change] = []
    for ref in refs[1:]:
        if isinstance(value, dict):
            changes += [
                {"op": "set", "key": [*table, ref, key], "value": own} for key, own in value.items() if key not in _OWN
            ]
        else:
            changes.append({"op": "set", "key": [*table, ref], "value": value})
    if isinstance(value, dict) and table == ("rooms",):
        changes += [{"op": "unset", "key": [*table, refs[0], key]} for key in _OWN & value.keys()]
    return apply(text, changes)


def _low_sides(text: str, became: Successors) -> str:
    """The text with the low sides of sloping ceilings renamed; a room without its low side is level again."""
    changes: list[Change] = []
    for ref, row in (_at(text, ("rooms",)) or {}).items():
        side = row.get("slope", {}).get("low_side")
        own = became[side] if side else None
        if own is None:
            continue
        here = [s for s in own if s.startswith(f"{ref}-")]
        key = ["rooms", ref, "slope"]
        changes.append(
            {"op": "set", "key": [*key, "low_side"], "value": here[0]} if here else {"op": "unset", "key": key}
        )
    return apply(text, changes)
