"""Openings as the plan tells them: kind, size and where each figure comes from, and which rooms they join.

The width is what lies between the jambs on the drawing; attributes, schedules and tags bear it out or, where the wall
is drawn unbroken, give it. Heights and cills come from attributes, the schedule, a tag beside it, or the layer's name.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats
from takeoff.geometry.vectors import directions
from takeoff.job import Job
from takeoff.plan.heights import layer_opening
from takeoff.plan.model import Opening, Room
from takeoff.plan.opening_styles import told_by_rooms
from takeoff.plan.openings import Candidate
from takeoff.plan.order import reading_order
from takeoff.plan.rooms import beside_openings
from takeoff.plan.schedules import Note, OpeningLabel, OpeningSize, kind_of_mark, mark_key, style_of_words

__all__ = ["Witnesses", "find_openings", "overridden", "split_parts", "told_widths"]

_LETTER = {"door": "D", "window": "W", "opening": "O", "rooflight": "L"}
_TAG_REACH = 1.6
"""A tag stands no farther from its opening, metres."""
_OF_WINDOWS = ("screen", "sliding")
"""Words of a style that mean the same of windows."""
_LEAF = (-0.1, 0.25)
"""So much wider than the leaf drawn in an unbroken wall its opening may be told to be, metres."""
_DEEP, _SPLAY_LEAST, _UNEVEN = 0.2, 0.05, 0.25
"""Jambs splay or step back in walls this thick, by no less (metres), and alike at both ends but for this share."""
_AGREE = 0.06
"""An attribute this near the drawn gap bears it out, metres."""


_Label = TypeVar("_Label", OpeningLabel, Note)


@dataclass(frozen=True)
class Witnesses:
    """What the sheet says of openings beside their line work."""

    schedule: dict[str, OpeningSize]
    labels: tuple[OpeningLabel, ...]
    unclear: dict[str, str]
    """Marks whose rows in the schedule cannot be relied on -> why."""
    notes: tuple[Note, ...] = ()


def told_widths(witnesses: Witnesses) -> Floats:
    """Place and width (k, 3) of every label whose tag, or row in a schedule, gives a width; metres. Notes give a place
    alone: nan.
    """
    rows = [(*note.at, np.nan) for note in witnesses.notes]
    for label in witnesses.labels:
        sizes = (label.size, witnesses.schedule.get(mark_key(label.mark)) if label.mark else None)
        width = next((s.width_m for s in sizes if s is not None and s.width_m is not None), None)
        rows += [(*label.at, width)] if width is not None else []
    return np.array(rows, dtype=float).reshape(-1, 3)


def split_parts(candidates: Sequence[Candidate]) -> list[Candidate]:
    """One candidate per opening: gaps that hold a door and a side light give two."""
    single = []
    for candidate in candidates:
        if not candidate.parts:
            single.append(candidate)
            continue
        start, way = np.array(candidate.axis[:2]), np.array(candidate.axis[2:]) - np.array(candidate.axis[:2])
        unit = directions(way)
        for low, high, kind in candidate.parts:
            a, b = start + unit * low, start + unit * high
            single.append(replace(candidate, axis=(*a.tolist(), *b.tolist()), width=high - low, kind=kind, parts=()))
    return single


def find_openings(
    drawing: Drawing,
    candidates: Sequence[Candidate],
    rooms: Sequence[Room],
    plans: Sequence[str],
    witnesses: Witnesses,
    job: Job,
) -> tuple[Opening, ...]:
    """The openings of a plan, with refs in reading order; `plans` the storey of each candidate.

    Those that `job` marks come after what the drawing shows, so that they renumber nothing.
    """
    joined = _rooms_beside(candidates, rooms)
    tags = _tags(candidates, witnesses.labels)
    notes = _tags(candidates, witnesses.notes)
    dashed = np.array([_all_dashed(drawing, c) for c in candidates], dtype=bool)
    found = [
        _opening(drawing, c, plans[n], joined[n], tags.get(n), witnesses.schedule) for n, c in enumerate(candidates)
    ]
    found = list(told_by_rooms(found, candidates, rooms, dashed))
    found = [_noted(o, c, notes.get(n)) for n, (o, c) in enumerate(zip(found, candidates, strict=True))]
    found = [_marked(o, c, job) if c.row >= 0 else o for o, c in zip(found, candidates, strict=True)]
    order = reading_order([o.at for o in found])
    counters: dict[str, int] = {}
    named: dict[int, Opening] = {}
    for n in sorted(order, key=lambda n: (candidates[n].row, plans[n] if candidates[n].row < 0 else "")):
        letter = _LETTER[found[n].kind]
        counters[letter] = counters.get(letter, 0) + 1
        named[n] = replace(found[n], ref=f"{letter}{counters[letter]}")
    return tuple(named.values())


def _all_dashed(drawing: Drawing, candidate: Candidate) -> bool:
    """Whether nothing but broken lines speaks for an opening: what they show is overhead."""
    return bool(candidate.entities) and all(drawing.entities[e].dashed for e in candidate.entities)


def _noted(opening: Opening, candidate: Candidate, note: Note | None) -> Opening:
    """The opening as the `note` beside it says, where neither a leaf, a layer nor a tag tells."""
    if note is None or candidate.told or opening.tag or opening.style:
        return opening
    sill = opening.sill_m or None if note.kind == "window" else 0.0
    return replace(opening, kind=note.kind, sill_m=sill)


def _rooms_beside(candidates: Sequence[Candidate], rooms: Sequence[Room]) -> list[tuple[str, ...]]:
    """Refs of the rooms on either side of each opening, nearest first look."""
    found: list[tuple[str, ...]] = [()] * len(candidates)
    if not candidates or not rooms:
        return found
    places = beside_openings(candidates)
    sides, looks = places.shape[1], places.shape[2]
    tree = shapely.STRtree([shapely.Polygon(r.outline, r.holes) for r in rooms])
    place, room = tree.query(shapely.points(places.reshape(-1, 2)), predicate="within")
    hit = np.full(len(candidates) * sides * looks, -1, dtype=np.int64)
    hit[place[::-1]] = room[::-1]
    grid = hit.reshape(len(candidates), sides, looks)
    for n in range(len(candidates)):
        refs = [next((int(r) for r in grid[n, s] if r >= 0), -1) for s in range(sides)]
        found[n] = tuple(dict.fromkeys(rooms[r].ref for r in refs if r >= 0))
    return found


def _tags(candidates: Sequence[Candidate], labels: Sequence[_Label]) -> dict[int, _Label]:
    """The label of each opening: labels go to the nearest opening, the nearest label wins."""
    if not candidates or not labels:
        return {}
    lines = shapely.linestrings(np.array([c.axis for c in candidates]).reshape(-1, 2, 2))
    points = shapely.points([label.at for label in labels])
    label, opening = shapely.STRtree(lines).query_nearest(points, max_distance=_TAG_REACH, all_matches=False)
    distance = shapely.distance(points[label], lines[opening])
    found: dict[int, _Label] = {}
    for k in np.argsort(distance, kind="stable").tolist():
        found.setdefault(int(opening[k]), labels[int(label[k])])
    return found


def _opening(
    drawing: Drawing,
    candidate: Candidate,
    plan: str,
    rooms: tuple[str, ...],
    label: OpeningLabel | None,
    schedule: dict[str, OpeningSize],
) -> Opening:
    mark = candidate.mark
    tag = label.mark if label is not None and label.mark else (mark.tag if mark is not None else "")
    scheduled = schedule.get(mark_key(tag)) if tag else None
    printed = label.size if label is not None else None
    by_layer = _layer_sizes(drawing, candidate)
    height, height_from = _first(
        (mark.height if mark else None, "attribute"),
        (scheduled.height_m if scheduled else None, "schedule"),
        (printed.height_m if printed else None, "tag"),
        (by_layer[0], "layer"),
    )
    sill, _ = _first(
        (mark.sill if mark else None, ""),
        (scheduled.sill_m if scheduled else None, ""),
        (printed.sill_m if printed else None, ""),
        (by_layer[1], ""),
    )
    kind = candidate.kind if candidate.kind != "opening" else _told_kind(tag, scheduled, printed) or "opening"
    kind, style = _with_style(kind, candidate.style, _words_of(drawing, candidate, scheduled, printed))
    width, size_from = _width(candidate, scheduled, printed)
    a, b = candidate.axis[:2], candidate.axis[2:]
    return Opening(
        ref="",
        kind=kind,
        plan=plan,
        at=((a[0] + b[0]) / 2, (a[1] + b[1]) / 2),
        width_m=width,
        height_m=height,
        sill_m=sill if sill is not None else (0.0 if kind in ("door", "opening") or style == "screen" else None),
        wall_thickness_m=candidate.thick if candidate.thick > 0.01 else None,
        rooms=rooms,
        jambs=(a, b),
        size_from=size_from,
        height_from=height_from or "default",
        style=style,
        tag=tag,
        handles=tuple(dict.fromkeys(drawing.entities[e].handle for e in candidate.entities)),
        splay_m=_splay(candidate),
    )


def _splay(candidate: Candidate) -> float:
    """The splay of an opening whose lines across the wall's faces differ in length, alike at both ends."""
    if candidate.thick < _DEEP or not len(candidate.bridges) or candidate.parts:
        return 0.0
    axis = np.array(candidate.axis).reshape(2, 2)
    unit = directions(axis[1:] - axis[:1])[0]
    along = (candidate.bridges.reshape(-1, 2, 2) - axis[0]) @ unit
    before, after = float(-along.min()), float(along.max() - candidate.width)
    alike = min(before, after) >= _SPLAY_LEAST and abs(before - after) <= _UNEVEN * max(before, after)
    return (before + after) / 2 if alike else 0.0


