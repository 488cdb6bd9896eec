"""Where the separate drawings are on a sheet, and what each of them is: plan, section, elevation, detail, title block.

Terms:
  cluster   line work that hangs together: no gap wider than `GAP_M` inside it, furniture and islands taken in.
  region    a cluster that counts as a drawing of its own, with its title and kind.
  stray     line work that belongs to no region: a hatch far away, a lost line.

A cluster that cannot be told is a 'plan': nothing measurable is thrown away on a guess.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from takeoff.data import load
from takeoff.drawing.model import Drawing, Floats, Ints, Text
from takeoff.plan._clusters import clusters_of
from takeoff.plan._frames import Frame, page_frames
from takeoff.plan._room_words import room_name
from takeoff.plan.layers import Role, fold

__all__ = ["GAP_M", "Sheet", "SheetRegion", "read_sheet", "sheet_regions"]

Bounds = tuple[float, float, float, float]
Mask = npt.NDArray[np.bool_]

GAP_M = 2.0
"""Line work farther apart than this hangs together only through other line work (common practice: storeys drawn
side by side stand several metres apart, parts of one house less)."""
_LEAST_SEGMENTS = 8
_LEAST_SIDE_M = 1.0
"""A smaller cluster is no drawing of its own."""
_LEAST_LEVELS = 3
"""So many level marks, one above the other, make a section or an elevation."""
_LEAST_BLOCK_WORDS = 3
_SURE_SWINGS = 3
"""So many door swings make a plan, whatever a title beside it says."""
_LONGEST_TITLE = 60
_ABBREVIATION = 3
"""A title word of so few letters (EG, RDC) counts only when it stands alone or as 'Grundriss EG'."""
_TITLE_REACH = 0.5
"""A title stands no farther from its drawing than this share of the drawing's size."""
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
    regions, number = _regions(drawing, ends, cluster)
    region_of = np.where(cluster >= 0, number[cluster], -1).astype(np.int32)
    loose = ~framed & (region_of < 0)
    region_of[loose] = _inside(ends[loose], regions)
    return Sheet(tuple(regions), region_of, frames)


def _tying(drawing: Drawing, roles: tuple[Role, ...]) -> Mask:
    """Which segments may tie a drawing together; all of them when the layers leave next to nothing."""
    layer = np.array([e.layer for e in drawing.entities], dtype=np.int64)[drawing.segments.entity]
    quiet = np.array([r.name in _QUIET and r.confidence >= 0.6 for r in roles], dtype=bool)
    tying = ~quiet[layer]
    return np.asarray(tying if tying.mean() >= 0.2 else np.ones(len(tying), dtype=bool), dtype=bool)


def _gap(ends: Floats) -> float:
    """`GAP_M`, or a share of the extents where these are so odd that the unit must be wrong."""
    extent = float(max(np.ptp(ends[:, [0, 2]]), np.ptp(ends[:, [1, 3]])))
    return GAP_M if 3.0 <= extent <= 3000.0 else max(extent / 50, 1e-6)


def _bounds_of(ends: Floats, cluster: Ints) -> Floats:
    """(k, 4) bounds of each cluster."""
    count = int(cluster.max()) + 1
    bounds = np.empty((count, 4))
    bounds[:, :2], bounds[:, 2:] = np.inf, -np.inf
    known = cluster >= 0
    for x, y in ((0, 1), (2, 3)):
        np.minimum.at(bounds[:, 0], cluster[known], ends[known, x])
        np.minimum.at(bounds[:, 1], cluster[known], ends[known, y])
        np.maximum.at(bounds[:, 2], cluster[known], ends[known, x])
        np.maximum.at(bounds[:, 3], cluster[known], ends[known, y])
    return bounds


