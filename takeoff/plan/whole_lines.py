"""Lines drawn in pieces put together again: where a line was cut says nothing of the wall.

Terms:
  piece        a straight line as drawn.
  joint        a place where the ends of two pieces of one line coincide, whatever else meets there.
  whole line   all the pieces that joints hold together, from the first drawn end to the last.

Only what coincides exactly is joined; small misses are healed afterwards (`heal`), and a cut near a corner does not
draw that corner towards it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.vectors import left_of
from takeoff.plan.linework import Lines, Traced

__all__ = ["whole_lines"]

_EXACT = 1e-6
"""Metres: what ends nearer is one point, and what lies nearer to a line lies on it: far below what anybody draws,
well above what floating point loses."""
_CROWDED = 8
"""Piece ends at one place that are looked at: more meet in patterns and stars only."""


def whole_lines(lines: Lines, group: Index) -> Lines:
    """`lines` as drawn with the pieces of each whole line made one; `group` (n,) tells apart what is never joined
    (layers).

    A whole line has the entity of its longest piece; `Lines.traced` keeps the others.
    """
    way = lines.ends[:, 2:] - lines.ends[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    some = np.flatnonzero((lines.arc < 0) & (lines.entity >= 0) & (length > _EXACT))
    first, second = _joints(lines.ends[some], group[some])
    if not len(first):
        return lines
    label = components(len(some), first, second)
    members = np.bincount(label)
    order = np.argsort(label, kind="stable")
    stops = np.cumsum(members)
    ends, entity = lines.ends.copy(), lines.entity.copy()
    gone = np.zeros(len(lines), dtype=bool)
    traced: dict[int, Traced] = {}
    for number in np.flatnonzero(members > 1).tolist():
        pieces = some[order[stops[number] - members[number] : stops[number]]]
        longest = pieces[np.argmax(length[pieces])]
        whole = _from_first_to_last(lines.ends[pieces], way[longest] / length[longest])
        if whole is None:
            continue
        ends[pieces[0]], entity[pieces[0]] = whole, lines.entity[longest]
        gone[pieces[1:]] = True
        parts = zip(lines.entity[pieces].tolist(), map(tuple, lines.ends[pieces].tolist()), strict=True)
        traced[int(lines.entity[longest])] = (*traced.get(int(lines.entity[longest]), ()), *parts)
    return replace(lines, ends=ends, entity=entity, traced=traced).take(~gone)


def _joints(ends: Floats, group: Index) -> tuple[Index, Index]:
    """Pairs of pieces (numbers) that carry each other on at a joint."""
    points = ends.reshape(-1, 2)
    place = np.round(points / _EXACT).astype(np.int64)
    order = np.lexsort((place[:, 1], place[:, 0], np.repeat(group, 2)))
    key = np.column_stack([np.repeat(group, 2), place])[order]
    found = [
        _carried_on(points, order[:-step], order[step:], (key[:-step] == key[step:]).all(axis=1))
        for step in range(1, min(_CROWDED, len(points)))
    ]
    none = np.zeros(0, dtype=np.int64)
    return tuple(np.concatenate([none, *(f[k] for f in found)]) for k in (0, 1))  # type: ignore[return-value]


def _carried_on(points: Floats, one: Index, other: Index, together: Mask) -> tuple[Index, Index]:
    """Of the ends `one` and `other` that lie `together` those whose pieces run on in one line, as numbers of pieces."""
    one, other = one[together], other[together]
    back, ahead = points[one ^ 1] - points[one], points[other ^ 1] - points[other]
    chord = ahead - back
    reach = np.hypot(chord[:, 0], chord[:, 1])
    off = np.abs(back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0])
    good = (np.einsum("ij,ij->i", back, ahead) < 0) & (off <= _EXACT * reach)
    return one[good] // 2, other[good] // 2


def _from_first_to_last(ends: Floats, unit: Floats) -> Floats | None:
    """The line (4,) along `unit` between the outermost of the `ends`; None where they do not lie on one line."""
    points = ends.reshape(-1, 2)
    along = points @ unit
    a, b = points[along.argmin()], points[along.argmax()]
    way = (b - a) / max(float(np.hypot(*(b - a))), _EXACT)
    off = np.abs((points - a) @ left_of(way))
    return np.concatenate([a, b]) if float(off.max()) <= 2 * _EXACT else None
