"""Which gaps are openings: accepted where a symbol explains them, or where two jambs face each other a door's width
apart.

Terms:
  candidate   a gap taken for one or more openings, with the bridges that close it.
  explained   its width is filled by shut leaves, glass or frame lines, so a symbol says what it is.
  plain       a bare gap between two jambs, as wide as a door.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.vectors import directions, left_of
from takeoff.plan.evidence import Evidence
from takeoff.plan.gaps import Gaps, Leaves, covered_by, hung_doors, share_in, share_of
from takeoff.plan.layers import Role
from takeoff.plan.proofs import Proofs
from takeoff.plan.symbols import Mark, Swings

__all__ = ["CAR", "Candidate", "accept_gaps", "leaves_joined"]

_FILLED, _FILLED_SIDE = 0.7, 0.8
"""Share of the width that symbols must fill to explain a gap between two jambs, or between a jamb and the side of a
wall: two sliding leaves drawn half open fill three quarters."""
_PLAIN = (0.25, 1.35)
"""Width in metres of a bare gap that is a doorway, from a service slot to a wide cased opening (common practice)."""
_REPEATED, _REPEATED_WIDEST, _REPEATED_SLACK = 4, 3.0, 0.03
"""So many bare gaps of one width, within this share, are the drawing's way of showing doors."""
_PART_LEAST = 0.25
CAR = 1.9
"""Narrower doors let no car through, metres (common practice: 2.1 m and more)."""


@dataclass(frozen=True)
class Candidate:
    """One opening, or several side by side in one gap (`parts`)."""

    gaps: tuple[int, ...]
    """Numbers of its gaps, one for each leaf of the wall; none when it lies in an unbroken wall."""
    axis: tuple[float, float, float, float]
    width: float
    thick: float
    bridges: Floats
    """(k, 4): lines that carry the wall faces across."""
    kind: str
    support: str
    """'symbol', 'gap', 'swing', 'assumed' or 'job'."""
    style: str = ""
    parts: tuple[tuple[float, float, str], ...] = ()
    """From, to (metres along the axis) and kind of each opening when there are several."""
    mark: Mark | None = None
    entities: tuple[int, ...] = ()
    unbroken: bool = False
    """The wall's faces run on across it: no bridge is needed."""
    told: bool = True
    """A layer, a symbol or a swing tells its kind."""
    guessed: bool = False
    """A window of two lines with the pen of the walls: it may as well be a pier."""
    recessed: bool = False
    """Deep in a thick wall, with a recess on the room's side."""
    row: int = -1
    """Number of the [[opening]] of the job file that marks it, -1 for what the drawing shows."""


def accept_gaps(
    drawing: Drawing,
    roles: Sequence[Role],
    gaps: Gaps,
    evidence: Evidence,
    swings: Swings,
    marks: Sequence[Mark],
    proved: Proofs,
    island: Mask,
    apart: Mask,
) -> list[Candidate]:
    """The openings among the `gaps`; `evidence` are lines that may belong to symbols, `proved`
    tells the gaps that something else bears out, `island` masks those at a box that is no wall: lines of layers that
    say nothing explain none there, where windows have a layer; `apart` those between two: a bare gap there is no
    opening.
    """
    leaves = hung_doors(gaps, swings)
    evidence = evidence.without(_standing_open(leaves, swings, len(evidence.held)))
    mask, _spanning = covered_by(gaps, drawing.segments.ends, evidence.met_by, evidence.passing)
    if island.any() and _windows_have_layers(drawing, roles):
        firm = evidence.without(evidence.passing)
        mask[island] = covered_by(gaps.take(np.flatnonzero(island)), drawing.segments.ends, firm.met_by)[0]
    filled = share_of(mask | leaves.mask(gaps))
    hung = np.bincount(leaves.gap, leaves.weight, minlength=len(gaps)) > 0
    explained = (filled >= np.where(gaps.facing >= 0, _FILLED, _FILLED_SIDE)) | (
        hung & (share_of(leaves.mask(gaps)) >= 0.7)
    )
    explained |= proved.filled & (gaps.facing >= 0)
    plain = (gaps.facing >= 0) & gaps.alike & (gaps.width >= _PLAIN[0]) & ~apart
    plain &= (gaps.width <= _PLAIN[1]) | _repeated(gaps, plain & ~explained) | proved.bare
    score = explained * 2.0 + filled + (gaps.facing >= 0) * 0.5 - gaps.width * 0.02
    taken = _apart(gaps, np.flatnonzero(explained | plain), score)
    symbol_of = {m.symbol: m for m in marks}
    touching = _evidence_by_gap(gaps.take(taken), evidence)
    return [
        _candidate(
            drawing, roles, gaps, int(g), bool(explained[g]), leaves, mask, inside, symbol_of, swings
        )
        for g, inside in zip(taken.tolist(), touching, strict=True)
    ]


