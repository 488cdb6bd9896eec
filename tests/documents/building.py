"""A takeoff built by hand, of our own invention, for the tests of the documents: rooms side by side in a row.

Even rooms are kitchens with a window and plastered reveals; odd rooms are halls. A door with a lining joins each
pair, a plain opening with plastered jambs and head joins each pair to the next. All figures follow from the sizes
below by plain arithmetic, written out here and not taken from the project's own stages.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import numpy as np

from takeoff.drawing.model import Arcs, Drawing, Layer, LeftOut, Segments, UnitEvidence
from takeoff.job import Job
from takeoff.materials.model import Material, Order, OrderLine, RoomShare
from takeoff.measure.model import Deduction, Edge, Measured, Quantity, RoomMeasure, Surface
from takeoff.plan.model import Opening, Plan, Room, Side, Space, Storey
from takeoff.query import Query, numbered
from takeoff.record import Takeoff
from takeoff.work.model import Assignment, BuildUp, Need, Work
from takeoff.work.model import Layer as WorkLayer

WIDE, DEEP = 4.2, 3.0
HEIGHTS = (2.4, 2.6)
"""Of even rooms (by default) and odd rooms (from the drawing)."""
DOOR, WINDOW, PLAIN = (0.838, 2.1), (1.2, 1.05), (1.6, 2.1)
REVEAL = 0.15
WALL = 0.1
LIMIT = 0.5

FINISH = Material(
    "finish-plaster", "Finish plaster", "kg", "25 kg bag", 25, 25, 10.0, "made up for this test", "finish"
)
BOARD = Material(
    "board-12",
    "Plasterboard 12.5 mm",
    "m2",
    "2400 x 1200 sheet",
    2.88,
    24,
    8.0,
    "from memory",
    "board",
    Decimal("9.75"),
    "2024-03-01",
    "The yard",
)
UNDERCOAT = Material(
    "undercoat", "Undercoat plaster", "kg", "25 kg bag", 25, 25, 5.0, "made up for this test", "undercoat"
)
BEAD = Material(
    "angle-bead", "Thin coat angle bead", "m", "3.0 m length", 3.0, 0.5, 5.0, "made up for this test", "bead"
)
SCRIM = Material("scrim", "Scrim tape", "m", "90 m roll", 90, 0.3, 10.0, "made up for this test", "scrim")
SCREWS = Material("screws", "Drywall screws", "no", "box of 1000", 1000, 2.0, 5.0, "made up for this test", "fixing")

BUILD_UPS = {
    "skim-on-board": BuildUp(
        "skim-on-board",
        "Skim on board",
        ("wall", "ceiling"),
        ("timber frame",),
        (
            WorkLayer("board-12", "m2", 1.0, 12.5, how="one layer", source="arithmetic"),
            WorkLayer("screws", "m2", 12.0, how="12 screws a m2"),
            WorkLayer("finish-plaster", "m2", 2.4, 2.0, 2, how="2 mm x 1.2 kg/m2/mm", source="made up for this test"),
        ),
        14.5,
        limits=("Studs at 600 mm at most.",),
        cautions=("Two people to lift a board.",),
    ),
    "float-and-set": BuildUp(
        "float-and-set",
        "Undercoat and finish",
        ("wall", "reveal"),
        ("brick",),
        (
            WorkLayer("undercoat", "m2", 9.13, 11, how="11 mm x 0.83 kg/m2/mm", source="made up for this test"),
            WorkLayer("finish-plaster", "m2", 2.4, 2.0, 2, how="2 mm x 1.2 kg/m2/mm", source="made up for this test"),
        ),
        13.0,
        cautions=("Wet plaster is heavy.",),
    ),
}


def takeoff(rooms: int = 2, job: Job | None = None) -> Takeoff:
    """The takeoff of a row of `rooms` rooms (an even number)."""
    plan = _plan(rooms)
    measured = _measured(plan)
    work = _work(measured)
    order = _order(plan, work)
    queries = numbered(
        [
            Query(
                "height-by-default",
                "height",
                "No ceiling height on the drawing: 2.40 m is taken.",
                ("R1",),
                (1.0, 1.0),
                "[heights]\ndefault = 2.4",
            ),
            Query(
                "unit-unclear", "unit", "The unit is taken as mm: check one wall.", (), None, '[drawing]\nunit = "mm"'
            ),
            Query(
                "opening-size",
                "opening",
                "The height of D1 is not given: 2.10 m is taken.",
                ("D1", "R1", "R2"),
                (4.25, 1.5),
                "[openings.D1]\nheight = 2.1",
            ),
        ]
    )
    return Takeoff(job or Job(), _drawing(), plan, measured, work, order, queries)


def _drawing() -> Drawing:
    none = np.zeros(0, dtype=np.int32)
    return Drawing(
        "row of rooms.dxf",
        "0" * 64,
        "DXF R2010, text",
        (1_000_000.0, 2_000_000.0),
        4,
        (Layer("WALLS"),),
        (),
        Segments(np.zeros((0, 4)), none, none),
        Arcs(np.zeros((0, 5)), none),
        (),
        (),
        (),
        (),
        (LeftOut("layer off", "FURNITURE", 12),),
        (),
        0.001,
    )


def _plan(count: int) -> Plan:
    openings, rooms = [], []
    for n in range(count):
        x = n * (WIDE + WALL)
        ref, even = f"R{n + 1}", n % 2 == 0
        mine = []
        if even:
            door, window = f"D{n // 2 + 1}", f"W{n // 2 + 1}"
            openings.append(_opening(door, "door", DOOR, None, (x + WIDE + WALL / 2, 1.5), (ref, f"R{n + 2}")))
            openings.append(_opening(window, "window", WINDOW, 0.9, (x + 2, -0.15), (ref,), 0.3))
            mine = [window, door]
        else:
            mine = [f"D{n // 2 + 1}"]
            if n + 1 < count:
                plain = f"O{n // 2 + 1}"
                openings.append(_opening(plain, "opening", PLAIN, None, (x + WIDE + WALL / 2, 1.5), (ref, f"R{n + 2}")))
                mine.append(plain)
        if even and n:
            mine.append(f"O{n // 2}")
        rooms.append(_room(ref, n, x, even, tuple(mine)))
    evidence = (UnitEvidence("door swings", "mm", "3 door leaves of 838", 0.8),)
    storey = Storey("P1", "Ground floor", (-0.3, -0.3, count * (WIDE + WALL), 3.3))
    spaces = (Space("duct", (0.0, 0.0), 0.2, "P1"),)
    return Plan(
        "mm",
        0.001,
        evidence,
        (1000.0, 2000.0),
        (storey,),
        tuple(rooms),
        tuple(openings),
        spaces,
        (),
        {"WALLS": "walls", "FURNITURE": "ignored: furniture"},
    )


def _opening(
    ref: str, kind: str, size: tuple[float, float], sill: float | None, at: tuple[float, float], rooms: tuple[str, ...],
    wall: float = WALL,
) -> Opening:  # fmt: skip
    given = kind == "window"
    return Opening(
        ref,
        kind,
        "P1",
        at,
        size[0],
        size[1] if given else None,
        sill,
        wall,
        rooms,
        (at, at),
        "symbol",
        "attribute" if given else "default",
        "single",
        f"{ref}-tag",
        ("2F", "3A"),
    )


def _room(ref: str, n: int, x: float, even: bool, openings: tuple[str, ...]) -> Room:
    corners = ((x, 0.0), (x + WIDE, 0.0), (x + WIDE, DEEP), (x, DEEP))
    sides = tuple(
        Side(
            f"{ref}-S{i + 1}",
            corners[i],
            corners[(i + 1) % 4],
            WIDE if i % 2 == 0 else DEEP,
            "assumed" if n == 1 and i == 2 else "drawn",
            0.3 if i % 2 == 0 else WALL,
            "masonry" if i % 2 == 0 else "partition",
            i % 2 == 0,
            openings=openings if i == 1 else (),
            handles=(f"{n:X}{i}",),
        )
        for i in range(4)
    )
    return Room(
        ref,
        "Kitchen" if even else "Hall",
        "P1",
        corners,
        (),
        sides,
        WIDE * DEEP,
        2 * (WIDE + DEEP),
        None if even else HEIGHTS[1],
        "default" if even else "drawing",
        0.97 if even else 0.6,
        (x + 2.1, 1.5),
        printed_area_m2=12.6,
        labels=("Kitchen" if even else "Hall",),
        handles=(f"{n:X}0", f"{n:X}1"),
    )


def _measured(plan: Plan) -> Measured:
    surfaces: list[Surface] = []
    edges: list[Edge] = []
    totals, quantities = [], []
    openings = {o.ref: o for o in plan.openings}
    for n, room in enumerate(plan.rooms):
        high = HEIGHTS[n % 2]
        mine = [*_walls(room, high, openings), _ceiling(room)]
        reveals, arrises = _reveals(room, openings)
        surfaces += mine + reveals
        edges += _edges(room, high) + arrises
        walls = [s for s in mine if s.kind == "wall"]
        gross, net = sum(s.gross_m2 for s in walls), sum(s.net_m2 for s in walls)
        lining = sum(s.net_m2 for s in reveals)
        totals.append(RoomMeasure(room.ref, high, room.height_from, gross, net, WIDE * DEEP, lining, 4, 0))
        quantities.append(
            Quantity(room.ref, "", "walls", "m2", gross, gross - net, net, "net", f"2 x (4.20 + 3.00) x {high}")
        )
        quantities.append(Quantity(room.ref, f"{room.ref}-C1", "ceiling", "m2", WIDE * DEEP, 0, WIDE * DEEP, "net"))
    return Measured("net", tuple(totals), tuple(surfaces), tuple(edges), tuple(quantities))


def _walls(room: Room, high: float, openings: dict[str, Opening]) -> list[Surface]:
    walls = []
    for i, side in enumerate(room.sides):
        cuts = tuple(_cut(openings[ref]) for ref in side.openings)
        gross = side.length_m * high
        walls.append(
            Surface(
                f"{room.ref}-W{i + 1}",
                room.ref,
                "wall",
                side.length_m,
                high,
                gross,
                cuts,
                gross - sum(c.area_m2 for c in cuts),
                f"{side.length_m:.2f} x {high:.2f}",
                side=side.ref,
                thickness_m=side.thickness_m,
                wall_type=side.wall_type,
                external=side.external,
                handles=side.handles,
            )
        )
    return walls


def _cut(opening: Opening) -> Deduction:
    sizes = {"door": DOOR, "window": WINDOW, "opening": PLAIN}[opening.kind]
    area = sizes[0] * sizes[1]
    return Deduction(opening.ref, *sizes, area, "over 0.00 m2: deducted")


def _ceiling(room: Room) -> Surface:
    return Surface(
        f"{room.ref}-C1",
        room.ref,
        "ceiling",
        WIDE,
        DEEP,
        WIDE * DEEP,
        (),
        WIDE * DEEP,
        "4.20 x 3.00",
        part="flat",
        outline=room.outline,
    )


def _reveals(room: Room, openings: dict[str, Opening]) -> tuple[list[Surface], list[Edge]]:
    surfaces, edges = [], []
    for ref in room.sides[1].openings:
        opening = openings[ref]
        if opening.kind == "door" or room.ref != opening.rooms[0]:
            continue
        (wide, high), depth = (WINDOW, REVEAL) if opening.kind == "window" else (PLAIN, WALL)
        for part, length in (("head", wide), ("left", high), ("right", high)):
            name = f"{room.ref}-W2-{ref}-{part}"
            surfaces.append(
                Surface(
                    name,
                    room.ref,
                    "reveal",
                    length,
                    depth,
                    length * depth,
                    (),
                    length * depth,
                    f"{length:.2f} x {depth:.2f}",
                    opening=ref,
                    part=part,
                )
            )
            edge = f"{room.ref}-E-{ref}-{part}"
            edges.append(Edge(edge, room.ref, "opening angle", length, f"{length:.2f}", (f"{room.ref}-W2", name), ref))
    return surfaces, edges


def _edges(room: Room, high: float) -> list[Edge]:
    corners = [
        Edge(f"{room.ref}-E{i + 1}", room.ref, "internal angle", high, f"{high:.2f}",
             (f"{room.ref}-W{i + 1}", f"{room.ref}-W{(i + 1) % 4 + 1}"), at=room.outline[i])
        for i in range(4)
    ]  # fmt: skip
    joints = [
        Edge(f"{room.ref}-E{i + 5}", room.ref, "wall to ceiling", side.length_m, f"{side.length_m:.2f}")
        for i, side in enumerate(room.sides)
    ]
    return corners + joints


def _work(measured: Measured) -> Work:
    given, needs = [], []
    for surface in measured.surfaces:
        plastered = surface.kind == "reveal" or surface.wall_type == "masonry"
        slug = "float-and-set" if plastered else "skim-on-board"
        given.append(Assignment(surface.ref, "brick" if plastered else "timber frame", slug, "drawing: wall thickness"))
        for n, layer in enumerate(BUILD_UPS[slug].layers, 1):
            amount = surface.net_m2 * layer.amount
            how = f"{surface.net_m2:.2f} m2 x {layer.amount:g}"
            place = (layer.material, surface.room, surface.ref)
            needs.append(Need(*place, surface.net_m2, "m2", layer.amount, amount, how, slug, layer=n))
    for edge in measured.edges:
        material = {"opening angle": "angle-bead", "internal angle": "scrim", "wall to ceiling": "scrim"}[edge.kind]
        needs.append(
            Need(material, edge.room, edge.ref, edge.length_m, "m edge", 1.0, edge.length_m, edge.how, layer=9)
        )
    cautions = ("Built before 2000: an asbestos survey comes before anything is disturbed.",)
    return Work(dict(BUILD_UPS), tuple(given), tuple(needs), (), cautions)


def _order(plan: Plan, work: Work) -> Order:
    lines = []
    for material in (BOARD, SCREWS, UNDERCOAT, FINISH, BEAD, SCRIM):
        by_room = {room.ref: 0.0 for room in plan.rooms}
        for need in work.needs:
            if need.material == material.slug:
                by_room[need.room] += need.amount
        lines.append(_line(material, by_room))
    return Order(tuple(lines))


def _line(material: Material, by_room: dict[str, float]) -> OrderLine:
    net, more = sum(by_room.values()), 1 + material.waste_pct / 100
    packs = -int(-(net * more) // material.pack_size)
    shares = tuple(RoomShare(room, n, n * more, n * more / material.pack_size) for room, n in by_room.items() if n)
    cost = None if material.price is None else material.price * packs
    return OrderLine(
        material,
        net,
        material.waste_pct,
        net * more,
        packs,
        packs * material.pack_size - net * more,
        packs * material.pack_kg,
        shares,
        cost,
        f"{net:.1f} {material.unit} and {material.waste_pct:g} % waste",
    )


def with_names(base: Takeoff, *names: str) -> Takeoff:
    """`base` with its rooms, materials and build-ups renamed: hostile names go everywhere a name can stand."""
    rooms = tuple(replace(r, name=names[n % len(names)]) for n, r in enumerate(base.plan.rooms))
    openings = tuple(replace(o, tag=names[n % len(names)]) for n, o in enumerate(base.plan.openings))
    lines = tuple(
        replace(li, material=replace(li.material, title=f"{names[n % len(names)]} {n}"))
        for n, li in enumerate(base.order.lines)
    )
    return replace(
        base, plan=replace(base.plan, rooms=rooms, openings=openings), order=replace(base.order, lines=lines)
    )
