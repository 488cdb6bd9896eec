"""What print says about the unit: dimensions, printed areas and sizes, sizes in block names, stated lengths.

Each witness compares what is printed with what is drawn beside it, see `takeoff.drawing.unit_shapes.Opinion`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from takeoff.drawing.lengths import METRES, Length, read_lengths
from takeoff.drawing.model import Drawing, Symbol
from takeoff.drawing.unit_shapes import Opinion, opinion_of, straight_of
from takeoff.geometry.vectors import left_of

__all__ = ["dimensions", "named_sizes", "printed_areas", "printed_sizes", "stated_lengths"]

Floats = npt.NDArray[np.float64]

_SAME = 0.01
"""Print agrees with drawing within 1 %: print is rounded to a centimetre or half an inch."""
_MOST = 60
"""Texts or symbols looked at by one witness; the first in the file are as good as any."""
_METRIC = ("mm", "cm", "m")


def _matching(metres: float, drawn: float, within: float = _SAME) -> list[str]:
    """Units in which `drawn` units are `metres` long."""
    return [unit for unit, k in METRES.items() if abs(drawn * k / metres - 1) < within]


def _shares(votes: Iterable[Sequence[str]], of: int) -> dict[str, float]:
    """For each unit the share of `of` things that vote for it."""
    share = dict.fromkeys(METRES, 0.0)
    for units in votes:
        for unit in units:
            share[unit] += 1 / of
    return share


def dimensions(drawing: Drawing) -> list[Opinion]:
    """Dimensions: their printed text against the length they span, with a stated unit and without one."""
    stated: list[tuple[Length, float]] = []
    bare: list[tuple[Length, float]] = []
    for dimension in drawing.dimensions:
        if dimension.measured <= 0:
            continue
        read = read_lengths(dimension.text or dimension.printed)
        for length in read.lengths[:1]:
            (bare if length.unit is None else stated).append((length, dimension.measured))
    found = []
    if stated:
        votes = [_matching(length.value * METRES[length.unit or "m"], drawn) for length, drawn in stated]
        length, drawn = stated[0]
        says = f"{len(stated)} dimensions print their unit, such as {length.text} over {drawn:.6g} units"
        power = min(len(stated), 4) / 2 + 0.5
        found.append(opinion_of("dimension text", _shares(votes, len(stated)), says, power, exact=True))
    if bare:
        found.append(_bare_dimensions(bare))
    return found


def _bare_dimensions(bare: list[tuple[Length, float]]) -> Opinion:
    """Figures without a unit: how they are written tells what they mean, their ratio to the drawing the rest."""
    written = _written_as([length for length, _ in bare])
    likelihood = dict.fromkeys(METRES, 0.0)
    for printed, plausible in written.items():
        metres = METRES[printed]
        votes = [_matching(length.value * metres, drawn) for length, drawn in bare if length.value > 0]
        for unit, share in _shares(votes, len(bare)).items():
            likelihood[unit] = max(likelihood[unit], share * plausible)
    length, drawn = bare[0]
    says = f"{len(bare)} dimensions print bare figures, such as {length.text} over {drawn:.6g} units"
    return opinion_of("dimension figures", likelihood, says, min(len(bare), 4) / 4 + 0.5, exact=True)


def _written_as(lengths: Sequence[Length]) -> dict[str, float]:
    """How likely bare figures are to mean each unit, by their size and decimals (common practice).

    Metres carry two or three decimals, centimetres one at most, millimetres none; building dimensions run from
    0.05 to 60 m and lie mostly above half a metre.
    """
    figures = [length.text.replace(",", ".") for length in lengths]
    decimals = float(np.median([len(f.rpartition(".")[2]) if "." in f else 0 for f in figures]))
    middle = float(np.median([length.value for length in lengths]))
    plausible = dict.fromkeys(METRES, 0.05)
    if decimals >= 2:
        plausible["m"] = 1.0 if middle < 60 else 0.1
    elif decimals == 1:
        plausible["cm"] = 0.5 if middle > 30 else 0.1
        plausible["m"] = 0.5 if middle < 30 else 0.1
    else:
        plausible["mm"] = float(np.clip(middle / 600, 0.05, 1.0))
        plausible["cm"] = float(np.clip(middle / 80, 0.05, 1.0) if middle < 1000 else 0.2)
        plausible["m"] = 0.3 if middle < 20 else 0.02
    return plausible


def printed_areas(drawing: Drawing) -> list[Opinion]:
    """Areas printed in rooms: against the closed ring around them, else against the walls next to them."""
    printed = [
        (area.square_metres(), text.at)
        for text in drawing.paragraphs
        for area in read_lengths(text.value).areas
        if area.value > 0
    ][:_MOST]
    printed += _area_attributes(drawing)[: _MOST - len(printed)]
    if not printed:
        return []
    around = _rings_around(drawing, [at for _, at in printed])
    ringed = [(area, size) for (area, _), size in zip(printed, around, strict=True) if size > 0]
    if ringed:
        votes = [_matching(area**0.5, size**0.5) for area, size in ringed]
        if any(votes):
            example, size = next(pair for pair, vote in zip(ringed, votes, strict=True) if vote)
            says = f"{len(ringed)} areas are printed in closed outlines, as {example:.4g} m2 in {size:.6g} square units"
            power = min(len(ringed), 4) / 2 + 0.5
            return [opinion_of("printed area", _shares(votes, len(ringed)), says, power, exact=True)]
    straight = straight_of(drawing)
    boxes = np.array([_box_around(straight, at) for _, at in printed])
    metres2 = np.array([value for value, _ in printed])
    known = boxes > 0
    if not known.any():
        return []
    likelihood = {
        unit: float(np.mean(np.exp(-0.5 * (np.log(boxes[known] * k**2 / metres2[known]) / _ROUGH) ** 2)))
        for unit, k in METRES.items()
    }
    says = f"{int(known.sum())} areas are printed among walls that stand about as far apart"
    return [opinion_of("printed area", likelihood, says, min(int(known.sum()), 4) / 4)]


_ROUGH = 0.6
"""Logarithm of the factor by which the box between the nearest lines may miss a room's area: furniture stands in it."""


