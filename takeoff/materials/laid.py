"""Boards laid and beads cut for the order: each stock size becomes a material of its own, with its exact waste.

Terms:
  variant   one stock size of a material: '12.5 mm board, 2700 x 1200 sheet'. Its slug is the material's with the size.
  laid      what stands behind the order lines of the variants: the layouts and the cutting lists.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from takeoff.job import Job
from takeoff.materials.beads import BeadCut, BeadRun, bead_pieces, bead_stock, cut_beads
from takeoff.materials.model import Material
from takeoff.measure.model import Measured
from takeoff.work.model import Need

__all__ = ["LaidBeads", "variant", "with_beads_cut"]


@dataclass(frozen=True)
class LaidBeads:
    needs: tuple[Need, ...]
    """All needs, those of beads by variant."""
    materials: Mapping[str, Material]
    """The variants, by slug."""
    cut: BeadCut


def variant(
    base: Material, size: str, pack: str, pack_size: float, price: Decimal | None, waste_pct: float
) -> Material:
    """`base` in one stock size: `pack_size` in its unit. The base's price serves only for the base's own size."""
    own = abs(pack_size - base.pack_size) < 1e-9
    weight = base.pack_kg / base.pack_size * pack_size if base.pack_size else 0.0
    return replace(
        base,
        slug=f"{base.slug}-{size}",
        title=f"{base.title}, {size}",
        pack=pack,
        pack_size=pack_size,
        pack_kg=weight,
        price=price if price is not None else (base.price if own else None),
        waste_pct=waste_pct,
        waste_parts=(("cutting", waste_pct),),
    )


def with_beads_cut(
    needs: Sequence[Need],
    catalogue: Mapping[str, Material],
    measured: Measured,
    job: Job,
    part: Callable[[str], str] = lambda _edge: "",
) -> LaidBeads:
    """Every bead cut from whole lengths at least cost: its needs by the length that each part is cut from. `part` as of
    `cut_beads`."""
    beads = {slug for slug, material in catalogue.items() if material.kind == "bead"}
    pieces = bead_pieces(needs, measured.edges, beads)
    stock = {slug: bead_stock(slug, catalogue[slug].lengths_m, job) for slug in {p.bead for p in pieces}}
    cut = cut_beads(pieces, stock, job, part)
    variants: dict[str, Material] = {}
    cut_needs: list[Need] = []
    edges = {need.surface: need for need in needs if need.material in beads}
    for run in cut.runs:
        prices = {row.length_m: row.price for row in stock[run.bead]}
        made = dict(_bead_variants(catalogue[run.bead], run, prices))
        variants |= {material.slug: material for material in made.values()}
        cut_needs += _cut_needs(run, made, edges)
    rest = [need for need in needs if need.material not in beads]
    return LaidBeads((*rest, *cut_needs), variants, cut)


def _bead_variants(
    base: Material, run: BeadRun, prices: Mapping[float, Decimal | None]
) -> Iterator[tuple[float, Material]]:
    for length, number in run.buy:
        used = sum(cut.length_m for bar in run.bars if bar.stock_m == length for cut in bar.cuts)
        waste = 100.0 * (number * length / used - 1.0)
        yield length, variant(base, f"{length:.1f} m", f"{length:.1f} m length", length, prices.get(length), waste)


def _cut_needs(run: BeadRun, variants: Mapping[float, Material], edges: Mapping[str, Need]) -> Iterable[Need]:
    """One need per edge and stock length: what is cut for it."""
    lengths: dict[tuple[str, str, float], float] = {}
    for bar in run.bars:
        for cut in bar.cuts:
            key = (cut.room, cut.edge, bar.stock_m)
            lengths[key] = lengths.get(key, 0.0) + cut.length_m
    for (room, edge, stock), length in lengths.items():
        how = f"{length:.2f} m cut from {stock:.1f} m lengths"
        yield replace(
            edges[edge],
            material=variants[stock].slug,
            room=room,
            quantity=length,
            rate=1.0,
            amount=length,
            how=how,
            waste_pct=None,
        )
