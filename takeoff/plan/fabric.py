"""Which lines are fabric: faces of walls, piers and columns; and which may tell of openings.

Evidence before names: a layer's line work is looked at (how much of it lies in parallel pairs a wall's thickness apart,
how well its ends meet), its name only supports. See `takeoff.plan.linework` for the terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.drawing.model import Drawing, Entity
from takeoff.geometry.cluster import Floats, Index, Mask, cluster_points
from takeoff.geometry.near import near_any
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.plan.crosses import crossed_out
from takeoff.plan.figures import Figures
from takeoff.plan.furniture import furniture_lines
from takeoff.plan.jambs import THICKEST, THINNEST
from takeoff.plan.layers import NOT_FABRIC, Role
from takeoff.plan.linework import COLUMN, FABRIC, GLASS, Lines
from takeoff.plan.panes import panes
from takeoff.plan.soften import dots, treads
from takeoff.plan.surrounding import share_surrounded
from takeoff.plan.symbols import Mark, Swings
from takeoff.plan.ticked import dimension_lines
from takeoff.plan.whole_lines import whole_lines

__all__ = [
    "LayerShape", "LayerSigns", "Lights", "door_lines", "fabric_lines", "glass_walls", "layer_signs",
    "paired_in_walls", "speaking",
]

Polygons = npt.NDArray[np.object_]

_PANE = 0.5
"""Shortest pane of a curtain wall, metres."""
_SCREEN = 1.3
"""Longer than a door leaf, metres: a line on a layer for doors that is a partition's face."""
_SOLID = ("", "SOLID")
_NEVER_WALLS = frozenset({"text", "dimension", "grid", "sheet", "hatch", "stairs", "roof", "outdoor"})
_MISNAMED_LEAST = 20.0
"""Paired lines of a layer, metres, from which its name is doubted where nothing else could be walls."""
_WALLS_LEAST = 2.0
"""Walls of a plan come to more than this, metres, discounted as in `LayerShape.walliness`."""
_SCREEN_THICKEST = 0.35
_BESIDE = 0.3
"""The two faces of a wall run side by side for so long, metres."""
_SURROUNDED = 0.5
"""Walls that make rooms by themselves surround this share of their names."""
_LEAF_THICKEST, _LEAF_MEETS = 0.08, 0.003
"""Leaves are no thicker, and their sides end this near their ends, metres."""


@dataclass(frozen=True, slots=True)
class Lights:
    """Numbers of the segments on wall layers that are windows' lines, and of those that may as well be piers'."""

    lines: Index
    guessed: Index


@dataclass(frozen=True, slots=True)
class LayerShape:
    """What the straight lines of one layer look like. Lengths in metres."""

    length: float
    paired: float
    """Length of runs of half a metre or more that have one to four mates a wall's thickness away."""
    meeting: float
    """Share of run ends that another run of the layer meets; nought where no run is paired."""

    @property
    def walliness(self) -> float:
        """Paired length, discounted where ends hang loose."""
        return self.paired * (0.3 + 0.7 * self.meeting)


def _layer_runs(drawing: Drawing, usable: Mask) -> tuple[Floats, Index]:
    """Straight runs (r, 4) of the usable segments (mask), and the layer (r,) of each."""
    segments = drawing.segments
    pick = usable & (segments.arc < 0)
    runs, owner, _ = straight_runs(segments.ends[pick], drawing.layer_numbers[segments.entity[pick]])
    return runs, owner


def _layer_shapes(runs: Floats, owner: Index, layers: int) -> tuple[LayerShape, ...]:
    """The shape of each of so many `layers` from its `runs`, of which `owner` numbers the layers."""
    length = lengths(runs)
    some = np.flatnonzero(length >= _BESIDE)
    found = mates(runs[some], THINNEST, THICKEST)
    first, second = some[found.first], some[found.second]
    same = (owner[first] == owner[second]) & (found.overlap >= _BESIDE)
    count = np.bincount(np.concatenate([first[same], second[same]]), minlength=len(runs))
    paired = (length >= 0.5) & (count >= 1) & (count <= 4)
    return tuple(_shape(runs[owner == k], length[owner == k], paired[owner == k]) for k in range(layers))