def _joined(bounds: Floats, weight: npt.NDArray[np.int64]) -> Ints:
    """New number of each cluster once islands are taken into the drawing whose bounds hold their middle."""
    order = np.argsort(-weight, kind="stable")
    number = np.arange(len(bounds), dtype=np.int32)
    hosts: list[int] = []
    for k in order:
        x, y = (bounds[k, 0] + bounds[k, 2]) / 2, (bounds[k, 1] + bounds[k, 3]) / 2
        host = next((h for h in hosts if _holds(bounds[h], x, y)), None)
        if host is None:
            if len(hosts) < 200:
                hosts.append(int(k))
        else:
            number[k] = host
    return number


def _holds(bounds: Floats, x: float, y: float) -> bool:
    return bool(bounds[0] <= x <= bounds[2] and bounds[1] <= y <= bounds[3])


def _regions(drawing: Drawing, ends: Floats, cluster: Ints) -> tuple[list[SheetRegion], Ints]:
    """The clusters that are drawings, in reading order, and for each cluster its region's index or -1."""
    bounds = _bounds_of(ends, cluster)
    weight = np.bincount(cluster[cluster >= 0], minlength=len(bounds))
    sides = bounds[:, 2:] - bounds[:, :2]
    hatched = _only_hatch(drawing, cluster, len(bounds))
    least = _LEAST_SIDE_M * _gap(ends[cluster >= 0]) / GAP_M
    kept = np.flatnonzero((weight >= _LEAST_SEGMENTS) & (sides.min(axis=1) >= least) & ~hatched)
    if not len(kept):
        kept = np.array([int(weight.argmax())])
    rows = sorted(kept.tolist(), key=lambda k: (-bounds[k, 3], bounds[k, 0]))
    rows = _reading_order(rows, bounds)
    number = np.full(len(bounds), -1, dtype=np.int32)
    number[rows] = np.arange(len(rows))
    swings = _swings_in(drawing, cluster, number, len(rows))
    found = [_tuple(bounds[k]) for k in rows]
    return [_region(drawing, i, found, int(swings[i])) for i in range(len(rows))], number


def _reading_order(rows: list[int], bounds: Floats) -> list[int]:
    """Rows from the top, left to right: a region belongs to the row whose first region it stands beside."""
    ordered: list[int] = []
    left = list(rows)
    while left:
        first = left[0]
        middle = (bounds[first, 1] + bounds[first, 3]) / 2
        row = [k for k in left if bounds[k, 1] <= middle <= bounds[k, 3] or k == first]
        ordered += sorted(row, key=lambda k: bounds[k, 0])
        left = [k for k in left if k not in row]
    return ordered


def _only_hatch(drawing: Drawing, cluster: Ints, count: int) -> Mask:
    """Which clusters are nothing but hatches: strays."""
    drawn = np.array([e.kind not in {"HATCH", "SOLID"} for e in drawing.entities], dtype=np.int64)
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


def _inside(ends: Floats, regions: list[SheetRegion]) -> Ints:
    """Index of the region whose bounds hold the middle of each segment, or -1."""
    middle = (ends[:, :2] + ends[:, 2:]) / 2
    found = np.full(len(ends), -1, dtype=np.int32)
    for i, region in enumerate(regions):
        x0, y0, x1, y1 = region.bounds
        held = (middle[:, 0] >= x0) & (middle[:, 0] <= x1) & (middle[:, 1] >= y0) & (middle[:, 1] <= y1)
        found[held & (found < 0)] = i
    return found


_LEVEL = re.compile(
    r"[+\-±−]\s?\d{1,3}[.,]\d{2,3}\b|[(]\d{1,3}[.,]\d{2}\s?m[)]|\b(?:FFL|SSL|OKFF|OKRF|EL\.?)\b", re.IGNORECASE
)


