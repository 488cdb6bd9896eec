"""Questions about openings: asked where the drawing leaves their kind or their size open, and only there."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from takeoff.plan.found_openings import Witnesses
from takeoff.plan.model import Opening
from takeoff.plan.schedules import mark_key
from takeoff.query import Query, query

__all__ = ["opening_queries"]

_NAMED = 8
"""More openings than this in one sentence are counted."""
_WIDER, _NARROWER = 0.08, 0.2
"""A scheduled width may be so much more or less than the drawn one, metres: a leaf is narrower than its opening by its
frame and the fitting, a size over all a little wider (common practice)."""


def opening_queries(openings: Sequence[Opening], guessed: Collection[str], witnesses: Witnesses) -> list[Query]:
    """One question for each doubt; `guessed` are the handles of windows that may as well be piers."""
    return _guessed(openings, guessed) + _unclear(openings, witnesses) + _differing(openings, witnesses)


def _guessed(openings: Sequence[Opening], guessed: Collection[str]) -> list[Query]:
    """Windows (between two rooms: doors) that may as well be piers, but for those that a tag or a size tells."""
    found = [
        o for o in openings
        if not o.tag and o.size_from == "symbol" and not set(o.handles).isdisjoint(guessed)
    ]
    if not found:
        return []
    refs = [o.ref for o in found]
    says = (
        f"{_shown(refs)}: two lines between two jambs, drawn like the wall, with no glass between them. Taken for "
        "openings, because they and the wall beside them take turns. Look at the drawing; ignore what is solid wall."
    )
    return [
        query("window-or-pier", says, about=refs, at=found[0].at, answer=f"[openings.{refs[0]}]\nignore = true")
    ]


def _unclear(openings: Sequence[Opening], witnesses: Witnesses) -> list[Query]:
    """Openings on the plan whose row in a schedule cannot be relied on."""
    found = [o for o in openings if o.tag and mark_key(o.tag) in witnesses.unclear and o.height_from != "job"]
    if not found:
        return []
    why = {o.tag: witnesses.unclear[mark_key(o.tag)] for o in found}
    told = "; ".join(f"{tag}: {reason}" for tag, reason in list(why.items())[:_NAMED])
    says = (
        f"The schedule does not settle the size of {_shown([o.ref for o in found])} ({told}). The width is measured on "
        "the drawing and the height left as if nothing were said: read the schedule and set the height."
    )
    first = found[0]
    answer = f"[openings.{first.ref}]\nheight = {first.height_m or 2.1:.2f}"
    return [query("schedule-unclear", says, about=[o.ref for o in found], at=first.at, answer=answer)]


def _differing(openings: Sequence[Opening], witnesses: Witnesses) -> list[Query]:
    """Openings drawn much wider or narrower than the schedule says."""
    found = [(o, told) for o in openings if (told := _told_otherwise(o, witnesses)) is not None]
    if not found:
        return []
    parts = [f"{o.ref} ({o.tag}) {o.width_m:.2f} m drawn, {told:.2f} m scheduled" for o, told in found[:_NAMED]]
    more = f", and {len(found) - _NAMED} more" if len(found) > _NAMED else ""
    says = (
        f"{'; '.join(parts)}{more}: drawing and schedule do not agree. The drawn width is used; set the width "
        "where the schedule is right."
    )
    first, told = found[0]
    answer = f"[openings.{first.ref}]\nwidth = {told:.3f}"
    return [query("schedule-differs", says, about=[o.ref for o, _ in found], at=first.at, answer=answer)]


def _told_otherwise(opening: Opening, witnesses: Witnesses) -> float | None:
    """The scheduled width that the drawn one contradicts."""
    row = witnesses.schedule.get(mark_key(opening.tag)) if opening.tag and opening.size_from != "job" else None
    if row is None or row.width_m is None or row.kind not in ("", opening.kind):
        return None
    return None if -_WIDER <= opening.width_m - row.width_m <= _NARROWER else row.width_m


def _shown(refs: Sequence[str]) -> str:
    return ", ".join(refs[:_NAMED]) + (f" and {len(refs) - _NAMED} more" if len(refs) > _NAMED else "")
