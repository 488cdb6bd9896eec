"""Gaps in walls: what a jamb faces, how wide the gap is, and the lines that would close it.

Terms:
  gap        the strip between a jamb and its target, as wide as the wall.
  bridge     a line across the gap that carries on a wall face: two per gap, one for a single-line wall.
  axis       the middle line of the gap from the jamb to the target.
  covered    how much of the gap's width is spanned by evidence lines along it (glass, frames, sliding leaves, a
             lintel).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, components, extents
from takeoff.geometry.shapes import strips_along
from takeoff.geometry.vectors import directions, left_of, lengths
from takeoff.plan.jambs import TOUCH, Jambs, first_hits
from takeoff.plan.symbols import Swings

__all__ = [
    "WIDEST", "Gaps", "Leaves", "beside_islands", "between_columns", "covered_by", "find_gaps", "hung_doors",
    "share_in", "share_of",
]

MetBy = Callable[[npt.NDArray[np.object_]], tuple[Index, Index]]
"""Pairs of a shape (number among those given) and a line whose boxes meet."""

WIDEST = 24.0
"""Widest gap looked across, metres: curtain walling from corner to corner of a hall."""
_USUAL, _NARROWEST = 8.0, 0.22
"""Most beams meet something within so much, metres, and only the others are carried farther."""
_TIP_CAP = 0.12
"""Half length of the line laid across a loose tip or open end so that beams meet it, metres."""
_COLUMN, _COLUMNS_APART = 0.65, 2.2
"""Piers between windows are longer or stand closer than columns in a room, metres (common practice)."""
_RUNS_ON = 0.5
"""Lines that run on so far beyond a gap are not its own, metres: cills and frames stand out less."""
_BINS = 32
_ISLAND = 1.3
"""A box that stands apart and is no larger, metres, is a column or a piece of furniture, no wall."""
_JUST_MET = 0.0005
"""A ray that misses the end of a wall by less meets it, metres: walls often end just on another's middle line."""


@dataclass(frozen=True)
class Gaps:
    """Gaps, arrays of one length g."""

    jamb: Index
    facing: Index
    """(g,) the jamb it faces, -1 when it faces the side of a wall."""
    run: Index
    """(g,) the run it meets."""
    width: Floats
    thick: Floats
    bridges: Floats
    """(g, 2, 4) the left and the right bridge; equal for a single-line wall."""
    axis: Floats
    """(g, 4) from jamb to target in the middle of the wall."""
    alike: Mask
    """(g,) whether both jambs are as thick, within a third, and in line."""

    def __len__(self) -> int:
        return len(self.jamb)

    def take(self, which: Index | Mask) -> Gaps:
        """The gaps numbered or masked by `which`."""
        return Gaps(
            self.jamb[which],
            self.facing[which],
            self.run[which],
            self.width[which],
            self.thick[which],
            self.bridges[which],
            self.axis[which],
            self.alike[which],
        )

    def plus(self, more: Gaps) -> Gaps:
        """These gaps and `more`."""
        names = [field.name for field in fields(self)]
        return Gaps(*(np.concatenate([getattr(self, name), getattr(more, name)]) for name in names))

    def strips(self, along: float, across: float) -> np.ndarray[tuple[int], np.dtype[np.object_]]:
        """The gaps as rectangles, lengthened by `along` at both ends and widened by `across` on both sides."""
        return strips_along(self.axis, self.thick + 2 * across, along)


def find_gaps(jambs: Jambs, runs: Floats) -> Gaps:
    """The gap before each jamb that meets something within `WIDEST`; two jambs that face each other give one gap."""
    if not len(jambs):
        none = np.zeros(0, dtype=np.int64)
        return Gaps(none, none, none, np.zeros(0), np.zeros(0), np.zeros((0, 2, 4)), np.zeros((0, 4)), none > 0)
    walls, cap_of = _with_caps(jambs, runs)
    hit, far = _beams(jambs, walls, cap_of)
    found = np.flatnonzero((hit >= 0) & (far >= _NARROWEST))
    facing = cap_of[hit[found]]
    opposed = np.einsum("ij,ij->i", jambs.way[found], jambs.way[facing]) < -0.9
    facing = np.where((facing >= 0) & opposed, facing, -1)
    left = _bridge_lines(jambs, found, facing, walls[hit[found]], True)
    right = _bridge_lines(jambs, found, facing, walls[hit[found]], False)
    bridges = np.stack([left, right], axis=1)
    axis = bridges.mean(axis=1)
    width = np.einsum("ij,ij->i", axis[:, 2:] - axis[:, :2], jambs.way[found])
    thick = np.where(facing >= 0, np.minimum(jambs.thick[found], jambs.thick[facing]), jambs.thick[found])
    alike = (facing >= 0) & _alike(jambs, found, facing)
    gaps = Gaps(found, facing, hit[found], width, thick, bridges, axis, alike)
    return gaps.take(_once(found, facing) & (width >= _NARROWEST))


