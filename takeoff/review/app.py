"""The addresses that the page asks, each a few lines: find what is wanted, hand it back."""

from __future__ import annotations

import asyncio
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route
from starlette.types import ASGIApp

from takeoff.errors import TakeoffError
from takeoff.record import Takeoff
from takeoff.review.answers import JsonAnswer, fault_answer
from takeoff.review.bodies import Base, BodyError, ChangeBody, DocumentsBody, body_of
from takeoff.review.guard import Guard
from takeoff.review.ledger import Stale
from takeoff.review.making import media_of
from takeoff.review.offers import offers
from takeoff.review.session import Session
from takeoff.review.shown import Shown
from takeoff.review.state import state
from takeoff.review.static_files import StaticFiles
from takeoff.review.uploads import TooLargeError, harmless_name, take_in
from takeoff.review.views.asked import query_rows
from takeoff.review.views.choices import choices
from takeoff.review.views.openings import angle_rows, opening_rows
from takeoff.review.views.room import room_detail
from takeoff.review.views.rooms import room_rows
from takeoff.review.views.totals import totals
from takeoff.review.views.values import Json

__all__ = ["application"]

LONGEST_WAIT_S = 20.0
LOOK_S = 0.5
"""How often the job file is looked at while a page waits for news: a file tells nobody that it changed."""


class NotYetError(Exception):
    """Asked for figures before the drawing is read."""


class NoSuchError(Exception):
    """Asked for what is not there."""


def application(session: Session, key: str, port: int, page: StaticFiles | None = None) -> ASGIApp:
    """The whole of the server for `session`; `key` is what the page must bring, `port` what this answers on."""
    static = page or StaticFiles()
    api = _Api(session)

    async def shell(_request: Request) -> Response:
        return static.shell()

    async def file(request: Request) -> Response:
        return static.answer(request.path_params["name"])

    app = Starlette(
        routes=[
            Route("/", shell),
            Route("/static/{name:path}", file),
            Route("/api/state", api.state),
            Route("/api/plan", api.plan),
            Route("/api/rooms", api.rooms),
            Route("/api/room/{ref}", api.room),
            Route("/api/totals", api.totals),
            Route("/api/choices", api.choices),
            Route("/api/change", api.change, methods=["POST"]),
            Route("/api/undo", api.undo, methods=["POST"]),
            Route("/api/redo", api.redo, methods=["POST"]),
            Route("/api/documents", api.make, methods=["POST"]),
            Route("/api/documents/stop", api.stop, methods=["POST"]),
            Route("/api/documents/file/{name}", api.made),
            Route("/api/boards/{ref}", api.boards),
            Route("/api/upload", api.upload, methods=["POST"]),
        ],
        exception_handlers={
            Stale: _stale,
            TooLargeError: _too_large,
            TakeoffError: _refused,
            BodyError: _not_taken,
            NotYetError: _not_yet,
            NoSuchError: _unknown,
            404: _unknown,
            405: _unknown,
            Exception: _failed,
        },
    )
    return Guard(app, key, port)


