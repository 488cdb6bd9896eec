"""What is asked, each with its place and its answers; and what was accepted as it stands."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from takeoff.documents.safe_text import clean
from takeoff.plan.model import Plan
from takeoff.query import Query
from takeoff.review.views.values import Json, place_in

__all__ = ["Offers", "query_rows"]

Offers = Callable[[Query], Sequence[Json]]
"""The answers that a query can be given with a click."""


def query_rows(queries: Iterable[Query], plan: Plan, offers: Offers) -> list[Json]:
    place, storeys = place_in(plan), _storeys(plan)
    return [
        {
            "ref": query.ref,
            "kind": query.kind,
            "concerns": query.concerns,
            "about": list(query.about),
            "at": place(query.at) if query.at else None,
            "plan": next((storeys[ref] for ref in query.about if ref in storeys), None),
            "says": clean(query.says),
            "answers": list(offers(query)),
        }
        for query in queries
    ]


def _storeys(plan: Plan) -> dict[str, str]:
    """The storey of each thing that a query may be about."""
    refs = {storey.ref: storey.ref for storey in plan.storeys}
    refs |= {room.ref: room.plan for room in plan.rooms}
    return refs | {opening.ref: opening.plan for opening in plan.openings}
