"""Runs the page's server until it is stopped."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from pathlib import Path

from rigmodel.errors import InputError, RigmodelError
from rigmodel.page.folder import usual_folder
from rigmodel.page.guard import is_loopback
from rigmodel.page.listening import listen
from rigmodel.page.workers import Workers
from rigmodel.reading.source import read_source

USUAL_PORT = 8765
MOST_CONNECTIONS = 256  # a browser opens up to six, and ten users may have several pages each


class ServeError(RigmodelError):
    """The page cannot be served."""


def serve(
    scene: Path | None,
    host: str,
    port: int,
    say: Callable[[str], None],
    folder: Path | None = None,
) -> None:
    """Serves the page; returns when it is stopped (Ctrl+C).

    Args:
        scene: a scene file to open; its session is kept and can be saved back to it.
        host: address to bind to; anything but loopback needs the token in the printed address.
        port: port, or 0 for any that is free.
        say: called with lines for the user, the page's address first.
        folder: where sessions are kept; the user's state folder if not given.

    Raises:
        InputError: the scene file cannot be read as text.
        ServeError: the address cannot be bound to.
    """
    with Workers(folder or usual_folder()) as workers:
        _serve(scene, host, port, say, folder or usual_folder(), workers)


def _serve(
    scene: Path | None,
    host: str,
    port: int,
    say: Callable[[str], None],
    folder: Path,
    workers: Workers,
) -> None:
    # All this takes a while to load, in which the first of the others does the same.
    import socket  # noqa: PLC0415

    import uvicorn  # noqa: PLC0415

    from rigmodel.page.front import front_app  # noqa: PLC0415
    from rigmodel.page.shelf import Shelf  # noqa: PLC0415

    shelf = Shelf(folder)
    path = "/"
    if scene is not None:
        path = f"/s/{shelf.kept_for(scene, scene_file_text(scene))}"
    token = "" if is_loopback(host) else secrets.token_urlsafe(16)
    try:
        listening = listen(host, port)
    except OSError as error:
        reason = error.strerror or error
        raise ServeError(f"cannot listen on {host} port {port}: {reason}") from None
    shown = f"[{host.strip('[]')}]" if ":" in host else host
    if host in ("0.0.0.0", "::"):  # all addresses: the machine's own name leads to one of them
        shown = socket.gethostname()
    bound = listening.getsockname()[1]
    say(f"http://{shown}:{bound}{path}" + (f"?token={token}" if token else ""))
    if token:
        say("anyone who has this address can work with the page; it is not encrypted")
    say("press Ctrl+C to stop")
    config = uvicorn.Config(
        front_app(workers, token),
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,
        limit_concurrency=MOST_CONNECTIONS,
    )
    uvicorn.Server(config).run(sockets=[listening])


def scene_file_text(path: Path) -> str:
    """A scene file's text as it is, even if it is no scene yet.

    Raises:
        InputError: it cannot be read as text.
    """
    try:
        read_source(path)
    except InputError as error:
        if not path.is_file() or any(not fault.line for fault in error.faults):
            raise
        try:
            return path.read_bytes().decode("utf-8")
        except UnicodeDecodeError:
            raise error from None
    return path.read_bytes().decode("utf-8")
