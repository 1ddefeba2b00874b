"""Where to begin: the first page, what every page needs, and scenes that are sent."""

from __future__ import annotations

import base64
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from rigmodel.errors import InputError
from rigmodel.page import shell, start
from rigmodel.page.asked import MOST_OPENED, RequestError, object_of
from rigmodel.page.parcel import unpacked
from rigmodel.page.shelf import Shelf


def begin_routes(shelf: Shelf) -> list[Route]:
    """Where to begin, and what every page needs."""
    begin = _Begin(shelf)
    return [
        Route("/", begin.start),
        Route("/app.js", begin.script),
        Route("/page.css", begin.style),
        Route("/open", begin.open, methods=["POST"]),
    ]


class _Begin:
    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf

    async def start(self, request: Request) -> Response:
        return HTMLResponse(await run_in_threadpool(shell.start_page))

    async def script(self, request: Request) -> Response:
        return Response(shell.script(), media_type="text/javascript")

    async def style(self, request: Request) -> Response:
        return Response(shell.style(), media_type="text/css")

    async def open(self, request: Request) -> Response:
        asked = await object_of(request, MOST_OPENED)
        try:
            id = await run_in_threadpool(self._begun, asked)
        except InputError as error:
            return JSONResponse({"message": "", "faults": start.form_faults(error)}, 422)
        return JSONResponse({"id": id})

    def _begun(self, asked: dict[str, Any]) -> str:
        kind, name = asked.get("kind"), str(asked.get("name", ""))
        if kind == "demo":
            text = start.demo_text(name)
            if text is None:
                raise RequestError("there is no such demo scene")
            path = start.demo_scenes()[name]
            return self.shelf.keep(text, name, home=None if path is None else path.parent)
        if kind == "files" and isinstance(asked.get("files"), list):
            parcel = unpacked([_sent(one) for one in asked["files"]])
            return self.shelf.keep(parcel.text, parcel.name, files=parcel.files)
        values = asked.get("values")
        if kind == "form" and isinstance(values, dict):
            answers = {str(k): v for k, v in values.items() if isinstance(v, str)}
            return self.shelf.keep(start.form_text(answers), answers.get("name", "") or "scene")
        raise RequestError("give a demo, files or a form")


def _sent(one: object) -> tuple[str, bytes]:
    """Name and bytes of a file that was sent."""
    if isinstance(one, dict) and isinstance(one.get("name"), str):
        try:
            return one["name"], base64.b64decode(one.get("base64", ""), validate=True)
        except (ValueError, TypeError):
            pass
    raise RequestError("each file needs a name and its bytes in base64")