def _alike(jambs: Jambs, found: Index, facing: Index) -> Mask:
    """Whether two jambs end walls of about one thickness in one line."""
    a, b = jambs.thick[found], jambs.thick[facing]
    way = jambs.way[found]
    across = ((jambs.left + jambs.right)[facing] - (jambs.left + jambs.right)[found]) / 2
    off = np.abs(way[:, 0] * across[:, 1] - way[:, 1] * across[:, 0])
    thicker = np.maximum(a, b)
    return np.asarray((np.minimum(a, b) >= 0.67 * thicker) & (off <= 0.2 * thicker + 0.02))


def _with_caps(jambs: Jambs, runs: Floats) -> tuple[Floats, Index]:
    """The runs, with caps laid across open ends and tips; and the jamb each of them caps, -1 for none."""
    bare = np.flatnonzero(jambs.cap < 0)
    middle = (jambs.left[bare] + jambs.right[bare]) / 2
    side = np.column_stack([-jambs.way[bare, 1], jambs.way[bare, 0]])
    half = np.maximum(jambs.thick[bare] / 2, _TIP_CAP)[:, None]
    walls = np.concatenate([runs, np.hstack([middle - side * half, middle + side * half])])
    cap_of = np.full(len(walls), -1, dtype=np.int64)
    capped = np.flatnonzero(jambs.cap >= 0)
    cap_of[jambs.cap[capped]] = capped
    cap_of[len(runs) + np.arange(len(bare))] = bare
    return walls, cap_of


def _beams(jambs: Jambs, walls: Floats, cap_of: Index) -> tuple[Index, Floats]:
    """What most of three rays of each beam meet first, and how far the nearest of those rays goes.

    A jamb that faces back counts before the side of a wall met as near, for walls may stop short of their corners.
    A ray that meets a jamb from behind ran inside a wall that crosses the jamb's own, and meets nothing.
    """
    count = len(jambs)
    walls = _drawn_on(walls)
    hits, fars = [], []
    for share in (0.12, 0.5, 0.88):
        origin = jambs.left + (jambs.right - jambs.left) * share
        hit, far = first_hits(origin, jambs.way, np.full(count, _USUAL), walls, start=_NARROWEST)
        open_ = np.flatnonzero(hit < 0)
        reach = np.full(len(open_), WIDEST)
        hit[open_], far[open_] = first_hits(origin[open_], jambs.way[open_], reach, walls, start=_NARROWEST)
        inside = (cap_of[hit] >= 0) & (hit >= 0) & (_dot(jambs.way[cap_of[hit]], jambs.way) > 0.9)
        hits.append(np.where(inside, -1, hit))
        fars.append(np.where(inside, np.inf, far))
    hit, far = np.stack(hits), np.stack(fars)
    nearest = far.min(axis=0)
    level = far <= nearest + 0.15 + 0.6 * jambs.thick
    agreed = level.sum(axis=0) >= 2
    jamb = np.where(hit >= 0, cap_of[hit], -1)
    back = level & (jamb >= 0) & (np.einsum("kij,ij->ki", jambs.way[jamb], jambs.way) < -0.9)
    pick = np.where(back.any(axis=0), np.argmax(back, axis=0), np.where(level[1], 1, np.argmin(far, axis=0)))
    return np.where(agreed, hit[pick, np.arange(count)], -1), nearest


def _drawn_on(walls: Floats) -> Floats:
    """The walls a hair longer at both ends: a ray that meets one just at its end meets it, however turned."""
    way = walls[:, 2:] - walls[:, :2]
    more = way * (_JUST_MET / np.maximum(np.hypot(way[:, 0], way[:, 1]), _JUST_MET))[:, None]
    return np.hstack([walls[:, :2] - more, walls[:, 2:] + more])


def _bridge_lines(jambs: Jambs, found: Index, facing: Index, wall: Floats, on_left: bool) -> Floats:
    """The bridge from the left (or right) corner of each jamb to its target."""
    start = (jambs.left if on_left else jambs.right)[found]
    way = jambs.way[found]
    straight = start + way * _meets(start, way, wall)[:, None]
    other = (jambs.right if on_left else jambs.left)[facing]
    cap_side = jambs.left[found] - jambs.right[found]
    off = np.einsum("ij,ij->i", other - start, left_of(way))
    inward = off < 0 if on_left else off > 0
    aligned = np.abs(off) <= 0.03
    back = other - way * np.einsum("ij,ij->i", other - start, way)[:, None]
    jambs_face = facing >= 0
    narrow = jambs_face & ~aligned & inward & (np.hypot(*cap_side.T) > 0)
    begin = np.where(narrow[:, None], back, start)
    end = np.where((jambs_face & (aligned | narrow))[:, None], other, straight)
    return np.hstack([begin, end])


