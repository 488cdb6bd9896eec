"""What a drawing shows before anything is decided about its rooms: what each layer is for, where the plans are, labels,
and the walls with their openings closed.

That is most of the work of a plan, and of the job file it hangs on [[wall]] and [[opening]] alone: whoever tries one
decision after another on a drawing surveys it once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats
from takeoff.job import Job
from takeoff.plan.bound import out_of_sheets
from takeoff.plan.enclose import Enclosure, Stock, Symbols, enclose, read_symbols, take_stock
from takeoff.plan.fabric import LayerSigns, layer_signs
from takeoff.plan.found_openings import Witnesses, told_widths
from takeoff.plan.hand_walls import hand_entities
from takeoff.plan.labels import Label, read_labels
from takeoff.plan.layers import Role, layer_roles
from takeoff.plan.mixed import is_mixed
from takeoff.plan.pens import penned
from takeoff.plan.rooflights import Rooflight, find_rooflights, without_rooflights
from takeoff.plan.rooms import Spaces, find_spaces
from takeoff.plan.schedules import opening_labels, read_schedules
from takeoff.plan.storeys import Sheet, SheetRegion, read_sheet
from takeoff.plan.trial import told_roles, worth_of

__all__ = ["Survey", "survey"]


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
    witnesses = Witnesses(read_schedules(drawing), opening_labels(drawing, labels))
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
        return whole, None
    pens = _with_walls_told(_reading(apart, read.stock, layer_roles(apart)), told)
    tried = [(r, *_closed(r, r.roles, told)) for r in (pens, whole)]
    worth = [worth_of(spaces, told.labels) for _, _, spaces in tried]
    return tried[0 if worth[0] >= worth[1] else 1][:2]


def _with_walls_told(read: _Reading, told: _Told) -> _Reading:
    found = told_roles(read.roles, read.signs.candidates, told.labels, lambda roles: _closed(read, roles, told)[1])
    if found == read.roles:
        return read
    return replace(read, roles=found, symbols=read_symbols(read.drawing, read.stock, found))


def _closed(read: _Reading, roles: tuple[Role, ...], told: _Told) -> tuple[Enclosure, Spaces]:
    """The walls closed under `roles`, and the spaces, leaks left open."""
    enclosure = _enclosed(replace(read, roles=roles), told.names, told.widths, Job())
    return enclosure, find_spaces(read.drawing, roles, enclosure, told.names, leaks=False)[1]


def _names(labels: Sequence[Label]) -> Floats:
    return np.array([x.at for x in labels if x.is_room], dtype=float).reshape(-1, 2)
