"""Allowances for existing rooms that nobody has looked at, and the second helping of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import Any

from takeoff.data import load
from takeoff.work.labour import Task, operation
from takeoff.work.model import Finding, Need, Operation
from takeoff.work.scheme import Scheme

__all__ = ["DOUBLED", "allowances", "doubled", "twice"]

DOUBLED = "Preparation a second time: before the visit it commonly takes twice what was allowed (common practice)"


def allowances(room: str, scheme: Scheme) -> list[Finding]:
    """What ``data/findings.toml`` allows for in a room, in the order of its kinds. Pieces come whole."""
    rows = []
    for slug, kind in load("findings")["kinds"].items():
        allow = kind.get("allow")
        base, place = _base(allow, room, scheme) if allow else (0.0, "room")
        if not allow or not base:
            continue
        whole = kind["unit"] == "no"
        low, likely, high = (_amount(base * allow[k], whole) for k in ("low", "likely", "high"))
        depth = allow.get("depth_mm", 0.0)
        rows.append(Finding("", room, place, slug, likely, kind["unit"], depth, low, high, "allowance"))
    return rows


def _amount(exact: float, whole: bool) -> float:
    return float(ceil(exact - 1e-9)) if whole else round(exact, 2)


def _base(allow: Mapping[str, Any], room: str, scheme: Scheme) -> tuple[float, str]:
    """What an allowance is a share of, in its unit, and the place it lies in."""
    if allow.get("per_room"):
        return 1.0, "room"
    what = allow.get("share_of") or allow["per_m2_of"]
    if what == "wall to ceiling":
        return sum(e.length_m for e in scheme.edges_of.get(room, ()) if e.kind == what), "walls"
    wanted = ("ceiling",) if what == "ceiling" else ("wall", "pier")
    area = sum(s.net_m2 for s in scheme.surfaces_of.get(room, ()) if s.kind in wanted)
    return area, "ceiling" if what == "ceiling" else "walls"


def doubled(room: str, operations: Sequence[Operation]) -> Operation:
    """The second helping of a room's allowances, as one operation counted in hours."""
    hours = round(sum(o.hours for o in operations if o.room == room and o.allowance), 2)
    task = Task("preparation-doubled", DOUBLED, "repair", "h", 0.0, 1.0, 1.5, "common practice")
    return operation(task, room, hours, (), allowance=True)


def twice(need: Need) -> Need:
    """The same need again, saying why."""
    return replace(need, how=f"{need.how}; again: allowance doubled before the visit")
