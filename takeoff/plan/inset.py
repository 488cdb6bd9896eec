"""Openings in walls whose faces are drawn through: a rectangle in the wall, glass lines along it, a leaf swung over it.

Terms:
  bundle    lines that run side by side over the same length, closer than a wall is thick: an opening's frame and glass.
  flank     the wall face on one side of a bundle, parallel and running past it.
  hung      said of a leaf whose hinge and shut tip lie on a wall that runs on behind them.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask, components
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import left_of, lengths
from takeoff.plan.jambs import THICKEST, first_hits
from takeoff.plan.layers import Role
from takeoff.plan.openings import Candidate
from takeoff.plan.soften import PANEL
from takeoff.plan.symbols import LEAF_NARROWEST, Mark, Swings

__all__ = ["hung_in_walls", "in_walls", "leaning_leaves", "taken_already"]

Polygons = npt.NDArray[np.object_]

_SHORTEST, _LONGEST = 0.35, 8.0
_REACH = 0.45
"""Lines of one opening lie no farther apart, and the wall's faces no farther from its middle, metres."""
_SQUARE_ENDS = 0.12
"""Ends of an opening's lines are level within this, metres."""
_NEAR = 0.16
"""A leaf's hinge and tip lie this near the face of the wall it hangs in, metres: half a frame and a lining."""
_MEET = 0.12
"""Two leaves of a double door meet this near, metres."""
_LOOKS = np.array([-0.3, 0.0, 0.3])
"""Where along a bundle its flanks are looked for, as shares of its length from the middle."""
_SAME = 0.3
"""Two finds that share so much of the smaller one are one opening."""
_JAMB_NEAR = 0.1
"""A leaf's hinge stands this near the face of the wall at its jamb, metres."""
_LEAN = 0.3
"""A leaf that hangs in no wall found is tied to wall lines this near its hinge and tip, metres."""


def in_walls(
    drawing: Drawing,
    roles: Sequence[Role],
    evidence: Index,
    fabric: Floats,
    taken: Sequence[Candidate],
    marks: Sequence[Mark],
    lights: Index,
) -> list[Candidate]:
    """Openings told by lines inside unbroken walls. `evidence` numbers segments, `fabric` (r, 4) are runs of
    wall faces, `lights` numbers windows' lines on wall layers.
    """
    role = np.array([r.name for r in roles])
    entity = drawing.segments.entity[evidence]
    layer = drawing.layer_numbers[entity]
    marked = np.isin(np.array([e.symbol for e in drawing.entities])[entity], [m.symbol for m in marks])
    dashed = drawing.dashed[entity]
    tells = (
        (np.isin(role[layer], ("door", "window", "opening")) | marked | np.isin(evidence, lights))
        & (drawing.segments.arc[evidence] < 0) & ~dashed
    )
    evidence = evidence[tells]
    if not len(evidence) or not len(fabric):
        return []
    runs, _, run = straight_runs(drawing.segments.ends[evidence], np.zeros(len(evidence), dtype=np.int64), gap=0.01)
    length = lengths(runs)
    long = np.flatnonzero((length >= _SHORTEST) & (length <= _LONGEST))
    bundles = _bundles(runs[long])
    if not bundles:
        return []
    order = np.argsort(run, kind="stable")
    cut = np.searchsorted(run[order], np.arange(len(runs) + 1))
    mark_of = {m.symbol: m for m in marks}
    found = []
    for (axis, depth, members), (near, far) in zip(bundles, _flanks([b[0] for b in bundles], fabric), strict=True):
        if near is None or far is None or not 0.03 <= near + far <= THICKEST or depth > near + far + 0.1:
            continue
        lines = evidence[np.concatenate([order[cut[r] : cut[r + 1]] for r in long[members].tolist()])]
        found.append(_inset(drawing, roles, axis, near, far, lines, mark_of))
    return _fresh(found, taken)


