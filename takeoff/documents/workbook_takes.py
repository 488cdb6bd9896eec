"""What the build-ups and beads take: from covered areas and lengths to the order's lines, each formula with its value.

Terms:
  label   what stands in the column 'Build-up' of a surface or 'Bead or scrim' of an edge; formulas add up by it.
  take    what all surfaces (or edges) of one label take of one material: what they cover x the coverage.
  even    a take whose coverage is the same on every surface; otherwise the coverage is the average, and each room
          keeps its own.
  apart   an amount that does not follow from areas and coverages: laid out, cut, or counted in pieces.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count

from takeoff.documents.safe_text import clean
from takeoff.documents.workbook_areas import TIE, AngleRow, SurfaceRow
from takeoff.documents.workbook_cells import TOP, Cell, Live, cell_at, number_of
from takeoff.documents.workbook_layout import BUILD_UP_COLUMNS, BUILD_UPS
from takeoff.materials.model import OrderLine
from takeoff.record import Takeoff
from takeoff.work.model import Layer, Need

__all__ = ["APART", "SPARE", "Take", "edge_labels", "material_names", "surface_labels", "take_rows"]

APART = "Counted apart"
FOUND = "Findings and allowances"
LISTED = "Listed in the job file"
EVEN = 1e-6
"""Relative: coverages nearer than this are one coverage, besides what `TIE` may have moved the areas."""
SPARE = 1e-4
"""Relative: what the order's net may differ from the sum of the needs by rounding alone."""
LAID_ON_EDGES = ("bead", "scrim")
"""Kinds of material that an edge is known by."""
LONGEST_LABEL = 80
"""Characters; formulas look up labels, and a criterion may have 255."""


@dataclass(frozen=True, slots=True)
class Take:
    label: str
    material: str
    """Slug."""
    row: int
    measure: str
    """'m2' or 'm'; '' for what is counted apart."""
    kind: str
    """The kind of surface that this take is of, where kinds take differently; of findings, their unit; else ''."""
    covers: Cell
    rate: float | None
    amount: Cell
    how: str
    source: str
    uneven: Mapping[str, float] = field(default_factory=dict)
    """Coverage room by room, where it is not even."""

    @property
    def label_cell(self) -> str:
        return cell_at(BUILD_UP_COLUMNS, "Build-up", self.row, BUILD_UPS)

    @property
    def rate_cell(self) -> str:
        return cell_at(BUILD_UP_COLUMNS, "Coverage", self.row, BUILD_UPS)

    def in_room(self, covered: float, room: str) -> float:
        """What `covered` (m2 or m) of the label takes in `room`."""
        return covered * (self.uneven.get(room, 0.0) if self.uneven else self.rate or 0.0)


def _label(text: str) -> str:
    """`text` as formulas can look it up: no signs that a criterion reads as a pattern or a comparison."""
    plain = "".join(" " if sign in "*?~" else sign for sign in clean(text, LONGEST_LABEL))
    return plain.strip().lstrip("=<>+-@ ")


def _told_apart(titles: Mapping[str, str]) -> dict[str, str]:
    """Labels by slug; where two slugs share a title, the slug is added."""
    labels = {slug: _label(title or slug) for slug, title in titles.items()}
    counts = Counter(labels.values())
    return {slug: f"{label} ({slug})" if counts[label] > 1 else label for slug, label in labels.items()}


def material_names(takeoff: Takeoff) -> dict[str, str]:
    """What each material of the order is called in the workbook, by slug."""
    return _told_apart({line.material.slug: line.material.title for line in takeoff.order.lines})


def surface_labels(takeoff: Takeoff) -> dict[str, str]:
    """Label of each surface: the title of its build-up."""
    named = _told_apart({slug: build_up.title for slug, build_up in takeoff.work.build_ups.items()})
    return {a.surface: named.get(a.build_up, _label(a.build_up)) for a in takeoff.work.assignments}


