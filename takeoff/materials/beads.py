"""Beads: which pieces are wanted, which lengths to buy, and what to cut from each.

Terms:
  piece   one length of bead fixed at one edge of a room. Longer than the longest stock it is joined from parts.
  bar     one stock length as bought, with the parts cut from it.
  bound   a cost that no way of cutting goes below (see `bead_cutting`); the gap says how near the cutting is to it.
"""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

from takeoff.data import load
from takeoff.job import Job
from takeoff.materials.bead_cutting import Cutting, cut_lengths
from takeoff.materials.length_patterns import Stock
from takeoff.measure.model import Edge
from takeoff.work.model import Need

__all__ = ["Bar", "BeadCut", "BeadPiece", "BeadRun", "BeadStock", "Cut", "bead_pieces", "bead_stock", "cut_beads"]

MM = 1000
NEARLY_MM = 1e-3
"""A length this little over a whole millimetre is that millimetre: rounding of coordinates."""


@dataclass(frozen=True, slots=True)
class BeadPiece:
    bead: str
    """Slug of the material."""
    room: str
    edge: str
    """Ref of the measured edge, or 'movement 1', 'stop 1' ... for a piece that the job file lists."""
    length_m: float


@dataclass(frozen=True, slots=True)
class BeadStock:
    length_m: float
    price: Decimal | None = None
    """Per length. Where one length of a bead has none, its lengths themselves are the cost."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One part cut from a bar."""

    room: str
    edge: str
    length_m: float
    part: int = 1
    parts: int = 1
    """More than 1: the piece is joined, this is number `part` of so many."""


@dataclass(frozen=True, slots=True)
class Bar:
    number: int
    """1, 2 ... within its bead, in the order of the rooms that it is begun for."""
    stock_m: float
    cuts: tuple[Cut, ...]
    off_cut_m: float


@dataclass(frozen=True, slots=True)
class BeadRun:
    """All of one bead."""

    bead: str
    buy: tuple[tuple[float, int], ...]
    """(stock length in m, how many), shortest first."""
    bars: tuple[Bar, ...]
    net_m: float
    bought_m: float
    cost: Decimal | None
    """None when a price is not known."""
    bound: float
    """In the unit of `cost_of`: no cutting costs less."""
    cost_of: str
    """'price' or 'metres': what was made least."""
    gap: float
    """(cost - bound) / cost, 0 when proven best."""

    @property
    def how(self) -> str:
        """The working in one line."""
        lengths = " + ".join(f"{number} x {length:.2f} m" for length, number in self.buy)
        unit = "m" if self.cost_of == "metres" else "in money"
        proof = f"none can be under {self.bound:.2f} {unit}, gap {self.gap:.1%}" if self.gap > 0 else "proven the least"
        return f"{self.net_m:.2f} m in pieces, cut from {lengths} = {self.bought_m:.2f} m; {proof}"


@dataclass(frozen=True, slots=True)
class BeadCut:
    runs: tuple[BeadRun, ...]
    """One for each bead, in the order of the pieces."""

    def of(self, bead: str) -> BeadRun | None:
        """The run of `bead`, or None where there is none of it."""
        return next((run for run in self.runs if run.bead == bead), None)

    def rooms(self) -> dict[str, tuple[tuple[str, Bar, Cut], ...]]:
        """The cutting list of each room: (bead, bar, cut), room by room in the order of the bars."""
        lists: dict[str, list[tuple[str, Bar, Cut]]] = {}
        for run in self.runs:
            for bar in run.bars:
                for cut in bar.cuts:
                    lists.setdefault(cut.room, []).append((run.bead, bar, cut))
        return {room: tuple(cuts) for room, cuts in lists.items()}


