"""The layout of one surface: of several tried, the one that costs least with the off-cuts at hand. Millimetres."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise
from math import inf
from typing import Any

from takeoff.data import load
from takeoff.materials.board_columns import Support, column_choices, jamb_faults
from takeoff.materials.board_ends import Ends, EndSearch, Row, end_faults, rows_of, stagger_faults
from takeoff.materials.board_faces import Face, face_of
from takeoff.materials.board_offcuts import Blank, Stack
from takeoff.materials.board_pieces import Draft, drafts_of
from takeoff.materials.board_rules import BoardSpec, direction_of
from takeoff.materials.board_tolerances import KEEPS_MM
from takeoff.measure.model import Surface

__all__ = ["Choice", "choose", "faces_by_ref", "faces_of", "good_choices", "support_of"]

SEARCHES = 5
"""So often is the layout of a shape sought afresh, then mostly among those that were best before."""
MOST_KEPT = 8


@dataclass(frozen=True, eq=False)
class Choice:
    """A surface laid in the mind: joints, pieces, and what broken rules it has."""

    face: Face
    support: Support
    joints: tuple[float, ...]
    rows: tuple[Row, ...]
    ends: Ends
    drafts: tuple[Draft, ...]
    weight: float
    """What joints, noggings, pieces and broken rules weigh, as a cost."""
    faults: tuple[str, ...]

    def on(self, face: Face) -> Choice:
        """The same on another surface of this shape."""
        names = (f"{face.surface.ref}-{n}" for n in range(1, len(self.drafts) + 1))
        drafts = tuple(
            replace(d, blank=d.blank.named(name, face.surface.room)) for d, name in zip(self.drafts, names, strict=True)
        )
        return Choice(face, self.support, self.joints, self.rows, self.ends, drafts, self.weight, self.faults)

    @cached_property
    def largest_first(self) -> tuple[Blank, ...]:
        """What is cut for it, in the order of cutting."""
        blanks = (draft.blank for draft in self.drafts)
        return tuple(sorted(blanks, key=lambda b: (-round(b.width * b.length), b.ref)))


def faces_of(surface: Surface, spec: BoardSpec) -> tuple[Face, ...]:
    """The surface turned each way that its sheets may run."""
    faces = (face_of(surface, direction) for direction in direction_of(spec, surface.ref, surface.kind))
    return tuple(face for face in faces if face is not None)


def faces_by_ref(surfaces: Sequence[Surface], spec: BoardSpec) -> dict[str, tuple[Face, ...]]:
    """The faces of all surfaces; those of one shape share what is worked out of it."""
    alike: dict[Hashable, tuple[Face, ...]] = {}
    faces = {}
    for s in surfaces:
        key = (s.kind, direction_of(spec, s.ref, s.kind), s.length_m, s.height_m, s.outline, s.holes)
        if key not in alike:
            alike[key] = faces_of(s, spec)
        faces[s.ref] = tuple(replace(face, surface=s) for face in alike[key])
    return faces


def support_of(face: Face, spec: BoardSpec) -> Support:
    """The framing behind a face: studs stand upright; joists span the shorter way of a ceiling."""
    kind = face.surface.kind
    centres = spec.centres(face.surface.ref, kind) if kind in ("wall", "ceiling", "pier") else 0.0
    lengthwise = face.direction in ("up", "short")
    given = spec.framing_from.get(face.surface.ref)
    start = None if given is None else given * 1000.0
    if start is not None and face.direction == "along":
        start = face.length - start
    across = centres > 0 and not lengthwise
    noggings = across and (kind != "ceiling" or not spans_without(spec.thickness, centres))
    return Support(centres, lengthwise, start, noggings)


def spans_without(thickness: float, centres: float) -> bool:
    """Whether a ceiling board of this thickness needs no noggings between joists: the spans of build_ups.toml."""
    rows: Sequence[Mapping[str, Any]] = load("build_ups")["spans"]
    fit = [row for row in rows if row["thickness_mm"] <= thickness + 0.1]
    return bool(fit) and centres <= max(fit, key=lambda row: row["thickness_mm"])["ceiling_mm"] + 0.1


def choose(
    faces: Sequence[Face], spec: BoardSpec, stack: Stack, under: Mapping[str, Sequence[float]]
) -> tuple[Choice, Stack] | None:
    """The best layout of one surface and the stack after cutting it; None where no sheet serves.

    `under` has the long joints of the layer beneath, by direction.
    """
    best: tuple[float, Choice, Stack] | None = None
    for face in faces:
        support = support_of(face, spec)
        avoid = tuple(under.get(face.direction, ()))
        tried = face.known.tried.setdefault((support, avoid), _Tried())
        better: Choice | None = None
        for joints, ends in tried.next() or _candidates(face, spec, stack, support, avoid):
            choice = _choice(face, support, joints, ends, spec, avoid)
            after = stack.copy()
            most = inf if best is None else best[0] - choice.weight - 1e-9
            loss = _placed(after, choice.largest_first, most)
            if loss < most:
                best, better = (loss + choice.weight, choice, after), choice
        if better is not None:
            tried.keep(better)
    return None if best is None else best[1:]


def good_choices(faces: Sequence[Face], spec: BoardSpec, under: Mapping[str, Sequence[float]]) -> Iterator[Choice]:
    """Layouts of a surface, or of another of its shape, that were the best with some off-cuts."""
    for face in faces:
        support, avoid = support_of(face, spec), tuple(under.get(face.direction, ()))
        tried = face.known.tried.get((support, avoid))
        for joints, ends in tried.kept() if tried is not None else ():
            yield _choice(face, support, joints, ends, spec, avoid)


def _candidates(
    face: Face, spec: BoardSpec, stack: Stack, support: Support, avoid: tuple[float, ...]
) -> Iterator[tuple[tuple[float, ...], Ends]]:
    """Layouts of a face that suit the off-cuts at hand: long joints and end joints."""
    search = EndSearch(face, spec, stack, support)
    for columns in column_choices(face, spec, stack, support, avoid):
        for ends in search.choices(rows_of(face, columns.joints, spec)):
            yield columns.joints, ends


@dataclass
class _Tried:
    """Layouts of a face that were best before. The more often it was laid, the more seldom new ones are sought."""

    times: int = 0
    again: int = 0
    """When new ones are sought next."""
    best: dict[tuple[tuple[float, ...], tuple[tuple[float, ...], ...], float | None], Ends] = field(
        default_factory=dict
    )

    def next(self) -> list[tuple[tuple[float, ...], Ends]]:
        """Those to try this time; none where new ones are to be sought."""
        self.times += 1
        if self.times <= SEARCHES or self.times >= self.again:
            self.again = self.times + self.times // 2
            return []
        return self.kept()

    def kept(self) -> list[tuple[tuple[float, ...], Ends]]:
        """(long joints, end joints) of each, the latest last."""
        return [(key[0], ends) for key, ends in self.best.items()]

    def keep(self, choice: Choice) -> None:
        key = (choice.joints, choice.ends.joints, choice.ends.framing)
        self.best.pop(key, None)
        self.best[key] = choice.ends
        if len(self.best) > MOST_KEPT:
            self.best.pop(next(iter(self.best)))


def _placed(stack: Stack, blanks: Sequence[Blank], most: float) -> float:
    """What cutting all blanks from `stack` loses; infinite where one fits no sheet or it comes to `most`."""
    hope = [stack.least_loss(blank) for blank in blanks]
    left, loss = sum(hope), 0.0
    for blank, least in zip(blanks, hope, strict=True):
        try:
            loss += stack.place(blank)
        except ValueError:
            return inf
        left -= least
        if loss + left >= most:
            return inf
    return loss


def _choice(
    face: Face, support: Support, joints: tuple[float, ...], ends: Ends, spec: BoardSpec, avoid: tuple[float, ...]
) -> Choice:
    """The layout with these joints, worked out once."""
    known, key = face.known.choices, (face.surface.ref, support, joints, ends.joints, ends.framing, avoid)
    if key not in known:
        known[key] = _worked_out(face, support, joints, rows_of(face, joints, spec), ends, spec, avoid)
    found: Choice = known[key]
    return found


def _worked_out(
    face: Face,
    support: Support,
    joints: tuple[float, ...],
    rows: tuple[Row, ...],
    ends: Ends,
    spec: BoardSpec,
    avoid: Sequence[float],
) -> Choice:
    drafts = drafts_of(face, rows, ends, spec)
    weights = spec.weights
    solid = sum(hi - lo for x in joints for lo, hi in face.solid_at(x)) / 1000.0
    weight = solid * (weights["joint_m"] + (weights["nogging_m"] if support.nogging_at_joints else 0.0))
    weight += weights["piece"] * len(drafts)
    end_joints = [(row, y) for row, places in zip(rows, ends.joints, strict=True) for y in places]
    for row, y in end_joints:
        loose = ends.off_framing(y, support.centres)
        weight += row.part.width / 1000.0 * (weights["end_joint_m"] + (weights["nogging_m"] if loose else 0.0))
    at_jamb = sum(jamb_faults(face, spec, x) for x in joints)
    at_jamb += sum(end_faults(face, spec, row, y) for row, y in end_joints)
    poor = sum(
        stagger_faults(spec, a, b)
        for (r, a), (s, b) in pairwise(zip(rows, ends.joints, strict=True))
        if s.column == r.column + 1
    )
    poor += sum(any(abs(x - other) < spec.layer_clear - KEEPS_MM for other in avoid) for x in joints)
    slivers = sum(_is_sliver(d, face, spec) for d in drafts)
    extra = sum(
        lo > gap.x0 and hi < gap.x1 and gap.x1 - gap.x0 <= spec.widest
        for gap in face.gaps
        for lo, hi in pairwise((0.0, *joints, face.width))
    )
    weight += at_jamb * weights["joint_at_jamb"] + poor * weights["poor_stagger"] + slivers * weights["sliver"]
    weight += extra * weights["joint_too_many"]
    faults = []
    if at_jamb:
        faults.append(f"{_joints(at_jamb)} nearer than {spec.jamb_clear:.0f} mm to the line of an opening")
    if poor:
        faults.append(f"{_joints(poor)} nearer than {spec.stagger:.0f} mm to the next row's, or over the layer beneath")
    if slivers:
        faults.append(f"{slivers} piece{'s' if slivers > 1 else ''} smaller than a person would fix")
    return Choice(face, support, joints, rows, ends, drafts, weight * spec.cost_per_m2, tuple(faults))


def _joints(number: int) -> str:
    return f"{number} joint{'s' if number > 1 else ''}"


def _is_sliver(draft: Draft, face: Face, spec: BoardSpec) -> bool:
    """A piece too small to fix well, where the surface itself would allow a larger one."""
    part = draft.part
    narrow = part.width < min(spec.smallest_width, face.width) - KEEPS_MM
    return narrow or part.length < min(spec.smallest_length, face.length) - KEEPS_MM
