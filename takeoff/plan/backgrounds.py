"""What a wall is probably made of, from its thickness, layer and fill: a proposal for the background, never more.

Thickness limits are common practice in the trade (stud depth plus a board on each face; brick and block sizes) and hold
for finished or structural faces alike within the slack stated.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely

from takeoff.data import load
from takeoff.drawing.model import Drawing, Region
from takeoff.geometry.cluster import Floats
from takeoff.geometry.shapes import closed_shapes
from takeoff.plan.layers import REMEMBERED, fold, role_of

__all__ = ["fills_at", "wall_type"]

_PARTITION_M = (0.045, 0.112)
"""50 mm laminated board to 75 mm studs with a board on each face; 95-100 mm is the usual stud partition."""
_OUTSIDE_MASONRY_M = 0.2
_UNCERTAIN_M = 0.155
"""Above partitions: 100 mm block plastered is 126-130 mm, 100 mm studs with two boards a side 150 mm."""
_MASONRY_FILLS = (
    "ANSI32", "ANSI33", "ANSI38", "AR-BRSTD", "AR-BRELM", "AR-B816", "AR-B88", "AR-CONC", "BRICK", "BRSTONE", "CONC",
    "STONE", "MASONRY", "BETON", "ZIEGEL",
)
"""Names of hatch patterns for brick, block, stone and concrete, by their beginnings; plain diagonals (ANSI31) say
nothing: every office uses them for whatever is cut."""
_FRAME_FILLS = ("INSUL", "BATT", "WOOD", "GYP", "STUD", "AR-RROOF")


def fills_at(drawing: Drawing, points: Floats) -> list[str]:
    """The name of the hatch that fills the drawing at each of the `points` (n, 2), metres; '' for none."""
    found = [""] * len(points)
    fills = [r for r in drawing.regions if r.filled and not r.hole and r.pattern and len(r.ring) >= 3]
    if not fills or not len(points):
        return found
    holes = [r for r in drawing.regions if r.hole and len(r.ring) >= 3]
    dots = shapely.points(points)
    left_out = _entities_at(holes, dots)
    for point, n in _pairs(fills, dots):
        if (point, fills[n].entity) not in left_out:
            found[point] = max(found[point], fills[n].pattern)
    return found


def _pairs(regions: Sequence[Region], dots: np.ndarray) -> list[tuple[int, int]]:
    shapes = closed_shapes([r.ring for r in regions])
    return [(int(p), int(r)) for p, r in shapely.STRtree(shapes).query(dots, predicate="within").T]


def _entities_at(regions: Sequence[Region], dots: np.ndarray) -> set[tuple[int, int]]:
    return {(point, regions[n].entity) for point, n in _pairs(regions, dots)} if regions else set()


def wall_type(
    thickness_m: float | None, layer_name: str = "", filled_pattern: str = "", external: bool | None = None
) -> tuple[str, str]:
    """('masonry', 'partition' or 'unknown', why in plain words) for a wall.

    `filled_pattern` is the name of the hatch that fills it, '' for none; `external` None when it cannot be told.
    """
    if named := _named_type(layer_name):
        return named, f"its layer is called '{layer_name}'"
    pattern = filled_pattern.upper()
    if pattern.startswith(_MASONRY_FILLS):
        return "masonry", f"it is hatched {filled_pattern}"
    if pattern.startswith(_FRAME_FILLS):
        return "partition", f"it is hatched {filled_pattern}"
    if layer_name and role_of(layer_name).name == "column":
        return "masonry", "it is drawn as structure"
    if thickness_m is None:
        return "unknown", "its thickness is not drawn"
    thick = f"{round(thickness_m * 1000)} mm thick"
    if external:
        return ("masonry" if thickness_m >= _OUTSIDE_MASONRY_M else "unknown"), f"an outside wall, {thick}"
    if _PARTITION_M[0] <= thickness_m <= _PARTITION_M[1]:
        return "partition", f"{thick}: usual for studs with a board on each face"
    if thickness_m < _PARTITION_M[0] or thickness_m <= _UNCERTAIN_M:
        return "unknown", f"{thick}: studs or plastered block"
    return "masonry", f"{thick}: usual for brick and block"


@lru_cache(maxsize=REMEMBERED)
def _named_type(layer_name: str) -> str:
    """The kind of wall that the name of its layer says, '' where it says none."""
    folded = fold(layer_name)
    return next((kind for kind, row in load("wall_words").items() if any(w in folded for w in row["words"])), "")
