"""Lines among the fabric that bound no room: dots, thin panels, furniture drawn on a wall layer, stairs, loose frames.

Terms:
  dot        a closed figure, joined to nothing, smaller than any wall is thick: a post, a bolt, a full stop.
  panel      a solid thinner than any wall that stands inside one space: a cubicle screen, a balustrade.
  cubicle    a small space without a name of its own that panels part off.
  stranger   a line between two spaces with no wall body on either side, in a drawing whose walls have bodies.
  pocket     compact faces inside one room, against a wall or free: furniture, unless they look like a pier or a column.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from takeoff.geometry.cluster import Floats, Index, Mask, cluster_points, components, extents
from takeoff.geometry.planar import OUTSIDE, Arrangement
from takeoff.geometry.runs import mates, straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.plan.faces import Faces
from takeoff.plan.linework import BRIDGE, COLUMN, GLASS, MADE, Lines
from takeoff.plan.openings import Candidate

__all__ = [
    "PANEL", "dots", "edge_kinds", "edges_with", "lines_with_openings", "outlined", "pocket_edges", "soft_edges",
    "treads", "walls_have_bodies",
]

PANEL = 0.034
"""Solids no thicker are panels, not walls, metres (common practice: cubicle boards 12-30 mm)."""
_LEAF, _LEAF_BACKED = 0.13, 0.35
"""Leaves of cavity walls are no thicker (2 x area / perimeter), metres, and have a wall's body behind this share of
their outline (common practice: leaves of 90 to 115 mm)."""
_BACKED = 0.3
"""A thin solid with this share of its outline against a wall's body is a layer of that wall: plaster, a lining."""
_CUBICLE = 4.0
"""Largest cubicle, m2 (common practice: 0.8 x 1.5 m to 1.5 x 2.2 m)."""
_SINGLE = 0.02
"""An opening in a wall no thicker lies in a single-line wall, metres."""
_BOX_LEAST, _BOX_MOST = 0.38, 3.3
"""Sides of furniture, metres: a stool to a wardrobe."""
_CONVEX, _STOUT = 0.9, 0.25
"""A face that fills less than this share of its hull, and is no wider, metres, is a wall about a corner, or a layer of
one."""
_PIER_DEEPEST = 0.5
"""A plain box against a wall, less deep, may be a pier or a chimney breast, metres."""
_TRIM = 0.055
"""Double lines no farther apart are trim of a piece of furniture, metres."""
_LEAF_SLIVER = 0.9
"""Largest face between a leaf, its swing and the wall, m2: a quarter circle of a 1.05 m leaf."""
_MOST_BENT = 0.6
"""Share of a sliver's outline that a swing can be: a chord and its quarter arc give 0.53."""
_LONG_RUN, _BODIED = 1.5, 0.45
"""Lines at least this long, metres, tell the style: this share of their length has a wall's body beside it."""
_GOING = (0.18, 0.36)
"""Going of a stair, metres (common practice 0.20-0.35)."""
_TREADS_LEAST = 4
_ROOM = 2.0
"""Lines between two spaces larger than this, m2, each with a name or a way in, are kept: no furniture is so large."""
_DOT = 0.035
"""Closed figures no larger both ways are no walls, piers or columns, metres (common practice)."""
_DOT_MEETS = 0.005
"""Ends of a dot's lines meet when nearer than this, metres."""
_DOT_LEAST = 3
_DETAIL, _DETAIL_LEAST = 0.2, 24
"""So many straight lines and curves that hang together, no larger both ways, metres, are a bolt, a tap or a knot of
hatching: no pier or column is drawn with so many (common practice)."""


def dots(ends: Floats, arc: Index) -> Mask:
    """Which of the lines `ends` (n, 4) make up dots, or details too crowded for a pier; `arc` (n,) is as in
    `Segments`.

    A figure with a loose end is no dot: it may be a dash of a wall.
    """
    if not len(ends):
        return np.zeros(0, dtype=bool)
    _, place = cluster_points(ends.reshape(-1, 2), _DOT_MEETS)
    count = int(place.max()) + 1
    figure = components(count, place[0::2], place[1::2])
    size = int(figure.max()) + 1
    loose = np.zeros(size, dtype=bool)
    loose[figure[np.bincount(place) < 2]] = True
    of_line = figure[place[0::2]]
    low, high = extents(ends.reshape(-1, 2), np.repeat(of_line, 2), size)
    extent = (high - low).max(axis=1)
    dot = (extent <= _DOT) & ~loose & (np.bincount(of_line) >= _DOT_LEAST)
    straight = arc < 0
    curves = np.bincount(of_line[straight], minlength=size)
    curves += np.bincount(of_line[~straight][np.unique(arc[~straight], return_index=True)[1]], minlength=size)
    return np.asarray((dot | ((extent <= _DETAIL) & (curves >= _DETAIL_LEAST)))[of_line])


