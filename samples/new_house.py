"""Draws new_house.dxf: a two-storey house to be built, both storeys on one sheet, in millimetres.

    python samples/new_house.py [OUT.dxf]

Cavity walls of brick, insulation and block; block partitions below, stud partitions above. Layers after BS 1192:
role, Uniclass classification, presentation, alias. Every storey is drawn about its own origin, the inner face of
the lower left corner; the first floor stands 14 m to the right.
"""

from __future__ import annotations

import sys
from pathlib import Path

from office import Point, Sheet, Style
from shapely import box, union_all
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry
from symbols import Hole, cut_all, furnish, place, shifted, stairs

LAYERS = {
    "brick": Style("A-G251-M_ExternalWall-Brick", 3, weight=50),
    "block": Style("A-G251-M_ExternalWall-Block", 3, weight=50),
    "partition": Style("A-G252-M_InternalWall-Block", 2, weight=50),
    "stud": Style("A-G252-M_InternalWall-Stud", 2, weight=35),
    "insulation": Style("A-G251-M_ExternalWall-Insulation", 30),
    "hatch": Style("A-G25-H_WallHatch", 8, weight=9),
    "door": Style("A-G322-M_Door", 4),
    "window": Style("A-G321-M_Window", 5),
    "threshold": Style("A-G32-M_CillThreshold", 9),
    "symbol text": Style("A-G32-T_OpeningTag", 7),
    "stair": Style("A-G23-M_Stair", 6),
    "sanitary": Style("A-G73-M_Sanitary", 9),
    "fittings": Style("A-G72-M_KitchenFittings", 9),
    "furniture": Style("A-G71-M_Furniture", 8),
    "room": Style("A-G9-T_RoomName", 7),
    "dims": Style("A-Z1-D_Dimensions", 1),
    "grid": Style("A-Z2-M_Grid", 252, "CENTER"),
    "section": Style("A-Z3-M_SectionMark", 1, "PHANTOM", 50),
    "overhead": Style("A-G24-M_RoofOverhang", 8, "DASHED"),
    "text": Style("A-Z4-T_Notes", 7),
    "table": Style("A-Z5-T_Schedules", 7),
    "frame": Style("A-Z6-P_TitleSheet", 7),
}

INSIDE = (8400.0, 8000.0)
"""Width and depth inside the external walls."""
BLOCK, CAVITY, BRICK = 100.0, 100.0, 103.0
OUTER = BLOCK + CAVITY + BRICK
FIRST_FLOOR = 14000.0
TAGS = ("NO", "WIDTH", "HEIGHT", "CILL")


def opening(no: str, look: str, a: Point, b: Point, thick: float, height: int, cill: int = 0,
            right: bool = False) -> Hole:
    width = abs(b[0] - a[0]) + abs(b[1] - a[1])
    return Hole(no, a, b, thick, look, right, {"WIDTH": f"{width:.0f}", "HEIGHT": str(height), "CILL": str(cill)})


def front(no: str, look: str, x: float, width: float, height: int, cill: int = 0) -> Hole:
    return opening(no, look, (x, -OUTER / 2), (x + width, -OUTER / 2), OUTER, height, cill)


def rear(no: str, look: str, x: float, width: float, height: int, cill: int = 0) -> Hole:
    y = INSIDE[1] + OUTER / 2
    return opening(no, look, (x + width, y), (x, y), OUTER, height, cill)


