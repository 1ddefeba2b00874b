"""The server as others meet it: who gets in, what is refused, what can be taken away."""

from __future__ import annotations

import base64
import http.client
import json
import threading
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from email.message import Message
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from starlette.types import ASGIApp

from rigmodel.errors import InputError
from rigmodel.page.app import page_app
from rigmodel.page.asked import MOST_OPENED
from rigmodel.page.front import front_app
from rigmodel.page.guard import is_loopback
from rigmodel.page.serve import ServeError, scene_file_text, serve
from rigmodel.page.start import demo_scenes, demo_text, form_text
from rigmodel.page.store import Store
from rigmodel.page.workers import Workers
from rigmodel.reading.source import MAX_BYTES
from rigmodel.spec.load import scene_from_text
from tests.page import scenes
from tests.page.scenes import SMALL

OWN = {"Content-Type": "application/json", "X-Rigmodel": "1"}
TOKEN = "a-token-of-the-test"
NAMED = SMALL.replace("name: One row", 'name: <img src=x onerror=alert(1)> & "Row"')


def one_file(name: str, text: str) -> dict[str, Any]:
    """A file as the page sends it."""
    data = base64.b64encode(text.encode()).decode()
    return {"kind": "files", "files": [{"name": name, "base64": data}]}


@dataclass(frozen=True)
class Served:
    """A running server, asked as a browser would ask it."""

    port: int
    store: Store

    def ask(
        self,
        method: str,
        path: str,
        body: object = None,
        headers: Mapping[str, str] | None = None,
    ) -> tuple[int, dict[str, str], bytes]:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            data = body if isinstance(body, bytes) or body is None else json.dumps(body).encode()
            link.request(method, path, data, dict(OWN if headers is None else headers))
            answer = link.getresponse()
            told = {k.lower(): v for k, v in answer.getheaders()}
            return answer.status, told, answer.read()
        finally:
            link.close()


def serving(app: ASGIApp, store: Store) -> Iterator[Served]:
    config = uvicorn.Config(app, port=0, log_level="error", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    end = time.monotonic() + 20.0
    while not server.started and time.monotonic() < end:
        time.sleep(0.02)
    yield Served(server.servers[0].sockets[0].getsockname()[1], store)
    server.should_exit = True
    thread.join(10.0)


def each_way(way: str, folder: Path, token: str = "") -> Iterator[Served]:
    """The server as one process, or with others behind it: nobody sees a difference."""
    store = Store(folder)
    if way == "alone":
        yield from serving(page_app(store, token), store)
    else:
        with Workers(folder, 2) as workers:
            yield from serving(front_app(workers, token), store)


@pytest.fixture(scope="module", params=["alone", "with workers"])
def served(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Served]:
    yield from each_way(request.param, tmp_path_factory.mktemp("page"))


@pytest.fixture(scope="module", params=["alone", "with workers"])
def guarded(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Served]:
    yield from each_way(request.param, tmp_path_factory.mktemp("guarded"), TOKEN)


@pytest.fixture(scope="module")
def opened(served: Served) -> str:
    code, _, data = served.ask("POST", "/open", one_file("s.yml", NAMED))
    assert code == 200
    return str(json.loads(data)["id"])


def state(served: Served, id: str) -> dict[str, Any]:
    code, _, data = served.ask("GET", f"/s/{id}/state")
    assert code == 200
    found: dict[str, Any] = json.loads(data)
    return found


@pytest.mark.parametrize("path", ["/", "/app.js", "/page.css", "/s/{id}", "/s/{id}/state"])
def test_every_answer_forbids_what_the_page_does_not_need(
    served: Served, opened: str, path: str
) -> None:
    code, headers, _ = served.ask("GET", path.format(id=opened))
    assert code == 200
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"
    assert "server" not in headers or "uvicorn" not in headers["server"] or path


def test_pages_point_to_nothing_outside_and_hold_no_inline_script(
    served: Served, opened: str
) -> None:
    for path in ("/", f"/s/{opened}", "/app.js", "/page.css"):
        text = served.ask("GET", path)[2].decode()
        assert "//" not in text.replace("http://www.w3.org/2000/svg", "").replace(
            "// ", ""
        ).replace("//\n", "")
        assert "<script>" not in text
        assert " style=" not in text


@pytest.mark.parametrize("host", ["evil.example", "localhost.evil.example", "10.0.0.7", ""])
def test_on_loopback_only_this_machine_s_own_names_are_answered(served: Served, host: str) -> None:
    assert served.ask("GET", "/", headers={"Host": host})[0] == 403
    assert served.ask("GET", "/", headers={"Host": f"localhost:{served.port}"})[0] == 200
    assert served.ask("GET", "/", headers={"Host": f"[::1]:{served.port}"})[0] == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Content-Type": "application/json"},
        {"Content-Type": "text/plain", "X-Rigmodel": "1"},
        {**OWN, "Sec-Fetch-Site": "cross-site"},
    ],
)
def test_no_other_site_can_change_anything(served: Served, headers: dict[str, str]) -> None:
    body = {"kind": "demo", "name": "new"}
    assert served.ask("POST", "/open", body, headers)[0] in (400, 403)


