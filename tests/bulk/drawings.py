"""Small drawings for runs over many: boxes of walls whose sizes are told, so that areas are plain arithmetic."""

from __future__ import annotations

from pathlib import Path

import ezdxf


def one_room(path: Path, wide_m: float, deep_m: float = 3.0) -> Path:
    """A room of `wide_m` x `deep_m` inside walls of 200 mm, in mm."""
    path.parent.mkdir(parents=True, exist_ok=True)
    drawing = ezdxf.new("R2010", units=4)
    w, d = wide_m * 1000, deep_m * 1000
    for x0, y0, x1, y1 in ((0, 0, w + 400, d + 400), (200, 200, w + 200, d + 200)):
        corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        drawing.modelspace().add_lwpolyline(corners, close=True, dxfattribs={"layer": "WALLS"})
    drawing.saveas(path)
    return path


def broken(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"Dear customer,\nplease find attached\n" * 20)
    return path
