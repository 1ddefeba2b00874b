"""What was said to be kept is kept: two servers, full disks, damaged files, many sessions."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from rigmodel.files import FileError
from rigmodel.page import record as record_module
from rigmodel.page.actions import act
from rigmodel.page.record import ConflictError, DamagedError
from rigmodel.page.session import Session
from rigmodel.page.shelf import StoreError
from rigmodel.page.store import MOST_OPEN, Store
from rigmodel.page.text_edit import value_at
from tests.page.scenes import SMALL, opened, opened_for

Change = Callable[[Session], object]


def do(session: Session, what: str, **more: object) -> str:
    return act(session, {"what": what, "version": session.record.version, **more})


def set_spacing(session: Session, typed: str = "16") -> None:
    do(session, "set", path=["rows", "spacing"], typed=typed)


def spacing(session: Session) -> object:
    return value_at(session.record.text, ("rows", "spacing"))


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "kept")


@pytest.fixture
def session(store: Store) -> Session:
    return opened(store, SMALL)


CHANGES: dict[str, Change] = {
    "a number": set_spacing,
    "a text": lambda s: do(s, "text", text=SMALL.replace("One row", "Another")),
    "a broken text": lambda s: do(s, "text", text="name: ["),
    "undo": lambda s: do(s, "undo"),
    "redo": lambda s: do(s, "redo"),
    "another unit": lambda s: do(s, "speak", unit="mm"),
}


def ready(session: Session) -> None:
    """Something to undo, and something to do again."""
    set_spacing(session, "17")
    set_spacing(session, "18")
    do(session, "undo")


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_two_servers_on_one_folder_do_not_overwrite_each_other(
    store: Store, session: Session, change: Change
) -> None:
    ready(session)
    other = Store(store.folder).get(session.id)
    seen = session.record.version
    set_spacing(other, "20")
    with pytest.raises(ConflictError):
        act(session, {"what": "set", "version": seen, "path": ["rows", "spacing"], "typed": "21"})
    assert session.record == other.record == Store(store.folder).get(session.id).record
    assert spacing(session) == "20"
    change_made_on_the_newest(session, other, change)


def change_made_on_the_newest(session: Session, other: Session, change: Change) -> None:
    if change is not CHANGES["redo"]:  # a change of another has ended what could be done again
        change(session)
    other.refresh()
    assert other.record == session.record


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_a_write_between_look_and_write_is_seen(
    store: Store, session: Session, change: Change, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other server writes after this one has looked and before it writes."""
    ready(session)
    other = Store(store.folder).get(session.id)
    monkeypatch.setattr(Session, "refresh", lambda self: None)
    set_spacing(other, "20")
    kept = other.record
    with pytest.raises(ConflictError, match="another server"):
        change(session)
    monkeypatch.undo()
    assert Store(store.folder).get(session.id).record == kept


