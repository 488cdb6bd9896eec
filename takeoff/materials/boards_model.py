"""What the laying of boards works with and hands on. Board sizes in millimetres, places on surfaces in metres.

Terms:
  sheet     one board as bought; its two long edges are the factory's (tapered or square), its ends are cut square.
  piece     what is cut from a sheet and fixed in one place. A whole sheet is a piece too.
  joint     where two pieces meet: 'tapered' (two factory edges), 'cut' (a long edge that was cut), 'end' (two ends).
  off-cut   what is left of a sheet beside a piece; it may serve another piece.
  layer     boards of one material on all surfaces of a job that take it; two layers are laid one by one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from takeoff.materials.board_rules import BoardSpec

__all__ = ["BoardLayout", "Fixings", "Joint", "Laid", "Piece", "Placed", "Point", "Ring", "Sheet"]

Point = tuple[float, float]
Ring = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    ref: str
    """R1-W2-3: the third piece of surface R1-W2."""
    surface: str
    room: str
    sheet: int
    """Number of the sheet that it is cut from."""
    width_mm: float
    length_mm: float
    """Of the box round it, in the sheet's directions."""
    outline: Ring
    """On the surface, in its own frame, metres."""
    holes: tuple[Ring, ...]
    net_m2: float
    shape: str
    """'sheet' (whole), 'rectangle', 'notched' (L, U ...) or 'sloping'."""
    off_cut: bool
    """True: it is cut from a sheet begun for an earlier piece."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A piece as it lies in its sheet: outline in millimetres from the sheet's corner, seen from the face side."""

    piece: str
    outline: Ring
    holes: tuple[Ring, ...]
    turned: bool
    """End for end against the way it is fixed."""
    across: bool = False
    """A quarter turn against it: narrow pieces without joints only."""


@dataclass(frozen=True, slots=True)
class Sheet:
    number: int
    width_mm: float
    length_mm: float
    pieces: tuple[Placed, ...]

    @property
    def free_m2(self) -> float:
        """What of it is waste."""
        from shapely import Polygon

        return self.area_m2 - float(sum(Polygon(p.outline, p.holes).area for p in self.pieces)) / 1e6

    @property
    def area_m2(self) -> float:
        return self.width_mm * self.length_mm / 1e6


@dataclass(frozen=True, slots=True)
class Joint:
    surface: str
    kind: str
    """'tapered', 'cut' or 'end'."""
    start: Point
    end: Point
    length_m: float


@dataclass(frozen=True, slots=True)
class Fixings:
    """What fixing the boards of one surface takes."""

    surface: str
    room: str
    screws: int
    adhesive_kg: float
    noggings_m: float
    noggings: int
    """Pieces of nogging, one between two studs or joists."""
    how: str


@dataclass(frozen=True, slots=True)
class Laid:
    """One surface laid."""

    surface: str
    room: str
    kind: str
    direction: str
    pieces: tuple[Piece, ...]
    joints: tuple[Joint, ...]
    fixings: Fixings
    net_m2: float
    framing_mm: tuple[float, ...]
    """Places of studs or joists, in the frame of the sheets: across them where the sheets run with the framing."""
    lines_mm: tuple[float, ...]
    """Places of the long joints across the sheets, from the surface's edge."""
    notes: tuple[str, ...] = ()
    """Rules that could not be kept here, and cautions."""
    framing: tuple[tuple[Point, Point], ...] = ()
    """The same studs or joists as lines on the surface, metres."""

    def joint_m(self, kind: str = "") -> float:
        """Length of all joints, or of those of one kind."""
        return sum(j.length_m for j in self.joints if not kind or j.kind == kind)


@dataclass(frozen=True)
class BoardLayout:
    """All boards of one material laid and cut."""

    spec: BoardSpec
    surfaces: Mapping[str, Laid]
    sheets: tuple[Sheet, ...]
    net_m2: float
    bought_m2: float
    bound_m2: float
    """However they are cut, these pieces take no less (see `board_bound`)."""
    strips_m2: float
    """No layout under the rules takes less, unless what falls out of openings is used again (see `board_strips`)."""
    left_out: tuple[str, ...] = ()
    """Surfaces that no sheet serves."""

    @property
    def buy(self) -> tuple[tuple[float, float, int], ...]:
        """(length, width, how many) of the sheets to order, longest first."""
        counts: dict[tuple[float, float], int] = {}
        for sheet in self.sheets:
            key = (sheet.length_mm, sheet.width_mm)
            counts[key] = counts.get(key, 0) + 1
        return tuple((length, width, counts[length, width]) for length, width in sorted(counts, reverse=True))

    @property
    def waste_pct(self) -> float:
        """Bought beyond net, in per cent of net."""
        return (self.bought_m2 / self.net_m2 - 1.0) * 100.0 if self.net_m2 else 0.0

    @property
    def gap(self) -> float:
        """(bought - bound) / bound for the pieces as laid: 0 when proven best."""
        return round(self.bought_m2 / self.bound_m2 - 1.0, 9) + 0.0 if self.bound_m2 else 0.0

    def rooms(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(laid.room for laid in self.surfaces.values()))

    def joint_m(self, kind: str = "") -> float:
        return sum(laid.joint_m(kind) for laid in self.surfaces.values())

    @property
    def how(self) -> str:
        """The working in one line."""
        sheets = " + ".join(f"{n} of {length:.0f} x {width:.0f}" for length, width, n in self.buy)
        return (
            f"{self.net_m2:.2f} m2 laid from {sheets} = {self.bought_m2:.2f} m2, waste {self.waste_pct:.1f} % of net; "
            f"these pieces cannot be cut from less than {self.bound_m2:.2f} m2 (gap {self.gap:.1%}); "
            f"no layout can do with less than {self.strips_m2:.2f} m2 unless it uses what falls out of openings"
        )
