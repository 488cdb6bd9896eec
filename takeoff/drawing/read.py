"""Read a drawing file into neutral line work: `read_drawing` is the face of this folder."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from takeoff.collector import put_off
from takeoff.drawing.bounds import Bounds
from takeoff.drawing.model import Drawing

__all__ = ["read_drawing"]

_ANY = Bounds()


def read_drawing(path: Path, bounds: Bounds = _ANY) -> Drawing:
    """The drawing at `path`, flattened, in drawing units, minus its origin.

    Raises `DrawingError`, one sentence with what to do, when the file cannot be read or shows nothing;
    `BoundsError` when it holds more than `bounds` allows.
    """
    from takeoff.drawing.finish import drawing_of
    from takeoff.drawing.flatten import Flattener
    from takeoff.drawing.load import load_dxf
    from takeoff.drawing.style import styles_of

    # Wild coordinates are found, left out and counted: numpy need not warn of them.
    with put_off(), np.errstate(over="ignore", invalid="ignore"):
        loaded = load_dxf(path, bounds.entities)
        styles = styles_of(loaded.document)
        sheet, origin = Flattener(loaded.document, styles, bounds.copies).container(loaded.document.modelspace(), None)
        return drawing_of(path, loaded, styles, sheet, origin)