def _shape(runs: Floats, length: Floats, paired: Mask) -> LayerShape:
    if not paired.any():
        return LayerShape(float(length.sum()), 0.0, 0.0)
    _, label = cluster_points(np.vstack([runs[:, :2], runs[:, 2:]]), 0.01)
    meeting = float((np.bincount(label)[label] > 1).mean())
    return LayerShape(float(length.sum()), float(length[paired].sum()), meeting)


def fabric_lines(
    drawing: Drawing,
    roles: Sequence[Role],
    signs: LayerSigns,
    swings: Swings,
    doors: Mask,
    inside: Mask,
    boxes: Figures,
    names: Floats,
) -> tuple[Lines, Mask, Lights]:
    """The fabric among the segments masked by `inside`, which layers (mask) it was taken from, and the segments on them
    that are windows' lines; `signs` from `layer_signs`, `doors` from `door_lines`, `boxes` from
    `furniture_boxes`, `names` (n, 2) the places of rooms' names.

    Doors drawn on a wall layer, leaf and swing, and the nosings of stairs are left out, as windows and furniture are.
    """
    entity_layer, segments = drawing.layer_numbers, drawing.segments
    usable = inside & ~drawing.dashed[segments.entity]
    chosen = _fabric_layers(drawing, roles, signs)
    pick = np.flatnonzero(usable & chosen[entity_layer[segments.entity]] & ~doors)
    pick = pick[~furniture_lines(drawing, pick, boxes.take(chosen[entity_layer[boxes.entity]]), swings, names)]
    pick = pick[~dots(segments.ends[pick], segments.arc[pick].astype(np.int64)) & ~dimension_lines(segments.ends[pick])]
    pick = pick[~_on_treads(segments.ends[pick])]
    pick = pick[~crossed_out(segments.ends[pick])]
    glazed, guessed = panes(segments.ends[pick], segments.arc[pick].astype(np.int64))
    lights, pick = Lights(pick[glazed], pick[guessed]), pick[~glazed]
    kinds = np.array([COLUMN if r.name == "column" else FABRIC for r in roles], dtype=np.int64)
    entity = segments.entity[pick].astype(np.int64)
    none = np.full(len(pick), -1, dtype=np.int64)
    lines = Lines(segments.ends[pick], kinds[entity_layer[entity]], entity, segments.arc[pick].astype(np.int64), none)
    return whole_lines(lines, entity_layer[entity]), chosen, lights


def door_lines(drawing: Drawing, swings: Swings) -> Mask:
    """Segments (mask) that are leaves of doors or the swings of those leaves."""
    lines = np.zeros(len(drawing.segments.ends), dtype=bool)
    leaves, _ = swings.leaf_lines
    lines[leaves] = True
    lines |= _leaf_ends(drawing.segments.ends, leaves)
    hung = np.concatenate([swings.leaf_tip >= 0, [False]])
    swung = np.concatenate([hung[swings.of_arc], [False]])
    return np.asarray(lines | swung[drawing.segments.arc])


def _leaf_ends(ends: Floats, leaves: Index) -> Mask:
    """Short lines (mask) from one side of a leaf drawn as a box to the other; `leaves` numbers the sides.

    What is so short that both its ends lie at one corner is no such line, but a splinter of the jamb.
    """
    length = lengths(ends)
    short = np.flatnonzero((length <= _LEAF_THICKEST) & (length > 2 * _LEAF_MEETS))
    tied = np.zeros(len(ends), dtype=bool)
    if len(leaves) and len(short):
        corners = ends[leaves].reshape(-1, 2)
        for end in (slice(0, 2), slice(2, 4)):
            short = short[near_any(ends[short, end], corners, _LEAF_MEETS)]
        tied[short] = True
    return tied


def _on_treads(ends: Floats) -> Mask:
    runs, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    return np.asarray(treads(runs)[run]) if len(ends) else np.zeros(0, dtype=bool)


