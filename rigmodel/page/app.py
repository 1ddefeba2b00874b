"""The web application: the bench, state of a session, what is done to it, and downloads."""

from __future__ import annotations

import asyncio
import json
import re
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
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
from rigmodel.page import shell
from rigmodel.page.actions import act
from rigmodel.page.aside import Aside, MakingError
from rigmodel.page.asked import MOST_SENT, RequestError, object_of, refused
from rigmodel.page.begin import begin_routes
from rigmodel.page.choosers import choices_html, place_at
from rigmodel.page.downloads import OFFERED
from rigmodel.page.guard import Guard
from rigmodel.page.pictures import part_picture, unit_picture
from rigmodel.page.record import ConflictError, DamagedError
from rigmodel.page.session import Session
from rigmodel.page.shelf import StoreError
from rigmodel.page.state import model, told
from rigmodel.page.store import Store
from rigmodel.page.text_edit import Path
from rigmodel.report.html.loads import loads_section
from rigmodel.spec.resolve import Scene

_SVG = {"content-security-policy": "sandbox", "cache-control": "private, max-age=600"}
_MOST_MAKING = 4
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
        *begin_routes(store),
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
    app = Starlette(routes=routes, exception_handlers=_REFUSALS, lifespan=pages.lifespan)
    return Guard(app, token)


async def _missing(request: Request, error: Exception) -> Response:
    return PlainTextResponse(str(error), 404)


async def _broken(request: Request, error: Exception) -> Response:
    return PlainTextResponse(str(error), 500)


_REFUSALS = {
    StoreError: _missing,
    DamagedError: _broken,
    MakingError: _broken,
    RigmodelError: refused,
}


class _Pages:
    def __init__(self, store: Store) -> None:
        self.store = store
        self.aside = Aside()
        self.making = asyncio.Semaphore(_MOST_MAKING)

    @asynccontextmanager
    async def lifespan(self, app: Starlette) -> AsyncIterator[None]:
        yield
        await run_in_threadpool(self.aside.end)

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
        asked = await object_of(request, MOST_SENT)
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
        what = request.path_params["what"]
        wanted = OFFERED.get(what)
        if wanted is None:
            raise StoreError("there is no such download")
        stem = session.record.name.removesuffix(".yaml")
        async with self.making:  # whoever waits here holds up nothing else
            checked = await run_in_threadpool(session.settled)
            if checked is None:
                return PlainTextResponse("correct the scene's text first", 409)
            data = await run_in_threadpool(self.aside.made, what, stem, checked)
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
    answer: dict[str, Any] = {"message": message, "state": told(session)}
    known = asked.get("shapes")
    if isinstance(known, list):  # then the picture comes along instead of a call later
        answer["model"] = model(session, frozenset(map(str, known)))
    return _data(to_json(answer), code)


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