class _Api:
    """Answers about one session. What takes time runs in a thread, so that other tabs are answered meanwhile."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._uploading = asyncio.Lock()

    async def state(self, request: Request) -> Response:
        """At once, or when something has changed since the mark that the page names."""
        session, after = self._session, request.query_params.get("after", "")
        await run_in_threadpool(session.look)
        end = asyncio.get_running_loop().time() + LONGEST_WAIT_S
        while after == str(session.bell.rings) and not session.ended and asyncio.get_running_loop().time() < end:
            if not await session.bell.wait(int(after), LOOK_S):
                await run_in_threadpool(session.look)
        return JsonAnswer(state(session))

    async def plan(self, request: Request) -> Response:
        """The lines, unless the page has them already."""
        shown = self._shown()
        if request.query_params.get("have") == shown.mark:
            return JsonAnswer({"plan_mark": shown.mark})
        return JsonAnswer(await run_in_threadpool(lambda: shown.drawn))

    async def rooms(self, _request: Request) -> Response:
        return JsonAnswer(await run_in_threadpool(_rooms, self._shown(), self._takeoff()))

    async def room(self, request: Request) -> Response:
        shown = self._shown()
        detail = await run_in_threadpool(room_detail, self._takeoff(), request.path_params["ref"], shown.traces)
        if detail is None:
            raise NoSuchError
        return JsonAnswer(detail)

    async def totals(self, _request: Request) -> Response:
        told = await run_in_threadpool(totals, self._takeoff())
        return JsonAnswer({**told, "rough": self._takeoff().programme is None})

    async def choices(self, _request: Request) -> Response:
        return JsonAnswer(await run_in_threadpool(choices, self._shown().job))

    async def change(self, request: Request) -> Response:
        body = await body_of(request, ChangeBody)
        version, notes = await run_in_threadpool(self._session.change, body.base, body.label, body.changes)
        return JsonAnswer({"version": version, "notes": notes})

    async def undo(self, request: Request) -> Response:
        body = await body_of(request, Base)
        return JsonAnswer({"version": await run_in_threadpool(self._session.undo, body.base)})

    async def redo(self, request: Request) -> Response:
        body = await body_of(request, Base)
        return JsonAnswer({"version": await run_in_threadpool(self._session.redo, body.base)})

    async def make(self, request: Request) -> Response:
        body = await body_of(request, DocumentsBody)
        self._session.documents.start(self._shown(), body.kind)
        return JsonAnswer({}, 202)

    async def stop(self, _request: Request) -> Response:
        self._session.documents.stop()
        return JsonAnswer({}, 202)

    async def made(self, request: Request) -> Response:
        """A document by its name on the list of those made."""
        made, name = self._session.documents.made, request.path_params["name"]
        if made is None or name not in made.files:
            raise NoSuchError
        kept = {"Content-Disposition": f'attachment; filename="{name}"'}
        return Response(made.files[name], media_type=media_of(name), headers=kept)

    async def boards(self, request: Request) -> Response:
        boards_of, shown = self._session.documents.boards_of, self._shown()
        picture = await run_in_threadpool(boards_of, shown, request.path_params["ref"])
        if picture is None:
            raise NoSuchError
        return Response(picture, media_type="image/svg+xml")

    async def upload(self, request: Request) -> Response:
        """Starts the job, or adds a drawing to it."""
        name = harmless_name(request.headers.get("x-name", ""))
        async with self._uploading:
            announced = request.headers.get("content-length")
            taken = await take_in(request.stream(), announced, self._session.folder, name)
            version, notes = await run_in_threadpool(self._session.add_drawing, taken)
            return JsonAnswer({"version": version, "notes": notes})

    def _takeoff(self) -> Takeoff:
        """With every sheet laid where the documents were made of the job as it stands, else by estimate."""
        shown = self._shown()
        return self._session.documents.exact(shown) or shown.takeoff

    def _shown(self) -> Shown:
        if self._session.shown is None:
            raise NotYetError
        return self._session.shown


def _rooms(shown: Shown, takeoff: Takeoff) -> Json:
    return {
        "version": shown.version,
        "rooms": room_rows(takeoff),
        "openings": opening_rows(takeoff.plan, shown.ignored),
        "angles": angle_rows(takeoff),
        "queries": query_rows(takeoff.queries, takeoff.plan, lambda q: [a.as_json() for a in offers(q, takeoff)]),
        "accepted": query_rows(takeoff.accepted, takeoff.plan, lambda _query: []),
    }


# ---------------------------------------------------------------- refusals


async def _stale(_request: Request, fault: Any) -> Response:
    return fault_answer(409, str(fault), version=fault.version)


async def _too_large(_request: Request, fault: Exception) -> Response:
    return fault_answer(413, str(fault))


async def _refused(_request: Request, fault: Exception) -> Response:
    return fault_answer(422, str(fault))


async def _not_taken(_request: Request, fault: Any) -> Response:
    return fault_answer(fault.status, str(fault))


async def _not_yet(_request: Request, _fault: Exception) -> Response:
    return fault_answer(503, "There is no drawing yet, or it is still being read.")


async def _unknown(_request: Request, fault: Any) -> Response:
    return fault_answer(getattr(fault, "status_code", 404), "There is nothing at this address.")


async def _failed(_request: Request, _fault: Exception) -> Response:
    return fault_answer(500, "The program failed at this. Its window tells more; the job file is as it was.")
