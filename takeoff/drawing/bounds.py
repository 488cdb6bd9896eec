"""How much of a drawing is read: what a hostile or runaway file may hold and may copy before it is stopped."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["OF_MANY", "Bounds"]


@dataclass(frozen=True, slots=True)
class Bounds:
    entities: int | None = None
    """That the file itself may hold, vertices and attributes counted; None: any number. A file with more is refused."""
    copies: int = 1_000_000
    """Entities (or pieces of line, by fours) that all block references may add; large honest drawings add a tenth.
    References that would add more are left out and asked about."""


OF_MANY = Bounds(entities=1_000_000)
"""Of each drawing in a run over many. The largest plans the project was measured on hold a tenth."""
