"""Who may ask the server, and what every answer tells the browser to forbid."""

from __future__ import annotations

import hmac
import ipaddress
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "rigmodel_token"
_LOCAL = frozenset(("localhost", "127.0.0.1", "[::1]", "::1"))
_SAFE = frozenset(("GET", "HEAD"))
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


def is_loopback(host: str) -> bool:
    """Whether a server bound to `host` can be reached from this machine only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


class Guard:
    """Lets a request through to the app, or answers it itself.

    On loopback the Host header must name this machine, so that no web site can reach the page by
    a name of its own. Bound elsewhere, a token is needed; it is given once in the address and
    kept in a cookie. What changes anything must carry a header that no other site can send.

    Args:
        app: what is guarded.
        token: what must be known to get in, or an empty string on loopback.
    """

    def __init__(self, app: ASGIApp, token: str) -> None:
        self.app, self.token = app, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answers one request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        refusal = self._refusal(scope)
        await (refusal or self.app)(scope, receive, sending)

    def _refusal(self, scope: Scope) -> ASGIApp | None:
        headers = Headers(scope=scope)
        if not self.token and _name(headers.get("host", "")) not in _LOCAL:
            return PlainTextResponse("this page answers to this machine only", 403)
        if self.token:
            given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
            if given and self._fits(given):
                return self._let_in(scope)
            if not self._fits(cookie_parser(headers.get("cookie", "")).get(COOKIE, "")):
                return PlainTextResponse(
                    "open the address with the token that the server printed", 403
                )
        foreign = headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none")
        if scope["method"] not in _SAFE and (foreign or headers.get("x-rigmodel") != "1"):
            return PlainTextResponse("this request did not come from the page itself", 403)
        return None

    def _fits(self, given: str) -> bool:
        return hmac.compare_digest(given.encode(), self.token.encode())

    def _let_in(self, scope: Scope) -> ASGIApp:
        answer = RedirectResponse(scope["path"], 303)
        answer.set_cookie(COOKIE, self.token, httponly=True, samesite="strict", path="/")
        return answer


def _name(host: str) -> str:
    """A Host header without its port."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()
