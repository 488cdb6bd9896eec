"""Door and window symbols: what speaks for an opening before any gap is looked at.

Terms:
  swing    an arc of about a quarter turn whose radius is a door leaf: `hinge` its centre, `tips` its two ends;
           one tip is the free end of the open leaf, the other lies where the leaf shuts.
  mark     a block reference that its layer, name or attributes call a door or window, with its extent.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from takeoff.drawing.lengths import read_lengths
from takeoff.drawing.model import Drawing, Segments
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.near import all_met
from takeoff.geometry.vectors import lengths
from takeoff.plan.layers import Role, role_of

__all__ = ["Mark", "Swings", "find_marks", "find_swings"]

LEAF_NARROWEST, LEAF_WIDEST = 0.35, 2.1
"""Door leaves in metres, cupboard door to garage leaf (common practice)."""
_LEAF_MISS = 0.07
"""A leaf line starts this near its hinge and ends this near its arc, metres (a leaf drawn 40-50 mm thick)."""
_LEAST_TURN, _MOST_TURN = np.radians(12), np.radians(185)
_QUARTER_OFF = np.radians(8)
"""A swing within this of a right angle is a quarter turn."""
_OPENING_ROLES = {"door": "door", "window": "window", "opening": ""}


@dataclass(frozen=True)
class Swings:
    """Swing arcs: `hinge` (s, 2), `tips` (s, 2, 2), `radius` (s,), `entity` (s,), `weight` (s,) 0-1 how door-like."""

    hinge: Floats
    tips: Floats
    radius: Floats
    entity: Index
    weight: Floats
    of_arc: Index
    """(arcs,) the swing that each of the drawing's arcs is part of, -1 for none."""
    leaf_tip: Index
    """(s,) which tip the drawn leaf ends at (0 or 1), so that the other is where it shuts; -1 when no leaf is drawn."""
    open_tip: Mask
    """(s, 2) tips where the drawn leaf ends, if only one of them has a line from the hinge: it shuts at the other."""
    leaf_lines: tuple[Index, Index]
    """Numbers of the drawing's segments that are leaves, and the swing each belongs to."""

    def __len__(self) -> int:
        return len(self.hinge)


@dataclass(frozen=True, slots=True)
class Mark:
    """A symbol that says it is a door or a window."""

    symbol: int
    kind: str
    """'door', 'window' or '' when it only says opening."""
    width: float | None
    """From attributes, metres."""
    height: float | None
    sill: float | None
    tag: str


def find_swings(drawing: Drawing, roles: Sequence[Role]) -> Swings:
    """The door swings of `drawing` (in metres): arcs on furniture or text layers weigh little unless a leaf
    goes with them.
    """
    shape, pick, arc_swing = _joined_arcs(drawing.arcs.shape, drawing.arcs.entity.astype(np.int64))
    entity = drawing.arcs.entity[pick]
    radius, sweep = shape[:, 2], np.abs(shape[:, 4])
    good = (radius >= LEAF_NARROWEST) & (radius <= LEAF_WIDEST) & (sweep >= _LEAST_TURN) & (sweep <= _MOST_TURN)
    shape, pick, entity, radius, sweep = shape[good], pick[good], entity[good], radius[good], sweep[good]
    place = np.full(len(good) + 1, -1, dtype=np.int64)
    place[np.flatnonzero(good)] = np.arange(int(good.sum()))
    angles = shape[:, 3][:, None] + np.column_stack([np.zeros(len(pick)), shape[:, 4]])
    tips = shape[:, None, :2] + radius[:, None, None] * np.stack([np.cos(angles), np.sin(angles)], axis=2)
    quarter = np.abs(sweep - np.pi / 2) < _QUARTER_OFF
    role = [roles[drawing.entities[e].layer].name for e in entity.tolist()]
    weight = np.array([_layer_weight(name) for name in role]) * np.where(quarter, 1.0, 0.7)
    hinge = shape[:, :2]
    leaf_tip, open_tip, leaf_lines = _leaves(drawing.segments, hinge, tips, radius)
    weight = np.where(leaf_tip >= 0, np.maximum(weight, 0.6), weight)
    arcs = place[arc_swing]
    return Swings(hinge, tips, radius, entity.astype(np.int64), weight, arcs, leaf_tip, open_tip, leaf_lines)


def _joined_arcs(shape: Floats, entity: Index) -> tuple[Floats, Index, Index]:
    """Arcs, those that carry each other on about one centre made one: shape (k, 5), first arc, joined arc of each.

    Two quarter turns drawn one by one are two doors hung on the end of one wall.
    A curve seen in a mirror comes as the same arcs in turn, each running the other way.
    """
    count = len(shape)
    if count < 2:
        return shape, np.arange(count), np.arange(count)
    before, after = np.arange(count - 1), np.arange(1, count)
    radius, start, end = shape[:, 2], shape[:, 3], shape[:, 3] + shape[:, 4]
    same = np.abs(radius[before] - radius[after]) <= 0.03 * radius[before]
    same &= np.hypot(*(shape[before, :2] - shape[after, :2]).T) <= 0.04 * radius[before]
    same &= np.sign(shape[before, 4]) == np.sign(shape[after, 4])
    quarter = np.abs(np.abs(shape[:, 4]) - np.pi / 2) < _QUARTER_OFF
    same &= ~(quarter[before] & quarter[after]) | (entity[before] == entity[after])
    backward = same & _one_way(start[before], end[after])
    same &= backward | _one_way(end[before], start[after])
    group = np.concatenate([[0], np.cumsum(~same)])
    first = np.searchsorted(group, np.arange(group[-1] + 1))
    last = np.append(first[1:], count) - 1
    joined = shape[first].copy()
    turned = (last > first) & np.append(backward, False)[first]
    joined[turned, 3] = start[last[turned]]
    joined[:, 4] = np.bincount(group, shape[:, 4])
    return joined, first, group


