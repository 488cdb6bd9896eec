"""What stands before every request: who asks, from which page, with which key; and what every answer forbids.

The server answers to this machine only, yet every web page open in the user's browser can send requests to it. So a
request must name this server in `Host` (a foreign name that was made to point here does not), come from this page
where the browser says where it comes from (`Origin`), and, for anything that shows or changes the job, bring the key
that was given to this run's page alone.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from takeoff.review.answers import fault_answer

__all__ = ["KEY_HEADER", "Guard", "new_key"]

KEY_HEADER = "x-takeoff-key"
NAMES = ("127.0.0.1", "localhost")
"""What this machine is called in an address."""

POLICY = "; ".join(
    [
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "connect-src 'self'",
        "font-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    ]
)
ALWAYS: Mapping[str, str] = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Frame-Options": "DENY",
}


def new_key() -> str:
    """A key that cannot be guessed: 256 bits."""
    return secrets.token_urlsafe(32)


class Guard:
    """Around the whole application, so that even a fault inside it is answered under these rules."""

    def __init__(self, app: ASGIApp, key: str, port: int) -> None:
        self._app = app
        self._key = key.encode()
        self._hosts = frozenset(f"{name}:{port}" for name in NAMES)
        self._origins = frozenset(f"http://{host}" for host in self._hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":  # no web sockets here
            return

        async def guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(ALWAYS)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refusal = self._refusal(scope["path"], Headers(scope=scope))
        if refusal is None:
            await self._app(scope, receive, guarded)
        else:
            await fault_answer(*refusal)(scope, receive, guarded)

    def _refusal(self, path: str, headers: Headers) -> tuple[int, str] | None:
        """Status and sentence where the request is not let in."""
        if headers.getlist("host") not in [[host] for host in self._hosts]:
            return 403, "This server answers only to its own address on this machine."
        if not set(headers.getlist("origin")) <= self._origins:
            return 403, "This server answers only to its own page."
        if path.startswith("/api/") and not self._knows(headers.getlist(KEY_HEADER)):
            return 401, "The key of this page is not that of the running program. Open the address it printed."
        return None

    def _knows(self, keys: list[str]) -> bool:
        given = keys[0].encode("latin-1", "replace") if len(keys) == 1 else b""
        return secrets.compare_digest(given, self._key)
