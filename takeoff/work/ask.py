"""What the tool asks about build-ups and never decides: unclear walls, and fire, sound, moisture and lime.

Each question is asked once for the drawing and lists the rooms; what the job file has settled is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from takeoff.data import load
from takeoff.measure.model import Surface
from takeoff.plan.model import Room
from takeoff.query import Query, query
from takeoff.work.backgrounds import UNKNOWN_WALL
from takeoff.work.model import BuildUp
from takeoff.work.scheme import Scheme
from takeoff.work.stock import Row

__all__ = ["ask", "needs_noggings", "separating_walls"]

_HISTORIC = "solid historic wall"
_FRAMES = ("timber frame", "metal frame")


def ask(scheme: Scheme) -> tuple[Query, ...]:
    """The queries of this stage: at most one for each topic."""
    questions = (
        _unclear_backgrounds(scheme),
        *(_by_kind_of_room(topic, scheme) for topic in ("moisture", "fire")),
        _sound(scheme),
        _lime(scheme),
        *(_span(scheme, ceiling=ceiling) for ceiling in (False, True)),
    )
    return tuple(question for question in questions if question)


def _unclear_backgrounds(scheme: Scheme) -> Query | None:
    unclear = [(s, a) for s, a, _ in scheme.each() if s.kind == "wall" and a.decided_by.startswith(UNKNOWN_WALL)]
    if not unclear:
        return None
    run = sum(s.length_m for s, _ in unclear)
    taken = list(dict.fromkeys(a.background for _, a in unclear))
    walls = "1 wall" if len(unclear) == 1 else f"{len(unclear)} walls"
    says = (
        f"{walls} ({run:.1f} m of run) could be masonry or framing: taken as {' or '.join(taken)} for now. "
        "Say what they are, all at once or wall by wall."
    )
    one_by_one = f'# or: [surfaces."{unclear[0][0].ref}"]\n# background = "block"'
    answer = f'[wall_types.unknown]\nbackground = "{taken[0]}"\n{one_by_one}'
    return query("background-unclear", says, about=dict.fromkeys(s.room for s, _ in unclear), answer=answer)


def _open_surfaces(scheme: Scheme) -> Iterator[Surface]:
    """Surfaces of new rooms whose build-up is still a proposal."""
    return (s for s, _, _ in scheme.each() if s.room not in scheme.existing and not scheme.settled(s))


def _by_kind_of_room(topic: str, scheme: Scheme) -> Query | None:
    """Moisture and fire, by what the rooms are."""
    row = load("build_ups")["ask"][topic]
    still_open = {s.room for s in _open_surfaces(scheme) if s.kind in ("wall", "ceiling")}
    rooms = [r for r in scheme.plan.rooms if r.kind in row["kinds"] and r.ref in still_open]
    if not rooms:
        return None
    says = row["says"].format(places=_listed([_called(room) for room in rooms]))
    first = [a.background for s, a, _ in scheme.each() if s.room == rooms[0].ref and s.kind == "wall"]
    above = f'# ceiling_build_up = "{row["offer_frame"]}"'
    answer = f'[rooms.{rooms[0].ref}]\nwall_build_up = "{_offer(row, first)}"\n{above}'
    return query("specification", says, about=(r.ref for r in rooms), answer=answer)


def _offer(row: Mapping[str, Any], backgrounds: Sequence[str]) -> str:
    """A build-up to offer that suits at least one of `backgrounds`."""
    on_frame = not backgrounds or any(background in _FRAMES for background in backgrounds)
    return str(row["offer_frame" if on_frame else "offer_masonry"])


def _called(room: Room) -> str:
    return room.ref if room.name in ("", room.ref) else f"{room.ref} {room.name}"


def separating_walls(scheme: Scheme) -> list[Surface]:
    """Walls between rooms as thick as a wall between dwellings, where the drawing tells of several dwellings."""
    rule = load("build_ups")["ask"]["sound"]
    if not _several_dwellings(scheme, frozenset(rule["dwelling_words"])):
        return []
    walls = (s for s in scheme.measured.surfaces if s.kind == "wall" and s.external is False)
    return [s for s in walls if (s.thickness_m or 0.0) >= rule["separating_from_m"]]


def _several_dwellings(scheme: Scheme, words: frozenset[str]) -> bool:
    """True where a room's name speaks of flats or common parts, or the job file tells of several plots."""
    plots = {row.plot for row in scheme.job.rooms.values() if row.plot}
    named = any(words & set(re.findall(r"\w+", room.name.casefold())) for room in scheme.plan.rooms)
    return len(plots) > 1 or named or any(room.kind == "dwelling" for room in scheme.plan.rooms)


