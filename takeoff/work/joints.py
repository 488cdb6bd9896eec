"""Length of the joints between boards, from the sheet's size: the first estimate, until the boards are laid out.

Terms:
  sheet   (length, width) in mm. Upright on walls, its length across the joists (along the room) on ceilings.
"""

from __future__ import annotations

from math import ceil

from takeoff.measure.model import Surface

__all__ = ["joint_length_m"]

_NEARLY = 1e-9


def joint_length_m(surface: Surface, sheet_mm: tuple[float, float]) -> float:
    """Metres of joint between the sheets of `surface`, less what falls in openings by the share of its area."""
    length, width = sheet_mm[0] / 1000.0, sheet_mm[1] / 1000.0
    if surface.kind == "reveal":
        return _between(surface.length_m, length) * surface.height_m
    solid = surface.net_m2 / surface.gross_m2 if surface.gross_m2 else 0.0
    if surface.kind == "ceiling":
        along, across = surface.length_m, surface.gross_m2 / surface.length_m if surface.length_m else 0.0
        joints = _between(across, width) * along + _between(along, length) * across
    else:
        joints = _between(surface.length_m, width) * surface.height_m
        joints += _between(surface.height_m, length) * surface.length_m
    return joints * min(1.0, solid)


def _between(extent_m: float, sheet_m: float) -> int:
    """Joints between the sheets that cover `extent_m`."""
    return max(0, ceil(extent_m / sheet_m - _NEARLY) - 1)
