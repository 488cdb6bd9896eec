"""How boards and beads were counted, in plain words: laid and cut, with the least that could do, or by area."""

from __future__ import annotations

from collections.abc import Iterator

from takeoff.materials.catalogue import catalogue
from takeoff.record import Takeoff

__all__ = ["BY_AREA", "counted_as", "laid_words"]

BY_AREA = (
    "Boards are counted by area and beads by length, each with its waste. For a quotation they are laid sheet by sheet "
    "and cut from whole lengths (takeoff quote), so its numbers may differ from these a little."
)
LAID = "Boards are laid sheet by sheet, beads cut from whole lengths: see the pictures and cutting lists of the rooms."


def counted_as(takeoff: Takeoff) -> str:
    """One sentence or two on how the order's boards and beads were counted."""
    return LAID if takeoff.beads is not None else BY_AREA


def laid_words(takeoff: Takeoff) -> Iterator[tuple[str, str]]:
    """('Boards' or 'Beads', working with what is bought, waste and bounds) of each board laid and bead cut."""
    titles = {slug: material.title for slug, material in catalogue(takeoff.job).items()}
    for layout in takeoff.boards:
        title = titles.get(layout.spec.board, layout.spec.board)
        if layout.sheets:
            yield "Boards", f"{title}: {layout.how}"
        if layout.left_out:
            yield "Boards", f"{title}: no sheet serves {', '.join(layout.left_out)}, counted by area"
    for run in takeoff.beads.runs if takeoff.beads else ():
        yield "Beads", f"{titles.get(run.bead, run.bead)}: {run.how}"
