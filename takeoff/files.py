"""Files written whole or not at all: write beside the target, then rename over it."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from takeoff.errors import OutputError

__all__ = ["write_whole"]


def write_whole(path: Path, content: bytes | str) -> None:
    """Write `content` to `path` in one step, so that a reader never sees half a file.

    Text is written as UTF-8. Raises `OutputError` when the folder cannot be made or written to;
    the old file, if any, is then untouched.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    beside = ""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, beside = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
        os.chmod(beside, 0o644)
        os.replace(beside, path)
    except OSError as fault:
        if beside and os.path.exists(beside):
            os.unlink(beside)
        raise OutputError(
            f"Cannot write {path}: {fault.strerror or fault}. "
            "Choose a folder you may write to, or close the file if another program holds it."
        ) from fault