def test_bound_elsewhere_a_token_is_needed_once(guarded: Served) -> None:
    for path in ("/", "/?token=wrong", "/app.js", "/s/" + "x" * 22):
        assert guarded.ask("GET", path)[0] == 403
    assert guarded.ask("POST", "/open", {"kind": "demo", "name": "new"})[0] == 403
    code, headers, _ = guarded.ask("GET", f"/?token={TOKEN}")
    assert code == 303
    assert headers["location"] == "/"
    cookie = headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert guarded.ask("GET", "/", headers={"Cookie": cookie.partition(";")[0]})[0] == 200


@pytest.mark.parametrize("path", ["/s/../session.json", "/s/%2e%2e/state", "/s/{id}/../../x",
                                  "/s/{id}/get/..%2fsession.json", "/s/{id}/get/session.json",
                                  "/s/" + "A" * 22 + "/state", "/assets/page.css"])  # fmt: skip
def test_paths_that_lead_elsewhere_find_nothing(served: Served, opened: str, path: str) -> None:
    assert served.ask("GET", path.format(id=opened))[0] == 404


def test_too_much_is_refused(served: Served) -> None:
    code, _, data = served.ask("POST", "/open", one_file("x.yaml", "x" * (MAX_BYTES + 1)))
    assert code == 422
    assert b"1 MiB" in data
    code, _, data = served.ask("POST", "/open", b"x" * (MOST_OPENED + 1))
    assert code == 400
    assert b"too big" in data


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b'"x"', b"[" * 5000, b'{"kind": "ftp"}',
                                  b'{"kind": "files", "files": [1]}',
                                  b'{"kind": "files", "files": [{"name": "a.yaml"}, 2]}',
                                  b'{"kind": "files", "files": [{"name": "a", "base64": "?"}]}',
                                  b'{"kind": "files", "files": "a.yaml"}'])  # fmt: skip
def test_what_is_no_request_is_refused(served: Served, body: bytes) -> None:
    assert served.ask("POST", "/open", body)[0] == 400


def test_text_of_the_user_s_is_escaped_everywhere(served: Served, opened: str) -> None:
    found = state(served, opened)
    assert found["title"].startswith("<img")  # the page sets it as text
    for name, html in found.items():
        if name not in ("title", "text") and isinstance(html, str):
            assert "<img" not in html, name
    assert "&lt;img" in found["lines"]
    page = served.ask("GET", f"/s/{opened}")[2].decode()
    assert "<img" not in page


def test_a_conflict_is_told_with_the_newest_state(served: Served, opened: str) -> None:
    seen = state(served, opened)["version"]
    ask = {"what": "set", "version": seen, "path": ["toolbar", "height"], "typed": "20 1/4"}
    assert served.ask("POST", f"/s/{opened}/do", ask)[0] == 200
    code, _, data = served.ask("POST", f"/s/{opened}/do", {**ask, "typed": "21"})
    told = json.loads(data)
    assert code == 409
    assert "another tab" in told["message"]
    assert "height: 20 1/4" in told["state"]["text"]
    bad = {**ask, "version": told["state"]["version"], "typed": "tall"}
    code, _, data = served.ask("POST", f"/s/{opened}/do", bad)
    assert code == 422
    assert "'tall'" in json.loads(data)["message"]


def test_the_picture_comes_with_the_answer_where_its_shapes_are_told(
    served: Served, opened: str
) -> None:
    ask = {"what": "set", "path": ["toolbar", "height"]}
    found = state(served, opened)
    told = []
    steps: tuple[tuple[str, dict[str, Any]], ...] = (("20 1/2", {}), ("20 3/4", {"shapes": []}))
    for typed, more in steps:
        given = {**ask, **more, "typed": typed, "version": found["version"]}
        code, _, data = served.ask("POST", f"/s/{opened}/do", given)
        assert code == 200
        told.append(json.loads(data))
        found = told[-1]["state"]
    assert "model" not in told[0]
    model = told[1]["model"]
    assert model["stamp"] == found["stamp"]
    again = {**ask, "typed": "20", "version": found["version"], "shapes": [*model["shapes"]]}
    less = json.loads(served.ask("POST", f"/s/{opened}/do", again)[2])["model"]
    assert not set(less["shapes"]) & set(model["shapes"])  # those it has are not sent again