def _windows_have_layers(drawing: Drawing, roles: Sequence[Role]) -> bool:
    return any(roles[n].name == "window" for n in np.unique(drawing.layer_numbers).tolist() if n >= 0)


def _standing_open(leaves: Leaves, swings: Swings, count: int) -> Mask:
    """Which of the drawing's `count` segments are leaves of doors hung in a gap: whatever they stand along, they speak
    for no other gap.
    """
    lines, swing = swings.leaf_lines
    standing = np.zeros(count, dtype=bool)
    standing[lines[np.isin(swing, leaves.swing) & swings.open_tip[swing].any(axis=1)]] = True
    return standing


def _repeated(gaps: Gaps, bare: Mask) -> Mask:
    """Which bare gaps, wider than a doorway should be, come again and again in one width."""
    wide = np.flatnonzero(bare & (gaps.width <= _REPEATED_WIDEST))
    again = np.zeros(len(gaps), dtype=bool)
    if len(wide):
        width = np.sort(gaps.width[wide])
        low = np.searchsorted(width, gaps.width[wide] * (1 - _REPEATED_SLACK))
        high = np.searchsorted(width, gaps.width[wide] * (1 + _REPEATED_SLACK), side="right")
        again[wide] = high - low >= max(_REPEATED, len(wide) // 3)
    return again


def _apart(gaps: Gaps, some: Index, score: Floats) -> Index:
    """Of gaps that overlap, those with the best score."""
    some = some[np.lexsort((some, -score[some]))]
    strips = gaps.take(some).strips(-0.02, -0.01)
    first, second = shapely.STRtree(strips).query(strips, predicate="intersects")
    clash: dict[int, list[int]] = {}
    for a, b in zip(first.tolist(), second.tolist(), strict=True):
        if a != b:
            clash.setdefault(a, []).append(b)
    kept: set[int] = set()
    for n in range(len(some)):
        if not any(other in kept for other in clash.get(n, [])):
            kept.add(n)
    return np.sort(some[sorted(kept)])


@dataclass(frozen=True, slots=True)
class _Inside:
    """The drawing's segments in one gap, by number."""

    number: Index
    ends: Floats
    strip: shapely.Polygon

    @property
    def length(self) -> Floats:
        """How much of each lies in the gap: most gaps are never asked."""
        drawn = shapely.linestrings(self.ends.reshape(-1, 2, 2))
        return np.asarray(shapely.length(shapely.intersection(self.strip, drawn)))


def _evidence_by_gap(gaps: Gaps, evidence: Evidence) -> list[_Inside]:
    """The segments of the `evidence` in each gap."""
    if not len(gaps):
        return []
    strips = gaps.strips(-0.01, 0.05)
    gap, line = evidence.met_by(strips, predicate="intersects")
    order = np.argsort(gap, kind="stable")
    cut = np.searchsorted(gap[order], np.arange(len(gaps) + 1))
    rows = [order[cut[n] : cut[n + 1]] for n in range(len(gaps))]
    return [
        _Inside(line[row], evidence.pool.ends[line[row]], strip) for row, strip in zip(rows, strips, strict=True)
    ]


def _candidate(
    drawing: Drawing,
    roles: Sequence[Role],
    gaps: Gaps,
    gap: int,
    explained: bool,
    leaves: Leaves,
    mask: Index,
    lines: _Inside,
    symbol_of: dict[int, Mark],
    swings: Swings,
) -> Candidate:
    mine = leaves.gap == gap
    hung = {int(e) for e in swings.entity[leaves.swing[mine]]}
    entities = sorted({int(e) for e in drawing.segments.entity[lines.number]} | hung)
    mark = _mark_of(drawing, entities, symbol_of, float(gaps.width[gap]), lines)
    parts = _parts(gaps, gap, leaves, mine, int(mask[gap]))
    width = float(gaps.width[gap])
    kind, told = _kind_from_lines(drawing, roles, lines, mark, explained, width)
    kind = "door" if mine.any() else kind
    bridges = gaps.bridges[gap] if gaps.thick[gap] > 0 else gaps.bridges[gap][:1]
    style = "double" if np.unique(np.round(leaves.low[mine], 1)).size > 1 and not parts else ""
    return Candidate(
        (gap,),
        tuple(gaps.axis[gap].tolist()),
        float(gaps.width[gap]),
        float(gaps.thick[gap]),
        bridges,
        kind,
        "symbol" if explained else "gap",
        style,
        parts,
        mark,
        _own_entities(drawing, roles, entities, hung),
        told=told,
    )


def _own_entities(
    drawing: Drawing, roles: Sequence[Role], entities: Sequence[int], hung: set[int]
) -> tuple[int, ...]:
    """The entities without furniture that only stands against the opening; all where nothing else is there."""
    own = tuple(e for e in entities if e in hung or roles[drawing.entities[e].layer].name != "furniture")
    return own or tuple(entities)


def _mark_of(
    drawing: Drawing, entities: Sequence[int], symbol_of: dict[int, Mark], width: float, lines: _Inside
) -> Mark | None:
    """The mark whose width is nearest; of several without one, that which has most line in the gap: the door of
    another wall may stand open against a window."""
    found = {s: symbol_of[s] for e in entities if (s := drawing.entities[e].symbol) in symbol_of}
    if len(found) < 2:
        return next(iter(found.values()), None)
    inside = _lengths(lines, [drawing.entities[e].symbol for e in drawing.segments.entity[lines.number].tolist()])
    return min(found.values(), key=lambda m: (abs((m.width or 0.0) - width), -inside.get(m.symbol, 0.0), m.symbol))


def _lengths(lines: _Inside, of: Sequence[Hashable]) -> dict[Hashable, float]:
    """How much of the `lines`, which are `of` something each, lies in their gap; whole millimetres, so that rounding
    does not decide."""
    total: dict[Hashable, float] = defaultdict(float)
    for key, length in zip(of, lines.length.tolist(), strict=True):
        total[key] += length
    return {key: round(length, 3) for key, length in total.items()}


def _kind_from_lines(
    drawing: Drawing, roles: Sequence[Role], lines: _Inside, mark: Mark | None, explained: bool, width: float
) -> tuple[str, bool]:
    """Kind of an opening, and whether a symbol or a layer tells it: else lines that fill it are taken for glass, but
    not broken lines alone over a gap as wide as a garage's.
    """
    if mark is not None and mark.kind:
        return mark.kind, True
    entity = drawing.segments.entity[lines.number]
    names = [roles[n].name for n in drawing.layer_numbers[entity].tolist()]
    length = _lengths(lines, names) if "door" in names else {}
    if length.get("door", 0.0) > length.get("window", 0.0):
        return "door", True
    if "window" in names:
        return "window", True
    carried = width >= CAR and bool(drawing.dashed[entity].all())
    return ("window" if explained and len(names) >= 2 and not carried else "opening"), False


def _parts(gaps: Gaps, gap: int, leaves: Leaves, mine: Index, covered: int) -> tuple[tuple[float, float, str], ...]:
    """Where leaves fill only part of a gap: the doors, and the windows where lines (`covered`) fill the rest.

    What neither fills is wall that was not drawn.
    """
    width = float(gaps.width[gap])
    spans = sorted(
        (max(float(a), 0.0), min(float(b), width)) for a, b in zip(leaves.low[mine], leaves.high[mine], strict=True)
    )
    if not spans:
        return ()
    doors = [list(spans[0])]
    for low, high in spans[1:]:
        if low <= doors[-1][1] + 0.1:
            doors[-1][1] = max(doors[-1][1], high)
        else:
            doors.append([low, high])
    rest, at, bare = [], 0.0, False
    for low, high in [*doors, [width, width]]:
        if low - at > _PART_LEAST:
            lit = share_in(covered, at / width, low / width) >= _FILLED
            rest += [(at, low, "window")] if lit else []
            bare = bare or not lit
        at = max(at, high)
    if not rest and len(doors) == 1 and not bare:
        return ()
    return tuple(sorted([(low, high, "door") for low, high in doors] + rest))


_CAVITY = 0.45
"""The gaps in the leaves of one wall lie no farther apart, metres."""


def leaves_joined(found: Sequence[Candidate]) -> list[Candidate]:
    """The candidates, gaps that lie side by side in the leaves of a cavity wall made one opening."""
    if len(found) < 2:
        return list(found)
    axis = np.array([c.axis for c in found])
    lines = shapely.linestrings(axis.reshape(-1, 2, 2))
    i, j = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=_CAVITY)
    once = i < j
    i, j = i[once], j[once]
    unit = directions(axis[:, 2:] - axis[:, :2])
    parallel = np.abs(unit[i, 0] * unit[j, 1] - unit[i, 1] * unit[j, 0]) < 0.05
    low, high = _along(axis[j], axis[i, :2], unit[i])
    width = np.array([c.width for c in found])
    level = (np.abs(low) < 0.15) & (np.abs(high - width[i]) < 0.15)
    i, j = i[parallel & level], j[parallel & level]
    group = components(len(found), i, j)
    members: dict[int, list[Candidate]] = {}
    for n, g in enumerate(group.tolist()):
        members.setdefault(g, []).append(found[n])
    return [_joined(own) for own in members.values()]


