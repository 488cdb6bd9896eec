"""How sure a room's outline is, from what each side rests on and what else bears witness.

Each doubt multiplies the confidence by its own factor; the factors are estimates, checked against generated plans
by ``tests/draughtsman``: rooms given 0.9 and more are to be right in at least 99 of 100.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from takeoff.plan.model import Opening, Room, Side

__all__ = ["SURE", "Doubts", "confidence_of", "doorless", "less_sure"]

SURE = 0.9
"""Rooms at least this sure are not asked about."""
_START = 0.99
_DOORLESS, _SEVERAL = 0.8, 2
"""What is left of the confidence where no room of a storey has a way in, and how many rooms it has at least."""
_FACTORS = {"crowded": 0.6, "unnamed": 0.98, "closed": 0.8, "weak": 0.7, "missing": 0.7, "cluttered": 0.8}


@dataclass(frozen=True, slots=True)
class Doubts:
    """What speaks against a room as found."""

    crowded: bool = False
    """Two names or more stand in it."""
    closed: bool = False
    """Nothing leads into it."""
    unnamed: bool = False
    weak: bool = False
    """Much of its outline has no wall's body behind it, though the drawing's walls have bodies."""
    missing: bool = False
    """A line of its walls seems to be missing."""
    cluttered: bool = False
    """Its storey has so much stray line work that walls cannot be told."""


def doorless(rooms: Sequence[Room], openings: Sequence[Opening]) -> list[str]:
    """Storeys of several rooms into none of which a door or an opening leads: their doors were not understood, and the
    outlines may run along open leaves.
    """
    plan_of = {room.ref: room.plan for room in rooms}
    entered = {plan_of[ref] for o in openings if o.kind in ("door", "opening") for ref in o.rooms}
    count = Counter(room.plan for room in rooms)
    return [plan for plan, number in count.items() if number >= _SEVERAL and plan not in entered]


def less_sure(rooms: Sequence[Room], storeys: Sequence[str]) -> tuple[Room, ...]:
    """The rooms, those of doorless `storeys` with less confidence."""
    return tuple(
        replace(r, confidence=round(r.confidence * _DOORLESS, 3)) if r.plan in storeys else r for r in rooms
    )


def confidence_of(sides: Sequence[Side], doubts: Doubts) -> float:
    """0-1 for one room. Sides that are 'assumed' were decided by a person in the job file and count as drawn."""
    total = sum(s.length_m for s in sides) or 1.0
    healed = sum(s.length_m for s in sides if s.support == "healed") / total
    value = _START * (1.0 - min(healed, 0.5))
    for name, factor in _FACTORS.items():
        if getattr(doubts, name):
            value *= factor
    return round(value, 3)