def bead_pieces(needs: Iterable[Need], edges: Iterable[Edge], beads: Iterable[str]) -> tuple[BeadPiece, ...]:
    """The pieces of all `beads` (slugs) among `needs`.

    A curved edge of an opening takes the flexible arch bead in place of a straight one.
    """
    known = frozenset(beads)
    curved = {edge.ref for edge in edges if edge.curved and edge.kind == "opening angle"}
    arch = load("beads")["arch"]
    pieces = []
    for need in needs:
        if need.material in known and need.amount > 0:
            bent = need.surface in curved and need.material in arch["instead_of"]
            pieces.append(BeadPiece(arch["bead"] if bent else need.material, need.room, need.surface, need.amount))
    return tuple(pieces)


def bead_stock(bead: str, lengths_m: Sequence[float], job: Job) -> tuple[BeadStock, ...]:
    """Lengths of `bead` to cut from: the job file's [[beads.stock]], else `lengths_m`, else the shipped ones."""
    rows = [row for row in job.beads.stock if row.bead == bead] or [row for row in job.beads.stock if not row.bead]
    if rows:
        return tuple(BeadStock(row.length, row.price) for row in rows)
    return tuple(BeadStock(length) for length in lengths_m or load("beads")["stock"]["lengths_m"])


def cut_beads(
    pieces: Sequence[BeadPiece],
    stock: Mapping[str, Sequence[BeadStock]],
    job: Job | None = None,
    part: Callable[[str], str] = lambda _edge: "",
) -> BeadCut:
    """Every bead's pieces cut from its `stock` lengths at the least cost, with the bound and a list for each room.

    `stock` gives the lengths of each bead by slug; a bead without takes the shipped ones. Kerf and the shortest part
    of a joined piece come from the job file's [beads], else from ``data/beads.toml``. A bead that comes to less cut
    `part` by part of the job (from the ref of an edge to the part) is cut so: not every cutting is proven the least.
    """
    table = (job or Job()).beads
    shipped = load("beads")["cutting"]
    kerf = shipped["kerf_mm"] if table.kerf_mm is None else table.kerf_mm
    smallest = shipped["smallest_mm"] if table.smallest_mm is None else table.smallest_mm
    grouped: dict[str, list[BeadPiece]] = {}
    for piece in pieces:
        if piece.length_m > 0:
            grouped.setdefault(piece.bead, []).append(piece)
    shipped_stock = [BeadStock(length) for length in load("beads")["stock"]["lengths_m"]]
    runs = []
    for bead, own in grouped.items():
        lengths = stock.get(bead) or shipped_stock
        whole = _run(bead, own, lengths, kerf, smallest)
        parts: dict[str, list[BeadPiece]] = {}
        for piece in own:
            parts.setdefault(part(piece.edge), []).append(piece)
        if whole.gap > 0 and len(parts) > 1:
            apart = _joined(whole, [_run(bead, pieces, lengths, kerf, smallest) for pieces in parts.values()])
            whole = min(whole, apart, key=_least)
        runs.append(whole)
    return BeadCut(tuple(runs))


def _least(run: BeadRun) -> float:
    """What was made least."""
    return float(run.cost) if run.cost is not None else run.bought_m


def _joined(whole: BeadRun, runs: Sequence[BeadRun]) -> BeadRun:
    """The `runs` of parts of a job as one, held against the bound of the `whole`."""
    buy: Counter[float] = Counter()
    for run in runs:
        buy.update(dict(run.buy))
    cost = None if whole.cost is None else sum((run.cost for run in runs if run.cost is not None), Decimal(0))
    joined = replace(
        whole,
        buy=tuple(sorted(buy.items())),
        bars=tuple(replace(bar, number=n) for n, bar in enumerate((b for run in runs for b in run.bars), 1)),
        bought_m=sum(run.bought_m for run in runs),
        cost=cost,
    )
    return replace(joined, gap=max(0.0, 1.0 - joined.bound / _least(joined)))


