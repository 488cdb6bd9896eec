"""Bad habits with wall lines: ends missed, pieces lost, drawn twice, cut up."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import pairwise
from random import Random

from tests.draughtsman.cases import Case
from tests.draughtsman.strokes import Line, Part, Poly, Stroke, ring_lines
from tests.draughtsman.world import Xy


def walls_only(change: Callable[[Line, float, Random], Iterable[Part]]) -> Callable[[Case, float, Random], Case]:
    """A change of every wall line; wall polylines are drawn as lines first."""

    def after(case: Case, x: float, rng: Random) -> Case:
        found: list[Stroke] = []
        for stroke in case.strokes:
            if isinstance(stroke, Poly) and stroke.role == "wall" and not stroke.width:
                points = (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
                for line in ring_lines("wall", points):
                    found += change(line, x, rng)
            elif isinstance(stroke, Line) and stroke.role == "wall":
                found += change(stroke, x, rng)
            else:
                found.append(stroke)
        return replace(case, strokes=tuple(found))

    return after


# Wall lines ------------------------------------------------------------------------------------------------


def missed(line: Line, mm: float, rng: Random) -> list[Part]:
    """Each end short or over by up to `mm`, one end in three."""
    def off() -> float:
        return rng.uniform(-mm, mm) / 1000 if rng.random() < 1 / 3 else 0.0

    start, end = off(), line.length + off()
    return [Line(line.role, line.at(start), line.at(end))] if end - start > 0.02 else [line]


def jitter(line: Line, mm: float, rng: Random) -> list[Part]:
    """Every end off in any direction by up to `mm`."""
    def p(at: Xy) -> Xy:
        return (at[0] + rng.uniform(-mm, mm) / 1000, at[1] + rng.uniform(-mm, mm) / 1000)

    return [Line(line.role, p(line.a), p(line.b))]


def split(line: Line, pieces: float, rng: Random) -> list[Part]:
    at = sorted([0.0, line.length, *(rng.uniform(0, line.length) for _ in range(rng.randint(0, int(pieces))))])
    return [Line(line.role, line.at(a), line.at(b)) for a, b in pairwise(at) if b - a > 1e-6]


def doubled(line: Line, share: float, rng: Random) -> list[Part]:
    """Drawn again, the other way round or half a millimetre beside."""
    if rng.random() >= share:
        return [line]
    off = rng.choice((0.0, 0.0, 0.0005))
    nx, ny = -(line.b[1] - line.a[1]) / line.length * off, (line.b[0] - line.a[0]) / line.length * off
    return [line, Line(line.role, (line.b[0] + nx, line.b[1] + ny), (line.a[0] + nx, line.a[1] + ny))]


def overlap(line: Line, share: float, rng: Random) -> list[Part]:
    """In two pieces that run over each other."""
    if rng.random() >= share or line.length < 0.3:
        return [line]
    a, b = sorted((rng.uniform(0, line.length), rng.uniform(0, line.length)))
    return [Line(line.role, line.a, line.at(b)), Line(line.role, line.at(a), line.b)]


def lost(line: Line, per_cent: float, rng: Random) -> list[Part]:
    return [] if rng.random() < per_cent / 100 else [line]


def two_point(line: Line, _x: float, _rng: Random) -> list[Part]:
    return [Poly(line.role, (line.a, line.b), closed=False)]

