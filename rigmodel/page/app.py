"""The web application: pages, state of a session, what is done to it, and downloads."""

from __future__ import annotations

import asyncio
import base64
import json
import re
import time
from collections.abc import Callable
from typing import Any, TypeVar
from urllib.parse import quote

from pydantic_core import to_json
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from rigmodel.errors import InputError, RigmodelError, sentence
from rigmodel.loads.account import Account
from rigmodel.page import shell, start
from rigmodel.page.actions import RequestError, act
from rigmodel.page.choosers import choices_html, place_at
from rigmodel.page.downloads import download, offered
from rigmodel.page.guard import Guard
from rigmodel.page.parcel import MOST_UNPACKED, unpacked
from rigmodel.page.pictures import part_picture, unit_picture
from rigmodel.page.record import ConflictError, DamagedError
from rigmodel.page.session import Session
from rigmodel.page.state import model, told
from rigmodel.page.store import Store, StoreError
from rigmodel.page.text_edit import Path
from rigmodel.reading.source import MAX_BYTES
from rigmodel.report.html.loads import loads_section
from rigmodel.spec.resolve import Scene

MOST_SENT = 3 * MAX_BYTES  # a scene's text in JSON, every quote of it escaped
MOST_OPENED = MOST_UNPACKED * 4 // 3 + MAX_BYTES  # files in base64, and their names
_SVG = {"content-security-policy": "sandbox", "cache-control": "private, max-age=600"}
NEWS_SECONDS, LOOK_SECONDS = 20.0, 0.1
_Answer = TypeVar("_Answer")


def page_app(store: Store, token: str) -> ASGIApp:
    """The application.

    Args:
        store: where sessions are kept.
        token: what must be known to get in, or an empty string on loopback.
    """
    pages = _Pages(store)
    routes = [
        *start_routes(store),
        Route("/s/{id}", pages.bench),
        Route("/s/{id}/state", pages.state),
        Route("/s/{id}/model", pages.model),
        Route("/s/{id}/loads", pages.loads),
        Route("/s/{id}/choices", pages.choices),
        Route("/s/{id}/picture/{kind}/{name}", pages.picture),
        Route("/s/{id}/news", pages.news),
        Route("/s/{id}/do", pages.do, methods=["POST"]),
        Route("/s/{id}/scene.yaml", pages.scene),
        Route("/s/{id}/scene.zip", pages.parcel),
        Route("/s/{id}/get/{what}", pages.get),
    ]
    return Guard(Starlette(routes=routes, exception_handlers={RigmodelError: refused}), token)


def start_routes(store: Store) -> list[Route]:
    """Where to begin, and what every page needs."""
    begin = _Begin(store)
    return [
        Route("/", begin.start),
        Route("/app.js", begin.script),
        Route("/page.css", begin.style),
        Route("/open", begin.open, methods=["POST"]),
    ]


async def refused(request: Request, error: Exception) -> Response:
    """What cannot be done, in words."""
    if isinstance(error, StoreError):
        return PlainTextResponse(str(error), 404)
    if isinstance(error, DamagedError):
        return PlainTextResponse(str(error), 500)
    return JSONResponse({"message": str(error)}, 400 if isinstance(error, RequestError) else 422)


class _Begin:
    def __init__(self, store: Store) -> None:
        self.store = store

    async def start(self, request: Request) -> Response:
        return HTMLResponse(await run_in_threadpool(shell.start_page))

    async def script(self, request: Request) -> Response:
        return Response(shell.script(), media_type="text/javascript")

    async def style(self, request: Request) -> Response:
        return Response(shell.style(), media_type="text/css")

    async def open(self, request: Request) -> Response:
        asked = await _json(request, MOST_OPENED)
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
            return self.store.keep(text, name, home=None if path is None else path.parent)
        if kind == "files" and isinstance(asked.get("files"), list):
            parcel = unpacked([_sent(one) for one in asked["files"]])
            return self.store.keep(parcel.text, parcel.name, files=parcel.files)
        values = asked.get("values")
        if kind == "form" and isinstance(values, dict):
            answers = {str(k): v for k, v in values.items() if isinstance(v, str)}
            return self.store.keep(start.form_text(answers), answers.get("name", "") or "scene")
        raise RequestError("give a demo, files or a form")