def edge_labels(takeoff: Takeoff) -> dict[str, str]:
    """Label of each edge: its bead or scrim. Edges that take the same bead with other fixings are told apart."""
    kinds = {line.material.slug: line.material.kind for line in takeoff.order.lines}
    edges = {edge.ref for edge in takeoff.measured.edges}
    taken: dict[str, dict[str, None]] = defaultdict(dict)
    for need in takeoff.work.needs:
        if need.layer and need.surface in edges:
            taken[need.surface][need.material] = None
    names = material_names(takeoff)
    labels: dict[frozenset[str], str] = {}
    for materials in map(frozenset, taken.values()):
        if materials not in labels:
            first = min(materials, key=lambda slug: (kinds.get(slug) not in LAID_ON_EDGES, slug))
            label, used = names.get(first, first), set(labels.values())
            numbered = (f"{label} ({n})" for n in count(2))
            labels[materials] = label if label not in used else next(name for name in numbered if name not in used)
    return {ref: labels[frozenset(materials)] for ref, materials in taken.items()}


@dataclass(frozen=True, slots=True)
class _Piece:
    """A surface, or a row of edges, that carries a label."""

    refs: tuple[str, ...]
    room: str
    label: str
    covers: float
    measure: str
    kind: str


def take_rows(
    takeoff: Takeoff, surfaces: Mapping[str, SurfaceRow], angles: Sequence[AngleRow], labels: Mapping[str, str]
) -> tuple[Take, ...]:
    """Every take, label by label, then what is counted apart so that the nets are the order's."""
    pieces = [
        _Piece((ref,), r.surface.room, labels.get(ref, ""), number_of(r.net), "m2", r.surface.kind)
        for ref, r in surfaces.items()
    ]
    pieces += [
        _Piece(tuple(e.ref for e in a.edges), a.edges[0].room, a.takes, number_of(a.total), "m", "")
        for a in angles
        if a.takes
    ]
    by_label: dict[tuple[str, str], list[_Piece]] = defaultdict(list)
    for piece in pieces:
        by_label[piece.label, piece.measure].append(piece)
    needs: dict[str, list[Need]] = defaultdict(list)
    found: dict[tuple[str, float, str], list[Need]] = defaultdict(list)
    for need in takeoff.work.needs:
        if need.layer:
            needs[need.surface].append(need)
        else:
            found[need.material, need.rate, need.per].append(need)
    rows: list[Take] = []
    for covered in by_label.values():
        for taken in _all_taken(covered, needs):
            for group, kind in _groups(taken):
                rows.append(_take(takeoff, group, kind, TOP + len(rows)))
    rows += [_found(some, TOP + len(rows) + n) for n, some in enumerate(found.values())]
    rest: dict[str, float] = defaultdict(float)
    for line in takeoff.order.lines:
        rest[line.material.slug] += line.net
    for take in rows:
        rest[take.material] -= number_of(take.amount)
    for line in {line.material.slug: line for line in takeoff.order.lines}.values():
        if abs(rest[line.material.slug]) > SPARE * max(line.net, 1.0):
            rows.append(_apart(line, rest[line.material.slug], TOP + len(rows)))
    return tuple(rows)


@dataclass(frozen=True)
class _Taken:
    """What the pieces of one label take of one material."""

    material: str
    pieces: tuple[_Piece, ...]
    needs: tuple[tuple[Need, ...], ...]
    """Of each piece."""

    @cached_property
    def amounts(self) -> list[float]:
        return [sum(n.amount for n in some) for some in self.needs]

    @property
    def rates(self) -> list[float]:
        return [a / p.covers for a, p in zip(self.amounts, self.pieces, strict=True) if p.covers > 0]

    @cached_property
    def even(self) -> bool:
        """One coverage explains all amounts, each as near as its area or lengths are known."""
        if not (whole := sum(p.covers for p in self.pieces)):
            return False
        rate = sum(self.amounts) / whole
        return all(
            abs(amount - rate * p.covers) <= rate * (2 * TIE * len(p.refs) + EVEN * p.covers)
            for amount, p in zip(self.amounts, self.pieces, strict=True)
        )

    def of_kind(self, kind: str) -> _Taken:
        kept = [(p, n) for p, n in zip(self.pieces, self.needs, strict=True) if p.kind == kind]
        return _Taken(self.material, tuple(p for p, _ in kept), tuple(n for _, n in kept))


def _all_taken(pieces: Sequence[_Piece], needs: Mapping[str, list[Need]]) -> Iterator[_Taken]:
    """What `pieces` take of each material that they take any of."""
    by_material: dict[str, dict[int, list[Need]]] = {}
    for number, piece in enumerate(pieces):
        for need in (need for ref in piece.refs for need in needs.get(ref, ())):
            by_material.setdefault(need.material, {}).setdefault(number, []).append(need)
    for material, mine in by_material.items():
        yield _Taken(material, tuple(pieces), tuple(tuple(mine.get(n, ())) for n in range(len(pieces))))


