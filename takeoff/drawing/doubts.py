"""What was left out and may have been part of the plan becomes a query; the rest is only counted."""

from __future__ import annotations

from takeoff.drawing.entities import BODY, DAMAGED, PROXY, UNDERLAY
from takeoff.drawing.flatten import HOLDS_ITSELF, NOT_IN_FILE, OUTSIDE, TOO_DEEP, TOO_MANY
from takeoff.drawing.gather import BEYOND_REACH
from takeoff.drawing.sheet import LeftOuts
from takeoff.query import Query, query

__all__ = ["doubts"]

_NAMED = 3
"""Names spelt out in a sentence; the rest is counted."""


def doubts(left_out: LeftOuts) -> tuple[Query, ...]:
    """Queries about what took no part in `left_out`, in a fixed order."""
    asked = (
        ("outside-reference", (OUTSIDE, NOT_IN_FILE, UNDERLAY), (
            "The drawing refers to {n} block{s} or other drawing{s} that the file does not hold ({names}): "
            "ask for the drawing with its references bound in, unless they are only sheets, frames or furniture."
        )),
        ("add-on-objects", (PROXY,), (
            "{n} object{s} made by an add-on program could not be read ({names}): ask for the drawing exported with "
            "plain lines, if walls, doors or windows are missing on the marked plan."
        )),
        ("solid-bodies", (BODY,), (
            "{n} solid bod{ies} could not be read ({names}), since only the modelling program knows their shape: ask "
            "for the plan exported with plain lines, if walls are missing on the marked plan."
        )),
        ("blocks-left-out", (TOO_MANY, HOLDS_ITSELF, TOO_DEEP), (
            "{n} block reference{s} could not be drawn, being endless or far too many ({names}): check on the marked "
            "plan that no wall is missing, or have the blocks mended and the drawing saved again."
        )),
        ("wild-coordinates", (BEYOND_REACH,), (
            "{n} thing{s} with coordinates that are no numbers or are out of all reach left out ({names}): check on "
            "the marked plan that no wall is missing."
        )),
        ("file-damaged", (DAMAGED,), (
            "{n} damaged thing{s} could not be read ({names}): ask for the file again, or check on the marked plan "
            "that no wall is missing."
        )),
    )  # fmt: skip
    found = []
    for kind, reasons, sentence in asked:
        names = sorted(what for reason, what in left_out if reason in reasons)
        count = sum(n for (reason, _), n in left_out.items() if reason in reasons)
        if count:
            rest = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
            listed = ", ".join(names[:_NAMED]) + rest
            one = count == 1
            said = sentence.format(n=f"{count:,}", s="" if one else "s", ies="y" if one else "ies", names=listed)
            found.append(query(kind, said))
    return tuple(found)
