"""Volumes of cement and sand undercoat mixed on site by volume.

Terms:
  wet    the mortar as laid: area x thickness, with what fills joints and drops.
  dry    cement and sand loose before water: more than the wet volume by the dry factor.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Mortar", "wet_volume_m3"]


def wet_volume_m3(area_m2: float, thickness_mm: float, extra_pct: float = 0.0) -> float:
    """Cubic metres of mortar on `area_m2` at `thickness_mm`, with `extra_pct` for joints, keys and waste."""
    return area_m2 * thickness_mm / 1000.0 * (1.0 + extra_pct / 100.0)


@dataclass(frozen=True, slots=True)
class Mortar:
    """A mix of so many parts of cement and sand by volume."""

    cement_parts: float
    sand_parts: float
    dry_factor: float
    """Dry volume for one of wet."""

    def dry_m3(self, wet_m3: float) -> float:
        return wet_m3 * self.dry_factor

    def cement_m3(self, wet_m3: float) -> float:
        return self.dry_m3(wet_m3) * self.cement_parts / (self.cement_parts + self.sand_parts)

    def sand_m3(self, wet_m3: float) -> float:
        return self.dry_m3(wet_m3) * self.sand_parts / (self.cement_parts + self.sand_parts)
