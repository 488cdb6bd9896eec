"""Draws upstairs_flat.dxf: an old first-floor flat to be refurbished, in metres.

    python samples/upstairs_flat.py [OUT.dxf]

A small office's drawing: layers in plain words, old walls filled solid, symbols exploded to loose lines, heights as
texts. It has a canted bay, two chimney breasts, a curved wall between hall and bedroom 2, and a sloping ceiling at
the back of bedroom 2. Sizes below in millimetres; `Sheet` writes metres. Origin: inner lower left corner of the
living room.
"""

from __future__ import annotations

import math
import sys
from pathlib import Path

from office import Point, Sheet, Style
from shapely import Polygon, box, union_all
from shapely.geometry.base import BaseGeometry
from symbols import Hole, cut_all, furnish, place, stairs

LAYERS = {
    "old wall": Style("Walls", 7, weight=50),
    "stud": Style("Walls new stud", 2, weight=35),
    "hatch": Style("Wall fill", 253, weight=9),
    "door": Style("Doors", 4),
    "window": Style("Walls", 7),
    "threshold": Style("Windows sills", 9),
    "overhead": Style("Over", 8, "DASHED"),
    "stair": Style("Stairs", 6),
    "hearth": Style("Hearths", 8),
    "sanitary": Style("Bathroom", 9),
    "fittings": Style("Kitchen", 9),
    "furniture": Style("Loose furniture", 8),
    "room": Style("Room text", 7),
    "heights": Style("Heights", 1),
    "dims": Style("Dims", 1),
    "section": Style("Sections", 1, "PHANTOM"),
    "text": Style("Notes", 7),
    "frame": Style("Sheet", 7),
}
OUTER = 330.0
"""One and a half brick and plaster."""
STUD = 120.0
BAY = [(1200.0, 0.0), (1800.0, -800.0), (3000.0, -800.0), (3600.0, 0.0)]
"""Inner face of the canted bay."""
BAY_WALL = 250.0
CURVE = (6900.0, 5600.0)
"""Centre of the curved wall."""
CURVE_HALL, CURVE_BEDROOM = 1000.0, 880.0

FLAT = box(0, 0, 9600, 8400)
NEW_STUDS = union_all([
    box(3600, 4720, 3720, 8400), box(3720, 5780, 5900, 5900), box(5900, CURVE[1], 6020, 8400),
    box(CURVE[0], 4600, 9600, 4720),
])
CUPBOARD = box(8720, 2620, 9600, 3400).difference(box(8800, 2700, 9600, 3400))
OLD_PARTITIONS = union_all([box(0, 4600, 4920, 4720), box(4800, 0, 4920, 4720), box(4800, 3400, 9600, 3520)])
BREASTS = [box(0, 1600, 400, 3100), box(0, 5900, 350, 7200)]
STAIR = box(9930, 2200, 12130, 6400)


def on_bay(no: str, a: Point, b: Point, width: float) -> Hole:
    """A window of `width` in the middle of the bay's face from `a` to `b` (the room lies to the left)."""
    length = math.dist(a, b)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    mid = ((a[0] + b[0]) / 2 + uy * BAY_WALL / 2, (a[1] + b[1]) / 2 - ux * BAY_WALL / 2)
    return Hole(no, (mid[0] - ux * width / 2, mid[1] - uy * width / 2),
                (mid[0] + ux * width / 2, mid[1] + uy * width / 2), BAY_WALL, "sash")


BAY_WINDOWS = [on_bay("W1", BAY[0], BAY[1], 600), on_bay("W2", BAY[1], BAY[2], 900), on_bay("W3", BAY[2], BAY[3], 600)]
WINDOWS = [
    Hole("W4", (6300, -OUTER / 2), (7700, -OUTER / 2), OUTER, "sash"),
    Hole("W5", (2400, 8400 + OUTER / 2), (1200, 8400 + OUTER / 2), OUTER, "sash"),
    Hole("W6", (5200, 8400 + OUTER / 2), (4500, 8400 + OUTER / 2), OUTER, "sash"),
    Hole("W7", (8400, 8400 + OUTER / 2), (7200, 8400 + OUTER / 2), OUTER, "sash"),
]
OLD_DOORS = [
    Hole("D1", (9600 + OUTER / 2, 4500), (9600 + OUTER / 2, 3590), OUTER, "plain", right=True),
    Hole("D2", (4860, 4450), (4860, 3610), STUD, "plain", right=True),
    Hole("D3", (6000, 3460), (5160, 3460), STUD, "plain"),
]
NEW_DOORS = [
    Hole("D4", (3660, 5700), (3660, 4860), STUD, "plain", right=True),
    Hole("D5", (4100, 5840), (4860, 5840), STUD, "plain"),
    Hole("D6", (7300, 4660), (8140, 4660), STUD, "plain"),
    Hole("D7", (8840, 2660), (9500, 2660), 80, "plain", right=True),
]


def old_walls() -> BaseGeometry:
    """Outer walls with the bay, the partitions and chimney breasts that stay, and the stair's walls."""
    bay = Polygon(BAY)
    shell = FLAT.buffer(OUTER, join_style="mitre").difference(FLAT)
    cheeks = bay.buffer(BAY_WALL, join_style="mitre").intersection(box(0, -3000, 4800, 0))
    stair = STAIR.buffer(OUTER, join_style="mitre").difference(STAIR).difference(box(9000, 2200, 9930, 6400))
    whole = union_all([shell, cheeks, stair, OLD_PARTITIONS]).difference(union_all([bay, STAIR]))
    return cut_all(whole, [*WINDOWS, *BAY_WINDOWS, *OLD_DOORS])