def _run(bead: str, pieces: Sequence[BeadPiece], stock: Sequence[BeadStock], kerf: int, smallest: int) -> BeadRun:
    priced, unit = _priced(stock)
    cutting = cut_lengths(Counter(_mm(p.length_m) for p in pieces), priced, kerf, smallest)
    bars = _bars(cutting, pieces, kerf)
    buy = Counter(bar.stock_m for bar in bars)
    scale = Decimal(MM) if unit is None else unit
    return BeadRun(
        bead=bead,
        buy=tuple(sorted(buy.items())),
        bars=bars,
        net_m=sum(p.length_m for p in pieces),
        bought_m=sum(length * number for length, number in buy.items()),
        cost=Decimal(cutting.cost) / scale if unit is not None else None,
        bound=float(Decimal(cutting.bound) / scale),
        cost_of="price" if unit is not None else "metres",
        gap=cutting.gap,
    )


def _priced(stock: Sequence[BeadStock]) -> tuple[list[Stock], Decimal | None]:
    """Stock with whole costs, and how many of them make one unit of money (None: the cost is the length in mm)."""
    prices = [s.price for s in stock]
    if any(price is None or price <= 0 for price in prices):
        return [Stock(_mm(s.length_m), _mm(s.length_m)) for s in stock], None
    known = [price for price in prices if price is not None]
    places = max(max(0, -int(price.normalize().as_tuple().exponent)) for price in known)
    unit = Decimal(10) ** places
    return [Stock(_mm(s.length_m), int(price * unit)) for s, price in zip(stock, known, strict=True)], unit


def _mm(length_m: float) -> int:
    return ceil(length_m * MM - NEARLY_MM)


def _bars(cutting: Cutting, pieces: Sequence[BeadPiece], kerf: int) -> tuple[Bar, ...]:
    """The bars with the pieces that they are cut for: those of one room together where the cutting allows."""
    wanted = _Wanted(_parts(cutting, pieces))
    made: list[tuple[int, int, tuple[Cut, ...], int]] = []
    for bar in cutting.bars:
        for _ in range(bar.number):
            taken = wanted.take(bar.pieces_mm)
            first = min(place for place, _ in taken)
            made.append((first, bar.stock_mm, tuple(cut for _, cut in taken), bar.off_cut_mm(kerf)))
    made.sort(key=lambda row: (row[0], row[1]))
    return tuple(Bar(n, mm / MM, cuts, left / MM) for n, (_, mm, cuts, left) in enumerate(made, 1))


def _parts(cutting: Cutting, pieces: Sequence[BeadPiece]) -> list[Cut]:
    """Every part to be cut, in the order of the pieces."""
    joins: dict[int, deque[tuple[int, ...]]] = defaultdict(deque)
    for length, parts in cutting.joined:
        joins[length].append(parts)
    cuts = []
    for piece in pieces:
        length = _mm(piece.length_m)
        parts = joins[length].popleft() if joins.get(length) else (length,)
        cuts += [Cut(piece.room, piece.edge, mm / MM, n, len(parts)) for n, mm in enumerate(parts, 1)]
    return cuts


class _Wanted:
    """Parts still to be cut, found by length, and by length and room."""

    def __init__(self, cuts: Sequence[Cut]) -> None:
        self.cuts = cuts
        self.open = [True] * len(cuts)
        self.by_length: dict[int, deque[int]] = defaultdict(deque)
        self.by_room: dict[tuple[int, str], deque[int]] = defaultdict(deque)
        for place, cut in enumerate(cuts):
            self.by_length[_mm(cut.length_m)].append(place)
            self.by_room[_mm(cut.length_m), cut.room].append(place)

    def take(self, lengths: Sequence[int]) -> list[tuple[int, Cut]]:
        """(place in the list, part) for each length, of the first part's room where there is one left."""
        taken: list[tuple[int, Cut]] = []
        for length in lengths:
            own = self._first(self.by_room[length, taken[0][1].room]) if taken else None
            place = own if own is not None else self._first(self.by_length[length])
            if place is None:
                raise AssertionError(f"No piece of {length} mm is left to cut.")
            self.open[place] = False
            taken.append((place, self.cuts[place]))
        return taken

    def _first(self, queue: deque[int]) -> int | None:
        while queue and not self.open[queue[0]]:
            queue.popleft()
        return queue[0] if queue else None