@dataclass(frozen=True, slots=True)
class LayerSigns:
    """What names and line work say of the layers; arrays over layers."""

    named: Mask
    """Called walls or columns."""
    barred: Mask
    """Called something that is no fabric."""
    score: Floats
    """How much their lines look like walls: `LayerShape.walliness`, metres."""
    runs: Floats
    """(r, 4) straight runs no shorter than faces of a wall run side by side."""
    owner: Index
    """(r,) the layer of each run."""

    @property
    def free(self) -> Floats:
        """The score of the layers whose names say nothing."""
        return np.where(self.barred | self.named, 0.0, self.score)

    @property
    def best_free(self) -> float:
        return float(self.free.max(initial=0.0))

    @property
    def called(self) -> float:
        """The score of the layers that are called walls or columns."""
        return float(self.score[self.named].sum())

    @property
    def names_tell(self) -> bool:
        """Whether the layers called walls look like walls beside those whose names say nothing."""
        return self.called >= 0.25 * self.best_free and self.called > _WALLS_LEAST

    @property
    def candidates(self) -> list[int]:
        """Numbers of the layers that look like walls where no name tells of walls, the likeliest first.

        Where none at all is called walls, what is called something else may be misnamed.
        """
        misnamed = ~self.named & (self.score >= _MISNAMED_LEAST) & (self.called <= _WALLS_LEAST)
        score = np.where(misnamed, self.score, self.free)
        top = float(score.max(initial=0.0))
        if self.names_tell or top < _WALLS_LEAST:
            return []
        some = np.flatnonzero(score >= max(0.1 * top, _WALLS_LEAST))
        return [int(n) for n in some[np.argsort(-score[some], kind="stable")]]

    def under(self, roles: Sequence[Role]) -> LayerSigns:
        """The same line work under other `roles`."""
        named, barred = _called(roles)
        return replace(self, named=named, barred=barred)

    def surrounding(self, layers: Sequence[int], places: Floats) -> list[int]:
        """Those of the `layers` whose lines surround most of the `places` (k, 2)."""
        own = np.flatnonzero(np.isin(self.owner, layers))
        share = share_surrounded(self.runs[own], self.owner[own], len(self.score), places)
        return [n for n in layers if share[n] >= _SURROUNDED]


def layer_signs(drawing: Drawing, roles: Sequence[Role], inside: Mask) -> LayerSigns:
    """The signs of the layers from the segments masked by `inside`."""
    runs, owner = _layer_runs(drawing, inside & ~drawing.dashed[drawing.segments.entity])
    shapes = _layer_shapes(runs, owner, len(drawing.layers))
    long = lengths(runs) >= _BESIDE
    return LayerSigns(*_called(roles), np.array([s.walliness for s in shapes]), runs[long], owner[long])


def _called(roles: Sequence[Role]) -> tuple[Mask, Mask]:
    """Layers (masks) called walls or columns, and those called something that is no fabric."""
    walls = [r.name == "wall" and r.confidence >= 0.5 and r.detail != "low" for r in roles]
    columns = [r.name == "column" and r.confidence >= 0.5 for r in roles]
    elsewhere = ("door", "window", "opening", "stairs", "hatch", "structure")
    barred = [r.name in NOT_FABRIC or r.name in elsewhere for r in roles]
    return np.array(walls, dtype=bool) | np.array(columns, dtype=bool), np.array(barred, dtype=bool)


def _fabric_layers(drawing: Drawing, roles: Sequence[Role], signs: LayerSigns) -> Mask:
    named, free = signs.named, signs.free
    best = max(signs.called, signs.best_free)
    filled = np.where(_filled_layers(drawing), signs.score, 0.0)
    if float(filled.max(initial=0.0)) > max(_WALLS_LEAST, 4 * best):
        return np.asarray(named | (filled >= 0.25 * float(filled.max())))
    misnamed = np.where(signs.barred & np.array([r.name not in _NEVER_WALLS for r in roles]), signs.score, 0.0)
    if float(misnamed.max(initial=0.0)) > max(_MISNAMED_LEAST, 10 * best):
        return np.asarray(named | (misnamed >= 0.5 * float(misnamed.max())))
    if best < _WALLS_LEAST:
        return np.array([r.name in ("wall", "column", "room outline") for r in roles], dtype=bool)
    if signs.names_tell:
        return named
    return np.asarray(named | (free >= max(0.25 * signs.best_free, _WALLS_LEAST)))


def paired_in_walls(drawing: Drawing, roles: Sequence[Role], signs: LayerSigns) -> float:
    """How much line work of the layers taken for walls runs in pairs: `LayerShape.walliness`, metres."""
    return float(signs.score[_fabric_layers(drawing, roles, signs)].sum())


def _filled_layers(drawing: Drawing) -> Mask:
    """Layers (mask) with solid fills: where nothing else looks like walls, the fills are the walls."""
    filled = np.zeros(len(drawing.layers), dtype=bool)
    filled[[drawing.entities[r.entity].layer for r in drawing.regions if r.filled and r.pattern in _SOLID]] = True
    return filled


