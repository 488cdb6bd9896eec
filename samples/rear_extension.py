"""Draws rear_extension.dxf: an extension at the back of an old house, drawn on the survey of it, in millimetres.

    python samples/rear_extension.py [OUT.dxf]

Existing, new and removed work on layers of their own, after the status field of the US National CAD Standard (E, N,
D). Existing doors are loose lines with number tags beside them, new ones are blocks; sizes stand in the schedules.
Room tags are blocks with attributes. Origin: inner face of the front room's lower left corner.
"""

from __future__ import annotations

import sys
from pathlib import Path

from ezdxf.enums import TextEntityAlignment
from office import Sheet, Style
from shapely import Polygon, box, union_all
from symbols import Hole, cut_all, furnish, place, stairs

LAYERS = {
    "old wall": Style("A-WALL-E", 8, weight=35),
    "new wall": Style("A-WALL-N", 1, weight=50),
    "new stud": Style("A-WALL-PRTN-N", 1, weight=35),
    "removed": Style("A-WALL-D", 6, "DASHED"),
    "hatch": Style("A-WALL-PATT-N", 252, weight=9),
    "door": Style("A-DOOR-N", 4),
    "old door": Style("A-DOOR-E", 8),
    "window": Style("A-GLAZ", 5),
    "threshold": Style("A-GLAZ-SILL", 9),
    "insulation": Style("A-WALL-CAVI-N", 30),
    "beam": Style("S-BEAM-N", 3, "DASHED"),
    "overhead": Style("A-FLOR-OVHD", 8, "DASHED"),
    "rooflight": Style("A-ROOF-RLIT-N", 5, "DASHED"),
    "stair": Style("A-FLOR-STRS-E", 8),
    "hearth": Style("A-FLOR-HRTH-E", 8),
    "sanitary": Style("A-FLOR-PFIX", 9),
    "fittings": Style("A-FLOR-CASE", 9),
    "furniture": Style("I-FURN", 9),
    "room": Style("A-AREA-IDEN", 7),
    "symbol text": Style("A-DOOR-IDEN", 7),
    "dims": Style("A-ANNO-DIMS", 2),
    "grid": Style("S-GRID", 252, "CENTER"),
    "section": Style("A-ANNO-SYMB", 1, "PHANTOM", 50),
    "text": Style("A-ANNO-NOTE", 7),
    "table": Style("A-ANNO-SCHD", 7),
    "frame": Style("A-ANNO-TTLB", 7),
    "boundary": Style("C-PROP", 3, "PHANTOM"),
}

BLOCK, CAVITY, BRICK = 100.0, 100.0, 103.0
NEW = BLOCK + CAVITY + BRICK
OLD = 225.0
"""One-brick wall with its plaster."""

OLD_WALLS = union_all([
    box(-OLD, -OLD, 8137, 0),                                # front
    box(-OLD, -OLD, 0, 7725),                                # party wall
    box(5200, -OLD, 5425, 7725),                             # old flank, now to the garage
    box(8025, -OLD, 8137, 7725), box(7913, 2400, 8025, 2625),  # garage wall, half brick, with its pier
    box(-OLD, 7500, 3520, 7725), box(5200, 7500, 8137, 7725),  # back wall
    box(3400, 0, 3520, 7725),                                # hall and kitchen
    box(0, 3900, 3400, 4020), box(3400, 5400, 5200, 5520), box(5425, 5000, 8025, 5120),
    box(0, 1250, 350, 2650), box(0, 5000, 350, 6400),        # chimney breasts
])
PORCH = box(3417, -1528, 5303, -OLD).difference(box(3520, -1425, 5200, -OLD))
STUDS = union_all([box(0, 9725, 2000, 9825), box(1900, 9725, 2000, 11325), box(7925, 5120, 8025, 7500)])
REMOVED = [box(3520, 7500, 5200, 7725), box(3520, 6700, 4500, 6775), box(4425, 6775, 4500, 7500)]

OLD_DOORS = [
    Hole("D02", (3460, 3838), (3460, 3000), 120, "plain", right=True),
    Hole("D03", (3460, 4200), (3460, 5038), 120, "plain"),
    Hole("D04", (4300, 5460), (5062, 5460), 120, "plain"),
    Hole("D07", (3900, -OLD / 2), (4810, -OLD / 2), OLD, "plain"),
]
OLD_WINDOWS = [Hole("W01", (800, -OLD / 2), (2600, -OLD / 2), OLD, "sash")]
OLD_HOLES = [
    *OLD_DOORS, *OLD_WINDOWS,
    Hole("D06", (5312.5, 6000), (5312.5, 6838), OLD, "door", right=True),
    Hole("W05", (7300, 7612.5), (6100, 7612.5), OLD, "sash"),
    Hole("D09", (5600, -OLD / 2), (7800, -OLD / 2), OLD, "overhead"),
    Hole("O01", (800, 7612.5), (2600, 7612.5), OLD, "open"),
]
NEW_HOLES = [
    Hole("D01", (3905, -1476.5), (4815, -1476.5), BRICK, "door"),
    Hole("W02", (5251.5, -1125), (5251.5, -525), BRICK, "sash"),
    Hole("D05", (1950, 10038), (1950, 10800), 100, "door"),
    Hole("D08", (5150, 11325 + NEW / 2), (2150, 11325 + NEW / 2), NEW, "folding"),
    Hole("W03", (1210, 11325 + NEW / 2), (600, 11325 + NEW / 2), NEW, "window"),
]


