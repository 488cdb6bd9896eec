"""Boards laid for the order: what each surface takes of each sheet size, its joints and fixings as laid.

A board of one material is laid over the whole job at once, whatever it is fixed to: on dabs, timber or metal it shares
its off-cuts. Boards over boards are laid after those beneath. The needs are then told by sheet size; scrim, screws and
adhesive of the surface follow the layout in place of their averages.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from takeoff.job import Job
from takeoff.materials.boards import BoardLayout, Laid, board_spec, lay_boards
from takeoff.materials.laid import variant
from takeoff.materials.model import Material
from takeoff.measure.model import Measured, Surface
from takeoff.work.model import Assignment, Need

__all__ = ["LaidBoards", "with_boards_laid"]

Layer = tuple[int, str, str]
"""How many boards are beneath, the board, and the part of the job that it is laid with."""
Part = Callable[[str, str], str]
"""From a board and the ref of a surface to the part of the job whose sheets it is laid with."""
Stock = tuple[str, float, float]
"""Board, length, width in mm."""


@dataclass(frozen=True)
class LaidBoards:
    needs: tuple[Need, ...]
    """All needs, those of boards by sheet size, those of joints and fixings as laid."""
    materials: Mapping[str, Material]
    """The sheet sizes, by slug."""
    layouts: tuple[BoardLayout, ...]


def with_boards_laid(
    needs: Sequence[Need],
    catalogue: Mapping[str, Material],
    measured: Measured,
    assignments: Iterable[Assignment],
    job: Job,
    part: Part = lambda _board, _surface: "",
) -> LaidBoards:
    """Every board of `needs` laid out on its surfaces. A surface that no sheet serves keeps its need by area.

    Sheets are shared within a `part` of the job only; all of it is one unless told otherwise.
    """
    surfaces = {s.ref: s for s in measured.surfaces}
    fixed = _fixed_to(needs, assignments)
    boards = [n for n in needs if catalogue[n.material].kind == "board" and n.layer and n.surface in surfaces]
    layers = _layers(boards, part)
    layouts: list[BoardLayout] = []
    of: dict[tuple[str, str, int], BoardLayout] = {}
    for layer in sorted(layers):
        own = layers[layer]
        places = [surfaces[need.surface] for need in own]
        layouts.append(_layout(catalogue[layer[1]], places, fixed, measured, job, layouts))
        of |= {_key(need): layouts[-1] for need in own}
    variants = _variants(layouts, catalogue, job)
    told: list[Need] = []
    for need in needs:
        layout = of.get(_key(need))
        told += _by_size(need, layout, variants) if layout and need.surface in layout.surfaces else [need]
    outer = {ref: own for layout in layouts for ref, own in layout.surfaces.items()}
    # The layout counts the closer screws at external angles itself, where there is one layer.
    single = {ref for ref in outer if sum(ref in layout.surfaces for layout in layouts) == 1}
    counted = {e.ref for e in measured.edges if e.kind == "external angle" and set(e.surfaces) <= single}
    told = [n for n in told if not (n.surface in counted and n.material.startswith("screw"))]
    as_laid = tuple(_as_laid(n, outer, single, catalogue) for n in told)
    return LaidBoards(as_laid, {m.slug: m for m in variants.values()}, tuple(layouts))


def _fixed_to(needs: Iterable[Need], assignments: Iterable[Assignment]) -> dict[str, str]:
    """What the boards of each surface are fixed to: dabs where adhesive is needed, else by background and furring."""
    to = {a.surface: "metal" if "metal" in a.background else "timber" for a in assignments}
    for need in needs:
        if need.material == "board-adhesive":
            to[need.surface] = "dabs"
        elif need.material == "furring":
            to[need.surface] = "metal"
    return to


def _key(need: Need) -> tuple[str, str, int]:
    return need.material, need.surface, need.layer


def _layers(boards: Sequence[Need], part: Part) -> dict[Layer, list[Need]]:
    """The needs for boards by layer, in their own order."""
    places: dict[str, list[int]] = {}
    for need in boards:
        places.setdefault(need.surface, []).append(need.layer)
    layers: dict[Layer, list[Need]] = {}
    for need in boards:
        beneath = sum(layer < need.layer for layer in set(places[need.surface]))
        layers.setdefault((beneath, need.material, part(need.material, need.surface)), []).append(need)
    return layers


def _layout(
    board: Material,
    surfaces: Sequence[Surface],
    fixed: Mapping[str, str],
    measured: Measured,
    job: Job,
    before: Sequence[BoardLayout],
) -> BoardLayout:
    fixed_by = {s.ref: fixed[s.ref] for s in surfaces}
    spec = board_spec(board.slug, board.thickness_mm, fixed_by[surfaces[0].ref], job, board.sizes_mm, fixed_by)
    return lay_boards(surfaces, spec, measured.edges, before)


def _variants(layouts: Sequence[BoardLayout], catalogue: Mapping[str, Material], job: Job) -> dict[Stock, Material]:
    """A material for each sheet size bought, its waste such that the net of all layouts makes whole sheets."""
    net: dict[Stock, float] = {}
    sheets: dict[Stock, int] = {}
    for layout in layouts:
        for size, area in _net_by_size(layout).items():
            net[layout.spec.board, *size] = net.get((layout.spec.board, *size), 0.0) + area
        for length, width, number in layout.buy:
            key = (layout.spec.board, length, width)
            sheets[key] = sheets.get(key, 0) + number
    prices = {(r.board, r.length * 1000, r.width * 1000): r.price for r in job.boards.stock}
    made = {}
    for (board, length, width), number in sheets.items():
        area = length * width / 1e6
        waste = 100.0 * (number * area / net[board, length, width] - 1.0)
        name = f"{length:.0f} x {width:.0f}"
        price = prices.get((board, length, width), prices.get(("", length, width)))
        made[board, length, width] = variant(catalogue[board], f"{name} mm", f"{name} sheet", area, price, waste)
    return made


def _net_by_size(layout: BoardLayout, surface: str = "") -> dict[tuple[float, float], float]:
    """Net m2 cut from each sheet size, for one surface or for all."""
    size = {sheet.number: (sheet.length_mm, sheet.width_mm) for sheet in layout.sheets}
    areas: dict[tuple[float, float], float] = {}
    for laid in [layout.surfaces[surface]] if surface else layout.surfaces.values():
        for piece in laid.pieces:
            areas[size[piece.sheet]] = areas.get(size[piece.sheet], 0.0) + piece.net_m2
    return areas


def _by_size(need: Need, layout: BoardLayout, variants: Mapping[Stock, Material]) -> Iterator[Need]:
    for (length, width), area in _net_by_size(layout, need.surface).items():
        how = f"{area:.2f} m2 cut from sheets of {length:.0f} x {width:.0f} (layout of {need.surface})"
        slug = variants[need.material, length, width].slug
        yield replace(need, material=slug, quantity=area, rate=1.0, amount=area, how=how, waste_pct=None)


def _as_laid(need: Need, outer: Mapping[str, Laid], single: set[str], catalogue: Mapping[str, Material]) -> Need:
    """Scrim by the joints of the outer layer; screws and adhesive by the pieces where there is one layer only."""
    laid = outer.get(need.surface)
    if laid is None:
        return need
    if need.per == "m joint":
        return _amount(need, laid.joint_m(), need.rate, f"{laid.joint_m():.2f} m of joints as laid")
    if need.surface in single and need.per == "m2":
        if need.material == "board-adhesive" and laid.fixings.adhesive_kg:
            return _amount(need, need.quantity, laid.fixings.adhesive_kg / need.quantity, laid.fixings.how)
        if (
            need.material in catalogue
            and catalogue[need.material].kind == "fixing"
            and need.material.startswith("screw")
            and laid.fixings.screws
        ):
            return _amount(need, need.quantity, laid.fixings.screws / need.quantity, laid.fixings.how)
    return need


def _amount(need: Need, quantity: float, rate: float, how: str) -> Need:
    return replace(need, quantity=quantity, rate=rate, amount=quantity * rate, how=how)