def _marked(opening: Opening, candidate: Candidate, job: Job) -> Opening:
    """The opening as the job file marks it."""
    row = job.opening[candidate.row]
    sill = row.sill if row.sill is not None else (0.0 if row.kind in ("door", "opening") else opening.sill_m)
    height = row.height if row.height is not None else opening.height_m
    return replace(
        opening,
        kind=row.kind,
        width_m=row.width,
        height_m=height,
        sill_m=sill,
        size_from="job",
        height_from="job" if row.height is not None else opening.height_from,
        handles=(f"opening {candidate.row + 1}",),
    )


def _with_style(kind: str, style: str, words: Sequence[str]) -> tuple[str, str]:
    """Kind and style of an opening, `style` what the lines tell, once the `words` about it have spoken."""
    said = style_of_words(*words)
    if kind == "window":
        return kind, style or (said if said in _OF_WINDOWS else "")
    style = style or said
    if kind == "opening" and style:
        kind = "window" if style == "screen" else "door"
    return kind, style


def _words_of(
    drawing: Drawing, candidate: Candidate, scheduled: OpeningSize | None, printed: OpeningSize | None
) -> list[str]:
    """What the schedule, the tag and the names of its symbols and layers say of an opening."""
    symbols = {drawing.entities[e].symbol for e in candidate.entities} - {-1}
    layers = sorted({drawing.layer_of(e) for e in candidate.entities})
    said = [size.text for size in (scheduled, printed) if size is not None]
    return [*said, *(drawing.symbols[s].name for s in sorted(symbols)), *layers]


