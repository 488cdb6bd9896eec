"""The answers that a question can be given with one click or one figure, as changes to the job file.

Terms:
  fragment  the answer in TOML that a question brings along (`Query.answer`): the one source of what it offers.
  spread    a fragment about the first of several rooms or walls, said of all that the question is about.

What people read is in ``takeoff/data/queries.toml``: `offer` for the fragment, `leave` for accepting as it stands.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from takeoff.data import load
from takeoff.documents.safe_text import clean
from takeoff.drawing.lengths import METRES
from takeoff.query import Query
from takeoff.record import Takeoff
from takeoff.review.changes import Change

__all__ = ["Answer", "Input", "offers"]

_MOST = 8
"""More of one sort of answer than this are a list to work through, no choice."""
_WALLS = ("brick", "block", "concrete", "solid historic wall", "timber frame", "metal frame")
"""What walls that could be either may be."""
_WORDS = {
    "default": "ceiling height", "door": "height of doors", "window": "height of windows", "sill": "height of cills",
    "opening": "height of plain openings",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Input:
    """The one figure or text that goes with an answer."""

    key: tuple[str, ...]
    """The key of the change that takes it; of a row the table and then the key in it."""
    value: Any
    """What stands there unless the person says otherwise."""
    unit: str = ""
    kind: str = "number"
    """'number' or 'text'."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One way to settle a question."""

    label: str
    changes: tuple[Change, ...]
    input: Input | None = None

    def as_json(self) -> dict[str, Any]:
        """As the page gets it."""
        given = self.input
        asked = given and {"key": list(given.key), "unit": given.unit, "type": given.kind, "value": given.value}
        return {"label": self.label, "changes": [dict(c) for c in self.changes], "input": asked}


def offers(query: Query, takeoff: Takeoff) -> tuple[Answer, ...]:
    """The answers to `query`, the likeliest first, "leave it as it stands" last."""
    own = _OWN_WAYS.get(query.kind, _fragment)
    return (*own(query, takeoff), _leave(query))


def _leave(query: Query) -> Answer:
    row = {"kind": query.kind, "about": query.about[0] if query.about else "", "note": ""}
    change = {"op": "add", "table": ["accept"], "row": row}
    return Answer(_words(query)["leave"], (change,), Input(("accept", "note"), "", kind="text"))


def _words(query: Query) -> Mapping[str, str]:
    words: Mapping[str, str] = load("queries")[query.kind]
    return words


# -- from the fragment ------------------------------------------------------------------------------------------------


def _fragment(query: Query, _: Takeoff) -> Iterator[Answer]:
    """An answer for each figure or choice of the fragment: with an input where it is a figure or a text."""
    words = _words(query)
    if "offer" not in words:
        return
    for row_table, row in _rows(query):
        figure = next((k for k, v in row.items() if _is_figure(v)), None)
        given = Input((row_table, figure), row[figure], words.get("unit", "")) if figure else None
        yield Answer(words["offer"], ({"op": "add", "table": [row_table], "row": row},), given)
    values = list(_values(query))
    for key, value in values:
        label = words["offer"] if len(values) == 1 else f"{words['offer']}: {_thing(key)}"
        given = Input(key, value, words.get("unit", "")) if _is_figure(value) else None
        yield Answer(label, (_set(key, value),), given)


