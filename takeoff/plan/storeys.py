"""Where the separate drawings are on a sheet, and what each of them is: plan, section, elevation, detail, title block.

Terms:
  cluster   line work that hangs together: no gap wider than `GAP_M` inside it, furniture and islands taken in.
  region    a cluster that counts as a drawing of its own, with its title and kind.
  outlier   a small cluster without a title: a shed, a tree. It is part of the nearest large one's region, whose bounds
            it leaves as they are.
  stray     line work that belongs to no region: a hatch far away, a lost line.

A cluster that cannot be told is a 'plan': nothing measurable is thrown away on a guess.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import STRtree

from takeoff.drawing.model import Drawing, Floats, Ints, Text
from takeoff.geometry.cluster import extents
from takeoff.geometry.vectors import lengths
from takeoff.plan._clusters import clusters_of
from takeoff.plan._frames import Frame, page_frames
from takeoff.plan._titles import Bounds, kind_of_region, title_of
from takeoff.plan.layers import Role
from takeoff.query import Query, query

__all__ = ["GAP_M", "Sheet", "SheetRegion", "alike_query", "read_sheet", "sheet_regions"]

Mask = npt.NDArray[np.bool_]

GAP_M = 2.0
"""Line work farther apart than this hangs together only through other line work (common practice: storeys drawn
side by side stand several metres apart, parts of one house less)."""
_LEAST_SEGMENTS = 8
_LEAST_SIDE_M = 1.0
"""A smaller cluster is no drawing of its own."""
_TITLE_REACH = 0.5
"""A title stands no farther from its drawing than this share of the drawing's size."""
_TITLE_LEAST_M = 3.0
_OUTLIER = 0.1
"""An outlier has less than this share of the line work and of the extent of the region it belongs to."""
_TELLING_LINE_M, _SAME_LINE_M = 0.6, 0.02
_ALIKE = 0.7
"""Share of their lines that two drawings of one storey have in common."""
_FILLS = frozenset({"HATCH", "SOLID"})
_FEW_WALLS = 0.25
_QUIET = frozenset({"text", "dimension", "grid", "sheet", "outdoor", "hatch", "roof"})
"""Layers whose line work ties nothing together."""


@dataclass(frozen=True, slots=True)
class SheetRegion:
    """One drawing on the sheet."""

    bounds: Bounds
    title: str
    """The title text found with it, '' where there is none."""
    kind: str
    """'plan', 'section', 'elevation', 'detail', 'title block' or 'legend'."""
    why: str = ""
    """What decided the kind, for people."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawings on a sheet and which line work belongs to which."""

    regions: tuple[SheetRegion, ...]
    """In reading order: rows from the top, left to right."""
    region_of: Ints
    """(n,) for each segment the index of its region; -1 for a page frame or a stray."""
    frames: tuple[Frame, ...]


def sheet_regions(drawing: Drawing, roles: tuple[Role, ...]) -> tuple[SheetRegion, ...]:
    """The separate drawings on the sheet of `drawing` (in metres), in reading order."""
    return read_sheet(drawing, roles).regions


def read_sheet(drawing: Drawing, roles: tuple[Role, ...]) -> Sheet:
    """The separate drawings on the sheet, the page frames, and the region of every segment.

    `drawing` in metres; `roles` from `layer_roles`. Cost grows in proportion to the line work.
    """
    frames = page_frames(drawing, roles)
    ends = drawing.segments.ends
    framed = np.zeros(len(ends), dtype=bool)
    framed[[i for frame in frames for i in frame.segments]] = True
    tying = ~framed & _tying(drawing, roles)
    if not tying.any():
        return Sheet((), np.full(len(ends), -1, dtype=np.int32), frames)
    cluster = np.full(len(ends), -1, dtype=np.int32)
    cluster[tying] = clusters_of(ends[tying], _gap(ends[tying]))
    bounds = _bounds_of(ends, cluster)
    drawings = _joined(bounds, np.bincount(cluster[tying], minlength=len(bounds)))
    cluster[tying] = drawings[cluster[tying]]
    regions, number = _regions(drawing, roles, ends, cluster)
    region_of = np.where(cluster >= 0, number[cluster], -1).astype(np.int32)
    loose = ~framed & (region_of < 0)
    region_of[loose] = _inside(ends[loose], regions)
    return Sheet(tuple(regions), region_of, frames)


def _tying(drawing: Drawing, roles: tuple[Role, ...]) -> Mask:
    """Which segments may tie a drawing together; all of them when the layers leave next to nothing."""
    layer = drawing.layer_numbers[drawing.segments.entity]
    silent = _QUIET - {"hatch"} if _walls_are_fills(drawing, roles) else _QUIET
    quiet = np.array([r.name in silent and r.confidence >= 0.6 for r in roles], dtype=bool)
    tying = ~quiet[layer]
    return np.asarray(tying if tying.mean() >= 0.2 else np.ones(len(tying), dtype=bool), dtype=bool)