def treads(runs: Floats) -> Mask:
    """Which runs (mask) are the nosings of a stair: many equal parallels, one going apart and nothing between them."""
    length = lengths(runs)
    some = np.flatnonzero((length >= 0.5) & (length <= 2.6))
    found = mates(runs[some], *_GOING)
    i, j = some[found.first], some[found.second]
    alike = np.abs(length[i] - length[j]) <= 0.1 * np.minimum(length[i], length[j])
    alike &= found.overlap >= 0.85 * np.minimum(length[i], length[j])
    i, j = i[alike], j[alike]
    close = mates(runs[some], 0.0, 0.9 * _GOING[0])
    near = close.overlap >= 0.5 * np.minimum(length[some[close.first]], length[some[close.second]])
    crowded = np.zeros(len(runs), dtype=bool)
    crowded[some[close.first[near]]] = crowded[some[close.second[near]]] = True
    apart = ~crowded[i] & ~crowded[j]
    i, j = i[apart], j[apart]
    group = components(len(runs), i, j)
    size = np.bincount(group)
    return np.asarray(size[group] >= _TREADS_LEAST)


def edge_kinds(arrangement: Arrangement, lines: Lines) -> Index:
    """For each edge the kind of the strongest line along it: drawn before laid."""
    offsets, numbers = arrangement.pieces
    if not len(arrangement.edges):
        return np.zeros(0, dtype=np.int64)
    return np.asarray(np.minimum.reduceat(lines.kind[numbers], offsets[:-1]))


def walls_have_bodies(arrangement: Arrangement, lines: Lines, faces: Faces) -> bool:
    """Whether the drawing shows walls with two faces: most length of its long straight lines has a solid on
    one side.
    """
    if not len(arrangement.edges):
        return False
    _, _, run = straight_runs(lines.ends, np.zeros(len(lines), dtype=np.int64))
    offsets, numbers = arrangement.pieces
    edge_run = run[numbers[offsets[:-1]]]
    solid = np.concatenate([faces.solid, [False]])
    beside = solid[arrangement.left] ^ solid[arrangement.right]
    total = np.bincount(edge_run, arrangement.lengths)
    backed = np.bincount(edge_run, arrangement.lengths * beside)
    long = total >= _LONG_RUN
    return bool(backed[long].sum() >= _BODIED * max(float(total[long].sum()), 1e-9))


def soft_edges(
    arrangement: Arrangement,
    lines: Lines,
    candidates: Sequence[Candidate],
    faces: Faces,
    named: Mask,
    entered: Mask,
    bodied: bool,
) -> Mask:
    """Edges (mask) to be dropped so that the faces beside them run together."""
    if not len(arrangement.edges):
        return np.zeros(0, dtype=bool)
    soft = _panels(arrangement, lines, faces, named) | _swung(arrangement, lines, faces, named)
    if bodied:
        soft = soft | _strangers(arrangement, lines, faces, lines_with_openings(lines, candidates), named | entered)
    return np.asarray(soft)


def _panels(arrangement: Arrangement, lines: Lines, faces: Faces, named: Mask) -> Mask:
    """Edges of panels that part no room from another, and of the doors hung between them.

    A cubicle, that is a small space without a name bounded in part by panels, counts as part of the room outside it.
    """
    left, right = arrangement.left, arrangement.right
    inner = (left != OUTSIDE) & (right != OUTSIDE)
    panel = (
        faces.solid
        & (faces.width <= PANEL)
        & ~_touched(arrangement, edges_with(arrangement, lines.kind == GLASS), len(faces.area))
    )
    body = faces.solid & ~panel
    against = inner & (panel[left] & body[right] | panel[right] & body[left])
    panel &= _share(arrangement, against, np.where(panel[left], left, right), len(panel)) < _BACKED
    group = components(len(panel), *(side[inner & panel[left] & panel[right]] for side in (left, right)))
    own = inner & (panel[left] ^ panel[right])
    inside = np.where(panel[left], left, right)
    beyond = np.where(panel[left], right, left)
    cubicle = faces.space & ~named & (faces.area <= _CUBICLE) & (_share(arrangement, own, beyond, len(panel)) >= 0.2)
    spaces = own & faces.space[beyond] & ~cubicle[beyond]
    pairs = np.unique(np.column_stack([group[inside[spaces]], beyond[spaces]]), axis=0)
    several = np.bincount(pairs[:, 0], minlength=len(panel)) > 1
    outside = (left == OUTSIDE) ^ (right == OUTSIDE)
    bordering = np.where(left == OUTSIDE, right, left)[outside]
    several[group[bordering[panel[bordering]]]] = True
    loose = panel & ~several[group]
    parted = inner & (loose[left] | loose[right]) & ((faces.space | panel)[left] & (faces.space | panel)[right])
    hung = inner & (edge_kinds(arrangement, lines) == BRIDGE) & (cubicle[left] | cubicle[right])
    freed = _touched(arrangement, parted, len(panel)) & cubicle
    return np.asarray(
        parted | (hung & (freed[left] | freed[right]) & (faces.space | panel)[left] & (faces.space | panel)[right])
    )


