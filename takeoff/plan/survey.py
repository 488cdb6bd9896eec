"""What a drawing shows before anything is decided about its rooms: what each layer is for, where the plans are, labels,
and the walls with their openings closed.

That is most of the work of a plan, and of the job file it hangs on [[wall]] and [[opening]] alone: whoever tries one
decision after another on a drawing surveys it once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats
from takeoff.job import Job
from takeoff.plan.bound import out_of_sheets
from takeoff.plan.enclose import Enclosure, Stock, Symbols, enclose, read_symbols, take_stock
from takeoff.plan.fabric import LayerSigns, layer_signs, paired_in_walls
from takeoff.plan.found_openings import Witnesses, told_widths
from takeoff.plan.hand_walls import hand_entities
from takeoff.plan.labels import Label, read_labels
from takeoff.plan.layers import Role, layer_roles
from takeoff.plan.mixed import is_mixed
from takeoff.plan.pens import figured, penned
from takeoff.plan.rooflights import Rooflight, find_rooflights, without_rooflights
from takeoff.plan.rooms import Spaces, find_spaces
from takeoff.plan.schedules import opening_labels, opening_notes, read_schedules
from takeoff.plan.storeys import Sheet, SheetRegion, read_sheet
from takeoff.plan.trial import BETTER, told_roles, worth_of

__all__ = ["Survey", "survey"]

_CALLED = 3
"""Where so many rooms are called by a name, a closed figure with none is rather furniture than a room."""
_MOST = 2 / 3
"""Pens that hold this share of the paired lines stand for the layers, where neither make rooms by themselves."""
_FURNITURE = Role("furniture", 0.6, why="closed figures without which the walls make rooms as good")


@dataclass(frozen=True, slots=True)
class Survey:
    drawing: Drawing
    """In metres."""
    roles: tuple[Role, ...]
    """Of the layers."""
    names_tell: bool
    """The layers' names say which hold the walls."""
    mixed: bool
    """No name does, and the walls share their layers with everything else (see `takeoff.plan.mixed`)."""
    sheet: Sheet
    labels: tuple[Label, ...]
    witnesses: Witnesses
    rooflights: tuple[Rooflight, ...]
    enclosure: Enclosure
    """Walls with their openings closed."""
    mended: Enclosure
    """The same as the spaces are found in it."""
    spaces: Spaces

    @property
    def plans(self) -> list[SheetRegion]:
        """The regions of the sheet that are plans."""
        return [r for r in self.sheet.regions if r.kind == "plan"]

    @property
    def names(self) -> Floats:
        """Places (n, 2) of the rooms' labels."""
        return _names(self.labels)


def survey(drawing: Drawing, job: Job) -> Survey:
    """What `drawing` (in metres) shows, with the walls and openings that `job` puts in by hand.

    Raises `DrawingError` when more lines lie over one another than walls could be told among, `JobError` for an
    opening marked where no wall is.
    """
    drawing = out_of_sheets(drawing)
    roles = layer_roles(drawing)
    sheet = read_sheet(drawing, roles)
    usable = np.isin(sheet.region_of, [n for n, r in enumerate(sheet.regions) if r.kind == "plan"])
    labels = tuple(read_labels(drawing, roles))
    rows = read_schedules(drawing)
    marks = rows.sizes.keys() | rows.unclear.keys()
    witnesses = Witnesses(rows.sizes, opening_labels(drawing, labels, marks), rows.unclear, opening_notes(labels))
    rooflights = find_rooflights(drawing)
    usable = without_rooflights(drawing, rooflights, usable)
    names, told = _names(labels), told_widths(witnesses)
    drawn = usable & ~hand_entities(drawing)[drawing.segments.entity]
    read, tried = _likeliest(_reading(drawing, take_stock(drawing, drawn), roles), _Told(labels, names, told))
    enclosure = _enclosed(read, names, told, job) if tried is None or job.opening else tried
    mended, spaces = find_spaces(read.drawing, read.roles, enclosure, names)
    tell = read.signs.names_tell
    mixed = not tell and is_mixed(read.drawing, enclosure.fabric_layers, read.symbols.doors)
    return Survey(
        read.drawing, read.roles, tell, mixed, sheet, labels, witnesses, rooflights, enclosure, mended, spaces
    )


@dataclass(frozen=True)
class _Reading:
    """A drawing with what its layers are taken for, and what follows from that before any wall is known."""

    drawing: Drawing
    stock: Stock
    roles: tuple[Role, ...]
    signs: LayerSigns
    symbols: Symbols


@dataclass(frozen=True)
class _Told:
    """What the drawing's texts tell: labels, the places of rooms' names, and the widths of openings."""

    labels: tuple[Label, ...]
    names: Floats
    widths: Floats