def _walls_are_fills(drawing: Drawing, roles: tuple[Role, ...]) -> bool:
    """Whether filled shapes are drawn where no lines could be walls: little else is on layers for walls or unknown."""
    ends = drawing.segments.ends
    length = lengths(ends)
    layer = drawing.layer_numbers[drawing.segments.entity]
    hatched = np.array([e.kind in _FILLS for e in drawing.entities], dtype=bool)[drawing.segments.entity]
    walls = np.array([r.name in ("wall", "column", "unknown") for r in roles], dtype=bool)[layer]
    return bool(length[walls & ~hatched].sum() < _FEW_WALLS * length[hatched].sum())


def _gap(ends: Floats) -> float:
    """`GAP_M`, or a share of the extents where these are so odd that the unit must be wrong."""
    extent = float(max(np.ptp(ends[:, [0, 2]]), np.ptp(ends[:, [1, 3]])))
    return GAP_M if 3.0 <= extent <= 3000.0 else max(extent / 50, 1e-6)


def _bounds_of(ends: Floats, cluster: Ints) -> Floats:
    """(k, 4) bounds of each cluster."""
    known = cluster >= 0
    return np.hstack(extents(ends[known].reshape(-1, 2), np.repeat(cluster[known], 2), int(cluster.max()) + 1))


def _joined(bounds: Floats, weight: npt.NDArray[np.int64]) -> Ints:
    """New number of each cluster once islands are taken into the heaviest cluster whose bounds hold their middle."""
    middle = (bounds[:, :2] + bounds[:, 2:]) / 2
    island, host = STRtree(shapely.box(*bounds.T)).query(shapely.points(middle), predicate="intersects")
    heavier = (weight[host] > weight[island]) | ((weight[host] == weight[island]) & (host < island))
    island, host = island[heavier], host[heavier]
    order = np.lexsort((host, -weight[host]))[::-1]
    into = np.arange(len(bounds))
    into[island[order]] = host[order]
    while (into[into] != into).any():
        into = into[into]
    return into.astype(np.int32)


def _regions(
    drawing: Drawing, roles: tuple[Role, ...], ends: Floats, cluster: Ints
) -> tuple[list[SheetRegion], Ints]:
    """The clusters that are drawings, in reading order, and for each cluster its region's index or -1."""
    bounds = _bounds_of(ends, cluster)
    weight = np.bincount(cluster[cluster >= 0], minlength=len(bounds))
    sides = bounds[:, 2:] - bounds[:, :2]
    hatched = _only_hatch(drawing, cluster, len(bounds)) & (not _walls_are_fills(drawing, roles))
    least = _LEAST_SIDE_M * _gap(ends[cluster >= 0]) / GAP_M
    kept = np.flatnonzero((weight >= _LEAST_SEGMENTS) & (sides.min(axis=1) >= least) & ~hatched)
    if not len(kept):
        kept = np.array([int(weight.argmax())])
    kept = kept[np.lexsort((bounds[kept, 0], -bounds[kept, 3]))]
    texts_of = _texts_of(drawing, bounds[kept])
    titled = [title_of(texts, _tuple(bounds[k])) != ("", "") for k, texts in zip(kept, texts_of, strict=True)]
    into = _outliers(bounds[kept], weight[kept], np.array(titled))
    rows = _reading_order(kept[into == np.arange(len(kept))].tolist(), bounds)
    number = np.full(len(bounds), -1, dtype=np.int32)
    number[rows] = np.arange(len(rows))
    number[kept] = number[kept[into]]
    swings = _swings_in(drawing, cluster, number, len(rows))
    found = []
    for k, texts, count in zip(rows, _texts_of(drawing, bounds[rows]), swings.tolist(), strict=True):
        title, kind, why = kind_of_region(texts, _tuple(bounds[k]), count, alone=len(rows) == 1)
        found.append(SheetRegion(_tuple(bounds[k]), title, kind, why))
    return found, number


def _texts_of(drawing: Drawing, bounds: Floats) -> list[list[Text]]:
    """For each region the texts nearer to it than to any other, and no farther than half its size."""
    held: list[list[Text]] = [[] for _ in bounds]
    if not drawing.paragraphs:
        return held
    places = shapely.points([t.at for t in drawing.paragraphs])
    boxes = shapely.box(*bounds.T)
    text, region = STRtree(boxes).query_nearest(places, all_matches=False)
    reach = np.maximum(_TITLE_LEAST_M, _TITLE_REACH * (bounds[:, 2:] - bounds[:, :2]).max(axis=1))
    near = shapely.distance(places[text], boxes[region]) <= reach[region]
    for t, r in zip(text[near].tolist(), region[near].tolist(), strict=True):
        held[r].append(drawing.paragraphs[t])
    return held


def _outliers(bounds: Floats, weight: npt.NDArray[np.int64], titled: Mask) -> npt.NDArray[np.int64]:
    """For each region the one it is part of: itself, or the large one nearest to a small untitled one."""
    into = np.arange(len(bounds))
    extent = np.prod(bounds[:, 2:] - bounds[:, :2], axis=1)
    large = np.flatnonzero((weight >= _OUTLIER * weight.max()) | (extent >= _OUTLIER * extent.max()) | titled)
    small = np.setdiff1d(into, large)
    if not len(small):
        return into
    boxes = shapely.box(*bounds.T)
    which, host = STRtree(boxes[large]).query_nearest(boxes[small], all_matches=False)
    into[small[which]] = large[host]
    return into


