"""The server of the review page: bound to this machine alone, running until Ctrl-C."""

from __future__ import annotations

import contextlib
import socket
import webbrowser
from collections.abc import Callable
from types import FrameType

import uvicorn

from takeoff.errors import TakeoffError
from takeoff.limited import warm_up
from takeoff.review.app import application
from takeoff.review.guard import new_key
from takeoff.review.session import Session

__all__ = ["HOST", "serve"]

HOST = "127.0.0.1"
GOODBYE_S = 1
"""Answers under way when the program is ended get so long."""


def serve(session: Session, port: int, say: Callable[[str], None], browse: bool) -> None:
    """Serve `session` on `port` (0: any free one) until Ctrl-C; `say` the address, and open it where `browse`.

    Raises `TakeoffError` where the port is taken.
    """
    with _bound(port) as bound:
        port, key = bound.getsockname()[1], new_key()
        config = uvicorn.Config(
            application(session, key, port),
            lifespan="off",
            ws="none",
            access_log=False,
            log_level="warning",
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=GOODBYE_S,
        )
        address = f"http://{HOST}:{port}/#key={key}"
        say(f"Review page: {address}\nEnd it here with Ctrl-C.")
        warm_up()
        session.open_in_background()
        if browse:
            webbrowser.open(address)
        with contextlib.suppress(KeyboardInterrupt):
            _Server(config, session).run(sockets=[bound])
    say("Ended. The job file holds every change.")


class _Server(uvicorn.Server):
    """Lets the pages that wait for news go when it is told to end, so that it ends at once."""

    def __init__(self, config: uvicorn.Config, session: Session) -> None:
        super().__init__(config)
        self._session = session

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        self._session.end()
        super().handle_exit(sig, frame)


def _bound(port: int) -> socket.socket:
    """A socket bound to the loopback address, so that no other machine can reach it."""
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    bound.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)  # else each answer's body waits 40 ms for its head
    try:
        bound.bind((HOST, port))
        bound.listen()  # before the address is told: a browser may be quicker than the server
    except OSError as fault:
        bound.close()
        raise TakeoffError(f"Port {port} cannot be used: {fault.strerror}. Choose another with --port.") from fault
    return bound
