"""Issues of one small invented drawing: walls as closed boxes, doors as leaf and swing, names as texts. Metres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import radians
from pathlib import Path

import ezdxf
from ezdxf.math import Matrix44

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Issue:
    """A bungalow 10 x 6 m inside, parted at `parting` (x) by a 0.1 m wall with a door 0.8 m wide."""

    parting: float = 4.0
    names: tuple[str, ...] = ("Kitchen", "Lounge")
    door: float = 0.8
    """Width of the door in the parting wall."""
    extension: bool = False
    """A dining room 3 m wide, on the east side."""
    parted: bool = True
    turn: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)

    def walls(self) -> list[Box]:
        east = 13.3 if self.extension else 10.3
        walls = [(-0.3, -0.3, 1.0, 0.0), (1.9, -0.3, east, 0.0), (-0.3, 6.0, east, 6.3), (-0.3, 0.0, 0.0, 6.0)]
        walls.append((10.0, 0.0, 10.3, 2.0) if self.extension else (10.0, 0.0, 10.3, 6.0))
        if self.extension:
            walls += [(10.0, 2.0 + 0.9, 10.3, 6.0), (13.0, 0.0, 13.3, 6.0)]
        if self.parted:
            x = self.parting
            walls += [(x, 0.0, x + 0.1, 2.0), (x, 2.0 + self.door, x + 0.1, 6.0)]
        return walls

    def doors(self) -> list[tuple[float, float, float, float]]:
        """(hinge x, hinge y, leaf, direction of the shut leaf in degrees)."""
        doors = [(1.0, 0.0, 0.9, 0.0)]
        if self.parted:
            doors.append((self.parting + 0.1, 2.0, self.door, 90.0))
        if self.extension:
            doors.append((10.3, 2.0, 0.9, 90.0))
        return doors

    def labels(self) -> list[tuple[str, float, float]]:
        rooms: Sequence[float] = [self.parting / 2, (self.parting + 10) / 2] if self.parted else [5.0]
        if self.extension:
            rooms = [*rooms, 11.6]
        return [(name, x, 4.0) for name, x in zip(self.names, rooms, strict=True)]

    def with_(self, **changes: object) -> Issue:
        return replace(self, **changes)  # type: ignore[arg-type]

    def save(self, path: Path) -> Path:
        doc = ezdxf.new("R2018")
        doc.header["$INSUNITS"] = 6
        space = doc.modelspace()
        for layer in ("Walls", "Doors", "Names"):
            doc.layers.add(layer)
        for x0, y0, x1, y1 in self.walls():
            space.add_lwpolyline([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], close=True, dxfattribs={"layer": "Walls"})
        for x, y, leaf, way in self.doors():
            to = {0.0: (x, y + leaf), 90.0: (x + leaf, y)}[way]
            space.add_line((x, y), to, {"layer": "Doors"})
            space.add_arc((x, y), leaf, 0, 90, dxfattribs={"layer": "Doors"})
        for name, x, y in self.labels():
            space.add_text(name, height=0.2, dxfattribs={"layer": "Names"}).set_placement((x - 0.5, y))
        move = Matrix44.z_rotate(radians(self.turn)) @ Matrix44.translate(*self.shift, 0)
        for entity in space:
            entity.transform(move)  # type: ignore[attr-defined]
        doc.saveas(path)
        return path
