"""Net amounts of every material, surface by surface and edge by edge, each with its working.

Terms:
  edge   counted once, by the build-up of one of the surfaces that meet there: the one with the thickest plaster that
         has a layer for it, so that a bead stands as deep as the plaster beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from math import hypot

from takeoff.measure.model import Edge, Surface
from takeoff.work.joints import joint_length_m
from takeoff.work.model import Assignment, BuildUp, Layer, Need
from takeoff.work.scheme import Scheme
from takeoff.work.stock import Row

__all__ = ["applies", "material_needs"]

_Placed = tuple[Surface, Assignment, BuildUp]
_DEFAULT_SHEET = (2400.0, 1200.0)


def material_needs(scheme: Scheme) -> tuple[Need, ...]:
    """The needs of all surfaces, then of all edges."""
    each = {s.ref: (s, a, b) for s, a, b in scheme.each()}
    needs = [n for s, a, b in each.values() for n in _of_surface(s, a, b, scheme.rows)]
    first_wall = {s.room: s.ref for s, _, _ in reversed(each.values()) if s.kind != "ceiling"}
    on_edges = _OnEdges(scheme.rows)
    for edge in scheme.measured.edges:
        refs = [ref for ref in edge.surfaces if ref in each] or [first_wall.get(edge.room, "")]
        needs += on_edges.needs(edge, (each[ref] for ref in refs if ref))
    return tuple(needs)


def _of_surface(surface: Surface, assignment: Assignment, build_up: BuildUp, rows: Mapping[str, Row]) -> Iterator[Need]:
    for n, layer in enumerate(build_up.layers, 1):
        if not applies(layer, surface.kind, assignment.background):
            continue
        quantity, counted = _counted(layer.per, surface, build_up, rows)
        if quantity > 0:
            yield _need(layer, n, surface.room, surface.ref, quantity, counted, build_up.slug, rows)


def _counted(per: str, surface: Surface, build_up: BuildUp, rows: Mapping[str, Row]) -> tuple[float, str]:
    """How many of `per` the surface has, and how that reads."""
    if per == "m2":
        return surface.net_m2, f"{surface.net_m2:.2f} m2"
    if per == "m joint":
        joint = joint_length_m(surface, _sheet(build_up, rows))
        return joint, f"{joint:.2f} m of joint"
    if per == "m perimeter":
        round_it = _perimeter_m(surface)
        return round_it, f"{round_it:.2f} m round it"
    return 0.0, ""


def _sheet(build_up: BuildUp, rows: Mapping[str, Row]) -> tuple[float, float]:
    for layer in build_up.layers:
        if sizes := rows[layer.material].get("sizes_mm"):
            return float(sizes[0][0]), float(sizes[0][1])
    return _DEFAULT_SHEET


def _perimeter_m(surface: Surface) -> float:
    """Round the unrolled shape of the surface; of its rectangle where no shape is known."""
    points = surface.outline
    if len(points) < 3:
        return 2.0 * (surface.length_m + surface.height_m)
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(points, (*points[1:], points[0]), strict=True))


class _OnEdges:
    """The layers that go on edges of each kind, looked up once for each build-up, kind of surface and background."""

    def __init__(self, rows: Mapping[str, Row]) -> None:
        self._rows = rows
        self._known: dict[tuple[str, str, str, str], list[tuple[int, Layer]]] = {}
        self._plaster_mm: dict[str, float] = {}

    def needs(self, edge: Edge, beside: Iterable[_Placed]) -> list[Need]:
        """Of the surfaces `beside` the edge, the needs by the build-up with the thickest plaster."""
        per = _per(edge)
        choices = [(b, layers) for s, a, b in beside if (layers := self._layers(per, s.kind, a.background, b))]
        if not choices or edge.length_m <= 0:
            return []
        build_up, layers = max(choices, key=lambda choice: self._thickness(choice[0]))
        length, counted = edge.length_m, f"{edge.length_m:.2f} m"
        return [_need(v, n, edge.room, edge.ref, length, counted, build_up.slug, self._rows) for n, v in layers]

    def _layers(self, per: str, kind: str, background: str, build_up: BuildUp) -> list[tuple[int, Layer]]:
        key = (per, kind, background, build_up.slug)
        if key not in self._known:
            layers = enumerate(build_up.layers, 1)
            self._known[key] = [(n, v) for n, v in layers if v.per == per and applies(v, kind, background)]
        return self._known[key]

    def _thickness(self, build_up: BuildUp) -> float:
        if build_up.slug not in self._plaster_mm:
            self._plaster_mm[build_up.slug] = _plaster_mm(build_up, self._rows)
        return self._plaster_mm[build_up.slug]


def _plaster_mm(build_up: BuildUp, rows: Mapping[str, Row]) -> float:
    """Thickness of the plaster alone, without boards."""
    boards = sum(v.thickness_mm for v in build_up.layers if rows[v.material]["kind"] == "board")
    return build_up.thickness_mm - boards


def _per(edge: Edge) -> str:
    """What the edge counts as: where plaster stops against a lining or frame it is no free edge."""
    return "m frame" if edge.kind == "stop" and edge.opening else f"m {edge.kind}"


def applies(layer: Layer, kind: str, background: str) -> bool:
    """Whether a layer is for surfaces of that kind and background."""
    return (not layer.surfaces or kind in layer.surfaces) and (not layer.backgrounds or background in layer.backgrounds)


def _need(
    layer: Layer, place: int, room: str, ref: str, quantity: float, counted: str, build_up: str, rows: Mapping[str, Row]
) -> Need:
    unit = rows[layer.material]["unit"]
    return Need(
        material=layer.material,
        room=room,
        surface=ref,
        quantity=quantity,
        per=layer.per,
        rate=layer.amount,
        amount=quantity * layer.amount,
        how=f"{counted} x {layer.amount:.4g} {unit} ({layer.how})",
        build_up=build_up,
        waste_pct=layer.waste_pct,
        layer=place,
    )
