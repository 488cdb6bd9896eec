"""How near two lengths must be to count as one, for all of laying and cutting boards. Millimetres, own judgement.

The coordinates of a drawing carry noise far below all of these; a saw cut of 3 mm is far above them.
"""

from __future__ import annotations

__all__ = ["FITS_MM", "KEEPS_MM", "SAME_MM", "SAME_PLACE_MM", "SPECK_MM"]

SAME_MM = 0.01
"""What is narrower than this is nothing: the noise of cutting shapes."""
FITS_MM = 0.02
"""A piece larger than a sheet or an off-cut by no more than this is cut from it."""
SAME_PLACE_MM = 0.5
"""Two places or edges of a surface nearer than this are one; sizes that differ by less are one size."""
SPECK_MM = 1.0
"""A piece, a line or a stretch shorter than this is none, and an area below its square."""
KEEPS_MM = 0.5
"""A distance short of what a rule asks by less than this keeps the rule."""
