"""Draws terraced_house.dxf: a two-bedroom house in the middle of a terrace, two storeys side by side, in millimetres.

    python samples/terraced_house.py [OUT.dxf]

A small practice's drawing: one layer for walls, doors and windows as blocks, sizes of openings as texts beside them.
Party walls 300, outer walls 300, studs 100. Origin: inner face of the lower left corner of the living room; the first
floor stands 12 m to the right.
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
    "wall": Style("WALLS", 7, weight=50),
    "stud": Style("PARTITIONS", 2, weight=35),
    "hatch": Style("WALL HATCH", 252, weight=9),
    "door": Style("DOORS", 4),
    "window": Style("WINDOWS", 5),
    "threshold": Style("SILLS", 9),
    "overhead": Style("OVER", 8, "DASHED"),
    "stair": Style("STAIRS", 6),
    "sanitary": Style("SANITARY", 9),
    "fittings": Style("KITCHEN", 9),
    "furniture": Style("FURNITURE", 8),
    "room": Style("ROOM NAMES", 7),
    "symbol text": Style("OPENING SIZES", 7),
    "dims": Style("DIMENSIONS", 1),
    "text": Style("NOTES", 7),
    "frame": Style("SHEET", 7),
}
WIDE, DEEP, OUTER, STUD = 4600.0, 8000.0, 300.0, 100.0
FIRST = 12000.0
"""From the ground floor to the first, along the sheet."""

SHELL = box(-OUTER, -OUTER, WIDE + OUTER, DEEP + OUTER).difference(box(0, 0, WIDE, DEEP))
GROUND_STUDS = union_all([box(0, 4200, WIDE, 4300), box(1000, 4300, 1100, 5900), box(0, 5900, 1100, 6000)])
FIRST_STUDS = union_all([box(0, 3400, WIDE, 3500), box(0, 5300, WIDE, 5400), box(2000, 3500, 2100, 5300)])

GROUND_OUTER = [
    Hole("D1", (3500, -OUTER / 2), (4400, -OUTER / 2), OUTER, "frame"),
    Hole("W1", (700, -OUTER / 2), (2500, -OUTER / 2), OUTER, "window"),
    Hole("D2", (3400, DEEP + OUTER / 2), (2500, DEEP + OUTER / 2), OUTER, "frame"),
    Hole("W2", (1800, DEEP + OUTER / 2), (600, DEEP + OUTER / 2), OUTER, "window"),
]
GROUND_INNER = [
    Hole("D3", (2600, 4250), (3438, 4250), STUD, "door"),
    Hole("D4", (1050, 5600), (1050, 4838), STUD, "door"),
]
FIRST_OUTER = [
    Hole("W3", (1400, -OUTER / 2), (3200, -OUTER / 2), OUTER, "window"),
    Hole("W4", (2900, DEEP + OUTER / 2), (1700, DEEP + OUTER / 2), OUTER, "window"),
]
FIRST_INNER = [
    Hole("D5", (2400, 3450), (3162, 3450), STUD, "door", right=True),
    Hole("D6", (2050, 4200), (2050, 4962), STUD, "door"),
    Hole("D7", (3200, 5350), (2438, 5350), STUD, "door", right=True),
]
SIZES = {
    "D1": "900 x 2100", "D2": "900 x 2100", "D3": "838 x 2040", "D4": "762 x 2040", "D5": "762 x 2040",
    "D6": "762 x 2040", "D7": "762 x 2040", "W1": "1800 x 1200 sill 900", "W2": "1200 x 1050 sill 1050",
    "W3": "1800 x 1200 sill 900", "W4": "1200 x 1200 sill 900",
}  # fmt: skip


def moved(shape: BaseGeometry) -> BaseGeometry:
    """A shape of the first floor at its place on the sheet."""
    return translate(shape, FIRST)


def walls(sheet: Sheet) -> None:
    sheet.bodies("wall", cut_all(SHELL, GROUND_OUTER), False, "ANSI31")
    sheet.bodies("stud", cut_all(GROUND_STUDS, GROUND_INNER), False)
    sheet.bodies("wall", moved(cut_all(SHELL, FIRST_OUTER)), False, "ANSI31")
    sheet.bodies("stud", moved(cut_all(FIRST_STUDS, FIRST_INNER)), False)
    for hole in [*GROUND_OUTER, *GROUND_INNER, *shifted([*FIRST_OUTER, *FIRST_INNER], FIRST)]:
        place(sheet, hole)
        sheet.text("symbol text", f"{hole.no} {SIZES[hole.no]}", beside(hole), 1.6)


def beside(hole: Hole) -> Point:
    """Where the size of an opening is written: outside an outer wall, in the room beyond an inner one."""
    x, y = min(hole.a[0], hole.b[0]), (hole.a[1] + hole.b[1]) / 2
    if hole.thick == OUTER:
        return (x, y - 450) if y < 0 else (x, y + 380)
    return (x, y + 120) if hole.a[0] != hole.b[0] else (x + 120, y)


def texts(sheet: Sheet) -> None:
    for name, area, height, x, y in (
        ("LIVING ROOM", "19.3", "2.40", 1300, 2500), ("KITCHEN", "15.1", "2.40", 2600, 7000),
        ("WC", "1.6", "2.40", 250, 5300), ("BEDROOM 1", "15.6", "2.35", FIRST + 1500, 2000),
        ("BATHROOM", "3.6", "2.35", FIRST + 500, 4700), ("LANDING", "4.5", "2.35", FIRST + 3300, 4500),
        ("BEDROOM 2", "12.0", "2.35", FIRST + 1500, 6900),
    ):  # fmt: skip
        sheet.label("room", [name, f"{area} m2", f"CH {height}"], (x, y), 2.5)
    sheet.text("text", "GROUND FLOOR  1:50", (0, -2200), 5)
    sheet.text("text", "FIRST FLOOR  1:50", (FIRST, -2200), 5)
    sheet.text("text", "DEMONSTRATION DRAWING: people, place and project are invented.", (0, -3000), 2.5)


def inside(sheet: Sheet) -> None:
    stairs(sheet, 3700, 1000, 900, 230, 12, "UP")
    furnish(sheet, "sofa", (400, 3300), (1900, 850))
    furnish(sheet, "worktop", (4600, 4900), (2400, 600), 90)
    furnish(sheet, "sink", (4600, 5400), (1000, 600), 90)
    furnish(sheet, "pan", (500, 4300), (380, 700))
    furnish(sheet, "bath", (FIRST + 1700, 3560), (1700, 700), 90)
    furnish(sheet, "pan", (FIRST + 500, 5300), (380, 700), 180)
    furnish(sheet, "bed", (FIRST + 300, 300), (1500, 1900))
    furnish(sheet, "bed", (FIRST + 300, 5900), (1000, 1900))
    sheet.chain([(0, -OUTER), (700, -OUTER), (2500, -OUTER), (3500, -OUTER), (4400, -OUTER), (WIDE, -OUTER)], -700)
    sheet.chain([(-OUTER, y) for y in (0, 4200, 4300, DEEP)], 700)


def draw(out: Path) -> None:
    sheet = Sheet("mm", 50, LAYERS, "R2010")
    walls(sheet)
    texts(sheet)
    inside(sheet)
    sheet.save(out)


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_name("terraced_house.dxf"))