GROUND_OPENINGS = [
    front("D01", "frame", 4780, 1010, 2110),
    opening("D02", "door", (3750, 1338), (3750, 500), 100, 2040, right=True),
    opening("D03", "door", (5950, 1162), (5950, 400), 100, 2040, right=False),
    opening("D04", "door", (7138, 4650), (6300, 4650), 100, 2040, right=False),
    opening("D05", "door", (5688, 4650), (4850, 4650), 100, 2040, right=True),
    opening("D06", "door", (1838, 4650), (1000, 4650), 100, 2040, right=True),
    rear("D07", "double", 3200, 1800, 2110),
    opening("D08", "frame", (INSIDE[0] + OUTER / 2, 2400), (INSIDE[0] + OUTER / 2, 3310), OUTER, 2110),
    front("W01", "window", 950, 1800, 1350, 750),
    opening("W02", "window", (-OUTER / 2, 3200), (-OUTER / 2, 2000), OUTER, 1350, 750),
    rear("W03", "window", 6000, 1800, 1050, 1050),
    front("W04", "window", 6900, 610, 1050, 1050),
    rear("W05", "window", 600, 1200, 1350, 750),
]
FIRST_OPENINGS = [
    opening("D09", "door", (3688, 4050), (2850, 4050), 100, 2040, right=False),
    opening("D10", "door", (3750, 400), (3750, 1162), 100, 2040, right=True),
    opening("D11", "door", (5950, 2500), (5950, 3338), 100, 2040, right=True),
    opening("D12", "door", (5950, 5332), (5950, 4570), 100, 2040, right=False),
    opening("D13", "door", (4300, 5450), (5062, 5450), 100, 2040, right=False),
    opening("D14", "door", (2750, 4400), (2750, 5238), 100, 2040, right=False),
    opening("D15", "door", (5950, 3745), (5950, 4355), 100, 2040, right=False),
    front("W06", "window", 950, 1800, 1200, 900),
    front("W07", "window", 4545, 610, 1050, 1050),
    front("W08", "window", 6600, 1200, 1200, 900),
    rear("W09", "window", 950, 1800, 1200, 900),
    rear("W10", "window", 4545, 610, 1050, 1050),
    rear("W11", "window", 6600, 1200, 1200, 900),
]
GROUND_WALLS = union_all([
    box(3700, 0, 3800, 4700), box(5900, 0, 6000, 4700), box(0, 4600, 8400, 4700), box(2400, 4600, 2500, 8000),
    box(5900, 1500, 8400, 1600),
])
FIRST_WALLS = union_all([
    box(3700, 0, 3800, 4100), box(5900, 0, 6000, 8000), box(0, 4000, 3800, 4100), box(3700, 1600, 6000, 1700),
    box(2700, 4000, 2800, 5500), box(2700, 5400, 6000, 5500), box(3700, 5400, 3800, 8000),
    box(5900, 3600, 8400, 3700), box(6700, 3600, 6800, 4500), box(5900, 4400, 6800, 4500),
])
BOXING = box(8100, 7750, 8400, 8000).difference(box(8150, 7800, 8400, 8000))


def ring(inner: float, outer: float) -> BaseGeometry:
    """The band round the house between two distances outside its inner face."""
    w, d = INSIDE
    return box(-outer, -outer, w + outer, d + outer).difference(box(-inner, -inner, w + inner, d + inner))


def walls(sheet: Sheet, partitions: BaseGeometry, holes: list[Hole], dx: float, bonded: bool) -> None:
    """One storey's walls; `bonded` block partitions run into the inner leaf, stud ones only touch it."""
    moved = shifted(holes, dx)
    leaf = ring(0, BLOCK)
    inner = union_all([leaf, partitions]) if bonded else leaf
    sheet.bodies("brick", cut_all(translate(ring(BLOCK + CAVITY, OUTER), dx), moved), True, "ANSI31")
    sheet.bodies("block", cut_all(translate(inner, dx), moved), True, "ANSI37")
    if not bonded:
        sheet.bodies("stud", cut_all(translate(partitions, dx), moved), False)
    for hole in moved:
        if hole.thick == OUTER:
            cavity_closers(sheet, hole)
        place(sheet, hole, TAGS)


def cavity_closers(sheet: Sheet, hole: Hole) -> None:
    """A line closes the cavity at either jamb."""
    turn = (-(hole.b[1] - hole.a[1]) / hole.width, (hole.b[0] - hole.a[0]) / hole.width)
    for x, y in (hole.a, hole.b):
        ends = [OUTER / 2 - BLOCK, -OUTER / 2 + BRICK]
        sheet.line("insulation", *[(x + turn[0] * e, y + turn[1] * e) for e in ends])


def room(sheet: Sheet, name: str, area: str, height: int, x: float, y: float) -> None:
    sheet.label("room", [name, f"{area} m²", f"CH {height}"], (x, y))