def _area_attributes(drawing: Drawing) -> list[tuple[float, tuple[float, float]]]:
    """Bare figures with decimals in attributes that also name an area, taken as square metres."""
    found = []
    for symbol in drawing.symbols:
        for tag, value in symbol.attributes:
            if "AREA" in tag.upper() and re.fullmatch(r"\d+[.,]\d+", value):
                found.append((float(value.replace(",", ".")), symbol.at))
    return [(value, at) for value, at in found if value > 0]


def _rings_around(drawing: Drawing, places: Sequence[tuple[float, float]]) -> list[float]:
    """Area of the smallest closed outline around each place, 0 where there is none."""
    import shapely

    from takeoff.geometry.near import all_met
    from takeoff.geometry.shapes import closed_shapes

    rings = [region.ring for region in drawing.regions if not region.filled and not region.hole]
    if not rings:
        return [0.0] * len(places)
    polygons = closed_shapes(rings)
    areas = shapely.area(polygons)
    place, ring = all_met("outlines", shapely.STRtree(polygons), shapely.points(np.array(places)), predicate="within")
    smallest = np.full(len(places), np.inf)
    np.minimum.at(smallest, place, areas[ring])
    return [float(area) if np.isfinite(area) else 0.0 for area in smallest]


def _gaps(ends: Floats, at: tuple[float, float], axis: int) -> tuple[Floats, Floats]:
    """Distances from `at` to the lines `ends` along `axis` (0 x, 1 y): backwards and forwards, nearest first."""
    other = 1 - axis
    a, b = ends[:, other] - at[other], ends[:, 2 + other] - at[other]
    across = np.flatnonzero((a * b <= 0) & (a != b))
    share = a[across] / (a[across] - b[across])
    away = ends[across, axis] + share * (ends[across, 2 + axis] - ends[across, axis]) - at[axis]
    return np.sort(-away[away < 0]), np.sort(away[away > 0])


def _box_around(straight: Floats, at: tuple[float, float]) -> float:
    """Area between the nearest lines left, right, below and above, 0 where one is missing."""
    size = 1.0
    for axis in (0, 1):
        back, ahead = _gaps(straight, at, axis)
        if not len(back) or not len(ahead):
            return 0.0
        size *= back[0] + ahead[0]
    return float(size)


def printed_sizes(drawing: Drawing) -> Opinion | None:
    """Room sizes such as 13'6 x 11' against distances between the lines around them."""
    sizes = []
    for text in drawing.paragraphs:
        for pair in read_lengths(text.value).pairs:
            metres = [_meant(length) for length in (pair.first, pair.second)]
            if all(m is not None and 0.6 <= m <= 30 for m in metres):
                sizes.append((metres, text.at, pair.text))
    sizes = sizes[:_MOST]
    if not sizes:
        return None
    straight = straight_of(drawing)
    votes = [_sized(straight, metres, at) for metres, at, _ in sizes]
    if not any(votes):
        return None
    fitting = sum(map(bool, votes))
    says = f"{len(sizes)} room sizes are printed, such as {sizes[0][2]}; walls stand as far apart at {fitting}"
    return opinion_of("printed room size", _shares(votes, len(sizes)), says, min(len(sizes), 4) / 2, exact=True)


def _meant(length: Length) -> float | None:
    """Metres of a printed length; a bare one is metres with decimals, millimetres from 600, else not told."""
    if length.unit is not None:
        return length.metres()
    if "." in length.text or "," in length.text:
        return length.value
    return length.value * METRES["mm"] if length.value >= 600 else None


_NEAREST = 4
"""Lines looked at in each direction: a wall may be the third after a table and a chair."""


