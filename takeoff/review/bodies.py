"""What the page sends, checked for size and shape before anything is done with it."""

from __future__ import annotations

from typing import Any, TypeVar

import msgspec
from starlette.requests import Request

__all__ = ["Base", "BodyError", "ChangeBody", "DocumentsBody", "body_of"]

T = TypeVar("T")
MOST_BYTES = 1 << 20
"""A change is a few hundred bytes."""


class BodyError(Exception):
    """What was sent is not what is taken here; `status` and one sentence."""

    def __init__(self, status: int, says: str) -> None:
        super().__init__(says)
        self.status = status


class Base(msgspec.Struct, forbid_unknown_fields=True):
    """Of undo and redo: the version that the page has seen."""

    base: int


class ChangeBody(msgspec.Struct, forbid_unknown_fields=True):
    base: int
    label: str
    changes: list[dict[str, Any]]


class DocumentsBody(msgspec.Struct, forbid_unknown_fields=True):
    kind: str


async def body_of(request: Request, shape: type[T]) -> T:
    """The JSON that was sent, in `shape`. Raises `BodyError` for anything else."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise BodyError(415, "This address takes JSON.")
    sent = bytearray()
    async for part in request.stream():
        sent += part
        if len(sent) > MOST_BYTES:
            raise BodyError(413, "That is too much to send at once.")
    try:
        return msgspec.json.decode(sent, type=shape)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as fault:
        raise BodyError(400, f"What was sent is not understood: {fault}.") from None
