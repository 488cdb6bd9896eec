"""Walls that a text beside them calls low: they stop below the ceiling, and the rooms on both sides are one space.

The drawing shows a plan cut at about 1 m, in which a low wall looks like any other; only a text, or its layer, tells.
Walls on a layer called low are no walls of rooms from the first (`takeoff.plan.fabric`). Words are data:
``takeoff/data/low_walls.toml``.

Terms:
  note    the text: 'dwarf wall', 'muret h=1.10', 'Brüstung H=100', or a bare 'h=1100' that stands in a wall.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

import numpy as np
import shapely

from takeoff.data import load
from takeoff.drawing.lengths import Length, read_lengths
from takeoff.plan._headings import spellings
from takeoff.plan.labels import Label
from takeoff.plan.layers import REMEMBERED, fold
from takeoff.plan.model import LowWall, Opening, Point, Room, Side

__all__ = ["low_walls"]

_HEIGHTS = (0.3, 1.9)
"""Metres: what a low wall may measure (common practice: 0.9 to 1.2 m); higher, a head would not see over it."""
_REACH, _BARE_REACH = 0.9, 0.35
"""A note stands no farther from its wall, metres; one of a figure alone stands in it."""
_OPENING_NEAR = 0.8
"""A height of a rail, or bare, this near an opening is that of its cill, metres."""
_THICKEST = 0.5
"""A low wall's other face lies no farther behind, metres."""
_LONGEST = 60
_BARE = re.compile(
    r"(?:h|ht|hgt|height|hoehe|hohe|haut|hauteur|alt|altura)\.?\s*[=:.]?\s*\+?\s*\d{1,4}(?:[.,]\d+)?\s*(?:mm|cm|m)?"
    r"|\d[.,]\d{1,2}\s*m\s+high|\d{3,4}\s*(?:mm)?\s+high"
)


@dataclass(frozen=True, slots=True)
class _Note:
    at: Point
    text: str
    height_m: float | None
    by_word: bool
    """It says by a word that a wall is low, and needs no figure."""
    bare: bool


def low_walls(labels: Sequence[Label], rooms: Sequence[Room], openings: Sequence[Opening]) -> tuple[LowWall, ...]:
    """The walls that a note calls low, one for each; both faces where both bound rooms."""
    notes = list(_notes(labels))
    sides = [(room, side) for room in rooms for side in room.sides if side.support == "drawn" and not side.points]
    if not notes or not sides:
        return ()
    lines = shapely.linestrings(np.array([(s.start, s.end) for _, s in sides]))
    gaps = shapely.linestrings(np.array([o.jambs for o in openings]).reshape(-1, 2, 2))
    polygons = shapely.STRtree([shapely.Polygon(r.outline, r.holes) for r in rooms])
    tree, doors = shapely.STRtree(lines), shapely.STRtree(gaps)
    found: dict[frozenset[str], LowWall] = {}
    for note in notes:
        place = shapely.Point(note.at)
        if not note.by_word and len(doors.query(place, predicate="dwithin", distance=_OPENING_NEAR)):
            continue
        if note.bare and len(polygons.query(place, predicate="within")):
            continue
        near = tree.query_nearest(place, max_distance=_BARE_REACH if note.bare else _REACH, all_matches=False)
        if len(near):
            faces = _faces(int(near[0]), sides, lines, tree)
            refs = tuple(sides[n][1].ref for n in faces)
            about = tuple(dict.fromkeys(sides[n][0].ref for n in faces))
            found.setdefault(frozenset(refs), LowWall(note.text, note.at, note.height_m, refs, about))
    return tuple(found.values())


def _faces(nearest: int, sides: Sequence[tuple[Room, Side]], lines: np.ndarray, tree: shapely.STRtree) -> list[int]:
    """Numbers of the nearest side and of the one that is the wall's other face."""
    side = sides[nearest][1]
    a, b = np.array(side.start), np.array(side.end)
    unit = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
    out = np.array([unit[1], -unit[0]])
    middle = (a + b) / 2
    reach = (side.thickness_m or _THICKEST) + 0.03
    ray = shapely.linestrings([middle + out * 0.005, middle + out * reach])
    hits = [int(n) for n in tree.query(ray, predicate="intersects") if n != nearest]
    return [nearest, *sorted(hits, key=lambda n: (float(shapely.distance(lines[n], shapely.Point(middle))), n))[:1]]


def _notes(labels: Sequence[Label]) -> Iterator[_Note]:
    for label in labels:
        for line in label.lines:
            if line.reading.room is None and len(line.text) <= _LONGEST:
                said = _said(line.text)
                if said is not None:
                    yield _Note(line.at, line.text, *said)


@lru_cache(maxsize=REMEMBERED)
def _said(text: str) -> tuple[float | None, bool, bool] | None:
    """Height, whether by a word alone, whether by a figure alone; None for a text that calls no wall low."""
    folded = fold(text)
    plain = " ".join(re.findall(r"\w+", folded))
    height = _height(text)
    if _holds(plain, "walls"):
        return height, True, False
    if height is not None and _holds(plain, "rails"):
        return height, False, False
    bare = height is not None and _BARE.fullmatch(folded.strip()) is not None
    return (height, False, True) if bare else None


def _holds(plain: str, table: str) -> bool:
    return any(f" {w} " in f" {plain} " if w.isascii() else w in plain for w in _words()[table])


@cache
def _words() -> dict[str, tuple[str, ...]]:
    return {
        str(name): tuple(sorted({s for word in row["words"] for s in spellings(word)}))
        for name, row in load("low_walls").items()
    }


def _height(text: str) -> float | None:
    """The one height of a low wall that the text states, metres."""
    found = read_lengths(text)
    lengths = [labelled.length for labelled in found.labelled] or list(found.lengths)
    heights = [h for h in map(_metres, lengths) if _HEIGHTS[0] <= h <= _HEIGHTS[1]]
    return heights[0] if len(heights) == 1 and not found.pairs else None


def _metres(length: Length) -> float:
    """A bare figure is millimetres from 300 up, centimetres from 30 up when whole, else metres."""
    bare = 0.001 if length.value >= 300 else 0.01 if length.value >= 30 else 1.0
    return length.metres(bare) or 0.0
