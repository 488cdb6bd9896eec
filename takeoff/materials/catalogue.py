"""The catalogue: every material with its pack, waste, price and what is known of its use."""

from __future__ import annotations

from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.model import Material
from takeoff.work.stock import Row, stock

__all__ = ["catalogue"]

_CAUSES = ("cutting", "mixing", "droppings", "last_bag")
_BY_JOB = "set in the job file"


def catalogue(job: Job) -> dict[str, Material]:
    """Every material by slug, the job file's own values in place of the shipped ones.

    Raises `JobError` for waste of an unknown kind of material.
    """
    kinds = load("materials")["waste"]
    for kind in job.waste:
        if kind not in kinds:
            raise job.error(("waste", kind), "no material is of that kind", f"one of: {', '.join(sorted(kinds))}")
    return {slug: _material(slug, row, job) for slug, row in stock(job).items()}


def _material(slug: str, row: Row, job: Job) -> Material:
    own = job.materials.get(slug)
    parts, waste_source = _waste(slug, row["kind"], job)
    debris: dict[str, Any] = load("materials")["debris"].get(row["kind"], {})
    sources = {**row["source"], "waste": waste_source}
    return Material(
        slug=slug,
        title=row["title"],
        unit=row["unit"],
        pack=row["pack"],
        pack_size=float(row["pack_size"]),
        pack_kg=float(row["pack_kg"]),
        waste_pct=sum(pct for _, pct in parts),
        source="; ".join(f"{key}: {says}" for key, says in sources.items()),
        kind=row["kind"],
        price=own.price if own else None,
        price_date=(own.price_date or "") if own else "",
        supplier=(own.supplier or "") if own else "",
        water_l_per_pack=row.get("water_l_per_pack", 0.0),
        shelf_life_days=row.get("shelf_life_days", 0),
        waste_parts=parts,
        sizes_mm=tuple((float(length), float(width)) for length, width in row.get("sizes_mm", ())),
        lengths_m=tuple(float(length) for length in row.get("lengths_m", ())),
        thickness_mm=float(row.get("thickness_mm", 0.0)),
        kg_per_m2_mm=row.get("kg_per_m2_mm", 0.0),
        use_within_min=row.get("use_within_min", 0.0),
        set_min=row.get("set_min", 0.0),
        second_coat_after_min=row.get("second_coat_after_min", 0.0),
        opened_keeps=debris.get("keeps", True),
        waste_kg_per_m3=debris.get("kg_per_m3", 0.0),
        sources=tuple(sources.items()),
    )


def _waste(slug: str, kind: str, job: Job) -> tuple[tuple[tuple[str, float], ...], str]:
    """Waste by cause and its source: of this material in the job file, of its kind there, or as shipped."""
    own = job.materials.get(slug)
    if own and own.waste is not None:
        return ((_BY_JOB, own.waste),), _BY_JOB
    if kind in job.waste:
        row, source = job.waste[kind].model_dump(), _BY_JOB
    else:
        row = load("materials")["waste"].get(kind, {})
        source = row.get("source", "none allowed")
    return tuple((cause.replace("_", " "), float(row[cause])) for cause in _CAUSES if row.get(cause)), source