def ground_floor(sheet: Sheet) -> None:
    walls(sheet, GROUND_WALLS, GROUND_OPENINGS, 0, bonded=True)
    sheet.bodies("stud", BOXING, False)
    sheet.circle("sanitary", (8260, 7900), 55)
    stairs(sheet, 3800, 1700, 900, 235, 12, "UP")
    for name, area, x, y in (
        ("LIVING ROOM", "17.0", 1850, 2900), ("HALL", "9.7", 5300, 3300), ("WC", "3.6", 7350, 900),
        ("UTILITY", "7.2", 7000, 3600), ("KITCHEN / DINING", "19.4", 5200, 6300), ("SNUG", "7.9", 1500, 6700),
    ):
        room(sheet, name, area, 2400, x, y)
    furnish(sheet, "sofa", (2800, 4600), (2000, 900), 180)
    furnish(sheet, "sofa", (0, 1900), (1500, 850), -90)
    furnish(sheet, "table", (3600, 5500), (1600, 900))
    furnish(sheet, "worktop", (8400, 4900), (2800, 600), 90)
    furnish(sheet, "worktop", (8100, 8000), (2700, 600), 180)
    furnish(sheet, "sink", (7400, 8000), (1000, 600), 180)
    furnish(sheet, "hob", (8400, 5800), (600, 600), 90)
    furnish(sheet, "worktop", (6500, 1600), (1800, 600))
    furnish(sheet, "pan", (8400, 500), (380, 700), 90)
    furnish(sheet, "basin", (6700, 1500), (450, 360), 180)
    furnish(sheet, "table", (300, 7300), (1200, 600), -90)


def first_floor(sheet: Sheet) -> None:
    dx = FIRST_FLOOR
    walls(sheet, translate(FIRST_WALLS, 0), FIRST_OPENINGS, dx, bonded=False)
    stairs(sheet, dx + 3800, 1700, 900, 235, 12, "DN")
    sheet.line("stair", (dx + 4740, 1700), (dx + 4740, 4520))  # handrail
    for name, area, x, y in (
        ("BEDROOM 1", "14.8", 1700, 2500), ("EN-SUITE", "3.4", 5000, 1100), ("BEDROOM 3", "8.6", 7400, 2600),
        ("LANDING", "9.1", 5200, 3600), ("BATHROOM", "5.3", 4600, 6900), ("BEDROOM 2", "13.0", 1300, 6300),
        ("BEDROOM 4", "9.7", 7300, 6600),
    ):
        room(sheet, name, area, 2350, dx + x, y)
    sheet.text("room", "AIRING CPD", (dx + 6080, 4000), 1.6)
    furnish(sheet, "bed", (dx, 3000), (1500, 2000), -90)
    furnish(sheet, "wardrobe", (dx + 2700, 4000), (2700, 600), 180)
    furnish(sheet, "shower", (dx + 5000, 800), (900, 800))
    furnish(sheet, "pan", (dx + 4500, 1600), (380, 700), 180)
    furnish(sheet, "basin", (dx + 5700, 0), (450, 360), 90)
    furnish(sheet, "bed", (dx + 8400, 300), (900, 1900), 90)
    furnish(sheet, "bed", (dx, 7000), (1350, 1900), -90)
    furnish(sheet, "wardrobe", (dx + 3700, 6300), (1500, 600), 90)
    furnish(sheet, "bath", (dx + 5900, 6200), (1700, 700), 90)
    furnish(sheet, "pan", (dx + 4200, 8000), (380, 700), 180)
    furnish(sheet, "basin", (dx + 3800, 6900), (550, 420), -90)
    furnish(sheet, "bed", (dx + 8400, 5200), (900, 1900), 90)
    furnish(sheet, "wardrobe", (dx + 7700, 8000), (1500, 600), 180)
    e = OUTER + 450
    sheet.box("overhead", dx - e, -e, INSIDE[0] + 2 * e, INSIDE[1] + 2 * e)


def dimensions(sheet: Sheet, dx: float, holes: list[Hole]) -> None:
    """Overall sizes, the openings of the front, and one run through the rooms each way."""
    w, d = INSIDE
    sheet.dimension((dx - OUTER, -OUTER), (dx + w + OUTER, -OUTER), -2600)
    sheet.dimension((dx - OUTER, -OUTER), (dx - OUTER, d + OUTER), 2600)
    faces = sorted({x for h in holes if h.a[1] == -OUTER / 2 for x in (h.a[0], h.b[0])})
    sheet.chain([(dx + x, -OUTER) for x in (-OUTER, *faces, w + OUTER)], -1700)
    if dx:
        sheet.chain([(dx + x, 800) for x in (0, 3700)], 0)
        sheet.chain([(dx + 600, y) for y in (0, 4000, 4100, 8000)], 0)
        sheet.chain([(dx + x, 7400) for x in (3800, 5900, 6000, 8400)], 0)
        return
    sheet.chain([(x, 800) for x in (0, 3700)], 0)
    sheet.chain([(500, y) for y in (0, 4600, 4700, 8000)], 0)
    sheet.chain([(x, 7200) for x in (0, 2400, 2500, 8400)], 0)
    sheet.chain([(6200, y) for y in (0, 1500, 1600, 4600)], 0)


