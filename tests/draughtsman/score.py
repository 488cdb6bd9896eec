"""Right, silent, alarm, false: the shared corpus scorer's definitions, on a `Plan` against a generated truth.

RIGHT   IoU >= 0.90 and area within 2 %.
SILENT  not right, and no query about outline, plan or unit on a room that overlaps it or inside it.
ALARM   right, but with such a query.
OPEN    over 0.6 m of its outline is not drawn: not counted, but must not be silent.
FALSE   a reported room, without such a query, of which under 30 % lies in true rooms.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from shapely import Point, Polygon, STRtree, make_valid, union_all
from shapely.geometry.base import BaseGeometry

from takeoff.plan.model import Plan, Room
from takeoff.query import Query
from tests.draughtsman.world import OPEN_OVER

IOU, AREA = 0.90, 0.02
OVERLAP = 0.1
"""A query on a reported room speaks for a true one when they share this much of the smaller."""
NEAR = 0.3
"""A query this close to a true room speaks for it, metres."""
WIDTH = 0.030
"""Metres."""
SHAPE = ("outline", "plan", "unit")


@dataclass
class Score:
    """Counts over one drawing or many; `places` says what went wrong."""

    rooms: int = 0
    right: int = 0
    silent: int = 0
    alarms: int = 0
    open: int = 0
    false: int = 0
    openings: int = 0
    openings_found: int = 0
    widths: int = 0
    """Openings found whose width is within 30 mm."""
    kinds: int = 0
    """Openings found that are called what they are."""
    spare: int = 0
    """Openings reported where there is none, or the same one again."""
    places: list[str] = field(default_factory=list)

    def __add__(self, other: Score) -> Score:
        return Score(*(getattr(self, f) + getattr(other, f) for f in self.__dataclass_fields__))

    def share(self, what: str) -> float:
        """As a fraction: `widths` and `kinds` of the openings found, those found of all openings, the rest of rooms."""
        whole = {"openings_found": self.openings, "widths": self.openings_found, "kinds": self.openings_found}
        return float(getattr(self, what)) / max(1, whole.get(what, self.rooms))


def score(truth: Mapping[str, Any], plan: Plan) -> Score:
    """`plan` against `truth` (the corpus form, see `world.truth_json`)."""
    seen = [(room, shape_of(room, plan.origin_m)) for room in plan.rooms]
    queries = [q for q in plan.queries if q.concerns in SHAPE]
    result = Score()
    used: set[int] = set()
    tree = STRtree([s for _, s in seen])
    for told in truth["rooms"]:
        true = union_all([make_valid(Polygon(rings[0], rings[1:])) for rings in told["polygons"]])
        near = [int(i) for i in tree.query(true)]
        iou, best = max(((_iou(seen[i][1], true), i) for i in near), default=(0.0, -1))
        if iou >= 0.5:
            used.add(best)
        if told.get("optional"):
            continue
        area = seen[best][0].floor_area_m2 if best >= 0 else 0.0
        right = iou >= IOU and abs(area - told["area_m2"]) <= AREA * told["area_m2"]
        warned = _warned(queries, [seen[i] for i in near], true, plan.origin_m)
        opened = told["undrawn_m"] > OPEN_OVER
        result.open += opened
        result.rooms += not opened
        result.right += right and not opened
        result.silent += not right and not warned
        result.alarms += right and warned and not opened
        if not right and not opened:
            at = true.representative_point()
            word = "queried" if warned else "SILENT"
            result.places.append(
                f"{word} {told['name'] or 'room'} {told['area_m2']:.2f} m2 at ({at.x:.1f}, {at.y:.1f}): "
                f"IoU {iou:.2f}, area {area:.2f}")
    whole = union_all([make_valid(Polygon(rings[0], rings[1:])) for r in truth["rooms"] for rings in r["polygons"]])
    for n, (room, shape) in enumerate(seen):
        told_of = any(room.ref in q.about for q in queries)
        if n not in used and not told_of and shape.intersection(whole).area < 0.3 * shape.area:
            result.false += 1
            at = shape.representative_point()
            result.places.append(f"FALSE {room.ref} {room.name} {shape.area:.2f} m2 at ({at.x:.1f}, {at.y:.1f})")
    return result + _openings(truth, plan)


def _openings(truth: Mapping[str, Any], plan: Plan) -> Score:
    result = Score()
    left = {n: Point(_shifted(o.at, plan.origin_m)) for n, o in enumerate(plan.openings)}
    for told in truth["openings"]:
        if not told["drawn"]:
            continue
        result.openings += 1
        at = Point(told["at_m"])
        away, n = min(((p.distance(at), n) for n, p in left.items()), default=(9e9, -1))
        if away <= max(0.5, told["width_m"] / 2):
            del left[n]
            result.openings_found += 1
            found = plan.openings[n]
            result.widths += abs(found.width_m - told["width_m"]) <= WIDTH
            result.kinds += found.kind == told["kind"]
            if found.kind != told["kind"]:
                result.places.append(f"KIND {told['kind']} taken for {found.kind} at ({at.x:.1f}, {at.y:.1f})")
        else:
            result.places.append(f"MISSED {told['kind']} {told['width_m']:.3f} at ({at.x:.1f}, {at.y:.1f})")
    result.spare = len(left)
    result.places += [f"SPARE {plan.openings[n].kind} {plan.openings[n].width_m:.3f} at ({p.x:.1f}, {p.y:.1f})"
                      for n, p in left.items()]
    return result


def shape_of(room: Room, origin: tuple[float, float]) -> BaseGeometry:
    """The reported room in sheet metres."""
    rings = [[_shifted(p, origin) for p in ring] for ring in (room.outline, *room.holes)]
    return make_valid(Polygon(rings[0], rings[1:]))


def _shifted(p: tuple[float, float], origin: tuple[float, float]) -> tuple[float, float]:
    return (p[0] + origin[0], p[1] + origin[1])


def _iou(a: BaseGeometry, b: BaseGeometry) -> float:
    return float(a.intersection(b).area / a.union(b).area)


def _warned(queries: list[Query], near: list[tuple[Room, BaseGeometry]], true: BaseGeometry,
            origin: tuple[float, float]) -> bool:
    for room, shape in near:
        told = any(room.ref in q.about for q in queries)
        if told and shape.intersection(true).area > OVERLAP * min(shape.area, true.area):
            return True
    reach = true.buffer(NEAR)
    return any(q.at is not None and reach.contains(Point(_shifted(q.at, origin))) for q in queries)