def _groups(taken: _Taken) -> list[tuple[_Taken, str]]:
    """`taken` as one, or kind by kind of surface where only the kinds differ; a kind that takes nothing is left out."""
    if taken.even:
        return [(taken, "")]
    kinds = dict.fromkeys(piece.kind for piece in taken.pieces)
    apart = [(taken.of_kind(kind), kind) for kind in kinds]
    if len(apart) > 1 and all(group.even or not any(group.amounts) for group, _ in apart):
        return [(group, kind) for group, kind in apart if any(group.amounts)]
    return [(taken, "")]


def _take(takeoff: Takeoff, taken: _Taken, kind: str, row: int) -> Take:
    label, measure = taken.pieces[0].label, taken.pieces[0].measure
    whole, rates = sum(p.covers for p in taken.pieces), taken.rates
    layers = _layers(takeoff, taken)
    rate = sum(taken.amounts) / whole if whole > 0 else 0.0
    if taken.even:
        amounts = {layer.amount for layer in layers}
        exact = min(amounts) if len(amounts) == 1 else sum(layer.amount for layer in layers)
        rate, how = (exact, _joined(layers, "how", " + ")) if abs(exact - rate) <= EVEN * rate else (rate, "")
    else:
        how = f"average; from {min(rates, default=0):.3g} to {max(rates, default=0):.3g}"
    label_cell, of_kind = cell_at(BUILD_UP_COLUMNS, "Build-up", row), f',surface_kind,"{kind}"' if kind else ""
    ranges = "surface_net,surface_takes" if measure == "m2" else "angle_total,angle_takes"
    live = Live(f"=SUMIFS({ranges},{label_cell}{of_kind})", whole)
    product = f"={cell_at(BUILD_UP_COLUMNS, 'Covers', row)}*{cell_at(BUILD_UP_COLUMNS, 'Coverage', row)}"
    amount = Live(product, whole * rate)
    uneven = {} if taken.even else _room_rates(taken)
    source = _joined(layers, "source", "; ")
    return Take(label, taken.material, row, measure, kind, live, rate, amount, how, source, uneven)


def _layers(takeoff: Takeoff, taken: _Taken) -> list[Layer]:
    """The layers of build-ups that the needs came from, each once: of what was laid out as well."""
    found: dict[tuple[str, int], Layer] = {}
    for need in (need for needs in taken.needs for need in needs):
        build_up = takeoff.work.build_ups.get(need.build_up)
        if build_up and 0 < need.layer <= len(build_up.layers):
            found[need.build_up, need.layer] = build_up.layers[need.layer - 1]
    return list(found.values())


def _joined(layers: Iterable[Layer], what: str, by: str) -> str:
    """What the layers say, each word of it once."""
    return by.join(dict.fromkeys(text for layer in layers if (text := getattr(layer, what))))


def _room_rates(taken: _Taken) -> dict[str, float]:
    """Coverage in each room."""
    covered: dict[str, float] = defaultdict(float)
    amounts: dict[str, float] = defaultdict(float)
    for piece, amount in zip(taken.pieces, taken.amounts, strict=True):
        covered[piece.room] += piece.covers
        amounts[piece.room] += amount
    return {room: amounts[room] / covered[room] for room in covered if covered[room] > 0}


def _found(needs: Sequence[Need], row: int) -> Take:
    """Needs of findings that take one material at one rate."""
    need, covers = needs[0], sum(n.quantity for n in needs)
    product = f"={cell_at(BUILD_UP_COLUMNS, 'Covers', row)}*{cell_at(BUILD_UP_COLUMNS, 'Coverage', row)}"
    how = need.how if len(needs) == 1 else f"{len(needs)} in all; the first: {need.how}"
    label, source = (FOUND, "") if need.finding else (LISTED, "job file")
    amount = Live(product, covers * need.rate)
    return Take(label, need.material, row, "", need.per, covers, need.rate, amount, how, source)


def _apart(line: OrderLine, amount: float, row: int) -> Take:
    return Take(APART, line.material.slug, row, "", "", None, None, amount, line.how, "")