def _touched(arrangement: Arrangement, edges: Mask, count: int) -> Mask:
    """Faces (mask) with one of the `edges` in their outline."""
    touched = np.zeros(count + 1, dtype=bool)
    touched[arrangement.left[edges]] = True
    touched[arrangement.right[edges]] = True
    return touched[:count]


def _share(arrangement: Arrangement, edges: Mask, face: Index, count: int) -> Floats:
    """For each face the share of its outline that the `edges` make, of which `face` (e,) names the one."""
    lengths = arrangement.lengths
    total = outlined(arrangement, np.ones(len(lengths), dtype=bool), count)
    part = np.bincount(face[edges], lengths[edges], minlength=count + 1)
    return np.asarray(part[:count] / np.maximum(total, 1e-9))


def outlined(arrangement: Arrangement, edges: Mask, count: int) -> Floats:
    """For each face the length (metres) of the `edges` (mask) in its outline."""
    lengths = arrangement.lengths[edges]
    total = np.zeros(count + 1)
    np.add.at(total, arrangement.left[edges], lengths)
    np.add.at(total, arrangement.right[edges], lengths)
    return total[:count]


def edges_with(arrangement: Arrangement, flagged: Mask) -> Mask:
    """Edges (mask) along which one of the flagged lines runs."""
    offsets, numbers = arrangement.pieces
    return np.asarray(np.maximum.reduceat(flagged[numbers].astype(np.int8), offsets[:-1]) > 0)


def _swung(arrangement: Arrangement, lines: Lines, faces: Faces, named: Mask) -> Mask:
    """Curved edges that cut a sliver off a space: the swing of a door drawn on a wall layer.

    A face bounded for the most part by curves is a curved wall's body or a round column and stays.
    """
    curved = ~edges_with(arrangement, lines.arc < 0)
    count = len(faces.area)
    total, bent = (outlined(arrangement, edges, count) for edges in (np.ones(len(curved), dtype=bool), curved))
    sliver = (faces.area <= _LEAF_SLIVER) & (bent <= _MOST_BENT * total) & ~named
    spacious = np.concatenate([faces.space & ~sliver, [True]])
    sliver = np.concatenate([sliver, [False]])
    left, right = arrangement.left, arrangement.right
    return np.asarray(curved & ((sliver[left] & spacious[right]) | (sliver[right] & spacious[left])))


def _strangers(arrangement: Arrangement, lines: Lines, faces: Faces, hung: Mask, used: Mask) -> Mask:
    """Edges between two faces that are no solids, drawn on fabric but with no opening in the same straight
    line (`hung`); not between two faces that each are `used` (mask: named, or with a way in) and large enough for a
    room: there a wall has lost its other face.
    """
    open_face = np.concatenate([~faces.solid, [False]])
    between = open_face[arrangement.left] & open_face[arrangement.right]
    hard_line = np.isin(lines.kind, MADE) | (lines.kind > COLUMN) | hung
    room = np.concatenate([faces.space & (faces.area >= _ROOM) & used, [False]])
    parts = room[arrangement.left] & room[arrangement.right]
    return np.asarray(between & ~parts & ~edges_with(arrangement, hard_line))


def lines_with_openings(lines: Lines, candidates: Sequence[Candidate]) -> Mask:
    """Which lines lie in one straight run with an opening in a single-line wall: such a line is a partition."""
    single = [n for n, c in enumerate(candidates) if c.thick <= _SINGLE]
    _, _, run = straight_runs(lines.ends, np.zeros(len(lines), dtype=np.int64))
    marked = np.isin(lines.owner, single)
    unbroken = [candidates[n].axis for n in single if candidates[n].unbroken]
    if unbroken and len(lines):
        axes = np.array(unbroken, dtype=float)
        middles = shapely.points((axes[:, :2] + axes[:, 2:]) / 2)
        near = shapely.STRtree(shapely.linestrings(lines.ends.reshape(-1, 2, 2))).query(
            middles, predicate="dwithin", distance=0.02
        )[1]
        marked[near] = True
    carrying = np.zeros(int(run.max(initial=-1)) + 1, dtype=bool)
    carrying[run[marked]] = True
    return np.asarray(carrying[run]) if len(run) else np.zeros(0, dtype=bool)


