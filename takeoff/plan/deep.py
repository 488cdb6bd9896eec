"""Openings that stand deep in a thick wall: rebated, stepped or splayed jambs leave a recess on the room's side.

Terms as in `takeoff.plan.recess`, and:
  masonry   the wall beside a mouth: as thick on either side of it as from the mouth to the wall's other face.
  across    said of a line that runs from one jamb towards the other inside the masonry: glass, frames, a cill.

A niche is as deep and as wide, but one line alone shuts it off and the wall's other face runs on behind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask, extents
from takeoff.geometry.vectors import directions, lengths
from takeoff.plan.evidence import Evidence
from takeoff.plan.jambs import first_hits, wide_as_wall
from takeoff.plan.openings import Candidate
from takeoff.plan.recess import Mouths

__all__ = ["with_mouths"]

_THICK = (0.2, 1.0)
"""Walls in which an opening stands so deep that it leaves a recess, metres (common practice)."""
_WIDEST = 3.5
_BESIDE = (0.1, 0.45)
"""The masonry is looked at so far beside the mouth, metres: thin walls that go round a recess are left soon."""
_AS_THICK = 0.25
"""Both sides of a mouth differ in thickness by no more than this share."""
_ON_FACE = 0.03
"""An opening that reaches so near to the wall's face leaves no recess, metres."""
_SPANS = 0.5
"""What is across spans this share of the mouth: jambs splay."""
_OVER = 0.1
"""What is across may run so far into the jambs' rebates, metres; a wall's face runs on farther."""
_LEVEL = 0.05
"""Sine of the angle between a mouth and what is across."""
_APART = 0.015
"""Two lines across lie so far apart, metres: the faces of a pane, a frame, a cill."""


@dataclass(frozen=True)
class _Frames:
    """Mouths with their masonry: line (k, 4), along (k, 2), into (k, 2), width (k,), thick (k,)."""

    line: Floats
    along: Floats
    into: Floats
    width: Floats
    thick: Floats

    def take(self, which: Mask) -> _Frames:
        return _Frames(self.line[which], self.along[which], self.into[which], self.width[which], self.thick[which])

    def places(self, mouth: Index, ends: Floats) -> tuple[Floats, Floats]:
        """Of lines (m, 4) beside mouths (m,): where both ends lie along the mouth, and how deep; (m, 2) each."""
        apart = ends.reshape(-1, 2, 2) - self.line[mouth, None, :2]
        return (
            np.einsum("mej,mj->me", apart, self.along[mouth]),
            np.einsum("mej,mj->me", apart, self.into[mouth]),
        )


def with_mouths(
    drawing: Drawing, found: Sequence[Candidate], mouths: Mouths, runs: Floats, evidence: Evidence
) -> list[Candidate]:
    """The candidates, those deep in thick walls carried on to the mouths of their recesses; with the windows of which
    only lines across show. `mouths` are among the `runs` (r, 4), the `evidence` are lines that may tell of openings.
    """
    if not len(mouths):
        return list(found)
    frames = _in_masonry(mouths, runs)
    if not len(frames.line):
        return list(found)
    across = _lines_across(frames, runs, evidence)
    result, used = _carried_on(found, frames, across)
    return [*result, *_windows(drawing, frames, across, np.flatnonzero(~used & ~across.shut))]


def _in_masonry(mouths: Mouths, runs: Floats) -> _Frames:
    """The mouths in walls as thick on one side of them as on the other."""
    width = lengths(mouths.line)
    along = (mouths.line[:, 2:] - mouths.line[:, :2]) / np.maximum(width, 1e-9)[:, None]
    tips = ((mouths.line[:, :2], -along), (mouths.line[:, 2:], along))
    places = np.concatenate([tip + out * k for tip, out in tips for k in _BESIDE])
    near_left, far_left, near_right, far_right = _depths(places, along, mouths.into, runs)
    alike = _alike(near_left, near_right) & (_alike(near_left, far_left) | _alike(near_right, far_right))
    thick = np.minimum(near_left, near_right)
    good = alike & (thick >= _THICK[0]) & (width <= _WIDEST)
    return _Frames(mouths.line, along, mouths.into, width, thick).take(good)


