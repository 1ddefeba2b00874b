"""What is asked of the server, read strictly and no further than is allowed."""

from __future__ import annotations

import json
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from rigmodel.errors import RigmodelError
from rigmodel.reading.source import MAX_BYTES

MOST_UNPACKED = 32 * 1024 * 1024  # of a scene and its own files
MOST_SENT = 3 * MAX_BYTES  # a scene's text in JSON, every quote of it escaped
MOST_OPENED = MOST_UNPACKED * 4 // 3 + MAX_BYTES  # files in base64, and their names


class RequestError(RigmodelError):
    """A request that the page never sends."""


async def refused(request: Request, error: Exception) -> Response:
    """What cannot be done, in words."""
    return JSONResponse({"message": str(error)}, 400 if isinstance(error, RequestError) else 422)


async def object_of(request: Request, most: int) -> dict[str, Any]:
    """An object that was sent as JSON.

    Raises:
        RequestError: it is none, or longer than `most` bytes.
    """
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