def test_a_broken_scene_opens_with_its_line_marked(served: Served) -> None:
    text = NAMED.replace("height: 20", "height: tall")
    _, _, data = served.ask("POST", "/open", one_file("b.yaml", text))
    found = state(served, json.loads(data)["id"])
    with pytest.raises(InputError) as caught:
        scene_from_text(text, "b.yaml")
    assert found["broken"]
    assert found["faults"].count("b.yaml:6") == 1
    assert caught.value.faults[0].message.replace("'", "") in found["faults"].replace("'", "")
    assert '<li id="line-6" class="bad">' in found["lines"]


@pytest.mark.parametrize(
    ("what", "begins"),
    [
        ("report", b"<!doctype html>"),
        ("parts", b"\xef\xbb\xbf"),
        ("list", b"PK"),
        ("glb", b"glTF"),
        ("3mf", b"PK"),
        ("stl", b""),
    ],
)
def test_files_are_taken_away(served: Served, opened: str, what: str, begins: bytes) -> None:
    code, headers, data = served.ask("GET", f"/s/{opened}/get/{what}")
    assert code == 200
    assert data.startswith(begins)
    assert len(data) > 200
    assert headers["content-disposition"].startswith('attachment; filename="s')
    assert headers["content-security-policy"] == "sandbox"


def test_the_scene_is_taken_away_as_it_was_written(served: Served) -> None:
    _, _, data = served.ask("POST", "/open", one_file("t.yaml", NAMED))
    assert served.ask("GET", f"/s/{json.loads(data)['id']}/scene.yaml")[2] == NAMED.encode()


def test_every_demo_scene_reads() -> None:
    for name, path in demo_scenes().items():
        text = demo_text(name)
        assert text is not None
        assert scene_from_text(text, name, None if path is None else path.parent)
    assert demo_text("../pyproject") is None
    with pytest.raises(InputError):
        form_text({"name": "x", "units": "in"})


def test_the_form_names_the_field_that_is_wrong(served: Served) -> None:
    values = {"name": "x", "units": "in", "rows.count": "3", "rows.spacing": "wide",
              "rows.keep_out": "2", "tractor.use": "small-belly", "toolbar.tube": "tube-2x1-4",
              "toolbar.length": "72", "toolbar.height": "20"}  # fmt: skip
    code, _, data = served.ask("POST", "/open", {"kind": "form", "values": values})
    assert code == 422
    assert [fault["name"] for fault in json.loads(data)["faults"]] == ["rows.spacing"]
    good = {**values, "rows.spacing": "15"}
    code, _, data = served.ask("POST", "/open", {"kind": "form", "values": good})
    assert code == 200
    assert not state(served, json.loads(data)["id"])["broken"]


@pytest.mark.parametrize(
    ("host", "local"),
    [("127.0.0.1", True), ("localhost", True), ("::1", True), ("127.8.8.8", True),
     ("0.0.0.0", False), ("::", False), ("192.168.1.5", False), ("farm-pc", False)],
)  # fmt: skip
def test_loopback_is_known(host: str, local: bool) -> None:
    assert is_loopback(host) is local


def test_a_port_that_is_taken_is_told(served: Served, tmp_path: Path) -> None:
    with pytest.raises(ServeError, match="cannot listen"):
        serve(None, "127.0.0.1", served.port, lambda _: None, tmp_path)


def test_a_scene_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(b"name: x\nunits: \xff\n")
    with pytest.raises(InputError, match="UTF-8"):
        scene_file_text(path)
    with pytest.raises(InputError, match="no such file"):
        scene_file_text(tmp_path / "none.yaml")
    path.write_text("rows: [1\n", encoding="utf-8")
    assert scene_file_text(path) == "rows: [1\n"


@pytest.mark.parametrize("name", ["Übung.yaml", "機械.yaml", "a'b.yaml", "plain.yaml"])
def test_a_download_has_the_scene_s_name_in_any_alphabet(served: Served, name: str) -> None:
    session = scenes.opened(served.store, NAMED, name)
    _, headers, _ = served.ask("GET", f"/s/{session.id}/scene.yaml")
    told = headers["content-disposition"]
    assert told.isascii()
    message = Message()
    message["content-disposition"] = told
    assert message.get_filename() == session.record.name  # read as RFC 2231 and 6266 say
