"""How many screws and how much adhesive a board takes.

Terms:
  centres   distance between studs, joists or columns of dabs.
  spacing   distance between screws along a stud or joist.
  row       screws across the sheet at one place of its length; column: dabs one above the other.
"""

from __future__ import annotations

from math import ceil, floor
from typing import Any

from takeoff.data import load

__all__ = ["adhesive_kg_per_m2", "dab_columns", "dabs_per_sheet", "extra_screws_per_m_angle", "screws_per_sheet"]

_NEARLY = 1e-9


def screws_per_sheet(
    length_mm: float, width_mm: float, centres_mm: float, spacing_mm: float, *, across: bool, end_mm: float = 0.0
) -> int:
    """Screws for one whole sheet with every stud or joist fully fixed.

    `across` False: studs run along the sheet (an upright sheet on a wall); True: joists run across it (a ceiling).
    `end_mm` is the closer spacing along the two ends of the sheet, 0 where there is none. The edge studs are shared
    with the next sheet, but each sheet needs its own screws. Rule: NBS-based specification 2014, K10 cl. 590, 610.
    """
    along, over = (width_mm, length_mm) if across else (length_mm, width_mm)
    lines = floor(over / centres_mm + _NEARLY) + 1
    rows = ceil(along / spacing_mm - _NEARLY) + 1
    if not end_mm:
        return lines * rows
    at_ends = 2 * (ceil(width_mm / end_mm - _NEARLY) + 1)
    between = (lines - 2) * rows if across else lines * (rows - 2)
    return at_ends + between


def extra_screws_per_m_angle(field_mm: float, angle_mm: float) -> float:
    """Screws beyond the usual ones for a metre of external angle, where both boards are fixed closer."""
    return 2.0 * (1000.0 / angle_mm - 1000.0 / field_mm)


def dab_columns(thickness_mm: float, width_mm: float) -> int:
    """Columns of dabs behind a board: NBS-based specification 2014, K10 cl. 620."""
    rule = load("build_ups")["dabs"]
    wide = "centres_9_5_1200_mm" if thickness_mm <= 9.5 else "centres_12_5_1200_mm"
    centres = float(rule["centres_900_mm"] if width_mm <= 900 else rule[wide])
    return round(width_mm / centres) + 1


def dabs_per_sheet(thickness_mm: float, length_mm: float, width_mm: float) -> float:
    """Dab lengths behind a sheet: the columns, one row along the top and a continuous one along the bottom edge."""
    rule = load("build_ups")["dabs"]
    columns = dab_columns(thickness_mm, width_mm) * floor(length_mm / float(rule["pitch_mm"]) + _NEARLY)
    return columns + 2.0 * width_mm / float(rule["length_mm"])


def adhesive_kg_per_m2(thickness_mm: float, length_mm: float, width_mm: float) -> float:
    """Board adhesive by dab rows: the published kg/m2 stands for the 12.5 x 1200 board, others in proportion."""
    dabs_per_m2 = dabs_per_sheet(thickness_mm, length_mm, width_mm) / (length_mm * width_mm / 1e6)
    return _kg_per_dab(load("build_ups")["dabs"]) * dabs_per_m2


def _kg_per_dab(rule: dict[str, Any]) -> float:
    length_mm, width_mm = 2400.0, 1200.0
    return float(rule["kg_per_m2"]) * (length_mm * width_mm / 1e6) / dabs_per_sheet(12.5, length_mm, width_mm)
