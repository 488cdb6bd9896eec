"""The drawing closed: fabric, bridges across openings, small misses healed, and the faces that result.

One pass for the whole sheet; storeys are told apart afterwards. The steps and their words are in
`fabric` (what is a wall line), `jambs` and `gaps` (where walls stop), `openings` (which gaps are openings),
`recess`, `heal`, and `takeoff.geometry.planar` (faces).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats, Index, Mask
from takeoff.geometry.noding import Cuts, check_crowding, cuts_of
from takeoff.geometry.planar import Arrangement, arranged
from takeoff.geometry.runs import straight_runs
from takeoff.geometry.vectors import lengths
from takeoff.job import Job
from takeoff.plan.curved_gaps import with_curved
from takeoff.plan.deep import with_mouths
from takeoff.plan.evidence import Evidence, Pool, pool_of
from takeoff.plan.fabric import LayerSigns, Lights, door_lines, fabric_lines, glass_walls, speaking
from takeoff.plan.figures import Figures, bodies_and_floors
from takeoff.plan.furniture import furniture_boxes
from takeoff.plan.gaps import Gaps, beside_islands, between_columns, find_gaps
from takeoff.plan.hand_openings import marked_openings
from takeoff.plan.hand_walls import hand_entities, with_walls_met
from takeoff.plan.heal import (
    close_corners,
    close_misses,
    close_open_ends,
    close_short_walls,
    meet_bridges,
    meet_ends,
    trim_overruns,
)
from takeoff.plan.inset import hung_in_walls, in_walls, leaning_leaves
from takeoff.plan.jambs import TOUCH, Jambs, find_jambs
from takeoff.plan.layers import Role
from takeoff.plan.linework import BRIDGE, COLUMN, GLASS, HEALED, Lines, joined, made_lines
from takeoff.plan.old_walls import with_old_walls
from takeoff.plan.openings import Candidate, accept_gaps, leaves_joined
from takeoff.plan.patterns import patterned
from takeoff.plan.proofs import Proofs, beamed, bowed, told_of
from takeoff.plan.recess import Mouths, explained_mouths, find_mouths
from takeoff.plan.reveals import with_both_faces
from takeoff.plan.symbols import Mark, Swings, find_marks, find_swings

__all__ = ["SAME_PLACE", "Enclosure", "Stock", "Symbols", "enclose", "read_symbols", "take_stock"]

SAME_PLACE = TOUCH
"""Ends nearer than this are one node, metres."""
_POCKET = 2.2
"""How far a sliding leaf goes into the wall, metres: the widest leaf (common practice)."""
_WIDEST = 4.0
"""Longer sides of a floor's outline tell of no opening, metres: they run along a wall from end to end."""


@dataclass(frozen=True)
class Enclosure:
    """Everything the rooms are read from."""

    lines: Lines
    cuts: Cuts
    """Where the lines are cut."""
    arrangement: Arrangement
    candidates: tuple[Candidate, ...]
    runs: Floats
    """Straight runs of the fabric, (r, 4)."""
    gaps: Gaps
    fabric_layers: Mask
    """Mask over the drawing's layers."""
    marks: tuple[Mark, ...]
    swings: Swings
    evidence: Index
    """Numbers of the segments that speak for openings."""
    bodies: Figures
    """Closed figures as thin as walls and piers, whatever their layers."""
    floors: Figures
    """Closed outlines as wide as floors, whatever their layers."""

    def with_lines(self, more: Lines) -> Enclosure:
        """The same with further lines in it."""
        cuts = self.cuts.with_more(more.ends)
        return replace(self, lines=joined(self.lines, more), cuts=cuts, arrangement=arranged(cuts))


@dataclass(frozen=True)
class Symbols:
    """What is read of doors and windows before any wall is known."""

    swings: Swings
    marks: tuple[Mark, ...]
    doors: Mask
    """Segments that are leaves of doors or their swings."""
    speaks: Mask
    """Segments of entities that may belong to openings."""


@dataclass(frozen=True)
class Stock:
    """What is made of a drawing once, whatever its entities' layers are and what they are taken for."""

    usable: Mask
    """Segments that belong to plans, but for those drawn by hand."""
    pool: Pool
    """Of the usable segments."""
    dashed: Pool
    """Of the straight dashed ones among them."""
    boxes: Figures
    """As large as furniture."""
    bodies: Figures
    """As thin as walls and piers."""
    floors: Figures
    """As wide as floors."""
    loose: Mask
    """Segments that belong to no symbol."""


