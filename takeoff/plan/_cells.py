"""Texts as the cells of tables: one text each, or the parts of a line that is parted by tabs or runs of spaces.

Terms:
  parted  a text of which each line holds a whole row, its cells kept apart by tabs or by spaces in print of even pitch.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from takeoff.drawing.model import Drawing, Text
from takeoff.drawing.mtext import TAB
from takeoff.plan._text_lines import plain

__all__ = ["SAME_ROW", "Cell", "by_row", "cells_of"]

SAME_ROW = 0.6
"""Texts whose middles are closer than so many heights stand in one row."""
_RUN = re.compile(r" {2,}")
_TAB_STEP = 12.0
"""Cells parted by tabs are laid so many heights apart: no cell is wider, and only their order counts."""
_PITCH = 0.95
"""Advance of a character in print of even pitch, per height (common faces, from memory); only order counts."""
_LEAST_PARTS = 3


@dataclass(frozen=True, slots=True)
class Cell:
    """A text of a table: `along` its row, `down` its column (growing downwards), metres."""

    text: str
    along: float
    down: float
    width: float
    height: float
    handle: str


def cells_of(drawing: Drawing) -> list[Cell]:
    """The level texts of `drawing` as cells."""
    level = [t for t in drawing.paragraphs if abs(np.sin(t.rotation)) < 0.05 and plain(t.value)]
    by_pitch = _by_pitch(t for t in level if "  " in t.value)
    return [cell for t in level for cell in _cells(drawing, t, by_pitch)]


def _by_pitch(parted: Iterable[Text]) -> frozenset[int]:
    """Entities in which some run of spaces is none of tabs: their lines are set out by counting characters."""
    return frozenset(t.entity for t in parted if any(len(run) % len(TAB) for run in _RUN.findall(t.value)))


def _cells(drawing: Drawing, text: Text, by_pitch: frozenset[int]) -> Iterator[Cell]:
    handle = drawing.entities[text.entity].handle
    parts = list(_parts(text.value, text.height, text.entity not in by_pitch)) if "  " in text.value else []
    if len(parts) < _LEAST_PARTS:
        yield Cell(plain(text.value), text.at[0], -text.at[1], text.width, text.height, handle)
        return
    left = text.at[0] - text.width / 2
    for part, at in parts:
        yield Cell(plain(part), left + at, -text.at[1], 0.0, text.height, handle)


def _parts(value: str, height: float, tabbed: bool) -> Iterator[tuple[str, float]]:
    """The parts of a line and how far from its beginning each begins."""
    if tabbed:
        for n, part in enumerate(value.split(TAB)):
            if part.strip():
                yield part, n * _TAB_STEP * height
        return
    at = 0
    for run in [*_RUN.finditer(value), None]:
        end = run.start() if run else len(value)
        if value[at:end].strip():
            yield value[at:end], at * _PITCH * height
        at = run.end() if run else end


def by_row(cells: Sequence[Cell]) -> list[list[Cell]]:
    """Cells in rows from the top, each from left to right."""
    rows: list[list[Cell]] = []
    for cell in sorted(cells, key=lambda c: (c.down, c.along)):
        if rows and abs(cell.down - rows[-1][0].down) <= SAME_ROW * max(cell.height, rows[-1][0].height):
            rows[-1].append(cell)
        else:
            rows.append([cell])
    return [sorted(row, key=lambda c: c.along) for row in rows]