def cross_section(sheet: Sheet, x: float, y: float) -> None:
    """Section A-A beside the plans: two storeys cut through living room, snug and the bedrooms over them."""
    depth = INSIDE[1]
    for left, role in ((-OUTER, "brick"), (depth + BLOCK + CAVITY, "brick")):
        sheet.box(role, x + left, y, BRICK, 5200)
    for left in (-BLOCK, depth):
        sheet.box("block", x + left, y, BLOCK, 5200)
    for bottom, thick in ((-250, 250), (2400, 300), (5050, 150)):
        sheet.box("partition", x, y + bottom, depth, thick)
    sheet.box("partition", x + 4600, y, 100, 2400)
    sheet.box("stud", x + 4000, y + 2700, 100, 2350)
    eaves = y + 5200
    sheet.line("overhead", (x - 750, eaves - 300), (x + depth / 2, eaves + 3300), (x + depth + 750, eaves - 300))
    for level, name in ((0, "FFL 0.000"), (2700, "FFL +2.700"), (5050, "CEILING +5.050")):
        sheet.line("text", (x - 1600, y + level), (x - 500, y + level))
        sheet.text("text", name, (x - 1900, y + level + 60), 2.0)
    sheet.dimension((x + 1500, y), (x + 1500, y + 2400), 0)
    sheet.dimension((x + 1500, y + 2700), (x + 1500, y + 5050), 0)
    sheet.text("text", "SECTION A-A  1:50", (x, y - 900), 5)


def surround(sheet: Sheet) -> None:
    """Titles, grids, section marks, notes and the page."""
    w, d = INSIDE
    for dx, title in ((0.0, "GROUND FLOOR PLAN  1:50"), (FIRST_FLOOR, "FIRST FLOOR PLAN  1:50")):
        sheet.text("text", title, (dx, -4600), 5)
        for name, x in (("1", -BLOCK / 2), ("2", 3750), ("3", 5950), ("4", w + BLOCK / 2)):
            sheet.grid(name, (dx + x, d + 1700), (dx + x, -900))
        for name, y in (("A", -BLOCK / 2), ("B", 4650), ("C", d + BLOCK / 2)):
            sheet.grid(name, (dx + w + 1500, y), (dx - 800, y))
        sheet.section_mark("A", (dx + 1200, -1200), (dx + 1200, d + 1200))
    cross_section(sheet, 25000, 10300)
    sheet.north((26000, 1500))
    notes = [
        "NOTES", "1. Do not scale: work to figured dimensions. All sizes in millimetres.",
        "2. Sizes are to structural faces before plaster.",
        "3. External walls: 103 facing brick, 100 cavity, 100 block, board on dabs.",
        "4. Ground floor partitions 100 block; first floor partitions 100 overall on timber studs.",
        "5. Ceiling heights: ground floor 2400, first floor 2350.",
        "6. Opening sizes are structural openings, width x height, from the tags on the symbols.",
        "7. DEMONSTRATION DRAWING: people, place and project are invented.",
    ]
    for n, note in enumerate(notes):
        sheet.text("text", note, (24500, -2500 - n * 350), 3.5 if n == 0 else 2.5)
    sheet.title_block("A1", (-5500, -10500), {
        "PROJECT": "DEMO: New house, Plot 3, Kiln Field", "CLIENT": "Invented for demonstration",
        "TITLE": "Floor plans and section A-A", "DRAWING_NO": "DEMO-101", "REVISION": "B", "SCALE": "1:50 at A1",
        "DRAWN": "Demo drawing office", "DATE": "2024-03-04",
    })


def draw(out: Path) -> None:
    sheet = Sheet("mm", 50, LAYERS, "R2010")
    ground_floor(sheet)
    first_floor(sheet)
    dimensions(sheet, 0.0, GROUND_OPENINGS)
    dimensions(sheet, FIRST_FLOOR, FIRST_OPENINGS)
    surround(sheet)
    sheet.save(out)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("new_house.dxf"))