def _reading(drawing: Drawing, stock: Stock, roles: tuple[Role, ...]) -> _Reading:
    signs = layer_signs(drawing, roles, stock.usable)
    return _Reading(drawing, stock, roles, signs, read_symbols(drawing, stock, roles))


def _enclosed(read: _Reading, names: Floats, told: Floats, job: Job) -> Enclosure:
    return enclose(
        read.drawing, read.stock, read.roles, read.signs.under(read.roles), read.symbols, names, told, job
    )


def _likeliest(read: _Reading, told: _Told) -> tuple[_Reading, Enclosure | None]:
    """The reading under which the walls make the best rooms, where no layer's name tells which they are: pens count as
    layers unless they make worse rooms. With it the walls closed, the job file's openings left out, where that was
    tried.
    """
    whole = _with_walls_told(read, told)
    apart = penned(read.drawing, read.signs.candidates)
    if apart is None:
        return _without_figures(whole, None, told)
    split = _reading(apart, read.stock, layer_roles(apart))
    pens = _with_walls_told(split, told)
    if whole is read and len(read.signs.candidates) > 1 and (pens is not split or _hold_walls(split, read)):
        return _without_figures(pens, None, told)  # no layer makes rooms by itself
    tried = [_tried(r, told) for r in (pens, whole)]
    worth = [worth_of(t.spaces, told.labels) for t in tried]
    best = tried[0 if worth[0] >= worth[1] else 1]
    return _without_figures(best.read, best, told)


def _hold_walls(pens: _Reading, whole: _Reading) -> bool:
    """Whether the pens that look like walls hold most of the paired lines of the layers that do."""
    paired = [paired_in_walls(r.drawing, r.roles, r.signs) for r in (pens, whole)]
    return len(pens.signs.candidates) > 1 and paired[0] >= _MOST * paired[1]


@dataclass(frozen=True)
class _Tried:
    """A reading with its walls closed, the job file's openings left out, and the spaces, leaks left open."""

    read: _Reading
    enclosure: Enclosure
    spaces: Spaces


def _tried(read: _Reading, told: _Told) -> _Tried:
    return _Tried(read, *_closed(read, read.roles, told))


def _without_figures(read: _Reading, tried: _Tried | None, told: _Told) -> tuple[_Reading, Enclosure | None]:
    """`read`, or the same with the figures on its wall layers taken for furniture where rooms are no worse for it."""
    walls = [n for n in read.signs.candidates if read.roles[n].name == "wall"] or read.signs.candidates
    apart = figured(read.drawing, walls)
    if apart is None:
        return read, tried.enclosure if tried else None
    roles = (*read.roles, *[_FURNITURE] * (len(apart.layers) - len(read.roles)))
    bare, whole = _tried(_reading(apart, read.stock, roles), told), tried or _tried(read, told)
    best = bare if _no_worse(bare.spaces, whole.spaces, told.labels) else whole
    return best.read, best.enclosure


def _no_worse(bare: Spaces, whole: Spaces, labels: Sequence[Label]) -> bool:
    """Whether the spaces without the figures are no worse than with them; where few rooms are called by names, whether
    they are better."""
    called = sum(label.is_called for label in labels) >= _CALLED
    worth = [worth_of(spaces, labels, called=called) for spaces in (bare, whole)]
    if called and worth[0] == worth[1]:
        return _floor(bare) >= _floor(whole)
    return worth[0] >= worth[1] + (0 if called else BETTER)


def _floor(spaces: Spaces) -> float:
    """Floor of the rooms with names, m2: furniture against a wall takes from it."""
    return float(shapely.area(spaces.arrangement.polygons[spaces.room & spaces.named]).sum())


def _with_walls_told(read: _Reading, told: _Told) -> _Reading:
    signs = read.signs
    found = told_roles(
        read.roles, signs.candidates, told.labels, lambda roles: _closed(read, roles, told)[1], signs.surrounding
    )
    if found == read.roles:
        return read
    return replace(read, roles=found, symbols=read_symbols(read.drawing, read.stock, found))


def _closed(read: _Reading, roles: tuple[Role, ...], told: _Told) -> tuple[Enclosure, Spaces]:
    """The walls closed under `roles`, and the spaces, leaks left open."""
    enclosure = _enclosed(replace(read, roles=roles), told.names, told.widths, Job())
    return enclosure, find_spaces(read.drawing, roles, enclosure, told.names, leaks=False)[1]


def _names(labels: Sequence[Label]) -> Floats:
    return np.array([x.at for x in labels if x.is_room], dtype=float).reshape(-1, 2)
