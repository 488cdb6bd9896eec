"""The programme as bars: a row per room, a column per day, the stage told by its letter as well as its grey."""

from __future__ import annotations

import numpy as np

from takeoff.data import load
from takeoff.documents.page import MM, WHITE, Item, Label, Page, Shape, Stroke, grey
from takeoff.programme.model import Programme

__all__ = ["bars_pages"]

WIDTH = 174 * MM
ROW = 10.0
NAMES = 34.0
DAYS_ACROSS = 40
"""Days on one strip; a longer programme gets more strips."""
LETTERS = {
    "protect": "P", "strip": "S", "re-fix": "F", "repair": "R", "services": "V", "board": "B", "scrim": "J",
    "bead": "E", "key": "K", "undercoat": "U", "bond": "A", "ceiling finish": "C", "wall finish": "W", "clear": "X",
}  # fmt: skip
BEFORE = "V"
LEGEND = "; ".join(f"{letter} {stage}" for stage, letter in LETTERS.items()) + (
    " (first fix, by others: boards wait for it; beside a room's name: done before day 1)"
)


def bars_pages(programme: Programme) -> list[Page]:
    """The strips of days, each a small page to set into a document."""
    done: dict[str, dict[int, list[str]]] = {}
    for placed in programme.placed:
        done.setdefault(placed.piece.room, {}).setdefault(placed.day, []).append(placed.piece.stage)
    for row in programme.services:
        for day in range(min(row.from_day, row.done_day), row.done_day + 1):
            done.setdefault(row.room, {}).setdefault(day, []).append("services")
    first_days = range(1, programme.days + 1, DAYS_ACROSS)
    return [_strip(done, first, min(first + DAYS_ACROSS - 1, programme.days)) for first in first_days]


def _strip(done: dict[str, dict[int, list[str]]], first: int, last: int) -> Page:
    rooms = [room for room, days in done.items() if any(first <= day <= last for day in days)]
    page = Page(WIDTH, ROW * (len(rooms) + 1) + 2, f"Days {first} to {last}")
    step = (WIDTH - NAMES) / max(last - first + 1, 12)
    for day in range(first, last + 1):
        x = NAMES + (day - first) * step
        page.add(Label(x + step / 2, page.height - ROW + 2, str(day), 6, anchor="middle"))
    for number, room in enumerate(rooms, 2):
        y = page.height - number * ROW
        page.add(Label(0, y + 2.5, room, 7, bold=True))
        if first == 1 and 0 in done[room]:
            page.add(Label(NAMES - 8, y + 2.8, BEFORE, 6, anchor="middle"))
        for day, stages in done[room].items():
            if first <= day <= last:
                page.add(*_cell(NAMES + (day - first) * step, y, step, stages))
    return page


def _cell(x: float, y: float, step: float, stages: list[str]) -> list[Item]:
    """A day in a room: one box per stage worked, darker towards the finish."""
    order: list[str] = load("programme")["order"]
    some = sorted(dict.fromkeys(stages), key=order.index)
    wide = step / len(some)
    items: list[Item] = []
    for number, stage in enumerate(some):
        dark = 0.92 - 0.7 * order.index(stage) / len(order)
        x0, x1 = x + number * wide, x + (number + 1) * wide
        box = np.array([[x0, y], [x1, y], [x1, y + ROW], [x0, y + ROW]])
        ground = WHITE if stage == "services" else grey(dark)
        items.append(Shape((box,), ground, Stroke(0.3)))
        colour = WHITE if dark < 0.55 and stage != "services" else grey(0)
        items.append(
            Label((x0 + x1) / 2, y + 2.8, LETTERS[stage], min(6.0, wide * 1.3), anchor="middle", colour=colour)
        )
    return items
