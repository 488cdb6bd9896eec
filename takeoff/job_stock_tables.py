"""Tables of the job file on what is bought by the piece: boards and beads, and how they are laid and cut.

Lengths in metres unless the name says millimetres, money in `Decimal`.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Literal

from pydantic import Field

from takeoff.job_tables import Table

__all__ = ["BeadStockRow", "BeadsTable", "BoardStockRow", "BoardsTable", "ListedBead"]


class BoardStockRow(Table):
    """[[boards.stock]]: a sheet size that the user buys."""

    length: float = Field(gt=0.3, le=6)
    width: float = Field(gt=0.2, le=2)
    board: str = ""
    """Slug of the board material; empty means all boards."""
    price: Decimal | None = Field(None, gt=0)
    """Per sheet. Where one size of a board has none, the area itself is the cost."""


class BoardsTable(Table):
    """[boards]: how sheets are laid and cut; unset values come from data/boards.toml."""

    stock: tuple[BoardStockRow, ...] = ()
    wall_direction: Literal["up", "along", "best"] | None = None
    """Which way the length of a sheet runs on walls."""
    ceiling_direction: Literal["long", "short", "best"] | None = None
    """Which way the length of a sheet runs on ceilings: with the longer or the shorter side of the room."""
    directions: dict[str, Literal["up", "along", "long", "short", "best"]] = {}
    """The same for single surfaces, by ref."""
    framing_from: dict[str, float] = {}
    """Place of one stud or joist, in metres from the surface's left end, by ref; unset means set out to suit."""
    smallest_width_mm: int | None = Field(None, ge=20, le=600)
    smallest_length_mm: int | None = Field(None, ge=20, le=1200)
    kerf_mm: int | None = Field(None, ge=0, le=20)
    stagger_mm: int | None = Field(None, ge=0, le=1500)
    """Least distance of end joints in neighbouring rows."""
    jamb_clear_mm: int | None = Field(None, ge=0, le=600)
    """Least distance of a joint from the line of a jamb."""
    cut_edge_joints: bool | None = None
    """true: a cut edge may meet another board inside a wall or ceiling."""


class BeadStockRow(Table):
    """[[beads.stock]]: a length of bead that the user buys."""

    length: float = Field(gt=0.3, le=12)
    bead: str = ""
    """Slug of the bead material; empty means all beads without rows of their own."""
    price: Decimal | None = Field(None, gt=0)
    """Per length."""


class ListedBead(Table):
    """[[beads.movement]] and [[beads.stop]]: a movement joint, or a free edge or abutment that the drawing hides."""

    room: str
    length: float = Field(gt=0, le=100)
    number: int = Field(1, ge=1, le=1000)
    bead: str = ""
    """Slug of the bead material; empty means the usual one."""


class BeadsTable(Table):
    """[beads]: how beads are cut; unset values come from data/beads.toml."""

    stock: tuple[BeadStockRow, ...] = ()
    kerf_mm: int | None = Field(None, ge=0, le=20)
    smallest_mm: int | None = Field(None, ge=0, le=1000)
    """Shortest part of a joined bead."""
    movement: tuple[ListedBead, ...] = ()
    stop: tuple[ListedBead, ...] = ()
