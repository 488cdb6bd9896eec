"""The bill's rows: each surface under its item and height band, each room's edges by kind.

A surface stands in the bill once. A narrow face is billed by the metre: then it is not among the square metres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, inf

from takeoff.measure._figures import metres
from takeoff.measure.model import Edge, Quantity, Surface
from takeoff.measure.opening_shape import opening_area
from takeoff.measure.parts import RoomParts, Wall
from takeoff.measure.rules import EQUAL_M, Rule

__all__ = ["quantities_of"]

NOTHING = 1e-6

EDGE_ITEMS = {
    "external angle": "external angles",
    "internal angle": "internal angles",
    "opening angle": "opening angles",
    "wall to ceiling": "wall to ceiling",
    "stop": "stops",
}


@dataclass(frozen=True, slots=True)
class _Band:
    """A range of heights over the floor that the rule keeps apart; `title` is '' for the lowest."""

    low: float
    high: float
    title: str


def quantities_of(
    parts: RoomParts, surfaces: Sequence[Surface], edges: Sequence[Edge], rule: Rule
) -> Iterator[Quantity]:
    """The rows of one room: its surfaces in their order, then its edges by kind."""
    walls = {wall.ref: wall for wall in parts.walls}
    for surface in surfaces:
        if surface.kind == "reveal":
            yield _reveal(surface, rule)
        elif surface.kind == "ceiling":
            yield from _ceiling(surface, parts, rule)
        elif surface.narrow:
            yield _narrow(surface, rule)
        else:
            yield from _wall(surface, walls[surface.ref], rule)
    yield from _edges(parts.room.ref, edges, rule)


def _wall(surface: Surface, wall: Wall, rule: Rule) -> Iterator[Quantity]:
    item = "piers" if surface.kind == "pier" else "curved walls" if surface.curved else "walls"
    tallest = max(h for _, h in wall.profile.points)
    for band in _bands(rule, tallest):
        gross = wall.profile.area(bottom=band.low, top=band.high)
        deducted = sum(
            _share(d.area_m2, opening_area(wall, p)) * opening_area(wall, p, band.low, band.high)
            for d, p in zip(surface.deductions, wall.placed, strict=True)
        )
        how = surface.how if not band.title and tallest <= band.high else f"part of {surface.how}"
        if gross > NOTHING:
            yield _row(surface, f"{item}{band.title}", "m2", gross, min(gross, deducted), rule, how)


def _ceiling(surface: Surface, parts: RoomParts, rule: Rule) -> Iterator[Quantity]:
    item = "sloping ceiling" if surface.part == "slope" else "ceiling"
    deducted = surface.gross_m2 - surface.net_m2
    if surface.part == "flat" and not parts.top.slopes:
        title = _bands(rule, parts.top.high_m)[-1].title
        yield _row(surface, f"{item}{title}", "m2", surface.gross_m2, deducted, rule, surface.how)
        return
    high = surface.over_height_m2 / surface.net_m2 if surface.net_m2 > NOTHING else 0.0
    over = f" over {metres(rule.high_from_m)} m"
    for title, share in (("", 1 - high), (over, high)):
        if share > NOTHING:
            how = surface.how if share > 1 - NOTHING else f"part of {surface.how}"
            yield _row(surface, f"{item}{title}", "m2", surface.gross_m2 * share, deducted * share, rule, how)


def _narrow(surface: Surface, rule: Rule) -> Quantity:
    """By the metre of its height: the face's area over its width."""
    item = "narrow piers" if surface.kind == "pier" else "narrow widths"
    deducted = (surface.gross_m2 - surface.net_m2) / surface.length_m
    return _row(surface, item, "m", surface.height_m, deducted, rule, f"{metres(surface.length_m)} wide: {surface.how}")


def _reveal(surface: Surface, rule: Rule) -> Quantity:
    by_metre = rule.reveals_in_metres and surface.narrow
    gross = surface.length_m if by_metre else surface.gross_m2
    left_out = surface.net_m2 == 0
    item, unit = ("narrow reveals", "m") if by_metre else ("reveals", "m2")
    return _row(surface, item, unit, gross, gross if left_out else 0.0, rule, surface.how)


def _edges(room: str, edges: Iterable[Edge], rule: Rule) -> Iterator[Quantity]:
    by_kind: dict[str, list[Edge]] = {}
    for edge in edges:
        by_kind.setdefault(edge.kind, []).append(edge)
    for kind, item in EDGE_ITEMS.items():
        found = by_kind.get(kind, [])
        if found:
            length = sum(edge.length_m for edge in found)
            how = " + ".join(metres(edge.length_m) for edge in found)
            yield Quantity(room, "", item, "m", length, 0.0, length, rule.slug, how)


def _bands(rule: Rule, tallest: float) -> tuple[_Band, ...]:
    """The height bands up to `tallest`, lowest first."""
    start, stage = rule.high_from_m, rule.high_stage_m
    if tallest <= start + EQUAL_M:
        return (_Band(0.0, inf, ""),)
    if stage <= 0:
        return (_Band(0.0, start, ""), _Band(start, inf, f" over {metres(start)} m"))
    stages = ceil((tallest - start) / stage - EQUAL_M)
    above = [(start + n * stage, start + (n + 1) * stage) for n in range(stages)]
    titled = [_Band(a, b, f" over {metres(a)} m, not exceeding {metres(b)} m") for a, b in above]
    return (_Band(0.0, start, ""), *titled)


def _share(taken: float, area: float) -> float:
    return taken / area if area > NOTHING else 0.0


def _row(surface: Surface, item: str, unit: str, gross: float, deducted: float, rule: Rule, how: str) -> Quantity:
    return Quantity(
        surface.room, surface.ref, item, unit, gross, deducted, gross - deducted, rule.slug, how, surface.handles
    )
