"""Findings in a room: what the job file says was found, and what is allowed before anybody has looked."""

from __future__ import annotations

from takeoff.data import load
from takeoff.documents.safe_text import clean
from takeoff.record import Takeoff
from takeoff.review.views.values import Json, maybe, rounded
from takeoff.work.model import Finding

__all__ = ["finding_rows"]


def finding_rows(takeoff: Takeoff, room: str) -> list[Json]:
    """One row a finding. `index` is its row of [[findings]], None for an allowance, which stands in no file."""
    told = len(takeoff.job.findings)  # the findings of the job file come first, in its order
    return [
        _finding(finding, number if number < told else None)
        for number, finding in enumerate(takeoff.work.findings)
        if finding.room == room
    ]


def _finding(finding: Finding, index: int | None) -> Json:
    kind = load("findings")["kinds"][finding.kind]
    return {
        "index": index,
        "ref": finding.ref,
        "room": finding.room,
        "kind": finding.kind,
        "title": kind["title"],
        "place": finding.place,
        "amount": rounded(finding.amount),
        "unit": finding.unit,
        "thickness_mm": rounded(finding.thickness_mm),
        "low": maybe(finding.low),
        "high": maybe(finding.high),
        "state": finding.state,
        "note": clean(finding.note),
    }
