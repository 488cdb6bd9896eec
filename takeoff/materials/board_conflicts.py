"""A bound for few pieces: which of them cannot come from one sheet, and how few sheets that leaves. Millimetres.

Terms:
  conflict  two pieces that no sheet of a size yields together: they fit neither side by side nor end to end, and
            neither can lie, if only in part, in a free place of the other (a host, see `board_hosts`).
  lead      the first piece, in a fixed order, of all that come from one sheet; it stands for the sheet.
  count     what a piece takes of a sheet under a pair of scales, along and across (see `board_scales`).

Every real cutting gives each piece a lead and each lead a sheet, without conflicts, such that on each sheet areas,
counts and the lengths of factory edges needed stay within the sheet's own. CP-SAT seeks the least area of sheets for
which that holds. Whatever it has proven when it stops is a bound, for no cutting, guillotine or not, can do with less:
much that cannot be cut would pass, nothing that can be cut is shut out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import ceil, floor
from typing import Any

from takeoff.materials.board_hosts import Host, guest_of, hosts_of, kept_share
from takeoff.materials.board_offcuts import Blank
from takeoff.materials.board_rules import BoardSpec, Size
from takeoff.materials.board_scales import Scale, whole
from takeoff.materials.board_tolerances import SAME_PLACE_MM
from takeoff.materials.searching import search

__all__ = ["MOST_BLANKS", "fewest_sheets"]

MOST_BLANKS = 60
"""Of more pieces every two are not looked at; there one sheet is a small share, and the scales alone come near."""
EFFORT = 0.3
"""What CP-SAT may spend, in its deterministic time: about seconds of a quick machine."""
STEP_MM2 = 100.0
"""Areas are told to CP-SAT in whole steps, rounded so that they shut nothing out."""

Scales = tuple[Scale, Scale]
"""Along the sheet and across it."""


def fewest_sheets(blanks: Sequence[Blank], scales: Sequence[Scales], spec: BoardSpec) -> float:
    """Square metres of sheets that no cutting of `blanks` goes below; 0 where there are more than `MOST_BLANKS`."""
    from ortools.sat.python import cp_model

    if not blanks or len(blanks) > MOST_BLANKS:
        return 0.0
    task = _Task(sorted(blanks, key=lambda b: (-b.width * b.length, b.ref)), spec)
    model = cp_model.CpModel()
    with_lead, sheets = _leads(model, task)
    for lead in range(len(task.blanks)):
        _keep_apart(model, task, lead, with_lead, sheets)
        _keep_within(model, task, lead, with_lead, sheets, scales)
    model.minimize(sum(sheet * floor(_area(spec.sizes[n])) for (_, n), sheet in sheets.items()))
    found = search(EFFORT)
    found.parameters.linearization_level = 2
    found.solve(model)
    return max(0.0, float(found.best_objective_bound)) * STEP_MM2 / 1e6


@dataclass(frozen=True)
class _Task:
    blanks: Sequence[Blank]
    spec: BoardSpec

    @cached_property
    def hosts(self) -> Sequence[Sequence[Host]]:
        """The free places of each piece."""
        return [list(hosts_of([blank], self.spec)) for blank in self.blanks]

    @cached_property
    def apart(self) -> Mapping[tuple[int, int], frozenset[int]]:
        """The sizes of sheet, by number, that do not yield both of two pieces; pairs without any are left out."""
        found = {}
        for i, j in combinations(range(len(self.blanks)), 2):
            if not (self._may_lie_in(i, j) or self._may_lie_in(j, i)):
                no = frozenset(n for n, size in enumerate(self.spec.sizes) if not self._both(i, j, size))
                if no:
                    found[i, j] = no
        return found

    def fits(self, number: int, size: Size) -> bool:
        """Whether a sheet of this size yields the piece."""
        blank = self.blanks[number]
        if blank.left and blank.right and size.width > blank.width + SAME_PLACE_MM:
            return False
        return any(
            width <= size.width + SAME_PLACE_MM and length <= size.length + SAME_PLACE_MM
            for width, length in _ways(blank)
        )

    def _may_lie_in(self, guest: int, host: int) -> bool:
        blank = self.blanks[guest]
        return any(blank.either_way or place.takes(guest_of(blank)) for place in self.hosts[host])

    def _both(self, i: int, j: int, size: Size) -> bool:
        """Whether two whole rectangles fit a sheet that is cut in two, side by side or end to end."""
        spec = self.spec
        wide = size.width - spec.width_tolerance - spec.kerf + SAME_PLACE_MM
        long = size.length - spec.length_tolerance - spec.kerf + SAME_PLACE_MM
        return any(
            (a[0] + b[0] <= wide and max(a[1], b[1]) <= size.length + SAME_PLACE_MM)
            or (a[1] + b[1] <= long and max(a[0], b[0]) <= size.width + SAME_PLACE_MM)
            for a in _ways(self.blanks[i])
            for b in _ways(self.blanks[j])
        )


def _ways(blank: Blank) -> Iterator[tuple[float, float]]:
    """(width, length) as it may lie."""
    yield blank.width, blank.length
    if blank.either_way:
        yield blank.length, blank.width


Vars = Mapping[tuple[int, int], Any]


def _leads(model: Any, task: _Task) -> tuple[Vars, Vars]:
    """By (lead, piece): the piece comes from the lead's sheet. By (lead, size): that sheet is of this size."""
    with_lead: dict[tuple[int, int], Any] = {}
    sheets: dict[tuple[int, int], Any] = {}
    total = len(task.blanks)
    for lead in range(total):
        for n, size in enumerate(task.spec.sizes):
            if task.fits(lead, size):
                sheets[lead, n] = model.new_bool_var("")
        own = [n for n in range(len(task.spec.sizes)) if (lead, n) in sheets]
        with_lead[lead, lead] = model.new_bool_var("")
        model.add(sum(sheets[lead, n] for n in own) == with_lead[lead, lead])
        for piece in range(lead + 1, total):
            no = task.apart.get((lead, piece), frozenset())
            yields = [n for n in own if n not in no and task.fits(piece, task.spec.sizes[n])]
            if yields:
                with_lead[lead, piece] = model.new_bool_var("")
                model.add(with_lead[lead, piece] <= sum(sheets[lead, n] for n in yields))
    for piece in range(total):
        model.add_exactly_one(with_lead[lead, piece] for lead in range(piece + 1) if (lead, piece) in with_lead)
    return with_lead, sheets


