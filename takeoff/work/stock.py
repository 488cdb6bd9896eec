"""What is known of each material: the shipped table with the job file's changes laid over it, as plain rows.

Terms:
  row   one material's values by key (see the head of ``data/materials.toml``), with `source` beside them.
"""

from __future__ import annotations

from typing import Any

from takeoff.data import load
from takeoff.job import Job
from takeoff.job_tables import MaterialRow

__all__ = ["Row", "stock"]

Row = dict[str, Any]

_NEEDED_OF_NEW = ("title", "unit", "kind")
_BY_SHEET = ("sizes_mm", "kg_per_m2")
_BY_LENGTH = ("lengths_m", "kg_per_m")


def stock(job: Job) -> dict[str, Row]:
    """Rows of all materials by slug, shipped ones first, each with `pack`, `pack_size` and `pack_kg` filled.

    Raises `JobError` for a material of the job file that is neither shipped nor complete.
    """
    rows = {slug: dict(row) for slug, row in load("materials")["materials"].items()}
    for slug, change in job.materials.items():
        rows[slug] = _changed(slug, rows.get(slug), change, job)
    return {slug: _with_pack(row) for slug, row in rows.items()}


def _changed(slug: str, row: Row | None, change: MaterialRow, job: Job) -> Row:
    """The shipped `row` with the job file's `change` laid over it; a new material when `row` is None."""
    given = change.model_dump(exclude_none=True, exclude={"waste", "price", "price_date", "supplier"})
    given = {key: value for key, value in given.items() if value != ()}
    if row is None:
        _check_complete(slug, given, job)
    given["source"] = {**(row or {}).get("source", {}), **dict.fromkeys(given, "set in the job file")}
    changed = {**(row or {}), **given}
    if "kg_per_m2" in changed and "pack_kg" in given:
        del changed["kg_per_m2"]
    return changed


def _check_complete(slug: str, given: Row, job: Job) -> None:
    known = load("materials")
    missing = [key for key in _NEEDED_OF_NEW if key not in given]
    if not {"pack_size", "sizes_mm", "lengths_m"} & given.keys():
        missing.append("pack_size (or sizes_mm, or lengths_m)")
    if missing:
        shipped = ", ".join(sorted(known["materials"]))
        raise job.error(
            ("materials", slug),
            f"no material of that name is known, and for a new one {', '.join(missing)} is missing",
            f"one of {shipped}; or add what is missing",
        )
    if given["kind"] not in known["waste"]:
        raise job.error(("materials", slug, "kind"), f"{given['kind']!r} is no kind of material", _kinds())


def _kinds() -> str:
    return f"one of {', '.join(sorted(load('materials')['waste']))}"


def _with_pack(row: Row) -> Row:
    """`row` with its pack worked out from the first sheet size or stock length where none is given."""
    if "pack_size" not in row and row.get("sizes_mm"):
        length, width = row["sizes_mm"][0]
        row["pack_size"] = length * width / 1e6
        row.setdefault("pack", f"{length:.0f} x {width:.0f} sheet")
        row.setdefault("pack_kg", row.get("kg_per_m2", 0.0) * row["pack_size"])
    if "pack_size" not in row and row.get("lengths_m"):
        row["pack_size"] = row["lengths_m"][0]
        row.setdefault("pack", f"{row['pack_size']:.1f} m length")
        row.setdefault("pack_kg", row.get("kg_per_m", 0.0) * row["pack_size"])
    row.setdefault("pack", f"pack of {row['pack_size']:g} {row['unit']}")
    row.setdefault("pack_kg", 0.0)
    return row
