"""Figures and places in plain words, the same in every document."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from takeoff.measure.model import Surface
from takeoff.plan.model import Room
from takeoff.record import Takeoff
from takeoff.work.model import Finding

__all__ = ["SurfaceGroup", "finding_words", "kg_text", "money_text", "room_title", "signed_money", "surface_groups"]

KIND_WORDS = {"wall": "Walls", "ceiling": "Ceiling", "reveal": "Reveals", "pier": "Piers"}


def money_text(value: Decimal | None, currency: str) -> str:
    """'GBP 1,234.50'; 'price not known' for None, never nought."""
    return "price not known" if value is None else f"{currency} {value:,.2f}".strip()


def signed_money(value: Decimal | None, currency: str) -> str:
    """'+GBP 120.00', '-GBP 35.00': a difference; 'price not known' for None."""
    if value is None:
        return money_text(None, currency)
    return f"{'+' if value >= 0 else '-'}{money_text(abs(value), currency)}"


def kg_text(kg: float) -> str:
    """'36', '2.4', '0.35' with the unit apart: never nought for what has a weight."""
    if kg >= 10 or kg <= 0:
        return f"{kg:.0f}"
    return f"{kg:.1f}" if kg >= 0.95 else f"{max(kg, 0.01):.2f}"


def room_title(room: Room) -> str:
    """'R3 Kitchen'."""
    return f"{room.ref} {room.name}".strip()


@dataclass(frozen=True, slots=True)
class SurfaceGroup:
    """The surfaces of a room that get the same build-up."""

    kind: str
    build_up: str
    background: str
    refs: tuple[str, ...]
    net_m2: float

    def words(self) -> str:
        """'Walls, 28.31 m2: Undercoat and finish on brick'."""
        return f"{KIND_WORDS.get(self.kind, self.kind)}, {self.net_m2:.2f} m2: {self.build_up}"


def surface_groups(takeoff: Takeoff, room: str) -> list[SurfaceGroup]:
    """A room's surfaces by kind, build-up and background, in the order they were measured."""
    assigned = {a.surface: a for a in takeoff.work.assignments}
    groups: dict[tuple[str, str, str], list[Surface]] = {}
    for surface in takeoff.measured.surfaces:
        if surface.room == room and surface.ref in assigned:
            row = assigned[surface.ref]
            groups.setdefault((surface.kind, row.build_up, row.background), []).append(surface)
    titles = {slug: build_up.title for slug, build_up in takeoff.work.build_ups.items()}
    return [
        SurfaceGroup(kind, titles.get(slug, slug), background, tuple(s.ref for s in some), sum(s.net_m2 for s in some))
        for (kind, slug, background), some in groups.items()
    ]


def finding_words(findings: Sequence[Finding]) -> list[str]:
    """What the findings of a room mean for the scope: 'hack off ... 3.36 m2 (allowance)'."""
    rows = []
    for finding in findings:
        depth = f", {finding.thickness_mm:g} mm deep" if finding.thickness_mm else ""
        state = " (allowance, not seen yet)" if finding.state == "allowance" else ""
        scope = finding.scope
        rows.append(f"{scope[0].upper()}{scope[1:]}: {finding.amount:g} {finding.unit}{depth}{state}")
    return rows