def _along(axis: Floats, origin: Floats, unit: Floats) -> tuple[Floats, Floats]:
    a, b = (np.einsum("ij,ij->i", axis[:, k : k + 2] - origin, unit) for k in (0, 2))
    return np.minimum(a, b), np.maximum(a, b)


def _joined(own: list[Candidate]) -> Candidate:
    """One opening through all the leaves: as wide as the narrowest, as thick as all together."""
    if len(own) == 1:
        return own[0]
    main = max(own, key=lambda c: (c.support == "symbol", c.kind == "door", -c.width))
    axis = np.array(main.axis)
    unit = (axis[2:] - axis[:2]) / max(main.width, 1e-9)
    normal = left_of(unit)
    off = [float((np.array(c.axis[:2]) - axis[:2]) @ normal) for c in own]
    low = min(o - c.thick / 2 for o, c in zip(off, own, strict=True))
    high = max(o + c.thick / 2 for o, c in zip(off, own, strict=True))
    shift = normal * (low + high) / 2
    return replace(
        main,
        gaps=tuple(g for c in own for g in c.gaps),
        axis=(*(axis[:2] + shift).tolist(), *(axis[2:] + shift).tolist()),
        width=min(c.width for c in own),
        thick=high - low,
        bridges=np.concatenate([c.bridges for c in own]),
        mark=next((c.mark for c in own if c.mark is not None), None),
        entities=tuple(sorted({e for c in own for e in c.entities})),
    )