def pocket_edges(arrangement: Arrangement, lines: Lines, faces: Faces, known: Mask, named: Mask, entered: Mask) -> Mask:
    """Edges (mask) of furniture drawn on a wall layer: compact faces that stand against a wall, or free, in
    one room.
    """
    count = len(faces.area)
    if not count:
        return np.zeros(len(arrangement.edges), dtype=bool)
    short, long, fill = _boxes(arrangement.polygons)
    stays = known | named | entered | _touched(arrangement, edges_with(arrangement, lines.kind == GLASS), count)
    compact = (short >= _BOX_LEAST) & (long <= _BOX_MOST) & (fill >= 0.45) & ~stays
    detail = ((faces.width <= _TRIM) | (faces.area < 0.15)) & (long <= _BOX_MOST) & ~stays
    pocket: Mask = np.asarray(compact | (detail & ~faces.space), dtype=bool)
    left, right = arrangement.left, arrangement.right
    inner = (left != OUTSIDE) & (right != OUTSIDE)
    inside = np.concatenate([pocket, [False]])
    both = inner & inside[left] & inside[right]
    group = components(count, left[both], right[both])
    own = np.where(inside[left], left, right)
    beyond = np.where(inside[left], right, left)
    rim = inside[left] ^ inside[right]
    solid = np.concatenate([faces.solid, [False]])
    good = _one_room(group, own, beyond, rim & ~solid[beyond]) & _furnished(
        arrangement, group, pocket, short, faces, lines
    )
    good &= ~_leaves_of_walls(arrangement, group, faces, pocket, rim & (solid[beyond] & (beyond != OUTSIDE)), own, rim)
    gone = np.concatenate([good[group] & pocket, [False]])
    return np.asarray((both & gone[left]) | (rim & gone[own] & ~solid[beyond] & (beyond != OUTSIDE)))


def _boxes(polygons: npt.NDArray[np.object_]) -> tuple[Floats, Floats, Floats]:
    """Short and long side of the least rectangle round each polygon, and the share of it that the polygon fills."""
    boxes = shapely.minimum_rotated_rectangle(polygons)
    corners = np.zeros((len(polygons), 3, 2))
    proper = shapely.get_type_id(boxes) == 3
    if proper.any():
        rings = shapely.get_coordinates(boxes[proper]).reshape(-1, 5, 2)
        corners[proper] = rings[:, :3]
    a = np.hypot(*(corners[:, 1] - corners[:, 0]).T)
    b = np.hypot(*(corners[:, 2] - corners[:, 1]).T)
    return np.minimum(a, b), np.maximum(a, b), shapely.area(polygons) / np.maximum(a * b, 1e-9)


def _one_room(group: Index, own: Index, beyond: Index, open_rim: Mask) -> Mask:
    """Groups whose only neighbour besides solids is one face, and not the outside."""
    pairs = np.unique(np.column_stack([group[own[open_rim]], beyond[open_rim]]), axis=0)
    size = int(group.max(initial=-1)) + 1
    good = np.bincount(pairs[:, 0], minlength=size) == 1
    good[pairs[pairs[:, 1] == OUTSIDE, 0]] = False
    return np.asarray(good)


def _leaves_of_walls(
    arrangement: Arrangement, group: Index, faces: Faces, pocket: Mask, backed: Mask, own: Index, rim: Mask
) -> Mask:
    """Groups that are thin all over and lie along a wall's body: the inner leaf of a cavity wall, cut at windows.

    `rim` (mask) are the edges round the groups, of the faces `own` (e,), `backed` those before a solid.
    """
    size = int(group.max(initial=-1)) + 1
    thickest = np.zeros(size)
    np.maximum.at(thickest, group[pocket], faces.width[pocket])
    length = arrangement.lengths
    total, behind = (np.bincount(group[own[e]], length[e], minlength=size) for e in (rim, backed))
    return np.asarray((thickest <= _LEAF) & (behind >= _LEAF_BACKED * total))


def _furnished(arrangement: Arrangement, group: Index, pocket: Mask, short: Floats, faces: Faces, lines: Lines) -> Mask:
    """Groups that look like furniture: detail drawn inside, or deeper than a pier; not drawn as columns."""
    size = int(group.max(initial=-1)) + 1
    parts = np.bincount(group[pocket], minlength=size)
    deepest, stoutest = np.zeros(size), np.zeros(size)
    np.maximum.at(deepest, group[pocket], short[pocket])
    bent = faces.area < _CONVEX * shapely.area(shapely.convex_hull(arrangement.polygons))
    stout = pocket & (~bent | (faces.width >= _STOUT))
    np.maximum.at(stoutest, group[stout], short[stout])
    column = _touched(arrangement, edges_with(arrangement, lines.kind == COLUMN), len(faces.area))
    columns = np.zeros(size, dtype=bool)
    columns[group[column & pocket]] = True
    return np.asarray(((parts > 1) | (stoutest >= _PIER_DEEPEST)) & (deepest >= _BOX_LEAST) & ~columns)