def _region(drawing: Drawing, index: int, found: list[Bounds], swings: int) -> SheetRegion:
    """Title and kind of the region number `index` of `found`."""
    bounds = found[index]
    texts = [t for t in drawing.texts if _nearest(t.at, found) == index]
    inside = [t for t in texts if _beside(t.at, bounds) == 0]
    title, kind = _title(texts, bounds)
    if kind == "plan" or (kind and swings < _SURE_SWINGS):
        return SheetRegion(bounds, title, kind, f"titled '{title}'")
    region = SheetRegion(bounds, "", "plan")
    if swings:
        return replace(region, why=f"{swings} door swings")
    levels = sorted({round(t.at[1], 2) for t in texts if _LEVEL.search(t.value)})
    if len(found) > 1 and len(levels) >= _LEAST_LEVELS and levels[-1] - levels[0] > (bounds[3] - bounds[1]) / 3:
        return replace(region, kind="section", why=f"{len(levels)} level marks one above the other, no door swing")
    rooms = sum(1 for t in inside if room_name(t.value))
    if rooms == 0 and sum(1 for t in inside if _kind_of(t.value) == "title block") >= _LEAST_BLOCK_WORDS:
        return replace(region, kind="title block", why="words of a title block")
    return replace(region, why="nothing speaks against it")


def _beside(at: tuple[float, float], bounds: Bounds) -> float:
    """Distance of a point from bounds, 0 inside."""
    dx = max(bounds[0] - at[0], 0.0, at[0] - bounds[2])
    dy = max(bounds[1] - at[1], 0.0, at[1] - bounds[3])
    return float(np.hypot(dx, dy))


def _nearest(at: tuple[float, float], found: list[Bounds]) -> int:
    """Index of the bounds nearest to `at`, or -1 when none is within half its own size."""
    distance, index = min((_beside(at, b), i) for i, b in enumerate(found))
    b = found[index]
    return index if distance <= max(3.0, _TITLE_REACH * max(b[2] - b[0], b[3] - b[1])) else -1


def _title(texts: list[Text], bounds: Bounds) -> tuple[str, str]:
    """The title among `texts` and the kind it names: the largest print wins, outside before inside.

    Inside the drawing only a plan's title counts, in print larger than most: 'Section A-A' or 'Detail 3' there
    marks where something is cut.
    """
    common = float(np.median([t.height for t in texts])) if texts else 0.0
    best: tuple[float, str, str] | None = None
    for text in texts:
        kind = "" if text.tag and len(text.value) <= _ABBREVIATION else _kind_of(text.value)
        if not kind or kind == "title block" or len(text.value) > _LONGEST_TITLE or _LEVEL.search(text.value):
            continue
        outside = _beside(text.at, bounds) > 0
        if not outside and (kind != "plan" or text.height < 1.2 * common):
            continue
        rank = text.height * (1.5 if outside else 1.0)
        if best is None or rank > best[0]:
            best = (rank, text.value, kind)
    if best is None:
        return "", ""
    return best[1], "detail" if best[2] == "other plan" else best[2]


@cache
def _titles() -> dict[str, str]:
    """Folded title words -> kind."""
    table: dict[str, str] = {}
    for kind, row in load("sheet_words")["titles"].items():
        for word in row["words"]:
            plain = " ".join(re.findall(r"\w+", fold(word)))
            table[plain] = kind
            table.setdefault(re.sub(r"(?<=[aou])e", "", plain), kind)
    return table


@cache
def _kind_of(text: str) -> str:
    """The kind of drawing a text names, by the longest title words in it; '' when it names none."""
    if room_name(text) is not None:
        return ""
    tokens = re.findall(r"\w+", fold(text))
    table = _titles()
    for size in range(min(5, len(tokens)), 0, -1):
        for i in range(len(tokens) - size + 1):
            phrase = " ".join(tokens[i : i + size])
            alone = len(tokens) == size or len(phrase) > _ABBREVIATION
            if phrase in table and alone and len(tokens) <= size + 5:
                return table[phrase]
    plain = fold(text)
    own = [w for w in table if not w.isascii() and w in plain]
    return table[max(own, key=len)] if own and len(plain) <= 20 else ""
