"""A drawing that the page sends: taken in pieces up to a limit, under a name of which only harmless letters are kept.

It lies in a hidden folder of the working folder until it has been read; then it is moved out, under its name or one
with a number where that is taken. Nothing is ever written over, and no path comes from the page.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import AsyncIterator, Iterator
from itertools import count
from pathlib import Path
from urllib.parse import unquote

from takeoff.errors import OutputError

__all__ = ["MOST_BYTES", "TooLargeError", "drop", "free_name", "harmless_name", "kept", "take_in"]

MOST_BYTES = 64 << 20
"""The largest drawings in the trade have some 30 MB."""
LONGEST_NAME = 80
HARMLESS = " -_.()"
"""Besides letters and digits of any script."""
WINDOWS_DEVICES = {"con", "prn", "aux", "nul", *(f"{device}{n}" for device in ("com", "lpt") for n in range(10))}
"""Names that Windows takes for devices, whatever their ending (Microsoft, "Naming Files, Paths, and Namespaces")."""


class TooLargeError(OutputError):
    """More was sent than a drawing may have."""

    def __init__(self) -> None:
        super().__init__(
            f"This file is larger than {MOST_BYTES >> 20} MB: purge the drawing, or export the plans alone."
        )


def harmless_name(sent: str) -> str:
    """A file name ending in ``.dxf``, made from the last part of what the page sent, URL-encoded."""
    last = unquote(sent, errors="replace").replace("\\", "/").rpartition("/")[2]
    kept = "".join(c if c.isalnum() or c in HARMLESS else "_" for c in last).strip(" .")
    stem = (kept[: -len(".dxf")] if kept.lower().endswith(".dxf") else kept)[:LONGEST_NAME].strip(" .")
    if not stem.strip("_") or stem.partition(".")[0].lower() in WINDOWS_DEVICES:
        stem = f"drawing {stem}".strip(" _")
    return f"{stem}.dxf"


async def take_in(parts: AsyncIterator[bytes], announced: str | None, folder: Path, name: str) -> Path:
    """The file sent, in a hidden folder of its own in `folder`, to be kept with `kept` or dropped with `drop`.

    Raises `TooLargeError` as soon as it is known to be, `OutputError` where it cannot be written; nothing is left then.
    """
    if announced is not None and announced.isdecimal() and int(announced) > MOST_BYTES:
        raise TooLargeError
    try:
        folder.mkdir(parents=True, exist_ok=True)
        taken = Path(tempfile.mkdtemp(prefix=".upload-", dir=folder)) / name
    except OSError as fault:
        raise OutputError(f"Cannot write to {folder}: {fault.strerror}. Start the review in another folder.") from fault
    try:
        await _write(parts, taken)
    except OSError as fault:
        drop(taken)
        if isinstance(fault, OutputError):
            raise
        raise OutputError(f"The drawing cannot be kept in {folder}: {fault.strerror}.") from fault
    except BaseException:  # the page went away
        drop(taken)
        raise
    return taken


async def _write(parts: AsyncIterator[bytes], path: Path) -> None:
    with path.open("xb") as stream:
        async for part in parts:
            if stream.tell() + len(part) > MOST_BYTES:
                raise TooLargeError
            stream.write(part)
        stream.flush()
        os.fsync(stream.fileno())


def drop(taken: Path) -> None:
    """Take away what `take_in` took, if it is still there."""
    shutil.rmtree(taken.parent, ignore_errors=True)


def free_name(folder: Path, name: str) -> Iterator[Path]:
    """`name` in `folder`, then the same with numbers from 2 on."""
    whole = Path(name)
    yield folder / name
    for number in count(2):
        yield folder / f"{whole.stem} {number}{whole.suffix}"


def kept(taken: Path) -> Path:
    """Move what `take_in` took out of its hidden folder, to the first of its names that is free. Returns its path."""
    for path in free_name(taken.parent.parent, taken.name):
        if _moved(taken, path):
            return path
    raise AssertionError("numbers do not end")


def _moved(taken: Path, path: Path) -> bool:
    """False where there is such a file: a link, unlike a rename, never takes another's place."""
    try:
        os.link(taken, path)
    except FileExistsError:
        return False
    except OSError:  # a file system without links
        if path.exists():
            return False
        taken.rename(path)
    return True