def _bundles(runs: Floats) -> list[tuple[Floats, float, Index]]:
    """(axis (4,), depth, members) of each bundle of level parallel runs."""
    if not len(runs):
        return []
    pairs = mates(runs, 0.0, _REACH)
    way = runs[:, 2:] - runs[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    level = (np.abs(length[pairs.first] - length[pairs.second]) <= 2 * _SQUARE_ENDS) & (
        pairs.overlap >= np.minimum(length[pairs.first], length[pairs.second]) - _SQUARE_ENDS
    )
    group = components(len(runs), pairs.first[level], pairs.second[level])
    order = np.argsort(group, kind="stable")
    cut = np.searchsorted(group[order], np.arange(int(group.max()) + 2))
    return [_bundle(runs, order[cut[g] : cut[g + 1]]) for g in range(len(cut) - 1)]


def _bundle(runs: Floats, members: Index) -> tuple[Floats, float, Index]:
    longest = members[np.argmax(np.hypot(*(runs[members, 2:] - runs[members, :2]).T))]
    start = runs[longest, :2]
    unit = runs[longest, 2:] - start
    unit = unit / np.hypot(*unit)
    normal = left_of(unit)
    points = runs[members].reshape(-1, 2) - start
    along, across = points @ unit, points @ normal
    middle = (across.min() + across.max()) / 2
    low = np.median(np.minimum(along[0::2], along[1::2]))
    high = np.median(np.maximum(along[0::2], along[1::2]))
    axis = np.concatenate([start + unit * low + normal * middle, start + unit * high + normal * middle])
    return axis, float(across.max() - across.min()), members


def _flanks(axes: Sequence[Floats], fabric: Floats) -> list[tuple[float | None, float | None]]:
    """How far each axis is from the wall face on its left and on its right, None where none runs past it."""
    axis = np.array(axes)
    way = axis[:, 2:] - axis[:, :2]
    unit = way / np.hypot(way[:, 0], way[:, 1])[:, None]
    normal = left_of(unit)
    side = np.repeat([1.0, -1.0], len(_LOOKS))
    along = np.tile(_LOOKS, 2)
    middle = (axis[:, :2] + axis[:, 2:]) / 2
    ways = normal[:, None] * side[:, None]
    origins = middle[:, None] + way[:, None] * along[:, None] - ways * 0.001
    count = len(axis) * len(side)
    _, far = first_hits(origins.reshape(-1, 2), ways.reshape(-1, 2), np.full(count, _REACH), fabric, start=0.0)
    return [(_agreed(f[: len(_LOOKS)]), _agreed(f[len(_LOOKS) :])) for f in far.reshape(len(axis), -1)]


def _inset(
    drawing: Drawing,
    roles: Sequence[Role],
    axis: Floats,
    near: float,
    far: float,
    lines: Index,
    mark_of: dict[int, Mark],
) -> Candidate:
    """The opening along `axis`, told by the segments `lines`, in the wall whose faces are `near` and `far` from it."""
    way = axis[2:] - axis[:2]
    width = float(np.hypot(*way))
    shift = left_of(way) / width * (near - far) / 2
    centred = (*(axis[:2] + shift).tolist(), *(axis[2:] + shift).tolist())
    entities = tuple(sorted({int(e) for e in drawing.segments.entity[lines]}))
    names = [roles[drawing.entities[e].layer].name for e in entities]
    symbols = {drawing.entities[e].symbol for e in entities} & mark_of.keys()
    mark = mark_of[min(symbols)] if symbols else None
    kind = (mark.kind if mark is not None else "") or (
        "door" if names.count("door") > names.count("window") else "window"
    )
    return Candidate(
        (), centred, width, float(near + far), np.zeros((0, 4)), kind, "symbol",
        mark=mark, entities=entities, unbroken=True,
        told=bool(mark is not None and mark.kind) or "door" in names or "window" in names,
    )


def _agreed(far: Floats) -> float | None:
    """The distance that at least two of three rays agree on."""
    for value in np.sort(far):
        if np.isfinite(value) and (np.abs(far - value) <= 0.03).sum() >= 2:
            return float(value)
    return None


def _fresh(found: list[Candidate], taken: Sequence[Candidate]) -> list[Candidate]:
    """Those of `found` that lie on no opening already taken, nor on one another; the wider come first."""
    if not found:
        return []
    found = sorted(found, key=lambda c: (-c.width, c.axis))
    own, others = _bodies(found), _bodies(taken)
    barred = set(_overlaps(own, others)[0].tolist()) | _slid_into_walls(found, taken)
    clash: dict[int, list[int]] = {}
    for later, earlier in zip(*(side.tolist() for side in _overlaps(own, own)), strict=True):
        if earlier < later:
            clash.setdefault(later, []).append(earlier)
    kept: set[int] = set()
    for n in range(len(found)):
        if n not in barred and kept.isdisjoint(clash.get(n, ())):
            kept.add(n)
    return [found[n] for n in sorted(kept)]


def _slid_into_walls(found: Sequence[Candidate], taken: Sequence[Candidate]) -> set[int]:
    """Numbers of those `found` all of whose lines are those of one opening already taken: leaves that stand in the wall
    beside it."""
    by_entity: dict[int, set[int]] = {}
    for n, candidate in enumerate(taken):
        for entity in candidate.entities:
            by_entity.setdefault(entity, set()).add(n)
    nowhere: set[int] = set()
    return {
        n for n, c in enumerate(found)
        if c.entities and set.intersection(*(by_entity.get(e, nowhere) for e in c.entities))
    }


def taken_already(candidate: Candidate, others: Sequence[Candidate]) -> bool:
    """Whether an opening lies where one of the `others` does."""
    return bool(others) and len(_overlaps(_bodies([candidate]), _bodies(others))[0]) > 0


def _overlaps(bodies: Polygons, others: Polygons) -> tuple[Index, Index]:
    """Pairs (numbers in `bodies` and in `others`) that share so much of the smaller that they are one opening."""
    body, other = shapely.STRtree(others).query(bodies, predicate="intersects")
    shared = shapely.area(shapely.intersection(bodies[body], others[other]))
    same = shared >= _SAME * np.minimum(shapely.area(bodies[body]), shapely.area(others[other]))
    return body[same], other[same]


def _bodies(candidates: Sequence[Candidate]) -> Polygons:
    """The part of the wall that each candidate takes up."""
    axis = np.array([c.axis for c in candidates], dtype=float).reshape(-1, 2, 2)
    half = np.array([max(c.thick, 0.1) / 2 for c in candidates])
    return np.asarray(shapely.buffer(shapely.linestrings(axis), half, cap_style="flat"))


def hung_in_walls(swings: Swings, fabric: Floats, taken: Sequence[Candidate]) -> list[Candidate]:
    """Doors whose leaf is hung in a wall drawn through: shut, the leaf lies along the wall."""
    rows = _loose_leaves(swings, taken)
    if not len(rows) or not len(fabric):
        return []
    tree = shapely.STRtree(shapely.linestrings(fabric.reshape(-1, 2, 2)))
    found = []
    for s in rows.tolist():
        hinge = swings.hinge[s]
        for tip in _shut_tips(swings, s):
            candidate = _hung(swings, s, hinge, swings.tips[s, tip], fabric, tree)
            if candidate is not None:
                found.append(candidate)
                break
    return _fresh(_paired(found), taken)


def _loose_leaves(swings: Swings, taken: Sequence[Candidate]) -> Index:
    used = {e for c in taken for e in c.entities}
    hung = _hung_there(swings, taken)
    return np.array(
        [
            s
            for s in range(len(swings))
            if int(swings.entity[s]) not in used
            and not hung[s]
            and (swings.leaf_tip[s] >= 0 or swings.weight[s] >= 1.0)
        ],
        dtype=np.int64,
    )


def _hung_there(swings: Swings, taken: Sequence[Candidate]) -> Mask:
    """Swings (mask) whose hinge and one tip stand at the two jambs of an opening in an unbroken wall."""
    hung = np.zeros(len(swings), dtype=bool)
    doors = [c for c in taken if c.unbroken and c.kind != "window"]
    if not doors or not len(swings):
        return hung
    jambs = np.array([c.axis for c in doors]).reshape(-1, 2)
    reach = np.repeat([c.thick / 2 + _JAMB_NEAR for c in doors], 2)
    tree = shapely.STRtree(shapely.buffer(shapely.points(jambs), reach))
    at_hinge = set(zip(*tree.query(shapely.points(swings.hinge)).tolist(), strict=True))
    for tip in (0, 1):
        for swing, jamb in zip(*tree.query(shapely.points(swings.tips[:, tip])).tolist(), strict=True):
            hung[swing] |= (swing, jamb ^ 1) in at_hinge
    return hung


def _shut_tips(swings: Swings, swing: int) -> tuple[int, ...]:
    leaf = int(swings.leaf_tip[swing])
    return (1 - leaf,) if leaf >= 0 else (0, 1)


def _hung(
    swings: Swings, swing: int, hinge: Floats, shut: Floats, fabric: Floats, tree: shapely.STRtree
) -> Candidate | None:
    way = shut - hinge
    radius = float(np.hypot(*way))
    unit = way / radius
    line = shapely.LineString([hinge, shut])
    best = None
    for r in tree.query(line, predicate="dwithin", distance=_NEAR).tolist():
        a, b = fabric[r, :2] - hinge, fabric[r, 2:] - hinge
        along = b - a
        slant = abs(unit[0] * along[1] - unit[1] * along[0]) / max(float(np.hypot(*along)), 1e-9)
        low, high = sorted((float(a @ unit), float(b @ unit)))
        off = abs(unit[0] * a[1] - unit[1] * a[0])
        if (
            slant < 0.15
            and off <= _NEAR
            and low <= 0.1 * radius
            and high >= 0.9 * radius
            and (best is None or off < best[0])
        ):
            best = (off, r)
    if best is None:
        return None
    return _door_on(swings, swing, hinge, unit, radius, fabric, tree, best[1])


def _door_on(
    swings: Swings,
    swing: int,
    hinge: Floats,
    unit: Floats,
    radius: float,
    fabric: Floats,
    tree: shapely.STRtree,
    run: int,
) -> Candidate:
    """A door of one leaf in the wall that has the face `run`."""
    face = fabric[run]
    along = (face[2:] - face[:2]) / np.hypot(*(face[2:] - face[:2]))
    along = along if float(along @ unit) > 0 else -along
    start = face[:2] + along * float((hinge - face[:2]) @ along)
    normal = left_of(along)
    middle = start + along * radius / 2
    rays = np.array([normal, -normal])
    near = fabric[np.sort(tree.query(shapely.box(*(middle - THICKEST), *(middle + THICKEST))))]
    _, far = first_hits(np.repeat(middle[None], 2, axis=0), rays, np.full(2, THICKEST), near, start=0.02)
    side = int(np.argmin(far))
    thick = float(far[side]) if np.isfinite(far[side]) else 0.0
    shift = rays[side] * thick / 2
    a, b = start + shift, start + along * radius + shift
    return Candidate(
        (),
        (*a.tolist(), *b.tolist()),
        radius,
        thick,
        np.zeros((0, 4)),
        "door",
        "symbol",
        "single",
        entities=(int(swings.entity[swing]),),
        unbroken=True,
    )


def _paired(found: list[Candidate]) -> list[Candidate]:
    """Two leaves that meet in one line make one double door."""
    if not found:
        return []
    tips = shapely.points(np.array([c.axis for c in found]).reshape(-1, 2))
    first, second = (side // 2 for side in shapely.STRtree(tips).query(tips, predicate="dwithin", distance=_MEET))
    mates: dict[int, list[int]] = {}
    for a, b in sorted(set(zip(first.tolist(), second.tolist(), strict=True))):
        if a < b and _meet(found[a], found[b]):
            mates.setdefault(a, []).append(b)
    made: list[Candidate] = []
    gone: set[int] = set()
    for n, leaf in enumerate(found):
        if n in gone:
            continue
        mate = next((m for m in mates.get(n, ()) if m not in gone), None)
        made.append(leaf if mate is None else _double(leaf, found[mate]))
        gone.update(() if mate is None else (mate,))
    return made


def _double(first: Candidate, mate: Candidate) -> Candidate:
    """The double door of two leaves, from hinge to hinge."""
    ends = np.array([first.axis[:2], first.axis[2:], mate.axis[:2], mate.axis[2:]])
    apart = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    return Candidate(
        (),
        (*ends[i].tolist(), *ends[j].tolist()),
        float(apart[i, j]),
        first.thick,
        np.zeros((0, 4)),
        "door",
        "symbol",
        "double",
        entities=tuple(sorted(first.entities + mate.entities)),
        unbroken=True,
    )


def _meet(a: Candidate, b: Candidate) -> bool:
    pa, pb = np.array(a.axis).reshape(2, 2), np.array(b.axis).reshape(2, 2)
    gap = np.hypot(*(pa[:, None] - pb[None]).transpose(2, 0, 1))
    i, j = np.unravel_index(int(gap.argmin()), gap.shape)
    ua, ub = pa[1 - i] - pa[i], pb[1 - j] - pb[j]
    opposed = float(ua @ ub) < -0.95 * float(np.hypot(*ua) * np.hypot(*ub))
    return bool(gap[i, j] < _MEET and opposed and abs(a.width - b.width) < 0.4)


def leaning_leaves(swings: Swings, fabric: Floats, walls: Floats, taken: Sequence[Candidate]) -> list[Candidate]:
    """Doors whose wall stops somewhere round them: closed from the wall line next to the hinge to the one next to
    the tip.

    A cubicle's door, hung on the end of a panel among the `walls` proper, is told but closes no room.
    """
    rows = _loose_leaves(swings, taken)
    if not len(rows) or not len(fabric):
        return []
    lines = shapely.linestrings(fabric.reshape(-1, 2, 2))
    tree = shapely.STRtree(lines)
    panels = shapely.STRtree(shapely.linestrings(walls[lengths(walls) <= PANEL].reshape(-1, 2, 2)))
    found = []
    for s in rows.tolist():
        for tip in _shut_tips(swings, s):
            hung, shut = (_nearest(tree, lines, p) for p in (swings.hinge[s], swings.tips[s, tip]))
            if hung is None or shut is None:
                continue
            width = float(np.hypot(*(shut - hung)))
            middle = shapely.Point((hung + shut) / 2)
            clear = not len(tree.query(middle, predicate="dwithin", distance=0.12))
            if clear and width >= LEAF_NARROWEST and 0.65 * swings.radius[s] <= width <= 1.35 * swings.radius[s]:
                bridge = np.concatenate([hung, shut])
                on_panel = (
                    len(panels.query(shapely.MultiPoint([hung, shut]), predicate="dwithin", distance=2 * PANEL)) > 0
                )
                found.append(
                    Candidate(
                        (),
                        tuple(bridge.tolist()),
                        width,
                        0.0,
                        np.zeros((0, 4)) if on_panel else bridge[None],
                        "door",
                        "symbol",
                        "single",
                        entities=(int(swings.entity[s]),),
                        unbroken=on_panel,
                    )
                )
                break
    return _fresh(found, taken)


def _nearest(tree: shapely.STRtree, lines: np.ndarray, point: Floats) -> Floats | None:
    """The point of the fabric nearest to `point`, ends of lines preferred, within `_LEAN`."""
    near = tree.query(shapely.Point(point), predicate="dwithin", distance=_LEAN)
    if not len(near):
        return None
    ends = shapely.get_coordinates(lines[near])
    away = np.hypot(*(ends - point).T)
    if away.min() <= _LEAN:
        return np.asarray(ends[int(away.argmin())])
    closest = min((lines[n] for n in near), key=lambda line: line.distance(shapely.Point(point)))
    return np.asarray(
        shapely.get_coordinates(
            shapely.line_interpolate_point(closest, shapely.line_locate_point(closest, shapely.Point(point)))
        )[0]
    )