def _reading_order(rows: list[int], bounds: Floats) -> list[int]:
    """Rows from the top, left to right: a region belongs to the row whose first region it stands beside."""
    ordered: list[int] = []
    row: list[int] = []
    for k in rows:
        middle = (bounds[row[0], 1] + bounds[row[0], 3]) / 2 if row else 0.0
        if row and not bounds[k, 1] <= middle <= bounds[k, 3]:
            ordered += sorted(row, key=lambda n: (bounds[n, 0], n))
            row = []
        row.append(k)
    return ordered + sorted(row, key=lambda n: (bounds[n, 0], n))


def _only_hatch(drawing: Drawing, cluster: Ints, count: int) -> Mask:
    """Which clusters are nothing but hatches: strays."""
    drawn = np.array([e.kind not in _FILLS for e in drawing.entities], dtype=np.int64)
    known = cluster >= 0
    lines = np.bincount(cluster[known], weights=drawn[drawing.segments.entity[known]], minlength=count)
    return np.asarray(lines == 0, dtype=bool)


def _swings_in(drawing: Drawing, cluster: Ints, number: Ints, count: int) -> Ints:
    """How many door swings (quarter arcs of a leaf's width) each region holds."""
    swings = np.zeros(count, dtype=np.int32)
    shape = drawing.arcs.shape
    chord = drawing.segments.arc >= 0
    if not len(shape) or not chord.any():
        return swings
    swing = (shape[:, 2] >= 0.5) & (shape[:, 2] <= 1.3) & (np.abs(np.abs(shape[:, 4]) - np.pi / 2) < 0.35)
    arcs, first = np.unique(drawing.segments.arc[chord], return_index=True)
    where = cluster[chord][first]
    hit = swing[arcs] & (where >= 0)
    regions = number[where[hit]]
    np.add.at(swings, regions[regions >= 0], 1)
    return swings


def _tuple(row: Floats) -> Bounds:
    return float(row[0]), float(row[1]), float(row[2]), float(row[3])


def alike_query(drawing: Drawing, sheet: Sheet) -> list[Query]:
    """One query when plans on the sheet are the same drawing again, say for furniture or for dimensions.

    Storeys that are really alike (a block of flats) are asked about too: only a person can tell.
    """
    plans = [i for i, region in enumerate(sheet.regions) if region.kind == "plan"]
    shapes = {i: _shape_of(drawing, sheet, i) for i in plans}
    groups: list[list[int]] = []
    for i in plans:
        twin = next((g for g in groups if _same_shape(shapes[g[0]], shapes[i])), None)
        if twin is None:
            groups.append([i])
        else:
            twin.append(i)
    alike = [[f"P{plans.index(i) + 1}" for i in group] for group in groups if len(group) > 1]
    if not alike:
        return []
    named = "; ".join(" and ".join(group) for group in alike)
    says = (
        f"The same walls are drawn more than once ({named}): each was measured. If that is one storey drawn again, for "
        "furniture or dimensions say, leave the rooms of the copies out of the quantities."
    )
    about = [ref for group in alike for ref in group]
    return [query("plans-alike", says, about=about, answer="[rooms.R9]\nmeasured = false")]


def _shape_of(drawing: Drawing, sheet: Sheet, index: int) -> frozenset[tuple[int, int, int, int]]:
    """The longer lines of a region, from its own corner, to the nearest 20 mm."""
    ends = drawing.segments.ends[(sheet.region_of == index) & (drawing.segments.arc < 0)]
    ends = ends[lengths(ends) >= _TELLING_LINE_M]
    corner = np.array(sheet.regions[index].bounds[:2] * 2)
    grid = np.round((ends - corner) / _SAME_LINE_M).astype(np.int64)
    back = (grid[:, 0] > grid[:, 2]) | ((grid[:, 0] == grid[:, 2]) & (grid[:, 1] > grid[:, 3]))
    grid[back] = grid[back][:, [2, 3, 0, 1]]
    return frozenset(map(tuple, grid.tolist()))


def _same_shape(a: frozenset[tuple[int, int, int, int]], b: frozenset[tuple[int, int, int, int]]) -> bool:
    """Whether most lines of either are lines of the other."""
    fewer = min(len(a), len(b))
    if fewer < _LEAST_SEGMENTS or fewer < _ALIKE * max(len(a), len(b)):
        return False
    return len(a & b) >= _ALIKE * max(len(a), len(b))


def _inside(ends: Floats, regions: list[SheetRegion]) -> Ints:
    """Index of the first region whose bounds hold the middle of each segment, or -1."""
    found = np.full(len(ends), -1, dtype=np.int32)
    if len(ends) and regions:
        boxes = shapely.box(*np.array([r.bounds for r in regions]).T)
        segment, region = STRtree(boxes).query(shapely.points((ends[:, :2] + ends[:, 2:]) / 2), predicate="intersects")
        order = np.argsort(-region, kind="stable")
        found[segment[order]] = region[order]
    return found
