"""The warnings of ``data/cautions.toml`` that a job calls for, each with the rooms that call for it.

Terms:
  circumstance   a fact of the job that a warning waits for: 'existing', 'boards', 'wet room', 'may be before 2000' ...
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from takeoff.data import load
from takeoff.work.ask import needs_noggings, separating_walls
from takeoff.work.model import Caution
from takeoff.work.scheme import Scheme

__all__ = ["choose_cautions"]

_WET_KINDS = {"undercoat", "finish", "lime", "cement"}
_MASONRY = ("brick", "block", "concrete", "solid historic wall")
_ROOM_KINDS = ("wet room", "stair", "garage", "plant")
_WHOLE_JOB = ""


def choose_cautions(scheme: Scheme, found: Iterable[str] = ()) -> tuple[Caution, ...]:
    """The warnings in the order of the table, then those that build-ups of the job file word themselves.

    `found` are the warnings that findings call for, by name.
    """
    true = _gathered(_circumstances(scheme))
    asked = _gathered((c, s.room) for s, _, b in scheme.each() for c in b.cautions)
    named = set(found)
    chosen = []
    for slug, row in load("cautions").items():
        ruled_out = any(word in true for word in row.get("unless", ()))
        calls = [] if ruled_out else [rooms for word in row["when"] if (rooms := true.get(word)) is not None]
        if not ruled_out and row["title"] in asked:
            calls.append(asked[row["title"]])
        if calls or (slug in named and not ruled_out):
            whole = not calls or any(_WHOLE_JOB in rooms for rooms in calls)
            about = () if whole else tuple(dict.fromkeys(room for rooms in calls for room in rooms))
            chosen.append(Caution(slug, row["title"], row["says"], row["source"], about))
    titles = {row["title"] for row in load("cautions").values()}
    own = ((says, rooms) for says, rooms in asked.items() if says not in titles)
    return (*chosen, *(Caution("", "Caution", says, "set in the job file", rooms) for says, rooms in own))


def _gathered(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Rooms by word, each once, in order."""
    found: dict[str, dict[str, None]] = {}
    for word, room in pairs:
        found.setdefault(word, {})[room] = None
    return {word: tuple(rooms) for word, rooms in found.items()}


def _circumstances(scheme: Scheme) -> Iterator[tuple[str, str]]:
    """What is true of this job, each with the room it is true of, or '' for the whole job."""
    yield "always", _WHOLE_JOB
    yield "after 2000" if scheme.job.job.built_before_2000 is False else "may be before 2000", _WHOLE_JOB
    measured = {s.room for s in scheme.measured.surfaces}
    for room in scheme.plan.rooms:
        if room.ref in scheme.existing:
            yield "existing", room.ref
        if room.kind in _ROOM_KINDS and room.ref in measured:
            yield room.kind, room.ref
    for surface in separating_walls(scheme):
        yield "separating", surface.room
    for ref in needs_noggings(scheme):
        yield "noggings", ref
    yield from _of_surfaces(scheme)


def _of_surfaces(scheme: Scheme) -> Iterator[tuple[str, str]]:
    kinds_of = {b.slug: scheme.kinds(b) for b in scheme.library.values()}
    for surface, assignment, build_up in scheme.each():
        kinds = kinds_of[build_up.slug]
        facts = {
            "boards": "board" in kinds,
            "bags": bool(kinds & _WET_KINDS),
            "wet plaster": bool(kinds & _WET_KINDS),
            "taped": "compound" in kinds,
            "masonry": assignment.background in _MASONRY,
            "historic": assignment.background == "solid historic wall",
            "ceilings": surface.kind == "ceiling",
            "outer walls": surface.kind == "wall" and surface.external is True,
            "curved": surface.curved,
        }
        yield from ((fact, surface.room) for fact, holds in facts.items() if holds)
