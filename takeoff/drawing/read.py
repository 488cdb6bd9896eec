"""Read a drawing file into neutral line work: `read_drawing` is the face of this folder."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any

import numpy as np

from takeoff.drawing.finish import drawing_of
from takeoff.drawing.flatten import Flattener
from takeoff.drawing.load import Loaded, load_dxf
from takeoff.drawing.model import Drawing
from takeoff.drawing.style import styles_of
from takeoff.errors import DrawingError

__all__ = ["read_drawing"]


def read_drawing(path: Path) -> Drawing:
    """The drawing at `path`, flattened, in drawing units, minus its origin.

    Raises `DrawingError`, one sentence with what to do, when the file cannot be read or holds nothing.
    """
    loaded = load_dxf(path)
    styles = styles_of(loaded.document)
    sheet, origin = Flattener(loaded.document, styles).container(loaded.document.modelspace(), None, False)
    return drawing_of(path, loaded, styles, sheet, origin)
