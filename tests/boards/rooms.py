"""Surfaces made by hand for the boards: rectangles with doors and windows, gables, slopes, curved walls, reveals."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Polygon

from takeoff.measure.model import Surface

Box = tuple[float, float, float, float]
"""x0, y0, x1, y1 in metres."""


def ring(box: Box) -> tuple[tuple[float, float], ...]:
    x0, y0, x1, y1 = box
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def surface(
    ref: str, outline: Sequence[tuple[float, float]], holes: Sequence[Box] = (), kind: str = "wall", **more: object
) -> Surface:
    """A surface of any outline; its area is that of the outline less the holes that lie in it."""
    shape = Polygon(outline)
    net = shape
    for hole in holes:
        net = net.difference(Polygon(ring(hole)))
    x0, _, x1, _ = shape.bounds
    return Surface(
        ref=ref,
        room=ref.split("-")[0],
        kind=kind,
        length_m=x1 - x0,
        height_m=shape.area / (x1 - x0),
        gross_m2=shape.area,
        deductions=(),
        net_m2=net.area,
        how="",
        outline=tuple(outline),
        holes=tuple(ring(hole) for hole in holes),
        **more,  # type: ignore[arg-type]
    )


def wall(ref: str, length: float, height: float, *holes: Box) -> Surface:
    return surface(ref, ring((0.0, 0.0, length, height)), holes)


def ceiling(ref: str, length: float, width: float, *holes: Box) -> Surface:
    return surface(ref, ring((0.0, 0.0, length, width)), holes, kind="ceiling")


def reveal(ref: str, length: float, depth: float) -> Surface:
    return surface(ref, ring((0.0, 0.0, length, depth)), kind="reveal")


def gable(ref: str, length: float, eaves: float, ridge: float, *holes: Box) -> Surface:
    return surface(ref, ((0, 0), (length, 0), (length, eaves), (length / 2, ridge), (0, eaves)), holes)


def room(ref: str, length: float, width: float, height: float, *holes: Box) -> list[Surface]:
    """Four walls and a ceiling; `holes` are in the first wall."""
    walls = [
        wall(f"{ref}-W{n}", side, height, *(holes if n == 1 else ())) for n, side in enumerate((length, width) * 2, 1)
    ]
    return [*walls, ceiling(f"{ref}-C1", length, width)]


def house() -> list[Surface]:
    """An invented two-storey house, all of it boarded: doors, windows, a stair wall, a gable, an L-shaped ceiling."""
    door, window = (0.3, 0.0, 1.14, 2.04), (1.6, 0.9, 2.8, 2.1)
    surfaces = [
        *room("R1", 4.2, 3.6, 2.4, door, (1.8, 0.9, 3.3, 2.1)),
        *room("R2", 3.3, 2.7, 2.4, door),
        *room("R3", 2.4, 1.8, 2.4, (0.8, 0.0, 1.56, 2.04)),
        *room("R4", 5.15, 3.85, 2.7, (0.6, 0.0, 1.44, 2.04), (2.2, 0.0, 4.0, 2.1)),
        *room("R5", 3.1, 2.95, 2.35, door, window),
        *room("R6", 1.65, 2.05, 2.35, (0.45, 0.0, 1.21, 2.04)),
    ]
    surfaces.append(gable("R7-W1", 4.4, 1.2, 3.1, (1.6, 1.0, 2.8, 2.2)))
    surfaces.append(gable("R7-W2", 4.4, 1.2, 3.1))
    surfaces.append(wall("R8-W1", 0.9, 5.1))
    surfaces.append(wall("R8-W2", 3.2, 5.1, (0.2, 0.0, 1.04, 2.04), (1.6, 2.9, 2.4, 5.0)))
    shape = ((0, 0), (5.0, 0), (5.0, 2.2), (2.4, 2.2), (2.4, 3.9), (0, 3.9))
    surfaces.append(surface("R8-C1", shape, ((1.0, 2.6, 1.6, 3.4),), kind="ceiling"))
    surfaces += [
        reveal(f"R5-W1-W1-{part}", length, 0.15) for part, length in (("head", 1.2), ("left", 1.2), ("right", 1.2))
    ]
    return surfaces