def _depths(places: Floats, along: Floats, into: Floats, runs: Floats) -> Floats:
    """How far `into` the wall from `places` (4 k, 2) on its face the other face lies, four for each of k mouths in
    turn: (4, k), infinite where none does."""
    times = len(places) // max(len(along), 1)
    along, into = np.tile(along, (times, 1)), np.tile(into, (times, 1))
    hit, far = first_hits(places, into, np.full(len(places), _THICK[1]), runs)
    unit = directions(runs[hit, 2:] - runs[hit, :2])
    level = np.abs(along[:, 0] * unit[:, 1] - along[:, 1] * unit[:, 0]) <= _LEVEL
    return np.where(level, far, np.inf).reshape(4, -1)


def _alike(one: Floats, other: Floats) -> Mask:
    """Whether both thicknesses are known and about the same."""
    known = np.isfinite(one) & np.isfinite(other)
    low, high = np.where(known, np.minimum(one, other), 0.0), np.where(known, np.maximum(one, other), 1.0)
    return np.asarray(high <= (1 + _AS_THICK) * low)


@dataclass(frozen=True)
class _Across:
    """Lines across, arrays of one length, in order of their mouths: the `mouth`, from where to where along it (m, 2),
    the `depth`, and the `segment` of the drawing, -1 for a wall's line; and which mouths (mask) are shut off behind: by
    the wall's face, or by a thinner wall, as between columns.
    """

    mouth: Index
    span: Floats
    depth: Floats
    segment: Index
    shut: Mask

    def of(self, mouth: int) -> Index:
        """Numbers of the lines across behind a mouth where they are two at least, none else."""
        own = np.arange(*np.searchsorted(self.mouth, (mouth, mouth + 1)))
        return own if len(own) and np.ptp(self.depth[own]) >= _APART else own[:0]


def _lines_across(frames: _Frames, runs: Floats, evidence: Evidence) -> _Across:
    """The lines of the walls (`runs`) and of the `evidence` that run across behind the mouths."""
    number = evidence.numbers
    ends = np.vstack([evidence.pool.ends[number], runs])
    mouth, line = _in_recesses(frames, ends)
    at, deep = frames.places(mouth, ends[line])
    low, high, depth = at.min(axis=1), at.max(axis=1), deep.mean(axis=1)
    level = np.ptp(deep, axis=1) <= _LEVEL * (high - low)
    level &= np.minimum(high, frames.width[mouth]) - np.maximum(low, 0) >= _SPANS * frames.width[mouth]
    behind = np.abs(depth - frames.thick[mouth]) <= _ON_FACE
    beyond = (low <= -_OVER) | (high >= frames.width[mouth] + _OVER)
    shut = np.zeros(len(frames.line), dtype=bool)
    shut[mouth[level & behind & beyond & (line >= len(number))]] = True
    good = level & ~behind & ~beyond & (depth > _ON_FACE)
    own = good & (line >= len(number))
    near, far = extents(depth[own], mouth[own], len(shut))
    shut |= wide_as_wall(far - near, frames.thick)
    segment = np.append(number, np.full(len(runs), -1))[line[good]]
    return _Across(mouth[good], np.column_stack([low, high])[good], depth[good], segment, shut)


def _carried_on(found: Sequence[Candidate], frames: _Frames, across: _Across) -> tuple[list[Candidate], Mask]:
    """The candidates carried on to their mouths, and which mouths (mask) have an opening."""
    result, used = list(found), np.zeros(len(frames.line), dtype=bool)
    if not found:
        return result, used
    axis = np.array([c.axis for c in found])
    mouth, n = _in_recesses(frames, axis)
    at, deep = frames.places(mouth, axis[n])
    middle = deep.mean(axis=1)
    own = np.array([c.thick for c in found])[n]
    spans = np.ptp(at, axis=1) >= _SPANS * frames.width[mouth]
    within = (at.min(axis=1) >= -_OVER) & (at.max(axis=1) <= frames.width[mouth] + _OVER)
    inside = (middle >= 0) & (middle <= frames.thick[mouth] + _ON_FACE) & (np.abs(np.ptp(deep, axis=1)) <= _OVER)
    for k in np.flatnonzero(spans & within & inside).tolist():
        used[mouth[k]] = True
        if middle[k] - own[k] / 2 > _ON_FACE and not found[n[k]].parts:
            carried = _to_mouth(result[n[k]], frames, int(mouth[k]), np.sort(at[k]))
            glazed = carried.kind == "opening" and len(across.of(int(mouth[k]))) > 0
            result[n[k]] = replace(carried, kind="window", told=False) if glazed else carried
    return result, used


