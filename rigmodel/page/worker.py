"""A process of the server's that works on some of the sessions: ``python -m rigmodel.page.worker``.

It is told in one line of JSON on its input where sessions are kept and the token that it answers
to, tells its port on its output, and ends when its input does: however the server ends, it does not
outlive it.
"""

from __future__ import annotations

import gc
import json
import signal
import sys
import threading
from pathlib import Path

import uvicorn

from rigmodel.page.app import page_app
from rigmodel.page.listening import listen
from rigmodel.page.shelf import StoreError
from rigmodel.page.store import Store

_KEPT_ALIVE = 75  # seconds; longer than the front keeps a connection, which so never meets its end


def main() -> None:
    """Answers until the input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl+C is for the server, which ends this too
    told = json.loads(sys.stdin.readline())
    try:
        store = Store(Path(told["folder"]))
    except StoreError:
        return  # the server says so itself
    listening = listen("127.0.0.1", 0)
    config = uvicorn.Config(
        page_app(store, told["token"]),
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_keep_alive=_KEPT_ALIVE,
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(config)
    gc.freeze()  # what is loaded stays, and need not be looked through for garbage again
    # Beside the main thread, so that uvicorn leaves signals alone.
    answering = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    answering.start()
    sys.stdout.write(f"{listening.getsockname()[1]}\n")
    sys.stdout.flush()
    sys.stdin.read()
    server.should_exit = True
    answering.join(5.0)


if __name__ == "__main__":
    main()