def walls(sheet: Sheet) -> None:
    sheet.bodies("old wall", old_walls(), False, "SOLID")
    for breast in BREASTS:
        sheet.bodies("old wall", breast, False, "SOLID")
    for x, y in ((80.0, 2100.0), (60.0, 6250.0)):
        sheet.box("hatch", x, y, 230, 500)  # flue
    for body in (NEW_STUDS, CUPBOARD):
        sheet.bodies("stud", cut_all(body, NEW_DOORS), True)
    for radius in (CURVE_HALL, CURVE_BEDROOM):
        sheet.arc("stud", CURVE, radius, 180, 270)
    for hole in [*WINDOWS, *BAY_WINDOWS, *OLD_DOORS, *NEW_DOORS]:
        place(sheet, hole, exploded=True)


def texts(sheet: Sheet) -> None:
    for name, area, height, x, y in (
        ("Living room", "22.9", "Ceiling height 2.85", 2600, 2500),
        ("Kitchen", "15.2", "Ceiling height 2.85", 7100, 1700), ("Hall", "7.7", "Ceiling height 2.60", 6700, 4050),
        ("Bedroom 1", "12.8", "Ceiling height 2.75", 2000, 6500),
        ("Bathroom", "5.5", "Ceiling height 2.40", 4900, 7000),
    ):
        sheet.text("room", name, (x - 600, y), 3.0)
        sheet.text("room", f"{area} sq m", (x - 600, y - 230), 2.0)
        sheet.text("heights", height, (x - 600, y - 430), 2.0)
    sheet.label("room", ["Bedroom 2", "13.0 sq m"], (7900, 6000), 3.0)
    sheet.label("heights", ["Sloping ceiling:", "1.50 at back wall", "rising to 2.50"], (8600, 7800), 2.0)
    sheet.text("heights", "Ceiling height 2.50", (7300, 5500), 2.0)
    sheet.line("overhead", (6020, 7200), (9600, 7200))
    sheet.text("room", "Boiler cpd", (8850, 3050), 1.6)
    sheet.text("room", "Common stair", (10400, 2700), 2.5)
    for value, at in (("W 0.60 x 1.70 s 0.70", (300, -700)), ("W 0.90 x 1.70 s 0.70", (1700, -1350)),
                      ("W 0.60 x 1.70 s 0.70", (3500, -700)), ("W 1.40 x 1.20 s 1.00", (6300, -700)),
                      ("W 1.20 x 1.50 s 0.80", (1200, 8900)), ("W 0.70 x 0.90 s 1.30", (4250, 8900)),
                      ("W 1.20 x 0.70 s 0.70", (7200, 8900))):
        sheet.text("heights", value, at, 1.8)


def inside(sheet: Sheet) -> None:
    stairs(sheet, 9930 + 1100, 3000, 1100, 250, 12, "DN")
    furnish(sheet, "sofa", (4700, 800), (1900, 850), 90)
    furnish(sheet, "table", (1700, 300), (1400, 800))
    furnish(sheet, "worktop", (4920, 0), (600, 600))
    furnish(sheet, "worktop", (9600, 0), (2600, 600), 90)
    furnish(sheet, "sink", (6500, 0), (1000, 600))
    furnish(sheet, "hob", (9600, 1200), (600, 600), 90)
    furnish(sheet, "bath", (5900, 5900), (1700, 700), 90)
    furnish(sheet, "pan", (4150, 8400), (380, 700), 180)
    furnish(sheet, "basin", (5750, 8400), (500, 400), 180)
    furnish(sheet, "bed", (3600, 6000), (1500, 1900), 90)
    furnish(sheet, "bed", (6020, 8000), (900, 1900), -90)
    furnish(sheet, "wardrobe", (9600, 4900), (1600, 600), 90)
    sheet.box("hearth", 400, 1850, 380, 1000)


def dimensions(sheet: Sheet) -> None:
    sheet.chain([(x, 8730) for x in (-330, 0, 3600, 3720, 5900, 6020, 9600, 9930)], 1000)
    sheet.chain([(-330, y) for y in (0, 4600, 4720, 8400)], 1000)
    sheet.chain([(x, 1300) for x in (4920, 9600)], 0)
    sheet.chain([(8300, y) for y in (0, 3400)], 0)
    sheet.chain([(x, -1050) for x in (0, 1200, 1800, 3000, 3600, 4800)], -700)


def surround(sheet: Sheet) -> None:
    sheet.text("text", "FIRST FLOOR FLAT - PROPOSED  1:50", (0, -3200), 5)
    sheet.section_mark("A", (8000, -1500), (8000, 9600))
    sheet.north((15500, 8500))
    for n, note in enumerate([
        "NOTES", "All sizes in metres. Measured survey, old walls to plaster face.",
        "Old walls solid; new walls 120 mm overall on studs.",
        "Bedroom 2: ceiling slopes over the last 1.20 m before the back wall.",
        "Built about 1895: lead paint, lime plaster and asbestos to be expected;",
        "see the surveys before any plaster is disturbed.",
        "DEMONSTRATION DRAWING: people, place and project are invented.",
    ]):
        sheet.text("text", note, (13500, 5500 - n * 350), 3.5 if n == 0 else 2.5)
    sheet.title_block("A2", (-6000, -8500), {
        "PROJECT": "DEMO: Refurbishment, Flat 2, 19 Ropewalk Terrace", "CLIENT": "Invented for demonstration",
        "TITLE": "First floor plan", "DRAWING_NO": "DEMO-303", "SCALE": "1:50 at A2", "DATE": "2024-06-24",
    })


def draw(out: Path) -> None:
    sheet = Sheet("m", 50, LAYERS, "R2010")
    walls(sheet)
    texts(sheet)
    inside(sheet)
    dimensions(sheet)
    surround(sheet)
    sheet.save(out)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("upstairs_flat.dxf"))
