"""Open a DXF file with ezdxf."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from takeoff.errors import DrawingError
from takeoff.query import Query

__all__ = ["Loaded", "load_dxf"]


@dataclass(frozen=True, slots=True)
class Loaded:
    """A document, and what had to be said about opening it."""

    document: Any
    sha256: str
    format: str
    queries: tuple[Query, ...] = ()


def load_dxf(path: Path) -> Loaded:
    """The DXF document at `path`. Raises `DrawingError`."""
    import ezdxf

    try:
        data = path.read_bytes()
        document = ezdxf.readfile(path)
    except OSError as fault:
        raise DrawingError(f"Cannot read {path}: {fault.strerror or fault}. Check its name and folder.") from fault
    except (ezdxf.DXFError, ValueError) as fault:
        raise DrawingError(f"{path} cannot be read as a DXF drawing ({fault}). Save it again as DXF.") from fault
    kind = "binary" if data[:18] == b"AutoCAD Binary DXF" else "text"
    return Loaded(document, hashlib.sha256(data).hexdigest(), f"DXF {document.acad_release}, {kind}")