def _sound(scheme: Scheme) -> Query | None:
    still_open = {s.ref for s in _open_surfaces(scheme)}
    walls = [s for s in separating_walls(scheme) if s.ref in still_open]
    if not walls:
        return None
    row = load("build_ups")["ask"]["sound"]
    background = next(a.background for s, a, _ in scheme.each() if s.ref == walls[0].ref)
    answer = f'[surfaces."{walls[0].ref}"]\nbuild_up = "{_offer(row, [background])}"'
    says = row["says"].format(places=_listed([s.ref for s in walls]))
    return query("specification", says, about=(s.ref for s in walls), answer=answer)


def _lime(scheme: Scheme) -> Query | None:
    """Solid historic walls that gypsum is still proposed for: lime is offered, never assumed."""
    old = (s.room for s, a, b in scheme.each() if a.background == _HISTORIC and _undecided_gypsum(s, b, scheme))
    rooms = list(dict.fromkeys(old))
    if not rooms:
        return None
    says = (
        f"{', '.join(rooms)}: solid old walls may need lime, which dries slowly and takes no gypsum; gypsum is counted "
        "until you say. Ask the owner, and the authority if the building is listed."
    )
    return query("specification", says, about=rooms, answer=f'[rooms.{rooms[0]}]\nwall_build_up = "lime-three-coat"')


def _undecided_gypsum(surface: Surface, build_up: BuildUp, scheme: Scheme) -> bool:
    return "lime" not in scheme.kinds(build_up) and not scheme.settled(surface)


def _span(scheme: Scheme, *, ceiling: bool) -> Query | None:
    """Boards on framing set out wider than they may span (NHBC 6.3.12, 9.2.4)."""
    what, key = ("joists", "ceiling_centres") if ceiling else ("studs", "wall_centres")
    limit = "ceiling_with_noggings_mm" if ceiling else "wall_mm"
    centres = getattr(scheme.job.framing, key)
    over = [(s, rule[limit]) for s, rule in _framed(scheme, ceiling=ceiling) if centres > rule[limit]]
    if not over:
        return None
    says = (
        f"{_listed([s.ref for s, _ in over])}: the board may not span {what} at {centres} mm. "
        "Set the centres that stand there, or take a thicker board."
    )
    answer = f"[framing]\n{key} = {min(most for _, most in over)}"
    return query("board-span", says, about=(s.ref for s, _ in over), answer=answer)


def needs_noggings(scheme: Scheme) -> list[str]:
    """Rooms whose ceiling boards are allowed at these joist centres only with noggings."""
    centres = scheme.job.framing.ceiling_centres
    framed = _framed(scheme, ceiling=True)
    return [s.room for s, rule in framed if rule["ceiling_mm"] < centres <= rule["ceiling_with_noggings_mm"]]


def _framed(scheme: Scheme, *, ceiling: bool) -> Iterator[tuple[Surface, dict[str, Any]]]:
    """Surfaces boarded on framing, each with the span rule of its board."""
    kinds = ("ceiling",) if ceiling else ("wall", "pier")
    for surface, a, build_up in scheme.each():
        if surface.kind in kinds and a.background in _FRAMES:
            board = next((row for row in scheme.materials(build_up) if row["kind"] == "board"), None)
            if board is not None:
                yield surface, _span_rule(board)


def _span_rule(board: Row) -> dict[str, Any]:
    """The rule of the thickest listed board that is not thicker than this one."""
    spans: list[dict[str, Any]] = load("build_ups")["spans"]
    thickness = board.get("skin_mm", board.get("thickness_mm", spans[0]["thickness_mm"]))
    return next((row for row in reversed(spans) if row["thickness_mm"] <= thickness), spans[0])


def _listed(refs: Sequence[str], most: int = 8) -> str:
    shown = ", ".join(refs[:most])
    return f"{shown} and {len(refs) - most} more" if len(refs) > most else shown