def _told_kind(tag: str, scheduled: OpeningSize | None, printed: OpeningSize | None) -> str:
    return next((s.kind for s in (scheduled, printed) if s is not None and s.kind), kind_of_mark(tag) if tag else "")


def _layer_sizes(drawing: Drawing, candidate: Candidate) -> tuple[float | None, float | None]:
    for entity in candidate.entities:
        height, sill = layer_opening(drawing.layer_of(entity))
        if height is not None:
            return height, sill
    return None, None


def _width(candidate: Candidate, scheduled: OpeningSize | None, printed: OpeningSize | None) -> tuple[float, str]:
    told = _first(
        (candidate.mark.width if candidate.mark else None, "attribute"),
        (scheduled.width_m if scheduled else None, "schedule"),
        (printed.width_m if printed else None, "tag"),
    )
    leaf = candidate.unbroken and candidate.support == "swing"
    if leaf and told[0] is not None and _LEAF[0] <= told[0] - candidate.width <= _LEAF[1]:
        return told[0], told[1]
    if told[0] is not None and abs(told[0] - candidate.width) <= _AGREE:
        return candidate.width, told[1]
    return candidate.width, "gap" if candidate.support == "gap" else "symbol"


def _first(*found: tuple[float | None, str]) -> tuple[float | None, str]:
    return next(((value, source) for value, source in found if value is not None), (None, ""))


def overridden(openings: Sequence[Opening], job: Job) -> tuple[Opening, ...]:
    """The openings once the job file has spoken. Raises `JobError` for a ref that no opening bears."""
    known = {o.ref for o in openings}
    for ref in job.openings:
        if ref not in known:
            raise job.error(("openings", ref), "there is no such opening", _some(sorted(known)))
    return tuple(_told(o, job) for o in openings if o.ref not in job.openings or not job.openings[o.ref].ignore)


def _told(opening: Opening, job: Job) -> Opening:
    row = job.openings.get(opening.ref)
    if row is None:
        return opening
    changed = replace(opening, kind=row.kind or opening.kind)
    if row.width is not None:
        changed = replace(changed, width_m=row.width, size_from="job")
    if row.height is not None:
        changed = replace(changed, height_m=row.height, height_from="job")
    return changed if row.sill is None else replace(changed, sill_m=row.sill)


def _some(refs: Sequence[str]) -> str:
    shown = ", ".join(refs[:12])
    return (
        f"one of {shown}" + (" ..." if len(refs) > 12 else "")
        if refs
        else "no opening was found, so leave the table out"
    )