def _meets(start: Floats, way: Floats, wall: Floats) -> Floats:
    """How far along `way` from `start` the wall's line is met, kept within the wall's own length."""
    along = wall[:, 2:] - wall[:, :2]
    cross = way[:, 0] * along[:, 1] - way[:, 1] * along[:, 0]
    apart = wall[:, :2] - start
    safe = np.where(np.abs(cross) < 1e-9, 1e-9, cross)
    return np.asarray((apart[:, 0] * along[:, 1] - apart[:, 1] * along[:, 0]) / safe)


def _once(found: Index, facing: Index) -> Mask:
    """Of two gaps that face each other, the one with the lower jamb."""
    partner = {(int(a), int(b)) for a, b in zip(found, facing, strict=True) if b >= 0}
    return np.array(
        [b < 0 or a < b or (int(b), int(a)) not in partner for a, b in zip(found, facing, strict=True)], dtype=bool
    )


def beside_islands(gaps: Gaps, jambs: Jambs, runs: Floats) -> tuple[Mask, Mask]:
    """Gaps (masks) wider than most windows at a column that stands free, and those of any width between two boxes that
    stand apart from all walls: columns, pieces of furniture.
    """
    cap, facing = jambs.cap[gaps.jamb], np.where(gaps.facing >= 0, jambs.cap[gaps.facing], -1)
    if not ((cap >= 0) | (facing >= 0)).any():
        return np.zeros(len(gaps), dtype=bool), np.zeros(len(gaps), dtype=bool)
    lines = shapely.linestrings(runs.reshape(-1, 2, 2))
    short = lengths(runs) <= _ISLAND
    one, other = shapely.STRtree(lines).query(lines[short], predicate="dwithin", distance=TOUCH)
    one = np.flatnonzero(short)[one]
    group = components(len(runs), one, other)
    low, high = extents(runs.reshape(-1, 2), np.repeat(group, 2), int(group.max()) + 1)
    size = (high - low).max(axis=1)
    box = np.array([np.where(n >= 0, size[group[n]], np.inf) for n in (cap, facing)])
    at_column = (box <= _COLUMN).any(axis=0) & (gaps.width >= _COLUMNS_APART)
    return at_column, np.asarray((box <= _ISLAND).all(axis=0))


def between_columns(gaps: Gaps, jambs: Jambs, columns: Mask) -> Mask:
    """Gaps (mask) between two jambs that are sides of columns; `columns` masks the runs that draw those."""
    side = np.append(columns, False)
    return np.asarray((gaps.facing >= 0) & side[jambs.cap[gaps.jamb]] & side[jambs.cap[gaps.facing]])


def covered_by(
    gaps: Gaps, ends: Floats, met_by: MetBy | None = None, passing: Mask | None = None
) -> tuple[Index, Index]:
    """A mask of the 32 parts of each gap's width that the lines `ends` (n, 4) cover, and how many lines span it whole.

    A line counts where it runs along the axis inside the wall's thickness, or at most 60 mm beside it. Before the
    side of a wall, lines along one face alone do not count: they may be another opening's. `met_by` finds the lines
    that count among the `ends`, all without; those masked by `passing` do not count where they run on beyond the gap.
    """
    mask, count = np.zeros(len(gaps), dtype=np.int64), np.zeros(len(gaps), dtype=np.int64)
    if not len(gaps) or not len(ends):
        return mask, count
    met_by = met_by or shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2))).query
    gap, line = met_by(gaps.strips(0.0, 0.06))
    start, unit, normal = (np.ascontiguousarray(rows.T) for rows in _frame(gaps, np.arange(len(gaps))))
    at = np.ascontiguousarray(ends[line].T)  # gathered and multiplied much faster than rows of four
    (ax, ay), (bx, by) = at[:2] - start[:, gap], at[2:] - start[:, gap]
    off_a, off_b = ax * normal[0][gap] + ay * normal[1][gap], bx * normal[0][gap] + by * normal[1][gap]
    half = gaps.thick[gap] / 2
    inside = np.flatnonzero((np.abs(off_a) <= half + 0.06) & (np.abs(off_b) <= half + 0.06))
    gap, half, off = gap[inside], half[inside], (off_a + off_b)[inside] / 2
    from_ = (ax[inside] * unit[0][gap] + ay[inside] * unit[1][gap]) / gaps.width[gap]
    to = (bx[inside] * unit[0][gap] + by[inside] * unit[1][gap]) / gaps.width[gap]
    low, high = np.clip(np.minimum(from_, to), 0, 1), np.clip(np.maximum(from_, to), 0, 1)
    some = (high - low) > 0.04
    if passing is not None:
        beyond = np.maximum(-np.minimum(from_, to), np.maximum(from_, to) - 1) * gaps.width[gap]
        some &= ~(passing[line[inside]] & (beyond > _RUNS_ON))
    gap, half, low, high, off = gap[some], half[some], low[some], high[some], off[some]
    edge = np.where(np.abs(off) >= np.maximum(half - 0.02, 0.01), np.sign(off), 0.0)
    parts = [np.zeros(len(gaps), dtype=np.int64) for _ in range(3)]
    for part, where in zip(parts, (edge == 0, edge > 0, edge < 0), strict=True):
        np.bitwise_or.at(part, gap[where], _bits(low[where], high[where]))
    np.add.at(count, gap[(high - low) > 0.8], 1)
    return np.where(gaps.facing >= 0, parts[0] | parts[1] | parts[2], parts[0] | (parts[1] & parts[2])), count