def speaking(drawing: Drawing, roles: Sequence[Role], marks: Sequence[Mark]) -> Mask:
    """Entities (mask) that may belong to door and window symbols.

    Whatever is on a layer for openings or on one that says nothing, and every symbol that is no text, dimension or
    grid:
    a symbol that lies just in a gap of a wall is an opening's, whatever its layer is called.
    """
    marked = {m.symbol for m in marks}
    silent = NOT_FABRIC - {"furniture", "services"}
    return np.array([_speaks(e, roles[e.layer].name, marked, silent) for e in drawing.entities], dtype=bool)


def _speaks(entity: Entity, role: str, marked: set[int], silent: frozenset[str]) -> bool:
    if entity.kind == "HATCH":
        return False
    return (
        entity.symbol in marked
        or role in ("door", "window", "opening", "unknown")
        or (entity.symbol >= 0 and role not in silent)
    )


def glass_walls(
    drawing: Drawing, roles: Sequence[Role], doors: Mask, evidence: Index, strips: Polygons, pockets: Polygons
) -> Lines:
    """Lines on layers for openings that stand as walls themselves: glazed screens, curtain walls, partitions with
    doors.

    They run longer than a door leaf, outside every gap in a wall (`strips`) and not from a gap into the wall beside it
    (`pockets`: the gaps lengthened within the wall's thickness), and have a mate or are on a layer for windows.
    Short lines that tie their ends together come along.
    """
    evidence = evidence[~doors[evidence]]
    entity = drawing.segments.entity[evidence]
    layer = drawing.layer_numbers[entity]
    named = np.array([r.name in ("window", "opening", "door") for r in roles], dtype=bool)
    free = named[layer] & ~drawing.dashed[entity] & (drawing.segments.arc[evidence] < 0)
    evidence, layer = evidence[free], layer[free]
    ends = drawing.segments.ends[evidence]
    if len(strips) and len(ends):
        outside = ~_in_strips(ends, strips, pockets)
        evidence, layer, ends = evidence[outside], layer[outside], ends[outside]
    runs, _, run = straight_runs(ends, np.zeros(len(ends), dtype=np.int64))
    length = lengths(runs)
    found = mates(runs, 0.015, _SCREEN_THICKEST)
    paired = np.zeros(len(runs), dtype=bool)
    good = found.overlap >= 0.8
    paired[found.first[good]] = paired[found.second[good]] = True
    window = np.zeros(len(runs), dtype=bool)
    window[run[np.array([r.name == "window" for r in roles], dtype=bool)[layer]]] = True
    long = (window & (length >= _PANE)) | (paired & (length >= _SCREEN))
    keep = long[run] | _ties(ends, ends[long[run]])
    evidence = evidence[keep]
    count = len(evidence)
    none = np.full(count, -1, dtype=np.int64)
    return Lines(
        drawing.segments.ends[evidence],
        np.full(count, GLASS, dtype=np.int64),
        drawing.segments.entity[evidence].astype(np.int64),
        none,
        none,
    )


def _in_strips(ends: Floats, strips: Polygons, pockets: Polygons) -> Mask:
    """Lines (mask) that lie in a gap, or slide from one into the wall."""
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    within = np.zeros(len(ends), dtype=bool)
    within[shapely.STRtree(strips).query(lines, predicate="covered_by")[0]] = True
    line, gap = shapely.STRtree(pockets).query(lines, predicate="covered_by")
    shown = shapely.length(shapely.intersection(lines[line], strips[gap]))
    within[line[(shown >= 0.25 * shapely.length(lines[line])) & (shown < 0.95 * shapely.length(lines[line]))]] = True
    return within


def _ties(ends: Floats, long: Floats) -> Mask:
    """Which short lines of `ends` have both ends on the `long` lines."""
    tied = np.zeros(len(ends), dtype=bool)
    if not len(long) or not len(ends):
        return tied
    tree = shapely.STRtree(shapely.linestrings(long.reshape(-1, 2, 2)))
    both = np.zeros((len(ends), 2), dtype=bool)
    for end in (0, 1):
        both[
            tree.query(shapely.points(ends[:, 2 * end : 2 * end + 2]), predicate="dwithin", distance=0.006)[0], end
        ] = True
    length = lengths(ends)
    return np.asarray(both.all(axis=1) & (length <= THICKEST))
