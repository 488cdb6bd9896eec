"""What a draughtsman puts on paper: strokes in metres, each with the role its layer will be named by."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

Xy = tuple[float, float]


@dataclass(frozen=True)
class Line:
    role: str
    a: Xy
    b: Xy

    @property
    def length(self) -> float:
        return math.dist(self.a, self.b)

    def at(self, along: float) -> Xy:
        """The point `along` metres from a."""
        k = along / self.length
        return (self.a[0] + (self.b[0] - self.a[0]) * k, self.a[1] + (self.b[1] - self.a[1]) * k)


@dataclass(frozen=True)
class Arc:
    """Counter-clockwise from `start` to `end`, degrees; a whole circle when they are 360 apart."""

    role: str
    centre: Xy
    radius: float
    start: float
    end: float

    def points(self, count: int) -> list[Xy]:
        sweep = (self.end - self.start) % 360 or 360
        turns = [math.radians(self.start + sweep * n / count) for n in range(count + 1)]
        return [(self.centre[0] + self.radius * math.cos(t), self.centre[1] + self.radius * math.sin(t)) for t in turns]


@dataclass(frozen=True)
class Poly:
    """A polyline; `flag` says whether a closed one carries the flag or repeats its first point."""

    role: str
    points: tuple[Xy, ...]
    closed: bool = True
    flag: bool = True
    width: float = 0.0


@dataclass(frozen=True)
class Spline:
    role: str
    points: tuple[Xy, ...]
    """Points it passes through."""


@dataclass(frozen=True)
class MLine:
    """Two parallel lines `thick` apart about `points`."""

    role: str
    points: tuple[Xy, ...]
    thick: float


@dataclass(frozen=True)
class Fill:
    role: str
    rings: tuple[tuple[Xy, ...], ...]
    pattern: str = "SOLID"


@dataclass(frozen=True)
class Note:
    role: str
    value: str
    at: Xy
    height: float = 0.15
    turn: float = 0.0


@dataclass(frozen=True)
class Dim:
    """A dimension between two points, its line `offset` to the left of the way from a to b."""

    role: str
    a: Xy
    b: Xy
    offset: float


@dataclass(frozen=True)
class Symbol:
    """A block of strokes in its own frame, placed at `at`, turned (degrees), mirrored across its x axis if so,
    stretched by `stretch`."""

    role: str
    name: str
    parts: tuple[Part, ...]
    at: Xy
    turn: float = 0.0
    mirrored: bool = False
    stretch: Xy = (1.0, 1.0)
    attributes: tuple[tuple[str, str], ...] = ()

    def exploded(self) -> list[Part]:
        """Its strokes as they lie on the sheet (a stretched symbol is not exploded here)."""
        return [moved(p, self.at, self.turn, self.mirrored) for p in self.parts]


Part: TypeAlias = Line | Arc | Poly | Spline | MLine | Fill | Note | Dim
Stroke: TypeAlias = Part | Symbol


def moved(part: Part, at: Xy, turn: float, mirrored: bool) -> Part:
    """`part` mirrored across the x axis (if so), then turned, then shifted."""
    c, s, m = math.cos(math.radians(turn)), math.sin(math.radians(turn)), -1.0 if mirrored else 1.0

    def p(q: Xy) -> Xy:
        return (at[0] + c * q[0] - s * m * q[1], at[1] + s * q[0] + c * m * q[1])

    if isinstance(part, Line):
        return replace(part, a=p(part.a), b=p(part.b))
    if isinstance(part, Arc):
        start, end = (-part.end, -part.start) if mirrored else (part.start, part.end)
        return replace(part, centre=p(part.centre), start=start + turn, end=end + turn)
    if isinstance(part, Poly | Spline | MLine):
        return replace(part, points=tuple(map(p, part.points)))
    if isinstance(part, Fill):
        return replace(part, rings=tuple(tuple(map(p, ring)) for ring in part.rings))
    if isinstance(part, Note):
        return replace(part, at=p(part.at), turn=part.turn + turn)
    return replace(part, a=p(part.a), b=p(part.b), offset=part.offset * m)


def ring_lines(role: str, ring: Sequence[Xy]) -> list[Line]:
    """A closed ring (first point repeated) as lines."""
    return [Line(role, a, b) for a, b in pairwise(ring)]


def exploded(strokes: Iterable[Stroke]) -> list[Stroke]:
    """Symbols, polylines and dimensions taken apart; arcs and texts stay."""
    found: list[Stroke] = []
    for stroke in strokes:
        if isinstance(stroke, Symbol):
            found += exploded(stroke.exploded())
        elif isinstance(stroke, Poly):
            points = (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
            found += ring_lines(stroke.role, points)
        elif isinstance(stroke, Dim):
            found += dim_lines(stroke)
        else:
            found.append(stroke)
    return found


def dim_lines(dim: Dim) -> list[Stroke]:
    """A dimension as loose lines and a text."""
    length = math.dist(dim.a, dim.b)
    ux, uy = (dim.b[0] - dim.a[0]) / length, (dim.b[1] - dim.a[1]) / length
    a, b = ((p[0] - uy * dim.offset, p[1] + ux * dim.offset) for p in (dim.a, dim.b))
    ticks = [Line(dim.role, (p[0] - 0.06, p[1] - 0.06), (p[0] + 0.06, p[1] + 0.06)) for p in (a, b)]
    legs = [Line(dim.role, p, q) for p, q in ((dim.a, a), (dim.b, b)) if p != q]
    middle = ((a[0] + b[0]) / 2 - uy * 0.1, (a[1] + b[1]) / 2 + ux * 0.1)
    turn = math.degrees(math.atan2(uy, ux))
    return [Line(dim.role, a, b), *ticks, *legs, Note(dim.role, f"{length * 1000:.0f}", middle, 0.12, turn)]


def each_part(strokes: Iterable[Stroke], change: Callable[[Part], Iterable[Part]]) -> list[Stroke]:
    """`change` applied to every loose stroke and to those inside symbols."""
    found: list[Stroke] = []
    for stroke in strokes:
        if isinstance(stroke, Symbol):
            found.append(replace(stroke, parts=tuple(q for p in stroke.parts for q in change(p))))
        else:
            found += change(stroke)
    return found