def _keep_apart(model: Any, task: _Task, lead: int, with_lead: Vars, sheets: Vars) -> None:
    """No two pieces on the lead's sheet that its size does not yield together."""
    own = {n for n in range(len(task.spec.sizes)) if (lead, n) in sheets}
    others = [i for i in range(lead + 1, len(task.blanks)) if (lead, i) in with_lead]
    for i, j in combinations(others, 2):
        no = own & task.apart.get((i, j), frozenset())
        if no:
            pair = with_lead[lead, i] + with_lead[lead, j]
            model.add(pair <= 1 if no == own else pair + sum(sheets[lead, n] for n in no) <= 2)


def _keep_within(model: Any, task: _Task, lead: int, with_lead: Vars, sheets: Vars, scales: Sequence[Scales]) -> None:
    """Areas, factory edges and counts on the lead's sheet within its own."""
    members = [i for i in range(lead, len(task.blanks)) if (lead, i) in with_lead]
    own = [n for n in range(len(task.spec.sizes)) if (lead, n) in sheets]
    sizes = task.spec.sizes
    area = sum(sheets[lead, n] * ceil(_area(sizes[n])) for n in own)
    edges = sum(sheets[lead, n] * ceil(2 * sizes[n].length) for n in own)
    model.add(sum(with_lead[lead, i] * floor(_net(task.blanks[i])) for i in members) <= area)
    model.add(sum(with_lead[lead, i] * floor(_edges(task.blanks[i])) for i in members) <= edges)
    upright = [i for i in members if not task.blanks[i].either_way]
    for along, across in scales:
        counts = {i: along.at(task.blanks[i].length) * across.at(task.blanks[i].width) / STEP_MM2 for i in upright}
        saved = list(_saved(model, task, lead, with_lead, (along, across), counts))
        model.add(sum(with_lead[lead, i] * floor(count) for i, count in counts.items()) - sum(saved) <= area)


def _saved(
    model: Any, task: _Task, lead: int, with_lead: Vars, scales: Scales, counts: Mapping[int, float]
) -> Iterator[Any]:
    """What guests may save in each free place of the pieces on the lead's sheet, at most."""
    along, across = scales
    for host in (i for i in counts if task.hosts[i]):
        for place in task.hosts[host]:
            guests = {i: guest_of(task.blanks[i]) for i in counts if i != host}
            guests = {i: guest for i, guest in guests.items() if place.takes(guest)}
            if not guests:
                continue
            room = _room(place, guests.values(), scales) / STEP_MM2
            saved = model.new_int_var(0, ceil(room), "")
            shares = {i: 1.0 - kept_share(guest, place, along, across, facing=True) for i, guest in guests.items()}
            most = sum(with_lead[lead, i] * ceil(counts[i] * max(0.0, share)) for i, share in shares.items())
            model.add(saved <= most)
            model.add(saved <= with_lead[lead, host] * ceil(room))
            yield saved


def _room(place: Host, guests: Any, scales: Scales) -> float:
    """The most that guests can count in a free place."""
    own = list(guests)
    long = scales[0].only({whole(length) for _, length, _ in own}).most_in(place.length + place.beyond)
    wide = scales[1].only({whole(width) for width, _, _ in own}).most_in(place.width + place.beside)
    return long * wide


def _area(size: Size) -> float:
    return size.width * size.length / STEP_MM2


def _net(blank: Blank) -> float:
    """What of a piece is board at least: its box less the boxes round its free places."""
    free = sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in blank.free)
    if blank.slope is not None:
        free += blank.width * (blank.length - min(blank.slope))
    return max(0.0, blank.width * blank.length - free) / STEP_MM2


def _edges(blank: Blank) -> float:
    """Length of factory edge that a piece takes at least: along each joint, less free places and the slope there."""
    short = blank.length - min(blank.slope) if blank.slope is not None else 0.0
    left = sum(y1 - y0 for x0, y0, _, y1 in blank.free if x0 <= SAME_PLACE_MM)
    right = sum(y1 - y0 for _, y0, x1, y1 in blank.free if x1 >= blank.width - SAME_PLACE_MM)
    taken = blank.left * max(0.0, blank.length - short - left) + blank.right * max(0.0, blank.length - short - right)
    return float(taken)
