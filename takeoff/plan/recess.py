"""Recesses behind windows and doors: the inner face of the wall is broken, the opening stands deeper in.

Terms:
  recess   a shallow bay of a room between two reveals, with an opening's lines at its back or across its mouth.
  mouth    the line from reveal to reveal that carries the wall's inner face on: the room ends there, the reveals
           belong to the opening.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.vectors import left_of, lengths
from takeoff.plan.evidence import Evidence
from takeoff.plan.gaps import Gaps, covered_by, share_of
from takeoff.plan.jambs import Jambs

__all__ = ["Mouths", "explained_mouths", "find_mouths"]

_NARROWEST, _WIDEST = 0.4, 4.5
_DEEPEST = 0.45
"""Recess depth looked at, metres: a thick wall less its frame."""
_COVERED = 0.9


@dataclass(frozen=True)
class Mouths:
    """Mouths that there may be, arrays of one length: the `line` (k, 4), and the unit vector (k, 2) into the recess."""

    line: Floats
    into: Floats

    def __len__(self) -> int:
        return len(self.line)

    def take(self, which: Mask) -> Mouths:
        return Mouths(self.line[which], self.into[which])


def find_mouths(runs: Floats, jambs: Jambs) -> Mouths:
    """What may be mouths of recesses among the `runs` (r, 4).

    The caps of `jambs` are ends of walls that run across, no faces that a mouth could carry on.
    """
    sides = jambs.sides.copy()
    sides[jambs.cap[jambs.cap >= 0]] = 0
    point, out, side = _turning_ends(runs, sides)
    i, j = _facing(point, out, side)
    return Mouths(np.hstack([point[i], point[j]]), side[i])


def explained_mouths(mouths: Mouths, runs: Floats, evidence: Evidence) -> Mask:
    """Which of the `mouths` among the `runs` the `evidence` explains where no wall runs behind."""
    if not len(mouths):
        return np.zeros(0, dtype=bool)
    shift = mouths.into * (_DEEPEST / 2)
    none = np.full(len(mouths), -1, dtype=np.int64)
    bays = Gaps(
        none,
        np.zeros_like(none),
        none,
        lengths(mouths.line),
        np.full(len(mouths), _DEEPEST),
        np.repeat(mouths.line[:, None], 2, axis=1),
        mouths.line + np.hstack([shift, shift]),
        none > 0,
    )
    mask, _ = covered_by(bays, evidence.pool.ends, evidence.met_by)
    found = share_of(mask) >= _COVERED
    walled, _ = covered_by(bays.take(found), runs)
    found[found] = share_of(mask[found] & ~walled) >= _COVERED
    return found


def _turning_ends(runs: Floats, sides: Index) -> tuple[Floats, Floats, Floats]:
    """Ends of runs from which the line work turns off to one side only: point, way out of the run, unit vector
    to that side.
    """
    way = runs[:, 2:] - runs[:, :2]
    length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
    unit = way / length[:, None]
    run, end = np.nonzero(((sides == 1) | (sides == 2)) & (length > 0.1)[:, None])
    left = np.column_stack([-unit[run, 1], unit[run, 0]])
    out = unit[run] * np.where(end == 1, 1.0, -1.0)[:, None]
    return runs.reshape(-1, 2, 2)[run, end], out, left * np.where(sides[run, end] == 1, 1.0, -1.0)[:, None]


def _facing(point: Floats, out: Floats, side: Floats) -> tuple[np.ndarray, np.ndarray]:
    """Pairs of turning ends that face each other in one line and turn off to the same side, nearest partner only."""
    none = np.zeros(0, dtype=np.int64)
    if len(point) < 2:
        return none, none
    across = left_of(out) * 0.02
    near, far = point + out * _NARROWEST, point + out * _WIDEST
    strips = shapely.polygons(np.stack([near - across, far - across, far + across, near + across], axis=1))
    i, j = shapely.STRtree(shapely.points(point)).query(strips, predicate="intersects")
    good = (np.einsum("ij,ij->i", out[i], out[j]) < -0.99) & (np.einsum("ij,ij->i", side[i], side[j]) > 0.95)
    i, j = i[good], j[good]
    distance = np.hypot(*(point[i] - point[j]).T)
    order = np.lexsort((j, distance, i))
    i, j = i[order], j[order]
    first = np.concatenate([[True], i[1:] != i[:-1]]) if len(i) else none > 0
    i, j = i[first], j[first]
    partner = dict(zip(i.tolist(), j.tolist(), strict=True))
    mutual = np.array([partner.get(b) == a and a < b for a, b in zip(i.tolist(), j.tolist(), strict=True)], dtype=bool)
    return i[mutual], j[mutual]
