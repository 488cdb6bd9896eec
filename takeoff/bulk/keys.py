"""What an outcome hangs on, as one hash: drawing, job, what is made, and the program down to its last line."""

from __future__ import annotations

import hashlib
import zlib
from collections.abc import Iterable
from importlib.metadata import version
from importlib.resources import files
from importlib.resources.abc import Traversable

from takeoff import __version__
from takeoff.bulk.model import Request

__all__ = ["key_of", "program_digest"]

_MATTERS = (".py", ".toml", ".ttf")
_BESIDE = ("review", "bulk", "cli.py", "cli_bulk.py", "cli_compare.py", "cli_progress.py")
"""Parts of the package that no document hangs on; `bulk/one.py` and `bulk/model.py` do, see `_FORMAT`."""
_FORMAT = "1"
"""Grows when an outcome is packed otherwise than before."""


_LIBRARIES = ("ezdxf", "highspy", "msgspec", "numpy", "ortools", "pydantic", "python-docx", "reportlab", "shapely")
"""Whose versions bear on figures or bytes; XlsxWriter and zlib too."""


def program_digest() -> str:
    """Hash of the program: its version, source and tables, and the libraries that figures and bytes hang on.

    Two machines with the same one give the same bytes.
    """
    libraries = [f"{name} {version(name)}" for name in (*_LIBRARIES, "XlsxWriter")]
    told = [__version__, _FORMAT, *libraries, f"zlib {zlib.ZLIB_RUNTIME_VERSION}"]
    return _digest([*(text.encode() for text in told), *_content(files("takeoff"), top=True)])


def key_of(request: Request, program: str) -> str:
    """Hash of `request` under the program with that digest."""
    job = b"\0" if request.job is None else b"\1" + request.job
    bounds = request.wanted.bounds
    wanted = f"{request.wanted.quote} {bounds.entities} {bounds.copies} {' '.join(sorted(request.wanted.only))}"
    names = (request.drawing_name, request.job_name if request.job is not None else "", wanted)
    more = [part for name, content in request.more for part in (name.encode(), content)]
    return _digest([program.encode(), *(name.encode() for name in names), job, request.drawing, *more])


def _content(folder: Traversable, top: bool = False) -> Iterable[bytes]:
    for item in sorted(folder.iterdir(), key=lambda item: item.name):
        if top and item.name in _BESIDE:
            continue
        if item.is_dir():
            yield from _content(item)
        elif item.name.endswith(_MATTERS):
            yield item.name.encode()
            yield item.read_bytes()


def _digest(parts: Iterable[bytes]) -> str:
    """SHA-256 of the parts, each with its length before it, so that none runs into the next."""
    whole = hashlib.sha256()
    for part in parts:
        whole.update(len(part).to_bytes(8, "big"))
        whole.update(part)
    return whole.hexdigest()
