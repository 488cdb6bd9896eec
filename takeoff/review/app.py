"""The addresses that the page asks, each a few lines: find what is wanted, hand it back."""

from __future__ import annotations

from typing import Any

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp

from takeoff.review.answers import JsonAnswer, fault_answer
from takeoff.review.guard import Guard
from takeoff.review.session import Session, Shown
from takeoff.review.state import state
from takeoff.review.static_files import StaticFiles
from takeoff.review.views.asked import query_rows
from takeoff.review.views.openings import angle_rows, opening_rows
from takeoff.review.views.rooms import room_rows

__all__ = ["application"]

LONGEST_WAIT_S = 20.0


class NotYetError(Exception):
    """Asked for figures before the drawing is read."""


def application(session: Session, key: str, port: int, page: StaticFiles | None = None) -> ASGIApp:
    """The whole of the server for `session`; `key` is what the page must bring, `port` what this answers on."""
    static = page or StaticFiles()
    routes = _Routes(session)

    async def shell(_request: Request) -> Response:
        return static.shell()

    async def file(request: Request) -> Response:
        return static.answer(request.path_params["name"])

    app = Starlette(
        routes=[
            Route("/", shell),
            Route("/static/{name:path}", file),
            Route("/api/state", routes.state),
            Route("/api/plan", routes.plan),
            Route("/api/rooms", routes.rooms),
        ],
        exception_handlers={
            NotYetError: _not_yet,
            404: _unknown,
            405: _unknown,
            Exception: _failed,
        },
    )
    return Guard(app, key, port)


class _Routes:
    def __init__(self, session: Session) -> None:
        self._session = session

    async def state(self, request: Request) -> Response:
        """At once, or when something has changed since the mark that the page names."""
        session, after = self._session, request.query_params.get("after", "")
        if after.isdecimal():
            await session.bell.wait(int(after), LONGEST_WAIT_S)
        return JsonAnswer(state(session))

    async def plan(self, request: Request) -> Response:
        shown = self._shown()
        if request.query_params.get("have") == shown.mark:
            return JsonAnswer({"plan_mark": shown.mark})
        return JsonAnswer(shown.drawn)

    async def rooms(self, _request: Request) -> Response:
        shown = self._shown()
        takeoff = shown.takeoff
        return JsonAnswer(
            {
                "version": shown.version,
                "rooms": room_rows(takeoff),
                "openings": opening_rows(takeoff.plan, shown.ignored),
                "angles": angle_rows(takeoff),
                "queries": query_rows(takeoff.queries, takeoff.plan, lambda _query: []),
                "accepted": query_rows(takeoff.accepted, takeoff.plan, lambda _query: []),
            }
        )

    def _shown(self) -> Shown:
        if self._session.shown is None:
            raise NotYetError
        return self._session.shown


async def _not_yet(_request: Request, _fault: Exception) -> Response:
    return fault_answer(503, "There is no drawing yet, or it is still being read.")


async def _unknown(_request: Request, fault: Any) -> Response:
    return fault_answer(fault.status_code, "There is nothing at this address.")


async def _failed(_request: Request, _fault: Exception) -> Response:
    return fault_answer(500, "The program failed at this. Its window tells more; the job file is as it was.")
