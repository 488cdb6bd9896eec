"""What can be chosen: backgrounds, build-ups, kinds of opening and finding, rules, units."""

from __future__ import annotations

from typing import get_args

from takeoff.data import load
from takeoff.documents.safe_text import clean
from takeoff.job import Job
from takeoff.job_tables import Unit
from takeoff.review.views.values import Json
from takeoff.work.library import library

__all__ = ["OPENING_KINDS", "choices"]

OPENING_KINDS = ("door", "window", "opening", "rooflight")


def choices(job: Job) -> Json:
    """The answer of /api/choices; the job file's own build-ups are among them."""
    shipped = load("build_ups")["backgrounds"]
    kinds, rules = load("findings")["kinds"], load("rules")["rules"]
    return {
        "backgrounds": [{"slug": slug, "title": row["title"]} for slug, row in shipped.items()],
        "build_ups": [
            {
                "slug": slug,
                "title": clean(build_up.title),
                "surfaces": list(build_up.surfaces),
                "backgrounds": list(build_up.backgrounds) or None,
                "thickness_mm": build_up.thickness_mm,
                "limits": list(build_up.limits),
            }
            for slug, build_up in library(job).items()
        ],
        "opening_kinds": list(OPENING_KINDS),
        "finding_kinds": [
            {"slug": slug, "title": row["title"], "unit": row["unit"], "depth": bool(row.get("depth"))}
            for slug, row in kinds.items()
        ],
        "rules": [{"slug": slug, "title": row["title"], "meaning": row["meaning"]} for slug, row in rules.items()],
        "units": list(get_args(Unit)),
    }
