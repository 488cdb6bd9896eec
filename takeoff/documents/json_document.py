"""The takeoff for machines: one JSON object, described in docs/json.md and docs/takeoff.schema.json.

Coordinates are metres on the (first) drawing's own axes: drawing coordinate x metres per unit. Lengths, areas and
amounts are rounded to a millionth, so that the last bits of the arithmetic do not show.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from math import inf, isfinite
from typing import Any

from msgspec.json import Encoder

from takeoff.documents.safe_text import clean
from takeoff.drawing.model import Part
from takeoff.materials.model import OrderLine
from takeoff.measure.model import Edge, Quantity, RoomMeasure, Surface
from takeoff.plan.model import Opening, Point, Room, Side, Storey
from takeoff.query import Query
from takeoff.record import Takeoff
from takeoff.work.model import Assignment, BuildUp

__all__ = ["SCHEMA_VERSION", "as_document", "to_json"]

SCHEMA_VERSION = 1
DECIMALS = 6
Json = dict[str, Any]
Place = Callable[[Point], list[float]]


def to_json(takeoff: Takeoff) -> str:
    """`as_document` as text: a row of a list on each line, so that two takeoffs compare line by line.

    The same takeoff gives the same text.
    """
    rows = b",\n".join(_text(key) + b": " + _lines(value) for key, value in as_document(takeoff).items())
    return (b"{\n" + rows + b"\n}\n").decode("utf-8")


def _lines(value: Any) -> bytes:
    if isinstance(value, list) and value:
        return b"[\n" + b",\n".join(map(_text, value)) + b"\n]"
    return _text(value)


_text = Encoder().encode


def as_document(takeoff: Takeoff) -> Json:
    """The takeoff as plain lists and dicts, keys in a fixed order."""
    east, north = takeoff.plan.origin_m

    def place(point: Point) -> list[float]:
        return [_rounded(point[0] + east), _rounded(point[1] + north)]

    return {
        "schema": SCHEMA_VERSION,
        "drawing": _drawing(takeoff),
        "drawings": _drawings(takeoff),
        "job": _job(takeoff),
        "rule": takeoff.measured.rule,
        "plans": [_plan(storey, _part_of(storey, takeoff).file, place) for storey in takeoff.plan.storeys],
        "rooms": _rooms(takeoff, place),
        "openings": [_opening(opening, place) for opening in takeoff.plan.openings],
        "surfaces": _surfaces(takeoff),
        "edges": [_edge(edge, place) for edge in takeoff.measured.edges],
        "build_ups": [_build_up(build_up) for build_up in takeoff.work.build_ups.values()],
        "queries": _queries(takeoff.queries, place),
        "accepted": _queries(takeoff.accepted, place),
        "quantities": [_quantity(row) for row in takeoff.measured.quantities],
        "materials": [_material(line) for line in takeoff.order.lines],
        "hours": _hours(takeoff),
        "programme": _programme(takeoff),
        "price": _price(takeoff),
        "cautions": [clean(text) for text in takeoff.work.cautions],
        "spaces": [
            {"reason": s.reason, "plan": s.plan, "at": place(s.at), "area_m2": _rounded(s.area_m2)}
            for s in takeoff.plan.spaces
        ],
        "layers": {clean(name): use for name, use in sorted(takeoff.plan.layer_use.items())},
    }


def _rounded(number: float) -> float:
    """Rounded to `DECIMALS`; minus nought is nought."""
    if not isfinite(number):  # JSON has no word for it, and the encoder would say null
        raise ValueError(f"{number} is no quantity")
    return round(float(number), DECIMALS) + 0.0


def _maybe(number: float | None) -> float | None:
    return None if number is None else _rounded(number)


def _drawing(takeoff: Takeoff) -> Json:
    drawing, plan = takeoff.drawing, takeoff.plan
    return {
        "file": clean(drawing.file),
        "sha256": drawing.sha256,
        "format": drawing.format,
        "metres_per_unit": plan.metres_per_unit,
        "unit": plan.unit,
        "unit_evidence": [
            {"witness": e.witness, "unit": e.unit, "says": clean(e.says), "weight": _rounded(e.weight)}
            for e in plan.unit_evidence
        ],
        "left_out": [{"reason": r.reason, "what": clean(r.what), "count": r.count} for r in drawing.left_out],
    }


def _job(takeoff: Takeoff) -> Json:
    job = takeoff.job.job
    return {
        "name": clean(job.name),
        "reference": clean(job.reference),
        "site": clean(job.site),
        "date": clean(job.date),
    }


def _plan(storey: Storey, file: str, place: Place) -> Json:
    x0, y0, x1, y1 = storey.bounds
    return {
        "ref": storey.ref,
        "title": clean(storey.title),
        "drawing": clean(file),
        "bounds": place((x0, y0)) + place((x1, y1)),
    }


def _drawings(takeoff: Takeoff) -> list[Json]:
    """The files of the takeoff; places in those after the first are their own plus `shift_m`."""
    metres = takeoff.plan.metres_per_unit
    return [
        {
            "file": clean(part.file),
            "sha256": part.sha256,
            "metres_per_unit": part.scale * metres,
            "shift_m": [_rounded(part.shift[0] * metres), _rounded(part.shift[1] * metres)],
            "plans": [s.ref for s in takeoff.plan.storeys if _part_of(s, takeoff) == part],
        }
        for part in _parts(takeoff)
    ]


def _parts(takeoff: Takeoff) -> tuple[Part, ...]:
    drawing = takeoff.drawing
    return drawing.parts or (Part(drawing.file, drawing.sha256, 1.0, (0.0, 0.0), (-inf, inf)),)


def _part_of(storey: Storey, takeoff: Takeoff) -> Part:
    """The drawing that a storey is in: they lie side by side."""
    middle = (storey.bounds[0] + storey.bounds[2]) / 2 / takeoff.plan.metres_per_unit
    return min(_parts(takeoff), key=lambda part: max(part.span[0] - middle, middle - part.span[1], 0.0))


def _rooms(takeoff: Takeoff, place: Place) -> list[Json]:
    measured = {row.room: row for row in takeoff.measured.rooms}
    asked: dict[str, list[str]] = defaultdict(list)
    for query in takeoff.queries:
        for ref in query.about:
            asked[ref].append(query.ref)
    return [
        _room(room, measured.get(room.ref), room.ref in takeoff.covered_rooms, asked.get(room.ref, []), place)
        for room in takeoff.plan.rooms
    ]


def _room(room: Room, measured: RoomMeasure | None, covered: bool, queries: list[str], place: Place) -> Json:
    return {
        "ref": room.ref,
        "name": clean(room.name),
        "number": clean(room.number),
        "plan": room.plan,
        "kind": room.kind,
        "measured": covered,
        "outline": [place(point) for point in room.outline],
        "holes": [[place(point) for point in hole] for hole in room.holes],
        "label_at": place(room.label_at),
        "floor_area_m2": _rounded(room.floor_area_m2),
        "perimeter_m": _rounded(room.perimeter_m),
        "height_m": _maybe(measured.height_m if measured else room.height_m),
        "height_from": measured.height_from if measured else room.height_from,
        "wall_gross_m2": _maybe(measured.wall_gross_m2 if measured else None),
        "wall_net_m2": _maybe(measured.wall_net_m2 if measured else None),
        "ceiling_m2": _maybe(measured.ceiling_m2 if measured else None),
        "reveal_m2": _maybe(measured.reveal_m2 if measured else None),
        "internal_corners": measured.internal_corners if measured else None,
        "external_corners": measured.external_corners if measured else None,
        "openings": list(dict.fromkeys(ref for side in room.sides for ref in side.openings)),
        "queries": queries,
        "confidence": _rounded(room.confidence),
        "printed_area_m2": _maybe(room.printed_area_m2),
        "printed_size_m": [_rounded(d) for d in room.printed_size_m] if room.printed_size_m else None,
        "void_m2": _rounded(room.void_m2),
        "labels": [clean(label) for label in room.labels],
        "sides": [_side(side, place) for side in room.sides],
        "handles": list(room.handles),
    }


def _side(side: Side, place: Place) -> Json:
    return {
        "ref": side.ref,
        "start": place(side.start),
        "end": place(side.end),
        "length_m": _rounded(side.length_m),
        "support": side.support,
        "thickness_m": _maybe(side.thickness_m),
        "wall_type": side.wall_type,
        "external": side.external,
        "radius_m": _maybe(side.radius_m),
        "ring": side.ring,
        "openings": list(side.openings),
        "handles": list(side.handles),
    }


def _opening(opening: Opening, place: Place) -> Json:
    return {
        "ref": opening.ref,
        "kind": opening.kind,
        "plan": opening.plan,
        "at": place(opening.at),
        "width_m": _rounded(opening.width_m),
        "height_m": _maybe(opening.height_m),
        "sill_m": _maybe(opening.sill_m),
        "wall_thickness_m": _maybe(opening.wall_thickness_m),
        "rooms": list(opening.rooms),
        "jambs": [place(point) for point in opening.jambs],
        "size_from": opening.size_from,
        "height_from": opening.height_from,
        "style": opening.style,
        "tag": clean(opening.tag),
        "handles": list(opening.handles),
    }


def _surfaces(takeoff: Takeoff) -> list[Json]:
    given = {assignment.surface: assignment for assignment in takeoff.work.assignments}
    return [_surface(surface, given.get(surface.ref)) for surface in takeoff.measured.surfaces]


def _surface(surface: Surface, given: Assignment | None) -> Json:
    return {
        "ref": surface.ref,
        "room": surface.room,
        "kind": surface.kind,
        "part": surface.part,
        "side": surface.side,
        "opening": surface.opening,
        "length_m": _rounded(surface.length_m),
        "height_m": _rounded(surface.height_m),
        "gross_m2": _rounded(surface.gross_m2),
        "deductions": [
            {
                "opening": cut.opening,
                "width_m": _rounded(cut.width_m),
                "height_m": _rounded(cut.height_m),
                "area_m2": _rounded(cut.area_m2),
                "reason": cut.reason,
            }
            for cut in surface.deductions
        ],
        "net_m2": _rounded(surface.net_m2),
        "how": surface.how,
        "background": given.background if given else "",
        "build_up": given.build_up if given else "",
        "decided_by": given.decided_by if given else "",
        "curved": surface.curved,
        "radius_m": _maybe(surface.radius_m),
        "narrow": surface.narrow,
        "over_height_m2": _rounded(surface.over_height_m2),
        "handles": list(surface.handles),
    }


def _edge(edge: Edge, place: Place) -> Json:
    return {
        "ref": edge.ref,
        "room": edge.room,
        "kind": edge.kind,
        "length_m": _rounded(edge.length_m),
        "how": edge.how,
        "surfaces": list(edge.surfaces),
        "opening": edge.opening,
        "at": place(edge.at) if edge.at else None,
        "curved": edge.curved,
    }


def _build_up(build_up: BuildUp) -> Json:
    return {
        "slug": build_up.slug,
        "title": clean(build_up.title),
        "thickness_mm": _rounded(build_up.thickness_mm),
        "layers": [
            {
                "material": layer.material,
                "per": layer.per,
                "amount": _rounded(layer.amount),
                "thickness_mm": _rounded(layer.thickness_mm),
                "coats": layer.coats,
                "how": layer.how,
                "source": layer.source,
            }
            for layer in build_up.layers
        ],
        "limits": list(build_up.limits),
        "cautions": list(build_up.cautions),
    }


def _queries(queries: Iterable[Query], place: Place) -> list[Json]:
    return [
        {
            "ref": query.ref,
            "kind": query.kind,
            "concerns": query.concerns,
            "about": list(query.about),
            "at": place(query.at) if query.at else None,
            "says": clean(query.says),
            "answer": clean(query.answer),
        }
        for query in queries
    ]


def _quantity(row: Quantity) -> Json:
    return {
        "room": row.room,
        "surface": row.surface,
        "item": row.item,
        "unit": row.unit,
        "gross": _rounded(row.gross),
        "deducted": _rounded(row.deducted),
        "net": _rounded(row.net),
        "rule": row.rule,
        "how": row.how,
        "handles": list(row.handles),
    }


def _material(line: OrderLine) -> Json:
    material = line.material
    return {
        "material": material.slug,
        "title": clean(material.title),
        "kind": material.kind,
        "delivery": line.delivery,
        "net": _rounded(line.net),
        "waste_pct": _rounded(line.waste_pct),
        "with_waste": _rounded(line.with_waste),
        "unit": material.unit,
        "packs": line.packs,
        "pack": material.pack,
        "pack_size": _rounded(material.pack_size),
        "left_over": _rounded(line.left_over),
        "weight_kg": _rounded(line.weight_kg),
        "price": None if material.price is None else str(material.price),
        "cost": None if line.cost is None else str(line.cost),
        "how": line.how,
        "source": material.source,
        "rooms": [
            {"room": s.room, "net": _rounded(s.net), "with_waste": _rounded(s.with_waste), "packs": _rounded(s.packs)}
            for s in line.shares
        ],
    }


def _hours(takeoff: Takeoff) -> list[Json]:
    return [
        {
            "ref": operation.ref,
            "room": operation.room,
            "task": operation.task,
            "title": operation.title,
            "stage": operation.stage,
            "quantity": _rounded(operation.quantity),
            "unit": operation.unit,
            "hours": _rounded(operation.hours),
            "allowance": operation.allowance,
        }
        for operation in takeoff.work.operations
    ]


def _programme(takeoff: Takeoff) -> Json | None:
    programme = takeoff.programme
    if programme is None:
        return None
    return {
        "days": programme.days,
        "ready_to_decorate_day": programme.ready_to_decorate_day,
        "proven": programme.proven,
    }


def _price(takeoff: Takeoff) -> Json | None:
    """Money as text, so that no reader turns it into binary fractions."""
    price = takeoff.price
    if price is None:
        return None
    return {
        "currency": price.currency,
        "prime_cost": str(price.prime_cost),
        "before_tax": str(price.before_tax),
        "tax": str(price.tax),
        "total": str(price.total),
        "complete": price.complete,
        "missing": [clean(what) for what in price.missing],
        "rooms": [{"room": r.room, "net": str(r.net), "per_m2": str(r.per_m2)} for r in price.rooms],
    }