class _Pages:
    def __init__(self, store: Store) -> None:
        self.store = store

    def _first(self, work: Callable[..., _Answer], *given: Any) -> _Answer:
        """Does what somebody waits for, before what nobody waits for."""
        with self.store.precedence.first():
            return work(*given)

    async def _session(self, request: Request) -> Session:
        return await run_in_threadpool(self.store.get, request.path_params["id"])

    async def bench(self, request: Request) -> Response:
        session = await self._session(request)
        return HTMLResponse(shell.bench_page(session.id, session.record.name))

    async def state(self, request: Request) -> Response:
        session = await self._session(request)
        return _data(await run_in_threadpool(self._first, lambda: to_json(told(session))))

    async def model(self, request: Request) -> Response:
        session = await self._session(request)
        known = frozenset(request.query_params.get("known", "").split("."))
        return _data(await run_in_threadpool(self._first, lambda: to_json(model(session, known))))

    async def loads(self, request: Request) -> Response:
        """Weights and forces as they stand, for the fold that shows them."""
        checked = (await self._session(request)).checked
        if checked is None:
            return PlainTextResponse("correct the scene's text first", 409)
        rig = checked.assembly
        loads = checked.findings.loads or Account(rig)
        return HTMLResponse(await run_in_threadpool(lambda: loads_section(rig, loads)))

    async def choices(self, request: Request) -> Response:
        """What may stand at a place of the scene, with pictures."""
        session = await self._session(request)
        path = _path_of(request.query_params.get("path", ""))
        place = None if session.checked is None else place_at(session.checked.scene, path)
        if place is None:
            raise StoreError("there is nothing to choose here")
        return HTMLResponse(choices_html(place, f"/s/{session.id}"))

    async def picture(self, request: Request) -> Response:
        """A part or a sub-assembly of the session's catalogue as SVG."""
        checked = (await self._session(request)).checked
        if checked is None:
            raise StoreError("there is no such picture")
        kind, name = request.path_params["kind"], request.path_params["name"]
        data = await run_in_threadpool(_picture, checked.scene, kind, name)
        return Response(data, media_type="image/svg+xml", headers=_SVG)

    async def news(self, request: Request) -> Response:
        """Answers when the session is no longer as the asker knows it, or after a while."""
        session = await self._session(request)
        known = request.query_params.get("stamp", "")
        end = time.monotonic() + NEWS_SECONDS
        while str(session.stamp) == known and time.monotonic() < end:
            if await request.is_disconnected():
                break
            if session.stale:
                await run_in_threadpool(session.refresh)
            await asyncio.sleep(LOOK_SECONDS)
        return JSONResponse({"stamp": session.stamp})

    async def do(self, request: Request) -> Response:
        session = await self._session(request)
        asked = await _json(request, MOST_SENT)
        return await run_in_threadpool(self._first, _done, session, asked)

    async def scene(self, request: Request) -> Response:
        session = await self._session(request)
        return _file(session.record.text.encode(), session.record.name, "application/yaml")

    async def parcel(self, request: Request) -> Response:
        """The scene with its own catalogue and mesh files, to be given to somebody else."""
        session = await self._session(request)
        data = await run_in_threadpool(session.parcel)
        return _file(data, session.record.name.removesuffix(".yaml") + ".zip", "application/zip")

    async def get(self, request: Request) -> Response:
        session = await self._session(request)
        wanted = offered().get(request.path_params["what"])
        if wanted is None:
            raise StoreError("there is no such download")
        checked = await run_in_threadpool(session.settled)
        if checked is None:
            return PlainTextResponse("correct the scene's text first", 409)
        data = await run_in_threadpool(download, wanted, checked)
        stem = session.record.name.removesuffix(".yaml")
        return _file(data, stem + wanted.ending, wanted.media)


def _done(session: Session, asked: dict[str, Any]) -> Response:
    code, message = 200, ""
    try:
        message = act(session, asked)
    except RequestError:
        raise
    except ConflictError as error:
        code, message = 409, str(error)
    except InputError as error:
        code = 422
        message = " ".join(
            sentence(f"{f.path}: {f.message}", f.expected, f.hint) + "." for f in error.faults
        )
    except RigmodelError as error:
        code, message = 422, str(error)
    return _data(to_json({"message": message, "state": told(session)}), code)


def _data(data: bytes, code: int = 200) -> Response:
    """JSON of what is big: written by the quicker writer, and not by the thread of all answers."""
    return Response(data, code, media_type="application/json")


def _file(data: bytes, name: str, media: str) -> Response:
    """A download; its name is made of safe characters only, and it is never shown as a page."""
    plain = re.fullmatch(r"[\w.-]+", name, flags=re.ASCII)
    told = f'filename="{name}"' if plain else f"filename*=UTF-8''{quote(name)}"  # RFC 6266
    headers = {
        "content-disposition": f"attachment; {told}",
        "content-security-policy": "sandbox",
    }
    return Response(data, media_type=media, headers=headers)


def _picture(scene: Scene, kind: str, name: str) -> str:
    catalogue = scene.catalogue
    try:
        if kind == "part":
            return part_picture(catalogue, name)
        if kind == "unit":
            return unit_picture(catalogue, catalogue.assemblies[name], scene.tube.size)
    except KeyError:
        pass
    raise StoreError("there is no such picture")


def _path_of(text: str) -> Path:
    try:
        steps = json.loads(text)
    except (ValueError, RecursionError):
        steps = None
    if isinstance(steps, list) and all(isinstance(s, str | int) for s in steps):
        return tuple(steps)
    raise RequestError("path must be a list of steps")


def _sent(one: object) -> tuple[str, bytes]:
    """Name and bytes of a file that was sent."""
    if isinstance(one, dict) and isinstance(one.get("name"), str):
        try:
            return one["name"], base64.b64decode(one.get("base64", ""), validate=True)
        except (ValueError, TypeError):
            pass
    raise RequestError("each file needs a name and its bytes in base64")


async def _json(request: Request, most: int) -> dict[str, Any]:
    """An object that was sent."""
    if request.headers.get("content-type", "").partition(";")[0] != "application/json":
        raise RequestError("send JSON")
    data = await body_of(request, most)
    try:
        found = json.loads(data)
    except (ValueError, RecursionError):
        raise RequestError("this is not JSON") from None
    if not isinstance(found, dict):
        raise RequestError("send an object")
    return found


async def body_of(request: Request, most: int) -> bytes:
    """The request's body, read no further than is allowed.

    Raises:
        RequestError: it is longer.
    """
    data = bytearray()
    async for chunk in request.stream():
        data += chunk
        if len(data) > most:
            raise RequestError(f"this is too big; the limit is {most >> 20} MiB")
    return bytes(data)