def extension_leaf(inner: float, outer: float) -> Polygon:
    """One leaf of the new cavity wall, between two distances outside its inner face; the old back wall closes it."""
    return box(-outer, 7725, 5200 + outer, 11325 + outer).difference(box(-inner, 7000, 5200 + inner, 11325 + inner))


def walls(sheet: Sheet) -> None:
    sheet.bodies("old wall", cut_all(OLD_WALLS, OLD_HOLES), True)
    for leaf, pattern in ((extension_leaf(0, BLOCK), "ANSI37"), (extension_leaf(BLOCK + CAVITY, NEW), "ANSI31"),
                          (PORCH, "ANSI31")):
        sheet.bodies("new wall", cut_all(leaf, NEW_HOLES), False, pattern)
    sheet.bodies("new stud", cut_all(STUDS, NEW_HOLES), False)
    for body in REMOVED:
        sheet.bodies("removed", body, True)
    sheet.text("removed", "WALL AND WINDOW REMOVED", (3600, 7580), 1.8)
    sheet.line("removed", (3900, 7725), (4800, 7725))
    for y in (7500, 7725):
        sheet.line("beam", (650, y), (2750, y))
        sheet.line("beam", (3370, y), (5350, y))
    sheet.text("beam", "STEEL BEAMS OVER", (900, 7800), 1.8)


def openings(sheet: Sheet) -> None:
    for hole in OLD_DOORS:
        place(sheet, hole, role="old door", exploded=True)
    for hole in [*OLD_WINDOWS, *OLD_HOLES[-4:], *NEW_HOLES]:
        place(sheet, hole)
    beside = {"D01": (4360, -1900), "D02": (3080, 3300), "D03": (3750, 5150), "D04": (4680, 5750), "D05": (2200, 9900),
              "D06": (5750, 5950), "D07": (4360, -500), "D08": (3650, 12100), "D09": (6700, -600), "O01": (1700, 7400),
              "W01": (1700, -700), "W02": (5600, -825), "W03": (905, 12100), "W05": (6700, 8000)}
    for no, at in beside.items():
        sheet.circle("symbol text", at, 175)
        sheet.text("symbol text", no, at, 2.0, align=TextEntityAlignment.MIDDLE_CENTER)


def room_tags(sheet: Sheet) -> None:
    block = sheet.doc.blocks.new("ROOM-TAG")
    style = sheet.layer("room") | {"style": "OFFICE"}
    sheet.box("room", -250, 90, 500, 230, on=block)
    for tag, y, tall in (("NUMBER", 140, 120), ("NAME", -90, 150), ("AREA", -300, 120), ("CEILING", -500, 120)):
        block.add_attdef(tag, (0, y), height=tall, dxfattribs=style).set_placement(
            (0, y), align=TextEntityAlignment.CENTER)
    for number, name, area, height, at in (
        ("01", "PORCH", "2.0", "2.30", (4650, -800)), ("02", "HALL", "9.1", "2.70", (3900, 2500)),
        ("03", "FRONT ROOM", "12.8", "2.70", (1900, 2200)), ("04", "DINING ROOM", "11.3", "2.70", (1800, 5800)),
        ("05", "KITCHEN / FAMILY ROOM", "19.2", "2.50", (3500, 8900)),
        ("06", "SHOWER ROOM", "2.9", "2.40", (950, 10700)),
        ("07", "GARAGE", "13.0", "2.40", (6700, 3200)), ("08", "UTILITY", "6.0", "2.40", (6700, 6500)),
    ):
        insert = sheet.msp.add_blockref("ROOM-TAG", at, sheet.layer("room"))
        insert.add_auto_attribs({"NUMBER": number, "NAME": name, "AREA": f"{area} m2", "CEILING": f"CLG {height}"})