def _sized(straight: Floats, metres: Sequence[float | None], at: tuple[float, float]) -> list[str]:
    """Units in which lines around `at` stand apart as both of `metres`, across and up or the other way round."""
    apart = []
    for axis in (0, 1):
        back, ahead = _gaps(straight, at, axis)
        apart.append((back[:_NEAREST, None] + ahead[None, :_NEAREST]).reshape(-1))
    found = []
    for unit, k in METRES.items():
        for first, second in (metres, metres[::-1]):
            if _any_near(apart[0] * k, first) and _any_near(apart[1] * k, second):
                found.append(unit)
                break
    return found


def _any_near(values: Floats, wanted: float | None) -> bool:
    return wanted is not None and bool((np.abs(values / wanted - 1) < 2 * _SAME).any())


_NAME_FIGURES = re.compile(r"(?<!\d)\d{2,4}(?!\d)")
_US_CODE = re.compile(r"(?<!\d)([2-9])([0-9])([5-9])([0-9])(?!\d)")


def named_sizes(drawing: Drawing) -> Opinion | None:
    """Figures in block names and attributes (in millimetres, centimetres or inches) against the symbol's size."""
    seen: dict[tuple[str, str], Symbol] = {}
    for symbol in drawing.symbols:
        words = " ".join([symbol.name, *(value for _, value in symbol.attributes)])
        if any(c.isdigit() for c in words):
            seen.setdefault((symbol.name, words), symbol)
    votes, example = [], ""
    for (name, words), symbol in list(seen.items())[:_MOST]:
        units = _named(words, _sides(drawing, symbol))
        if units and not example:
            example = name
        votes.append(units)
    if not any(votes):
        return None
    hits = [units for units in votes if units]
    says = f"{len(hits)} kinds of symbols have their drawn size in their name or attributes, such as {example}"
    return opinion_of("sizes in names", _shares(hits, len(hits)), says, min(len(hits), 4) / 3, exact=True)


def _sides(drawing: Drawing, symbol: Symbol) -> list[float]:
    """Width and height of the symbol's picture along its own axes (drawing units)."""
    x0, y0, x1, y1 = symbol.bounds
    turn = abs(np.degrees(symbol.rotation)) % 90
    if 2 < turn < 88:
        return []
    return [side for side in (x1 - x0, y1 - y0) if side > 0]


def _named(words: str, sides: Sequence[float]) -> list[str]:
    """Units in which one of `sides` is as long as a figure in `words` says."""
    metres = [float(f) * METRES["mm"] for f in _NAME_FIGURES.findall(words) if float(f) >= 300]
    metres += [float(f) * METRES["cm"] for f in _NAME_FIGURES.findall(words) if 40 <= float(f) <= 300]
    metres += [(int(a) * 12 + int(b)) * METRES["in"] for a, b, _, _ in _US_CODE.findall(words)]
    return sorted({unit for m in metres for side in sides for unit in _matching(m, side, _SAME / 2)})


def stated_lengths(drawing: Drawing) -> Opinion | None:
    """Texts that state a length with its unit, against the whole drawing and the lines they run along."""
    stated = []
    for text in drawing.paragraphs:
        read = read_lengths(text.value)
        lengths = [*read.lengths, *(item.length for item in read.labelled)]
        stated += [(m, text) for m in (length.metres() for length in lengths) if m is not None and 1.0 <= m <= 200]
    stated = stated[:_MOST]
    if not stated:
        return None
    ends, straight = drawing.segments.ends, straight_of(drawing)
    overall = [np.ptp(ends[:, 0::2]), np.ptp(ends[:, 1::2])]
    votes: list[list[str]] = []
    for metres, text in stated:
        drawn = [*overall, *_beside(straight, text.at, text.rotation, text.height)]
        votes.append(sorted({unit for side in drawn if side > 0 for unit in _matching(metres, float(side), _SAME / 2)}))
    if not any(votes):
        return None
    hit = next(text for (_, text), units in zip(stated, votes, strict=True) if units)
    fitting = sum(map(bool, votes))
    says = f"{len(stated)} texts state a length, such as {hit.value[:40]!r}; {fitting} fit a line drawn there"
    return opinion_of("stated lengths", _shares(votes, len(stated)), says, min(len(stated), 4) / 4, exact=True)


def _beside(ends: Floats, at: tuple[float, float], turn: float, height: float) -> Floats:
    """Lengths of the lines `ends` that a text of `height` runs along, within six times its height."""
    along = np.array([np.cos(turn), np.sin(turn)])
    start, stop = ends[:, :2] - at, ends[:, 2:] - at
    s, t = start @ along, stop @ along
    off = start @ left_of(along)
    slope = (stop - start) @ left_of(along)
    spans = (np.minimum(s, t) < 0) & (np.maximum(s, t) > 0) & (np.abs(off) < 6 * height)
    parallel = np.abs(slope) < 0.02 * np.abs(t - s)
    lengths: Floats = np.abs(t - s)[spans & parallel]
    return lengths