def _is_figure(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _set(key: tuple[str, ...], value: Any) -> Change:
    return {"op": "set", "key": list(key), "value": value}


def _thing(key: tuple[str, ...]) -> str:
    """What a key of the job file is about, for people."""
    if key[0] == "heights":
        return _WORDS[key[-1]]
    return f"{key[1]}s" if key[0] == "opening_kinds" else key[1]


def _values(query: Query) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Each key of the fragment's tables with its value."""
    yield from _leaves(tomllib.loads(query.answer), ())


def _leaves(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _leaves(value, (*path, name))
        elif not (isinstance(value, list) and value and isinstance(value[0], dict)):
            yield (*path, name), value


def _rows(query: Query) -> Iterator[tuple[str, dict[str, Any]]]:
    """Each row of the fragment with its table."""
    for table, value in tomllib.loads(query.answer).items():
        if isinstance(value, list):
            yield from ((table, row) for row in value)


def _spread(query: Query, key: tuple[str, ...], value: Any) -> tuple[Change, ...]:
    """What the fragment says of the first room or wall, said of all."""
    if len(key) > 2 and key[1] in query.about:
        return tuple(_set((key[0], ref, *key[2:]), value) for ref in query.about)
    return (_set(key, value),)


# -- kinds with ways of their own -------------------------------------------------------------------------------------


def _units(query: Query, _: Takeoff) -> Iterator[Answer]:
    taken = [value for _, value in _values(query)]
    for unit in dict.fromkeys([*taken, *METRES] if taken else ()):
        yield Answer(f"It is drawn in {unit}", (_set(("drawing", "unit"), unit),))


def _split(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    """Only where a good line was found: a row without names is a pattern to be edited."""
    if any("names" in row for _, row in _rows(query)):
        yield from _fragment(query, takeoff)


def _outline(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    """Leave the layer out that draws what stands free in the room, or the room itself."""
    for key, _ in _values(query):
        if key == ("drawing", "ignore_layers"):
            for layer in _free_standing(query, takeoff):
                value = [*takeoff.job.drawing.ignore_layers, layer]
                yield Answer(f"Leave the layer {clean(layer)} out of the reading", (_set(key, value),))
    room = next((r.ref for r in takeoff.plan.rooms if r.ref in query.about), None)
    if room is not None:
        yield Answer(_words(query)["offer"], (_set(("rooms", room, "measured"), False),))


def _free_standing(query: Query, takeoff: Takeoff) -> list[str]:
    """Layers that draw what stands free in the rooms that a question is about and bound no room outside."""
    layer_of = {e.handle: takeoff.drawing.layers[e.layer].name for e in takeoff.drawing.entities}
    inner: dict[str, None] = {}
    outer: set[str] = set()
    for room in takeoff.plan.rooms:
        for side in room.sides:
            names = [layer_of[h] for h in side.handles if h in layer_of]
            if side.ring and room.ref in query.about:
                inner |= dict.fromkeys(names)
            elif not side.ring:
                outer |= set(names)
    return [name for name in inner if name not in outer][:_MOST]


def _backgrounds(query: Query, _: Takeoff) -> Iterator[Answer]:
    for key, taken in _values(query):
        for background in dict.fromkeys([taken, *_WALLS]):
            yield Answer(f"{_words(query)['offer']} {_title(background)}", (_set(key, background),))


def _title(background: str) -> str:
    row: Mapping[str, str] = load("build_ups")["backgrounds"].get(background, {})
    return row.get("title", background)


def _hacked_off(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    """What stands under the loose plaster of all the rows that do not say it."""
    kinds = load("findings")["kinds"]
    rows = [
        (n, row)
        for n, row in enumerate(takeoff.job.findings)
        if row.room in query.about and kinds[row.kind].get("rebuild") and not row.background
    ]
    for background, words in load("findings")["under"].items():
        changes = tuple(
            {"op": "change", "table": ["findings"], "index": n, "row": {**_told(row), "background": background}}
            for n, row in rows
        )
        if changes:
            yield Answer(f"It is hacked off to {words}", changes)


def _told(row: Any) -> dict[str, Any]:
    """A row of the job file as it was written."""
    told: dict[str, Any] = row.model_dump(exclude_unset=True, by_alias=True)
    return told


def _stopped(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    """The finding is dealt with: it comes out."""
    kinds = load("findings")["kinds"]
    for n, row in enumerate(takeoff.job.findings):
        if row.room in query.about and "asks" in kinds[row.kind]:
            yield Answer(
                f"It is dealt with: take the {row.kind.replace('-', ' ')} in {row.room} out",
                ({"op": "remove", "table": ["findings"], "index": n},),
            )


def _visited(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    yield from _fragment(query, takeoff)
    for ref in query.about[:_MOST]:
        row = {"room": ref, "kind": "sound", "amount": 1}
        yield Answer(f"{ref} is sound", ({"op": "add", "table": ["findings"], "row": row},))


def _specification(query: Query, _: Takeoff) -> Iterator[Answer]:
    titles = load("build_ups")["build_ups"]
    for key, value in _values(query):
        title = titles.get(value, {}).get("title", value)
        if len(query.about) > 1:
            yield Answer(f"Take {title} for all of them", _spread(query, key, value))
        yield Answer(f"Take {title} for {key[1]}", (_set(key, value),))


def _centres(query: Query, _: Takeoff) -> Iterator[Answer]:
    """Centres are what stands there: a choice, no figure."""
    for key, most in _values(query):
        for centres in (c for c in (600, 450, 400, 300) if c <= most):
            yield Answer(f"They stand at {centres} mm", (_set(key, centres),))


def _too_high(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    yield from _fragment(query, takeoff)
    for opening in takeoff.plan.openings:
        if opening.ref in query.about[:_MOST] and opening.height_m is not None:
            key = ("openings", opening.ref, "height")
            given = Input(key, round(opening.height_m, 3), "m")
            yield Answer(f"Set the height of {opening.ref}", (_set(key, given.value),), given)


def _shafts(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    yield from _fragment(query, takeoff)
    yield from (Answer("They are not plastered", (_set(key, 0.0),)) for key, _ in _values(query))


def _slopes(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    """The heights are the fragment's; which side is the low one, the person says."""
    values = dict(_values(query))
    room = next((r for r in takeoff.plan.rooms if r.ref in query.about), None)
    sides = sorted((s for s in room.sides if s.ring == 0 and not s.points), key=lambda s: -s.length_m) if room else []
    for side in sides[:4] if values else ():
        row = {key[-1]: side.ref if key[-1] == "low_side" else value for key, value in values.items()}
        way = _heading(side.start, side.end)
        changes = tuple(_set(key, row[key[-1]]) for key in values)
        yield Answer(f"It is lowest above {side.ref}, {way}: from {row['low_height']:g} m", changes)


def _heading(start: tuple[float, float], end: tuple[float, float]) -> str:
    """Where a side lies in its room as the sheet is held: outlines go round with the room on the left."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    if abs(dx) >= abs(dy):
        return "at the bottom of the sheet" if dx > 0 else "at the top of the sheet"
    return "on the right of the sheet" if dy > 0 else "on the left of the sheet"


def _copies(query: Query, takeoff: Takeoff) -> Iterator[Answer]:
    for ref in query.about[:_MOST]:
        rooms = [r.ref for r in takeoff.plan.rooms if r.plan == ref]
        title = next((s.title for s in takeoff.plan.storeys if s.ref == ref), "")
        if rooms:
            named = f"{ref} {title}".strip()
            yield Answer(f"Leave {named} out", tuple(_set(("rooms", r, "measured"), False) for r in rooms))


def _deliveries(query: Query, _: Takeoff) -> Iterator[Answer]:
    for key, value in _values(query):
        for by in dict.fromkeys([value, "storey", "stage", "plot"]):
            yield Answer(f"Deliver {by} by {by}", (_set(key, by),))


_OWN_WAYS: dict[str, Callable[[Query, Takeoff], Iterator[Answer]]] = {
    "background-unclear": _backgrounds,
    "board-span": _centres,
    "ceiling-slopes": _slopes,
    "finding-stops-work": _stopped,
    "hacked-off-to": _hacked_off,
    "open-plan": _split,
    "opening-above-wall": _too_high,
    "outline-uncertain": _outline,
    "plans-alike": _copies,
    "preparation-not-seen": _visited,
    "rooflight-shaft": _shafts,
    "shelf-life": _deliveries,
    "specification": _specification,
    "unit-unclear": _units,
}
