"""What is sent back: JSON, and faults as one plain sentence."""

from __future__ import annotations

from typing import Any

import msgspec
from starlette.responses import Response

__all__ = ["JsonAnswer", "fault_answer"]


class JsonAnswer(Response):
    """JSON; money (`Decimal`) goes as text, so that no reader turns it into binary fractions."""

    media_type = "application/json"

    def render(self, content: Any) -> bytes:
        return msgspec.json.encode(content)


def fault_answer(status: int, says: str, **more: Any) -> JsonAnswer:
    """A refusal: `{"fault": says}`."""
    return JsonAnswer({"fault": says, **more}, status)