def _in_recesses(frames: _Frames, ends: Floats) -> tuple[Index, Index]:
    """Pairs of a mouth and a line of `ends` (n, 4) that touches the masonry behind it."""
    start, stop = frames.line[:, :2], frames.line[:, 2:]
    back = frames.into * frames.thick[:, None]
    boxes = shapely.polygons(np.stack([start, stop, stop + back, start + back], axis=1))
    mouth, line = shapely.STRtree(shapely.linestrings(ends.reshape(-1, 2, 2))).query(boxes, predicate="intersects")
    return np.asarray(mouth), np.asarray(line)


def _to_mouth(candidate: Candidate, frames: _Frames, mouth: int, at: Floats) -> Candidate:
    """The candidate through the whole wall: `at` tells from where to where it lies along the mouth."""
    bridges = np.vstack([frames.line[mouth][None], candidate.bridges])
    return replace(
        candidate, axis=_axis(frames, mouth, at), thick=float(frames.thick[mouth]), bridges=bridges, unbroken=False,
        recessed=True,
    )  # fmt: skip


def _axis(frames: _Frames, mouth: int, at: Floats) -> tuple[float, float, float, float]:
    """The axis in the middle of the wall, from `at` to `at` along the mouth."""
    middle = frames.line[mouth, :2] + frames.into[mouth] * frames.thick[mouth] / 2
    a, b = (middle + frames.along[mouth] * k for k in at.tolist())
    return float(a[0]), float(a[1]), float(b[0]), float(b[1])


def _windows(drawing: Drawing, frames: _Frames, across: _Across, some: Index) -> list[Candidate]:
    """The windows behind the mouths numbered `some` of which only lines across show."""
    made: list[Candidate] = []
    for k in some.tolist():
        own = across.of(k)
        if len(own):
            told = across.segment[own][across.segment[own] >= 0]
            entities = tuple(sorted({int(e) for e in drawing.segments.entity[told]}))
            made.append(_window(frames, k, np.median(across.span[own], axis=0), entities))
    return _once(made)


def _once(made: Sequence[Candidate]) -> list[Candidate]:
    """The windows, those seen from both faces of their wall once."""
    kept: list[Candidate] = []
    number: list[int] = []  # of each window made so far among those kept
    for c, near in zip(made, _near_before(made), strict=True):
        n = next((n for n in sorted({number[k] for k in near}) if _same_place(kept[n], c)), None)
        number.append(len(kept) if n is None else n)
        if n is None:
            kept.append(c)
        else:
            narrow = min(kept[n], c, key=lambda x: x.width)
            kept[n] = replace(narrow, bridges=np.vstack([kept[n].bridges, c.bridges]))
    return kept


def _near_before(made: Sequence[Candidate]) -> list[list[int]]:
    """For each window the numbers of those before it that may be in the same place: a few, however many there are."""
    middles = shapely.points(np.array([_middle(c) for c in made]).reshape(-1, 2))
    reach = max((_reach(c) for c in made), default=0.0) + _ON_FACE
    near: list[list[int]] = [[] for _ in made]
    for one, other in shapely.STRtree(middles).query(middles, predicate="dwithin", distance=reach).T.tolist():
        if other < one:
            near[one].append(other)
    return near


def _same_place(window: Candidate, other: Candidate) -> bool:
    return float(np.hypot(*(_middle(other) - _middle(window)))) <= _reach(window)


def _middle(window: Candidate) -> Floats:
    return np.asarray(np.array(window.axis).reshape(2, 2).mean(axis=0))


def _reach(window: Candidate) -> float:
    return min(window.width, window.thick) / 2


def _window(frames: _Frames, mouth: int, at: Floats, entities: tuple[int, ...]) -> Candidate:
    at = np.clip(at, 0.0, frames.width[mouth])
    return Candidate(
        (),
        _axis(frames, mouth, at),
        float(at[1] - at[0]),
        float(frames.thick[mouth]),
        frames.line[mouth][None],
        "window",
        "symbol",
        entities=entities,
        told=False,
        recessed=True,
    )