def take_stock(drawing: Drawing, usable: Mask) -> Stock:
    """The stock of `drawing` (metres), of which `usable` masks the segments. Raises `DrawingError` when more lines lie
    over one another than walls could be told among.
    """
    segments = drawing.segments
    pool = pool_of(segments.ends, usable)
    check_crowding(segments.ends[pool.numbers], 2 * TOUCH, pool.tree)
    dashed = pool_of(segments.ends, usable & drawing.dashed[segments.entity] & (segments.arc < 0))
    loose = np.array([e.symbol < 0 for e in drawing.entities], dtype=bool)[segments.entity]
    return Stock(usable, pool, dashed, furniture_boxes(drawing), *bodies_and_floors(drawing), loose)


def read_symbols(drawing: Drawing, stock: Stock, roles: Sequence[Role]) -> Symbols:
    """The symbols of `drawing` (metres), whose `stock` was taken, under the `roles` of its layers."""
    swings, marks = find_swings(drawing, roles), find_marks(drawing, roles)
    speaks = stock.usable & speaking(drawing, roles, marks)[drawing.segments.entity]
    speaks &= ~_filling(drawing, roles, speaks) & ~_round_floors(drawing, roles, stock)
    return Symbols(swings, marks, door_lines(drawing, swings), speaks)


def _filling(drawing: Drawing, roles: Sequence[Role], speaks: Mask) -> Mask:
    """Which of the segments that speak for openings (mask) belong to patterns on layers whose names say nothing."""
    segments = drawing.segments
    silent = np.array([r.name not in ("door", "window", "opening") for r in roles], dtype=bool)
    some = np.flatnonzero(speaks & (segments.arc < 0) & silent[drawing.layer_numbers[segments.entity]])
    filling = np.zeros(len(speaks), dtype=bool)
    filling[some[patterned(segments.ends[some])]] = True
    return filling


def _round_floors(drawing: Drawing, roles: Sequence[Role], stock: Stock) -> Mask:
    """Segments (mask) longer than openings of what outlines floors on layers whose names say nothing."""
    floors, segments = stock.floors.entity, drawing.segments
    silent = np.array([r.name == "unknown" for r in roles], dtype=bool)[drawing.layer_numbers[floors]]
    round_floors = np.zeros(len(drawing.entities), dtype=bool)
    round_floors[floors[silent]] = True
    return round_floors[segments.entity] & (lengths(segments.ends) > _WIDEST)


def enclose(
    drawing: Drawing,
    stock: Stock,
    roles: Sequence[Role],
    signs: LayerSigns,
    symbols: Symbols,
    names: Floats,
    told: Floats,
    job: Job,
) -> Enclosure:
    """Close the line work of `drawing` (metres) as far as openings, small misses and the walls and openings of `job`
    explain; `stock` from `take_stock`, `signs` are those of its layers under `roles`, `symbols` from `read_symbols`,
    `names` (n, 2) are the places of rooms' names, `told` (k, 3) those of openings' tags and the widths they stand for.

    Raises `DrawingError` when more lines lie over one another than walls could be told among, `JobError` for an
    opening marked where no wall is.
    """
    swings, marks, doors = symbols.swings, symbols.marks, symbols.doors
    fabric, layers, lights = fabric_lines(drawing, roles, signs, swings, doors, stock.usable, stock.boxes, names)
    fabric = with_walls_met(drawing, fabric)
    layers[drawing.layer_numbers[hand_entities(drawing)]] = True
    evidence = _evidence(drawing, stock, symbols, fabric, lights.lines, roles)
    hints = _Hints(swings, marks, told, stock.dashed)
    fabric, runs, jambs, gaps, found = _openings(drawing, roles, fabric, evidence, hints)
    glass = glass_walls(drawing, roles, doors, evidence.numbers, *_strips(found, gaps))
    if len(glass):
        rest = evidence.without(np.isin(drawing.segments.entity, glass.entity))
        fabric, runs, jambs, gaps, found = _openings(drawing, roles, joined(fabric, glass), rest, hints)
    walls = (
        runs
        if not len(glass)
        else straight_runs(_walls_only(fabric), np.zeros(len(_walls_only(fabric)), dtype=np.int64))[0]
    )
    found = leaves_joined(found)
    loose = evidence.without(_hung_leaves(swings, found, len(doors)))
    found = [*found, *in_walls(drawing, roles, loose.numbers, walls, found, marks, lights.lines)]
    found = [*found, *hung_in_walls(swings, walls, found)]
    found = [*found, *leaning_leaves(swings, runs, walls, found)]
    mouths, no_doors = find_mouths(runs, jambs), evidence.without(doors)
    found = with_mouths(drawing, with_both_faces(found, runs), mouths, runs, no_doors)
    found = _glazed(found, drawing, lights)
    found = [*found, *marked_openings(drawing, job, gaps, walls, found)]
    mouths = mouths.take(explained_mouths(mouths, runs, no_doors))
    lines = _closed(fabric, runs, jambs, found, mouths)
    cuts = cuts_of(lines.ends, SAME_PLACE)
    still = evidence.numbers
    return Enclosure(
        lines, cuts, arranged(cuts), tuple(found), runs, gaps, layers, marks, swings, still, stock.bodies, stock.floors
    )


