"""Files written whole or not at all: write beside the target, then rename over it."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from takeoff.errors import OutputError

__all__ = ["write_together", "write_whole"]


def write_whole(path: Path, content: bytes | str, lasting: bool = False) -> None:
    """Write `content` to `path` in one step, so that a reader never sees half a file.

    Text is written as UTF-8. `lasting`: it is on the disk when this returns, whatever happens to the power. Raises
    `OutputError` when the folder cannot be made or written to; the old file, if any, is then untouched.
    """
    write_together({path: content}, lasting)


def write_together(contents: Mapping[Path, bytes | str], lasting: bool = False) -> None:
    """Write all the files or none of them, each in one step; a file that was there keeps its permissions.

    Text is written as UTF-8; `lasting` as for `write_whole`. Raises `OutputError` for the first file that cannot be
    written; all old files are then as they were, and no new one is left.
    """
    beside: dict[Path, str] = {}
    replaced: dict[Path, bytes | None] = {}
    path = Path()
    try:
        for path, content in contents.items():
            beside[path] = _written_beside(path, content, lasting)
        for path, new in beside.items():
            old = path.read_bytes() if path.is_file() else None
            os.replace(new, path)
            replaced[path] = old
        if lasting:
            for folder in {path.parent for path in contents}:
                _settle(folder)
    except OSError as fault:
        _undo(replaced)
        raise OutputError(
            f"Cannot write {path}: {fault.strerror or fault}. "
            "Choose a folder you may write to, or close the file if another program holds it."
        ) from fault
    finally:
        for new in beside.values():
            Path(new).unlink(missing_ok=True)


def _written_beside(path: Path, content: bytes | str, lasting: bool) -> str:
    """A new file in the folder of `path` that holds `content`; nothing is left when writing fails."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            if lasting:
                stream.flush()
                os.fsync(stream.fileno())
        os.chmod(beside, path.stat().st_mode & 0o777 if path.is_file() else 0o644)
    except OSError:
        os.unlink(beside)
        raise
    return beside


def _settle(folder: Path) -> None:
    """Have the names in `folder` on the disk, on systems that can be asked for it."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _undo(replaced: Mapping[Path, bytes | None]) -> None:
    """Put the old contents back; a file that was not there before goes."""
    for path, old in replaced.items():
        if old is None:
            path.unlink(missing_ok=True)
        else:
            path.write_bytes(old)