def _one_way(angle: Floats, other: Floats) -> Mask:
    """Which angles, radians, are about the same."""
    return np.asarray(np.abs(np.cos(angle) - np.cos(other)) + np.abs(np.sin(angle) - np.sin(other)) <= 0.1)


def _leaves(
    segments: Segments, hinge: Floats, tips: Floats, radius: Floats
) -> tuple[Index, Mask, tuple[Index, Index]]:
    """Which tip of each swing a straight line from its hinge ends at, `Swings.open_tip`, and those lines."""
    none = np.zeros(0, dtype=np.int64)
    leaf_tip = np.full(len(hinge), -1, dtype=np.int64)
    met = np.zeros((len(hinge), 2), dtype=bool)
    straight = np.flatnonzero(segments.arc < 0)
    ends = segments.ends[straight]
    length = lengths(ends)
    fits = (length >= 0.8 * LEAF_NARROWEST) & (length <= 1.1 * LEAF_WIDEST)
    straight, ends = straight[fits], ends[fits]
    if not len(hinge) or not len(straight):
        return leaf_tip, met, (none, none)
    tree = shapely.STRtree(shapely.points(ends.reshape(-1, 2)))
    swing, end = all_met("door swings", tree, shapely.points(hinge), predicate="dwithin", distance=_LEAF_MISS)
    other = ends.reshape(-1, 2, 2)[end // 2, 1 - end % 2]
    off = np.hypot(*(tips[swing] - other[:, None]).transpose(2, 0, 1))
    tip = off.argmin(axis=1)
    good = off.min(axis=1) <= _LEAF_MISS + 0.03 * radius[swing]
    leaf_tip[swing[good][::-1]] = tip[good][::-1]
    met[swing[good], tip[good]] = True
    return leaf_tip, met & ~met[:, ::-1], (straight[end[good] // 2], swing[good])


def _layer_weight(role: str) -> float:
    if role in _OPENING_ROLES:
        return 1.0
    if role in ("text", "dimension", "grid", "sheet", "outdoor", "roof"):
        return 0.2
    return 0.8


def find_marks(drawing: Drawing, roles: Sequence[Role]) -> tuple[Mark, ...]:
    """The symbols that are doors or windows by layer, block name or attributes."""
    return tuple(mark for n in range(len(drawing.symbols)) if (mark := _mark(drawing, roles, n)) is not None)


def _mark(drawing: Drawing, roles: Sequence[Role], number: int) -> Mark | None:
    symbol = drawing.symbols[number]
    by_layer = roles[symbol.layer]
    by_name = role_of(re.sub(r"\d+", " ", symbol.name))
    kinds = [r.name for r in (by_name, by_layer) if r.name in _OPENING_ROLES and r.confidence >= 0.5]
    if not kinds:
        return None
    sizes = {re.sub(r"[\W_]+", "", tag).upper(): value for tag, value in symbol.attributes}
    return Mark(
        number,
        _OPENING_ROLES[kinds[0]],
        _size(sizes, _WIDTH, drawing),
        _size(sizes, _HEIGHT, drawing),
        _size(sizes, _SILL, drawing),
        next((sizes[t].strip() for t in _TAG if sizes.get(t, "").strip()), ""),
    )


_WIDTH = (
    "WIDTH",
    "W",
    "BREITE",
    "LARGEUR",
    "ANCHO",
    "LARGURA",
    "LARGHEZZA",
    "SZEROKOSC",
    "BREEDTE",
    "CLEARWIDTH",
    "OPENINGWIDTH",
    "DOORWIDTH",
    "WINDOWWIDTH",
)
_HEIGHT = (
    "HEIGHT",
    "H",
    "HOEHE",
    "HÖHE",
    "HAUTEUR",
    "ALTO",
    "ALTURA",
    "ALTEZZA",
    "WYSOKOSC",
    "HOOGTE",
    "OPENINGHEIGHT",
    "DOORHEIGHT",
    "WINDOWHEIGHT",
)
_SILL = (
    "SILL",
    "SILLHEIGHT",
    "CILL",
    "BRH",
    "BRUESTUNG",
    "BRÜSTUNG",
    "ALLEGE",
    "ANTEPECHO",
    "PEITORIL",
    "DAVANZALE",
    "PARAPET",
)
_TAG = ("NUMBER", "TAG", "MARK", "NO", "NR", "ID", "NUM", "CODE", "REF")


_LENGTH = re.compile(r"(\d+(?:\.\d+)?)\s*(mm|cm|m|)")


def _size(values: dict[str, str], names: Sequence[str], drawing: Drawing) -> float | None:
    """A length in metres from an attribute; a bare number is millimetres from 300 up, metres below 20, else in the
    drawing's unit."""
    for name in names:
        if not values.get(name):
            continue
        size = _metres(values[name], drawing.metres_per_unit)
        if size is not None and 0.2 <= size <= 12:
            return size
    return None


def _metres(text: str, metres_per_unit: float) -> float | None:
    found = _LENGTH.fullmatch(text.strip().lower().replace(",", "."))
    if found is None:  # feet and inches, or no length
        stated = [length.metres() for length in read_lengths(text).lengths]
        return stated[0] if len(stated) == 1 else None
    value = float(found.group(1))
    bare = 0.001 if value >= 300 else 1.0 if value < 20 else metres_per_unit
    return value * {"mm": 0.001, "cm": 0.01, "m": 1.0}.get(found.group(2), bare)