def _frame(gaps: Gaps, gap: Index) -> tuple[Floats, Floats, Floats]:
    """Start, unit vector along and unit vector across of the axes of the gaps numbered `gap`."""
    start = gaps.axis[gap, :2]
    unit = directions(gaps.axis[gap, 2:] - start)
    return start, unit, left_of(unit)


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", a, b))


def _bits(low: Floats, high: Floats) -> Index:
    first, last = np.round(low * _BINS).astype(np.int64), np.round(high * _BINS).astype(np.int64)
    return np.asarray((np.int64(1) << last) - (np.int64(1) << first))


def share_of(mask: Index) -> Floats:
    """The share (0-1) of the width that a mask of parts stands for."""
    return np.array([bin(m).count("1") for m in mask.tolist()], dtype=float) / _BINS


def share_in(mask: int, low: float, high: float) -> float:
    """The share (0-1) of the stretch from `low` to `high` (shares of the width) that a mask covers."""
    first, last = round(low * _BINS), max(round(high * _BINS), round(low * _BINS) + 1)
    return bin(mask >> first & ((1 << (last - first)) - 1)).count("1") / (last - first)


@dataclass(frozen=True)
class Leaves:
    """Door leaves shut in gaps, arrays of one length: the `gap`, the `swing`, from and to along the axis in metres."""

    gap: Index
    swing: Index
    low: Floats
    high: Floats
    weight: Floats

    def mask(self, gaps: Gaps) -> Index:
        """The parts of each gap's width that leaves shut, as in `covered_by`."""
        mask = np.zeros(len(gaps), dtype=np.int64)
        width = gaps.width[self.gap]
        np.bitwise_or.at(mask, self.gap, _bits(np.clip(self.low / width, 0, 1), np.clip(self.high / width, 0, 1)))
        return mask


def hung_doors(gaps: Gaps, swings: Swings, least: float = 0.3) -> Leaves:
    """The leaves that shut in each gap: hinge and shut tip both in the gap's line, within its width."""
    none = np.zeros(0, dtype=np.int64)
    if not len(gaps) or not len(swings):
        return Leaves(none, none, np.zeros(0), np.zeros(0), np.zeros(0))
    gap, swing = shapely.STRtree(shapely.points(swings.hinge)).query(gaps.strips(0.2, 0.2), predicate="intersects")
    start, unit, normal = _frame(gaps, gap)
    at, radius, width = _dot(swings.hinge[swing] - start, unit), swings.radius[swing], gaps.width[gap]
    off = np.abs(_dot(swings.hinge[swing] - start, normal))
    slack = gaps.thick[gap] / 2 + 0.1 + 0.05 * radius
    found = []
    for tip in (0, 1):
        point = swings.tips[swing, tip] - start
        shut = _dot(point, unit)
        lies = (np.abs(_dot(point, normal)) <= slack) & (off <= slack) & (np.abs(shut - at) > 0.75 * radius)
        lies &= ~swings.open_tip[swing, tip]
        lies &= (np.minimum(at, shut) > -0.2) & (np.maximum(at, shut) < width + 0.2) & (swings.weight[swing] >= least)
        found.append((gap[lies], swing[lies], np.minimum(at, shut)[lies], np.maximum(at, shut)[lies]))
    g, s, low, high = (np.concatenate([f[k] for f in found]) for k in range(4))
    return Leaves(g, s, low, high, swings.weight[s])