def _evidence(
    drawing: Drawing, stock: Stock, symbols: Symbols, fabric: Lines, lights: Index, roles: Sequence[Role]
) -> Evidence:
    """What speaks for openings and is no `fabric`, and the `lights`: numbers of windows' lines on wall layers."""
    taken = np.zeros(len(drawing.entities), dtype=bool)
    taken[fabric.entity[fabric.entity >= 0]] = True
    held = symbols.speaks & ~taken[drawing.segments.entity]
    held[lights] = True
    silent = np.array([r.name == "unknown" for r in roles], dtype=bool)[drawing.layer_numbers]
    passing = stock.loose & silent[drawing.segments.entity]
    passing[lights] = False
    return Evidence(stock.pool, held, passing)


def _hung_leaves(swings: Swings, found: Sequence[Candidate], count: int) -> Mask:
    """Which of `count` segments are leaves of the doors found: open, a leaf may lie along the wall beside it."""
    leaves, swing = swings.leaf_lines
    used = np.array(sorted({e for c in found for e in c.entities}), dtype=np.int64)
    hung = np.zeros(count, dtype=bool)
    hung[leaves[np.isin(swings.entity[swing], used)]] = True
    return hung


def _glazed(found: Sequence[Candidate], drawing: Drawing, lights: Lights) -> list[Candidate]:
    """The candidates, openings made windows where lines of windows on a wall layer lie in them; those are guessed whose
    lines may as well be a pier's.
    """
    glass, guessed = (set(drawing.segments.entity[n].tolist()) for n in (lights.lines, lights.guessed))
    made = []
    for c in found:
        kind = "window" if c.kind == "opening" and not glass.isdisjoint(c.entities) else c.kind
        unsure = kind == "window" and not guessed.isdisjoint(c.entities)
        made.append(replace(c, kind=kind, told=c.told and kind == c.kind, guessed=unsure))
    return made


@dataclass(frozen=True)
class _Hints:
    """What speaks for openings beside the evidence lines."""

    swings: Swings
    marks: Sequence[Mark]
    told: Floats
    dashed: Pool


def _openings(
    drawing: Drawing, roles: Sequence[Role], fabric: Lines, evidence: Evidence, hints: _Hints
) -> tuple[Lines, Floats, Jambs, Gaps, list[Candidate]]:
    fabric = replace(fabric, ends=trim_overruns(meet_ends(fabric.ends, fabric.arc), fabric.arc))
    fabric = joined(fabric, made_lines(close_misses(fabric.ends), HEALED))
    runs, _, run = straight_runs(fabric.ends, np.zeros(len(fabric), dtype=np.int64))
    columns = np.bincount(run, fabric.kind != COLUMN, minlength=len(runs)) == 0
    jambs = find_jambs(runs)
    gaps = with_curved(find_gaps(jambs, runs), jambs, fabric.ends[fabric.arc >= 0])
    gaps, jambs = with_old_walls(gaps, jambs, runs)
    proved = Proofs(told_of(gaps, hints.told) | beamed(gaps, hints.dashed), bowed(gaps, drawing.arcs.shape))
    at_column, apart = beside_islands(gaps, jambs, runs)
    apart |= between_columns(gaps, jambs, columns)
    found = accept_gaps(drawing, roles, gaps, evidence, hints.swings, hints.marks, proved, at_column, apart)
    return fabric, runs, jambs, gaps, found


def _walls_only(fabric: Lines) -> Floats:
    return np.asarray(fabric.ends[fabric.kind != GLASS])


def _strips(found: Sequence[Candidate], gaps: Gaps) -> tuple[np.ndarray, np.ndarray]:
    """The gaps of the openings as strips, and the same lengthened by a leaf within the wall."""
    own = gaps.take(np.array([g for c in found for g in c.gaps], dtype=np.int64))
    return own.strips(0.1, 0.15), own.strips(_POCKET, -0.005)


def _closed(fabric: Lines, runs: Floats, jambs: Jambs, found: Sequence[Candidate], mouths: Mouths) -> Lines:
    counts = [len(c.bridges) for c in found]
    bridges = np.concatenate([c.bridges for c in found]) if found else np.zeros((0, 4))
    owner = np.repeat(np.arange(len(found), dtype=np.int64), counts)
    lines = joined(
        fabric,
        made_lines(meet_bridges(bridges, fabric.ends), BRIDGE, owner),
        made_lines(mouths.line, BRIDGE),
        made_lines(close_short_walls(jambs, runs), HEALED),
        made_lines(close_open_ends(jambs), HEALED),
    )
    return joined(lines, made_lines(close_corners(lines.ends), HEALED))
