"""What stands before several processes, and passes on what is asked to one of them.

It knows sessions by their names only, so that it starts soon and has its time for passing on.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import httpx
from starlette.applications import Starlette
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from rigmodel.errors import RigmodelError
from rigmodel.page.asked import MOST_OPENED, MOST_SENT, body_of, refused
from rigmodel.page.guard import COOKIE, Guard
from rigmodel.page.workers import Worker, Workers

_HOPS = frozenset(
    ("connection", "keep-alive", "transfer-encoding", "te", "trailer", "upgrade", "content-length",
     "cookie", "host", "expect"),
)  # fmt: skip
_STOPPED = (
    "a part of the server stopped and has been started again; nothing that was kept is lost, but "
    "look whether your last change was made"
)


def front_app(workers: Workers, token: str) -> ASGIApp:
    """The application in front of others that each work on some of the sessions.

    Args:
        workers: the others.
        token: what must be known to get in, or an empty string on loopback.
    """
    passing = _Passing(workers)
    routes = [
        Route("/s/{id}", passing.on, methods=["GET", "POST"]),
        Route("/s/{id}/{rest:path}", passing.on, methods=["GET", "POST"]),
        Route("/{rest:path}", passing.begin, methods=["GET", "POST"]),
    ]
    app = Starlette(
        routes=routes, exception_handlers={RigmodelError: refused}, lifespan=passing.lifespan
    )
    return Guard(app, token)


class _Passing:
    def __init__(self, workers: Workers) -> None:
        self._workers = workers
        self._client = httpx.AsyncClient(
            timeout=None,  # news take as long as there is none
            limits=httpx.Limits(max_connections=None, keepalive_expiry=30.0),
            trust_env=False,  # no proxy stands between
        )

    @asynccontextmanager
    async def lifespan(self, app: Starlette) -> AsyncIterator[None]:
        yield
        await self._client.aclose()

    async def on(self, request: Request) -> Response:
        """Asks the session's worker."""
        worker = self._workers.of(request.path_params["id"])
        return await self._passed(request, worker, MOST_SENT)

    async def begin(self, request: Request) -> Response:
        """Asks the worker that is there from the beginning, for what belongs to no session yet.

        Whoever looks at the first page will soon have a session: its worker is got ready meanwhile.
        """
        answer = await self._passed(request, self._workers.first, MOST_OPENED)
        if request.url.path == "/":
            answer.background = BackgroundTask(self._workers.get_ready)
        return answer

    async def _passed(self, request: Request, worker: Worker, most: int) -> Response:
        """Asks a worker, for as long as somebody waits for the answer."""
        data = await body_of(request, most)
        asking = asyncio.ensure_future(self._asked(request, worker, data))
        leaving = asyncio.ensure_future(_left(request))
        try:
            await asyncio.wait((asking, leaving), return_when=asyncio.FIRST_COMPLETED)
            return asking.result() if asking.done() else Response(status_code=499)
        finally:
            asking.cancel()
            leaving.cancel()

    async def _asked(self, request: Request, worker: Worker, data: bytes) -> Response:
        for last in (False, True):
            port = await run_in_threadpool(worker.port)
            url = httpx.URL(f"http://127.0.0.1:{port}", raw_path=_target(request))
            headers = [(k, v) for k, v in request.headers.items() if k not in _HOPS]
            headers.append(("host", "127.0.0.1"))
            headers.append(("cookie", f"{COOKIE}={self._workers.token}"))
            headers.append(("content-length", str(len(data))))
            asked = httpx.Request(request.method, url, headers=headers, content=data)
            try:
                answer = await self._client.send(asked)
            except httpx.TransportError as error:
                # What never came through is asked again; so is what changes nothing.
                if last or not (request.method == "GET" or isinstance(error, httpx.ConnectError)):
                    return JSONResponse({"message": _STOPPED}, 503)
                continue
            kept = {k: v for k, v in answer.headers.items() if k not in _HOPS}
            return Response(answer.content, answer.status_code, kept)
        raise AssertionError("unreachable")


def _target(request: Request) -> bytes:
    """Path and query as they were sent."""
    query = request.scope["query_string"]
    path: bytes = request.scope["raw_path"]
    return path + b"?" + query if query else path


async def _left(request: Request) -> None:
    while (await request.receive())["type"] != "http.disconnect":
        pass
