"""Boards laid sheet by sheet: what to order, where each piece comes from, its joints and fixings.

`lay_boards` takes the surfaces that one board goes on and the rules (`board_spec`), and returns a `BoardLayout`: sheets
to buy by size, every sheet with the pieces cut from it, every surface with its pieces, joints, screws, adhesive and
noggings, and bounds that show how little board could do. Two layers are laid one after the other: give the first
layout in `under` to the second, whose joints then keep clear of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from shapely import LineString, Polygon, get_parts
from shapely.affinity import affine_transform, translate

from takeoff.data import load
from takeoff.materials.board_bound import bound_of_pieces, in_sheets
from takeoff.materials.board_choice import Choice, faces_of
from takeoff.materials.board_fixings import fixings_of, framing_lines
from takeoff.materials.board_joints import FaceJoint, joints_of
from takeoff.materials.board_layout import lay
from takeoff.materials.board_offcuts import Cut, Stack
from takeoff.materials.board_pieces import Draft
from takeoff.materials.board_rules import BoardSpec, board_spec
from takeoff.materials.board_strips import bound_of_layouts
from takeoff.materials.board_tolerances import SAME_PLACE_MM, SPECK_MM
from takeoff.materials.boards_model import BoardLayout, Fixings, Joint, Laid, Piece, Placed, Point, Ring, Sheet
from takeoff.measure.model import Edge, Surface

__all__ = ["BoardLayout", "BoardSpec", "Laid", "Piece", "Sheet", "board_spec", "jointing_m", "lay_boards"]

JOINTED_ANGLES = ("internal angle", "wall to ceiling")
"""Edges that take scrim or tape; at external angles, openings and stops a bead runs instead."""


def lay_boards(
    surfaces: Sequence[Surface], spec: BoardSpec, edges: Iterable[Edge] = (), under: Iterable[BoardLayout] = ()
) -> BoardLayout:
    """Lay one board on `surfaces`, room by room as given. `edges` tell where external angles are (closer screws).

    `under` are the layouts of layers beneath, in the order laid: joints keep clear of the last on each surface.
    Surfaces that no sheet serves are left out and named in `BoardLayout.left_out`.
    """
    below = {ref: {laid.direction: laid.lines_mm} for layout in under for ref, laid in layout.surfaces.items()}
    plan = lay(surfaces, spec, below) if surfaces else None
    if plan is None:
        return BoardLayout(spec, {}, (), 0.0, 0.0, 0.0, 0.0)
    stack = plan.stack
    cuts = {cut.blank: cut for cut in stack.cuts}
    drafts = [draft for choice in _site_order(plan.choices) for draft in choice.drafts]
    numbers: dict[int, int] = {}
    first: dict[int, str] = {}
    for draft in drafts:
        sheet = cuts[draft.blank.ref].sheet
        numbers.setdefault(sheet, len(numbers) + 1)
        first.setdefault(sheet, draft.blank.ref)
    angles = _external_ends(edges)
    laid = {
        choice.face.surface.ref: _laid(choice, stack, cuts, numbers, first, angles.get(choice.face.surface.ref))
        for choice in plan.choices
    }
    return BoardLayout(
        spec=spec,
        surfaces=laid,
        sheets=_sheets(drafts, stack, cuts, numbers),
        net_m2=sum(own.net_m2 for own in laid.values()),
        bought_m2=sum(s.length * s.width for n, s in enumerate(stack.sheets) if n in numbers) / 1e6,
        bound_m2=in_sheets(bound_of_pieces([draft.blank for draft in drafts], spec), spec),
        strips_m2=in_sheets(bound_of_layouts([faces_of(c.face.surface, spec) for c in plan.choices], spec), spec),
        left_out=plan.left_out,
    )


def jointing_m(layout: BoardLayout, edges: Iterable[Edge]) -> dict[str, float]:
    """Metres of scrim or tape by room: all joints, and the angles of laid surfaces where no bead runs."""
    metres: dict[str, float] = {}
    for laid in layout.surfaces.values():
        metres[laid.room] = metres.get(laid.room, 0.0) + laid.joint_m()
    for edge in edges:
        if edge.kind in JOINTED_ANGLES and any(ref in layout.surfaces for ref in edge.surfaces):
            metres[edge.room] = metres.get(edge.room, 0.0) + edge.length_m
    return metres


def _site_order(choices: Sequence[Choice]) -> list[Choice]:
    """Room by room as given, in each the ceiling first, then walls, then the rest."""
    rooms = {room: n for n, room in enumerate(dict.fromkeys(c.face.surface.room for c in choices))}
    kinds = {"ceiling": 0, "wall": 1, "pier": 2, "reveal": 3}
    return sorted(choices, key=lambda c: (rooms[c.face.surface.room], kinds[c.face.surface.kind]))


def _external_ends(edges: Iterable[Edge]) -> dict[str, tuple[bool, bool]]:
    """Which ends (left, right) of a wall are external angles: an edge names the wall to its left end first."""
    ends: dict[str, tuple[bool, bool]] = {}
    for edge in edges:
        if edge.kind == "external angle" and len(edge.surfaces) == 2:
            before, after = edge.surfaces
            ends[before] = (True, ends.get(before, (False, False))[1])
            ends[after] = (ends.get(after, (False, False))[0], True)
    return ends


def _laid(
    choice: Choice,
    stack: Stack,
    cuts: Mapping[str, Cut],
    numbers: Mapping[int, int],
    first: Mapping[int, str],
    angles: tuple[bool, bool] | None,
) -> Laid:
    face, surface = choice.face, choice.face.surface
    joints = joints_of(choice, stack, cuts)
    fixings: Fixings = fixings_of(choice, joints, stack.spec, angles or (False, False))
    framing = framing_lines(choice, stack.spec)
    pieces = tuple(
        _piece(draft, choice, stack, cuts[draft.blank.ref], numbers, first[cuts[draft.blank.ref].sheet])
        for draft in choice.drafts
    )
    return Laid(
        surface=surface.ref,
        room=surface.room,
        kind=surface.kind,
        direction=face.direction,
        pieces=pieces,
        joints=tuple(_joint(joint, choice) for joint in joints),
        fixings=fixings,
        net_m2=face.shape.area / 1e6,
        framing_mm=framing,
        lines_mm=choice.joints,
        notes=(*choice.faults, *_cautions(surface, stack.spec)),
        framing=tuple(line for place in framing for line in _framing(choice, place)),
    )


def _framing(choice: Choice, place: float) -> Iterator[tuple[Point, Point]]:
    """A stud or joist as lines on the surface, where there is board over it."""
    face = choice.face
    ends = [(place, 0.0), (place, face.length)] if choice.support.lengthwise else [(0.0, place), (face.width, place)]
    for line in get_parts(LineString(ends).intersection(face.shape)).tolist():
        if line.length > SPECK_MM:
            (x0, y0), (x1, y1) = face.to_surface(line).coords
            yield (float(x0), float(y0)), (float(x1), float(y1))


def _cautions(surface: Surface, spec: BoardSpec) -> list[str]:
    if not surface.curved or surface.radius_m is None:
        return []
    known = {float(t): float(r) for t, r in load("boards")["bending"]["radius_m"].items()}
    least = min((r for t, r in known.items() if t >= spec.thickness - 0.1), default=max(known.values()))
    if surface.radius_m >= least:
        return []
    return [
        f"radius {surface.radius_m:.2f} m is tighter than {spec.thickness:g} mm board bends dry (about {least:g} m, "
        "from memory): two thinner layers or another lining; ask the board's maker"
    ]


def _piece(draft: Draft, choice: Choice, stack: Stack, cut: Cut, numbers: Mapping[int, int], first: str) -> Piece:
    shape = choice.face.to_surface(draft.part.shape)
    size, blank = stack.sheets[cut.sheet], draft.blank
    if not draft.part.is_rectangle:
        kind = "sloping" if blank.slope else "notched"
    else:
        off = max(abs(blank.width - size.width), abs(blank.length - size.length))
        whole = off < SAME_PLACE_MM
        kind = "sheet" if whole else "rectangle"
    return Piece(
        ref=blank.ref,
        surface=choice.face.surface.ref,
        room=blank.room,
        sheet=numbers[cut.sheet],
        width_mm=blank.width,
        length_mm=blank.length,
        outline=_ring(shape.exterior.coords),
        holes=tuple(_ring(hole.coords) for hole in shape.interiors),
        net_m2=draft.part.area / 1e6,
        shape=kind,
        off_cut=first != blank.ref,
    )


def _ring(coords: Iterable[tuple[float, float]]) -> Ring:
    points = [(float(x), float(y)) for x, y in coords]
    return tuple(points[:-1])


def _joint(joint: FaceJoint, choice: Choice) -> Joint:
    line = choice.face.to_surface(LineString([(joint.x0, joint.y0), (joint.x1, joint.y1)]))
    (x0, y0), (x1, y1) = line.coords
    ends = ((float(x0), float(y0)), (float(x1), float(y1)))
    return Joint(choice.face.surface.ref, joint.kind, *ends, joint.length / 1000.0)


def _sheets(
    drafts: Sequence[Draft], stack: Stack, cuts: Mapping[str, Cut], numbers: Mapping[int, int]
) -> tuple[Sheet, ...]:
    placed: dict[int, list[Placed]] = {}
    for draft in drafts:
        cut = cuts[draft.blank.ref]
        shape = _in_sheet(draft, cut)
        rings = tuple(_ring(hole.coords) for hole in shape.interiors)
        placed.setdefault(cut.sheet, []).append(
            Placed(draft.blank.ref, _ring(shape.exterior.coords), rings, cut.turned, cut.across)
        )
    return tuple(
        Sheet(numbers[sheet], stack.sheets[sheet].width, stack.sheets[sheet].length, tuple(pieces))
        for sheet, pieces in sorted(placed.items(), key=lambda item: numbers[item[0]])
    )


def _in_sheet(draft: Draft, cut: Cut) -> Polygon:
    """The piece where it lies in its sheet, turned but never mirrored."""
    part = draft.part
    shape = translate(part.shape, -part.x0, -part.y0)
    if cut.across:
        shape = affine_transform(shape, [0.0, -1.0, 1.0, 0.0, part.length, 0.0])
    elif cut.turned:
        shape = affine_transform(shape, [-1.0, 0.0, 0.0, -1.0, part.width, part.length])
    return translate(shape, cut.x, cut.y)
