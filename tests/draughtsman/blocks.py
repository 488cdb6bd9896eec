"""Blocks of flats of any size, without drawing every line anew: one storey read once and laid out in rows as arrays.

The reader makes the `Drawing` of one storey; `tiled` repeats its arrays, so a million segments take seconds.
"""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import numpy as np
from shapely import LineString, Point, box

from takeoff.drawing.model import Arcs, Drawing, Segments
from tests.draughtsman.buildings import finish, plot
from tests.draughtsman.hand import Manner, draw
from tests.draughtsman.world import Building
from tests.draughtsman.write import Page, document_of, read_in_memory

STOREY_ROOMS = 100
"""Rooms of a full storey: a slab with a corridor, fifty rooms a side."""
GAP = 8.0


def slab(rooms: int, seed: int) -> Building:
    """One storey: a corridor with rooms on both sides, `rooms` in all, the corridor included."""
    rng = Random(seed)
    sides = (math.ceil((rooms - 1) / 2), (rooms - 1) // 2)
    width, deep, wide = 3.6 * sides[0], 5.0, 1.8
    draft = plot(rng, box(0, 0, width, 2 * deep + wide + 0.24), inner=0.12, outer=0.3)
    for y in (deep + 0.06, deep + wide + 0.18):
        at = max(range(len(draft.rooms)), key=lambda n: draft.rooms[n].area)
        draft.cut(at, LineString([(-1, y), (width + 1, y)]))
    for y, count in ((1.0, sides[0]), (2 * deep + wide, sides[1])):
        for k in range(1, count):
            x = round(width * k / count, 2)
            at = next(n for n, r in enumerate(draft.rooms) if r.contains(Point(x, y)))
            draft.cut(at, LineString([(x, -1), (x, 100)]))
    return finish(draft, rng)


def block_of_flats(rooms: int, seed: int = 1) -> tuple[Drawing, int]:
    """A drawing in millimetres of about `rooms` rooms, storey beside storey, and how many it really has."""
    storeys = max(1, math.ceil(rooms / STOREY_ROOMS))
    building = slab(min(rooms, STOREY_ROOMS), seed)
    manner = Manner(furniture=3, labels="name and area", dims="outside", window_lines=4)
    one = read_in_memory(document_of(draw(building, manner, Random(seed)), Page()))
    x0, y0, x1, y1 = (v * 1000 for v in building.outline.bounds)
    columns = max(1, round(math.sqrt(storeys * (y1 - y0) / (x1 - x0))))
    steps = [((n % columns) * (x1 - x0 + GAP * 1000), (n // columns) * (y1 - y0 + GAP * 1000)) for n in range(storeys)]
    return tiled(one, steps), len(building.rooms) * storeys


def tiled(one: Drawing, steps: list[tuple[float, float]]) -> Drawing:
    """`one` repeated at each of `steps`, in drawing units."""
    k, n = len(steps), len(one.entities)
    by = np.array(steps)

    def rows(index: np.ndarray, size: int) -> np.ndarray:
        shifted = index[None, :] + size * np.arange(k, dtype=np.int32)[:, None]
        return np.where(index[None, :] < 0, index[None, :], shifted).reshape(-1).astype(np.int32)

    s, a = one.segments, one.arcs
    shape = np.tile(a.shape, (k, 1))
    shape[:, :2] += np.repeat(by, len(a.shape), axis=0)
    return replace(
        one,
        entities=tuple(
            replace(e, handle=f"{i}-{e.handle}", symbol=e.symbol if e.symbol < 0 else e.symbol + i * len(one.symbols))
            for i in range(k) for e in one.entities),
        segments=Segments((s.ends[None] + np.tile(by, 2)[:, None, :]).reshape(-1, 4), rows(s.entity, n),
                          rows(s.arc, len(a.shape))),
        arcs=Arcs(shape, rows(a.entity, n)),
        regions=tuple(replace(r, ring=r.ring + step, entity=r.entity + i * n)
                      for i, step in enumerate(by) for r in one.regions),
        texts=tuple(replace(t, at=(t.at[0] + dx, t.at[1] + dy), entity=t.entity + i * n)
                    for i, (dx, dy) in enumerate(steps) for t in one.texts),
        symbols=tuple(
            replace(y, handle=f"{i}-{y.handle}", at=(y.at[0] + dx, y.at[1] + dy),
                    matrix=(*y.matrix[:4], y.matrix[4] + dx, y.matrix[5] + dy),
                    bounds=(y.bounds[0] + dx, y.bounds[1] + dy, y.bounds[2] + dx, y.bounds[3] + dy))
            for i, (dx, dy) in enumerate(steps) for y in one.symbols),
        dimensions=tuple(
            replace(d, start=(d.start[0] + dx, d.start[1] + dy), end=(d.end[0] + dx, d.end[1] + dy))
            for dx, dy in steps for d in one.dimensions),
    )
