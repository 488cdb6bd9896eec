"""The rules boards are laid by: sizes, spacing and what a person would fix, from the job file or the shipped data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from math import inf
from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.board_tolerances import FITS_MM

__all__ = ["FIXED", "BoardSpec", "Size", "board_spec", "direction_of"]

FIXED = ("timber", "metal", "dabs")
"""What boards may be fixed to."""


@dataclass(frozen=True, slots=True, order=True)
class Size:
    """A sheet on sale. `cost` is its price, or its area in m2 where not all prices are known."""

    length: float
    width: float
    cost: float


@dataclass(frozen=True)
class BoardSpec:
    """One board and how it is laid. Millimetres."""

    board: str
    """Slug of the material."""
    thickness: float
    sizes: tuple[Size, ...]
    priced: bool
    """True: `Size.cost` is money."""
    fixed: str
    """One of `FIXED`."""
    fixed_by: Mapping[str, str]
    """Surfaces that are fixed to something else: by ref, one of `FIXED`."""
    wall_centres: float
    ceiling_centres: float
    wall_direction: str
    ceiling_direction: str
    directions: Mapping[str, str]
    framing_from: Mapping[str, float]
    smallest_width: float
    smallest_length: float
    kerf: float
    width_tolerance: float
    length_tolerance: float
    stagger: float
    jamb_clear: float
    layer_clear: float
    cut_edge_joints: bool
    weights: Mapping[str, float]

    @cached_property
    def longest(self) -> float:
        return max(size.length for size in self.sizes)

    @cached_property
    def widest(self) -> float:
        return max(size.width for size in self.sizes)

    @cached_property
    def cost_per_mm2(self) -> float:
        """The least that a square millimetre of board costs."""
        return min(size.cost / (size.length * size.width) for size in self.sizes)

    @cached_property
    def cost_per_m2(self) -> float:
        return self.cost_per_mm2 * 1e6

    def shortest(self, width: float, length: float, both_edges: bool) -> float:
        """Length of the shortest sheet for a piece; infinite where there is none.

        A piece that needs both factory edges takes a sheet of its own width.
        """
        fit = (s for s in self.sizes if s.length >= length - FITS_MM and s.width >= width - FITS_MM)
        return min((s.length for s in fit if not both_edges or s.width <= width + FITS_MM), default=inf)

    def fixed_to(self, surface: str) -> str:
        """What the board of a surface is fixed to."""
        return self.fixed_by.get(surface, self.fixed)

    def centres(self, surface: str, kind: str) -> float:
        """Centres of the framing behind a surface of `kind`; 0 on dabs."""
        if self.fixed_to(surface) == "dabs":
            return 0.0
        return self.ceiling_centres if kind == "ceiling" else self.wall_centres


def board_spec(
    board: str,
    thickness_mm: float,
    fixed: str,
    job: Job,
    sizes_mm: Sequence[tuple[float, float]] = (),
    fixed_by: Mapping[str, str] | None = None,
) -> BoardSpec:
    """The rules for one board. `sizes_mm` are (length, width) on sale; [[boards.stock]] of the job file goes before
    them, the shipped sizes stand where there are none. `fixed` is 'timber', 'metal' or 'dabs'; `fixed_by` names the
    surfaces where it is another of these: off-cuts are shared whatever boards are fixed to.
    """
    if not {fixed, *(fixed_by or {}).values()} <= set(FIXED):
        raise ValueError(f"Boards are fixed to {', '.join(FIXED)}, not {fixed!r}.")
    data, table = load("boards"), job.boards
    laying: dict[str, Any] = data["laying"]

    def chosen(key: str) -> Any:
        own = getattr(table, key)
        return laying[key] if own is None else own

    sizes, priced = _sizes(board, job, sizes_mm or data["stock"]["sizes_mm"])
    return BoardSpec(
        board=board,
        thickness=thickness_mm,
        sizes=sizes,
        priced=priced,
        fixed=fixed,
        fixed_by=dict(fixed_by or {}),
        wall_centres=float(job.framing.wall_centres),
        ceiling_centres=float(job.framing.ceiling_centres),
        wall_direction=chosen("wall_direction"),
        ceiling_direction=chosen("ceiling_direction"),
        directions=dict(table.directions),
        framing_from=dict(table.framing_from),
        smallest_width=float(chosen("smallest_width_mm")),
        smallest_length=float(chosen("smallest_length_mm")),
        kerf=float(chosen("kerf_mm")),
        width_tolerance=float(data["tolerance"]["width_mm"]),
        length_tolerance=float(data["tolerance"]["length_mm"]),
        stagger=float(chosen("stagger_mm")),
        jamb_clear=float(chosen("jamb_clear_mm")),
        layer_clear=float(laying["layer_clear_mm"]),
        cut_edge_joints=bool(table.cut_edge_joints),
        weights={k: float(v) for k, v in data["weights"].items() if k != "source"},
    )


def _sizes(board: str, job: Job, shipped: Sequence[tuple[float, float]]) -> tuple[tuple[Size, ...], bool]:
    """Sizes on sale, smallest first, and whether their cost is money."""
    rows = [r for r in job.boards.stock if r.board == board] or [r for r in job.boards.stock if not r.board]
    sold: list[tuple[float, float, Decimal | None]] = [(r.length * 1000, r.width * 1000, r.price) for r in rows]
    if not sold:
        sold = [(float(length), float(width), None) for length, width in shipped]
    priced = all(price is not None for _, _, price in sold)
    sizes = {
        Size(length, width, float(price) if priced and price is not None else length * width / 1e6)
        for length, width, price in sold
    }
    return tuple(sorted(sizes)), priced


def direction_of(spec: BoardSpec, surface: str, kind: str) -> tuple[str, ...]:
    """The directions to try on a surface: one, or both where the best is asked for. Reveals run with the sheet."""
    if kind == "reveal":
        return ("along",)
    own = spec.directions.get(surface) or (spec.ceiling_direction if kind == "ceiling" else spec.wall_direction)
    both = ("long", "short") if kind == "ceiling" else ("up", "along")
    return (own,) if own in both else both
