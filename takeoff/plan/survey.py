"""What a drawing shows before anything is decided about its rooms: what each layer is for, where the plans are, labels,
and the walls with their openings closed.

That is most of the work of a plan, and of the job file it hangs on [[wall]] and [[opening]] alone: whoever tries one
decision after another on a drawing surveys it once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.drawing.model import Drawing
from takeoff.geometry.cluster import Floats
from takeoff.geometry.planar import check_crowding
from takeoff.job import Job
from takeoff.plan.enclose import Enclosure, enclose, read_symbols
from takeoff.plan.fabric import layer_signs
from takeoff.plan.found_openings import Witnesses, told_widths
from takeoff.plan.hand_walls import hand_entities
from takeoff.plan.jambs import TOUCH
from takeoff.plan.labels import Label, read_labels
from takeoff.plan.layers import Role, layer_roles
from takeoff.plan.rooflights import Rooflight, find_rooflights, without_rooflights
from takeoff.plan.rooms import Spaces, find_spaces
from takeoff.plan.schedules import opening_labels, read_schedules
from takeoff.plan.storeys import Sheet, SheetRegion, read_sheet
from takeoff.plan.trial import told_roles

__all__ = ["Survey", "survey"]


@dataclass(frozen=True, slots=True)
class Survey:
    drawing: Drawing
    """In metres."""
    roles: tuple[Role, ...]
    """Of the layers."""
    names_tell: bool
    """The layers' names say which hold the walls."""
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
    roles = layer_roles(drawing)
    sheet = read_sheet(drawing, roles)
    usable = np.isin(sheet.region_of, [n for n, r in enumerate(sheet.regions) if r.kind == "plan"])
    labels = tuple(read_labels(drawing, roles))
    witnesses = Witnesses(read_schedules(drawing), opening_labels(drawing, labels))
    rooflights = find_rooflights(drawing)
    usable = without_rooflights(drawing, rooflights, usable)
    names, told = _names(labels), told_widths(witnesses)
    drawn = usable & ~hand_entities(drawing)[drawing.segments.entity]
    check_crowding(drawing.segments.ends[drawn], 2 * TOUCH)
    signs = layer_signs(drawing, roles, drawn)

    symbols = read_symbols(drawing, roles, drawn)

    def closed(assumed: tuple[Role, ...]) -> tuple[Enclosure, Spaces]:
        enclosure = enclose(drawing, assumed, signs.under(assumed), symbols, drawn, names, told, Job())
        return find_spaces(drawing, assumed, enclosure, names, leaks=False)

    found = told_roles(roles, signs.candidates, labels, closed)
    if found != roles:
        roles, symbols = found, read_symbols(drawing, found, drawn)
    enclosure = enclose(drawing, roles, signs.under(roles), symbols, drawn, names, told, job)
    mended, spaces = find_spaces(drawing, roles, enclosure, names)
    return Survey(drawing, roles, signs.names_tell, sheet, labels, witnesses, rooflights, enclosure, mended, spaces)


def _names(labels: Sequence[Label]) -> Floats:
    return np.array([x.at for x in labels if x.is_room], dtype=float).reshape(-1, 2)