def test_two_servers_at_once_lose_no_change(store: Store, session: Session) -> None:
    """Each of two adds ten changes, again and again until it is taken."""
    sessions = [session, Store(store.folder).get(session.id)]

    def work(mine: Session, first: int) -> None:
        for typed in range(first, first + 10):
            while True:
                try:
                    do(mine, "set", path=["rows", "spacing"], typed=f"{typed} in")
                    break
                except ConflictError:
                    continue

    threads = [threading.Thread(target=work, args=(s, 20 + 20 * k)) for k, s in enumerate(sessions)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    record = Store(store.folder).get(session.id).record
    texts = [*record.undo[1:], record.text]
    made = {value_at(text, ("rows", "spacing")) for text in texts}
    assert made == {f"{n} in" for n in (*range(20, 30), *range(40, 50))}
    assert record.version == 21


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_a_change_that_cannot_be_kept_is_not_made(
    store: Store, session: Session, change: Change, monkeypatch: pytest.MonkeyPatch
) -> None:
    ready(session)
    before = session.record

    def full(*_: object, **__: object) -> None:
        raise FileError("cannot write session.json: No space left on device")

    monkeypatch.setattr(record_module, "write_whole", full)
    with pytest.raises(FileError, match="No space"):
        change(session)
    monkeypatch.undo()
    assert session.record == before == Store(store.folder).get(session.id).record
    change(session)
    assert session.record == Store(store.folder).get(session.id).record != before


def test_a_file_saved_by_two_servers_is_saved_once(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(SMALL, encoding="utf-8")
    one = opened_for(store, path)
    other = opened(Store(store.folder), SMALL, "mine.yaml", path, tmp_path)
    set_spacing(one)
    set_spacing(other, "17")
    do(one, "save")
    with pytest.raises(ConflictError, match="another program"):
        do(other, "save")
    assert path.read_text(encoding="utf-8") == one.record.text


def test_the_session_last_worked_on_is_found_for_a_file(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(SMALL, encoding="utf-8")
    made = [opened(store, SMALL, "mine.yaml", path, tmp_path) for _ in range(6)]
    for k, session in enumerate(made):
        file = store.folder / session.id / "session.json"
        os.utime(file, ns=(0, 10**9 * (100 if k == 3 else k)))
    assert opened_for(store, path).id == made[3].id


@pytest.mark.parametrize(
    "damage",
    [b"", b"{", b"[]", b'{"name": "a.yaml"}', b'{"name": "a", "text": 5}', b"\xff\xfe", b"null",
     b'{"name": "a.yaml", "text": "", "version": 0}', b"[" * 100_000],
    ids=["empty", "cut", "list", "no text", "number", "bytes", "null", "version", "deep"],
)  # fmt: skip
def test_a_damaged_session_is_told_and_left_as_it_is(
    store: Store, session: Session, damage: bytes
) -> None:
    file = store.folder / session.id / "session.json"
    file.write_bytes(damage)
    for asked in (store, Store(store.folder)):
        with pytest.raises(DamagedError, match=r"session\.json is damaged"):
            asked.get(session.id)
    with pytest.raises(DamagedError):
        set_spacing(session)
    assert file.read_bytes() == damage


def test_a_session_whose_folder_is_gone_is_not_made_again_unasked(
    store: Store, session: Session
) -> None:
    (store.folder / session.id / "session.json").unlink()
    with pytest.raises(StoreError, match="no such session"):
        Store(store.folder).get(session.id)
    with pytest.raises(DamagedError, match="gone"):
        set_spacing(session)
    assert not (store.folder / session.id / "session.json").exists()


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("a file", encoding="utf-8")
    with pytest.raises(StoreError, match="cannot keep sessions"):
        Store(tmp_path / "kept")
    store = Store(tmp_path / "other")
    (tmp_path / "other").rmdir()
    (tmp_path / "other").write_text("a file", encoding="utf-8")
    with pytest.raises(StoreError, match="cannot keep sessions"):
        opened(store, SMALL)


def test_a_session_in_use_stays_open_however_many_others_come(store: Store) -> None:
    used = opened(store, SMALL, "used.yaml")
    for k in range(MOST_OPEN + 2):
        opened(store, SMALL, f"{k}.yaml")
        assert store.get(used.id) is used


def test_one_that_is_slow_to_open_holds_up_no_other(
    store: Store, session: Session, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = opened(store, SMALL.replace("One row", "slow"), "slow.yaml")
    again = Store(store.folder)
    reading, go_on = threading.Event(), threading.Event()
    read = Session._read

    def waiting(self: Session, text: str, unit: str) -> None:
        if self.id == slow.id:
            reading.set()
            assert go_on.wait(20.0)
        read(self, text, unit)

    monkeypatch.setattr(Session, "_read", waiting)
    found: list[Session] = []
    threads = [threading.Thread(target=lambda: found.append(again.get(slow.id))) for _ in range(2)]
    for thread in threads:
        thread.start()
    assert reading.wait(20.0)
    assert again.get(session.id).record == session.record
    go_on.set()
    for thread in threads:
        thread.join()
    assert found[0] is found[1]  # opened once, for all that asked


def test_the_lock_is_let_go(store: Store, session: Session) -> None:
    begun = time.monotonic()
    for typed in range(16, 20):
        set_spacing(session, str(typed))
        set_spacing(Store(store.folder).get(session.id), f"{typed}.5")
        session.refresh()
    assert time.monotonic() - begun < 60.0
    assert spacing(session) == "19.5"