def inside(sheet: Sheet) -> None:
    stairs(sheet, 4300, 1500, 900, 250, 12, "UP")
    for x, y in ((3000, 8600), (4100, 10000)):
        sheet.box("rooflight", x - 500 + 400, y + 100, 1000, 1000)
        sheet.line("rooflight", (x - 100, y + 100), (x + 900, y + 1100))
        sheet.text("rooflight", "ROOFLIGHT 1000 x 1000", (x - 60, y + 120), 1.6)
    furnish(sheet, "worktop", (5200, 5600), (3600, 600), 90)
    furnish(sheet, "sink", (5200, 7800), (1000, 600), 90)
    furnish(sheet, "hob", (5200, 6000), (600, 600), 90)
    furnish(sheet, "worktop", (2600, 8400), (1800, 900))
    furnish(sheet, "table", (800, 8300), (1200, 800))
    furnish(sheet, "shower", (0, 9825), (1200, 900))
    furnish(sheet, "pan", (500, 11325), (380, 700), 180)
    furnish(sheet, "basin", (1850, 11325), (450, 360), 180)
    furnish(sheet, "sofa", (1000, 0), (1900, 850))
    furnish(sheet, "table", (1200, 4600), (1500, 900))
    furnish(sheet, "worktop", (7900, 7500), (1800, 600), 180)
    for y in (1250, 5000):  # hearths
        sheet.box("hearth", 350, y + 200, 400, 1000)


def dimensions(sheet: Sheet) -> None:
    sheet.chain([(-NEW, 11628), (0, 11628), (5200, 11628), (5503, 11628)], 1300)
    sheet.chain([(x, 11628) for x in (0, 600, 1210, 2150, 5150)], 800)
    sheet.chain([(5503, y) for y in (11628, 7725)], 700)
    sheet.chain([(-OLD, y) for y in (-OLD, 7725, 11628)], 1200)
    sheet.chain([(x, -1528) for x in (3417, 3905, 4815, 5303)], -900)
    sheet.chain([(x, 800) for x in (0, 3400, 3520, 5200)], 0)
    sheet.chain([(2700, y) for y in (0, 3900, 4020, 7500)], 0)
    sheet.chain([(2600, y) for y in (7725, 11325)], 0)


def schedules(sheet: Sheet) -> None:
    sheet.table((14500, 11500), (18, 52, 30, 30, 60), [
        ("No.", "Position", "Width", "Height", "Type"),
        ("D01", "Porch, front", "910", "2100", "New external, frame"),
        ("D02", "Hall / front room", "838", "2040", "Existing, retained"),
        ("D03", "Hall / dining room", "838", "2040", "Existing, retained"),
        ("D04", "Hall / kitchen", "762", "2040", "Existing, retained"),
        ("D05", "Shower room", "762", "2040", "New internal, lining"),
        ("D06", "Kitchen / utility", "838", "2040", "New fire door, lining"),
        ("D07", "Porch / hall", "910", "2100", "Existing front door"),
        ("D08", "Family room, rear", "3000", "2100", "New folding, 4 leaves"),
        ("D09", "Garage", "2200", "2100", "Existing, up and over"),
        ("O01", "Dining / family room", "1800", "2100", "Plain opening, plastered"),
    ], "DOOR SCHEDULE (structural openings, mm)")
    sheet.table((14500, 6800), (18, 52, 30, 30, 30), [
        ("No.", "Position", "Width", "Height", "Cill"),
        ("W01", "Front room", "1800", "1300", "800"),
        ("W02", "Porch, side", "600", "1050", "1050"),
        ("W03", "Shower room", "610", "1050", "1050"),
        ("W05", "Utility", "1200", "1050", "1050"),
    ], "WINDOW SCHEDULE (structural openings, mm)")


def surround(sheet: Sheet) -> None:
    sheet.text("text", "GROUND FLOOR PLAN AS PROPOSED  1:50", (0, -3900), 5)
    sheet.line("boundary", (-112, 14000), (-112, 11628))
    sheet.line("boundary", (-112, -225), (-112, -3000))
    sheet.section_mark("B", (2300, -1800), (2300, 13200))
    sheet.north((11000, 11500))
    for name, a, b in (("A", (2900, 14500), (2900, 12400)), ("B", (5250, 14500), (5250, 12400))):
        sheet.grid(name, a, b)
    for n, note in enumerate([
        "NOTES", "1. Sizes in millimetres, to structural faces. Existing walls as surveyed, plaster included.",
        "2. Existing work on layers ending E, new N, removed D (dashed).",
        "3. Ceilings: existing rooms 2700, extension 2500 below flat roof, see room tags.",
        "4. Check existing plaster and board for asbestos before any work: see the survey report.",
        "5. DEMONSTRATION DRAWING: people, place and project are invented.",
    ]):
        sheet.text("text", note, (14500, 3800 - n * 350), 3.5 if n == 0 else 2.5)
    sheet.title_block("A1", (-8000, -9000), {
        "PROJECT": "DEMO: Rear extension, 7 Saltpan Row", "CLIENT": "Invented for demonstration",
        "TITLE": "Ground floor as proposed, schedules", "DRAWING_NO": "DEMO-202", "REVISION": "A",
        "SCALE": "1:50 at A1", "DRAWN": "Demo drawing office", "DATE": "2024-05-13",
    })


def draw(out: Path) -> None:
    sheet = Sheet("mm", 50, LAYERS, "R2013")
    walls(sheet)
    openings(sheet)
    room_tags(sheet)
    inside(sheet)
    dimensions(sheet)
    schedules(sheet)
    surround(sheet)
    sheet.save(out)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("rear_extension.dxf"))
