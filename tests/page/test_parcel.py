"""Scenes with files of their own: sent, worked on, taken away again; and all that is refused."""

from __future__ import annotations

import io
import time
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigmodel.clearance.finding import Verdict
from rigmodel.errors import Fault, InputError
from rigmodel.page.asked import MOST_UNPACKED
from rigmodel.page.parcel import (
    MOST_FILES,
    Parcel,
    ParcelError,
    packed,
    unpacked,
)
from rigmodel.page.store import Store
from rigmodel.reading.source import MAX_BYTES
from rigmodel.spec.load import load_scene, scene_from_text
from tests.page.scenes import SCENES, SMALL, opened, opened_for

CATALOGUE = SCENES.parent / "rigmodel" / "catalog" / "data"
MESH = SCENES / "own-mesh-obstacle.obj"
WITH_MESH = SCENES / "own-mesh-obstacle.yaml"
WITH_BLADE = (
    SMALL.replace("depth: 1}", "depth: 1, swap: {blade: my-blade}}")
    + "catalogue: [parts/mine.yaml]\n"
)
MINE = """\
units: in
parts:
  my-blade: {kind: a-blade, width: 5, length: 4, thickness: 3/16}
"""


def archive(files: Mapping[str, bytes], **more: object) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as out:
        for name, data in files.items():
            info = zipfile.ZipInfo(name)
            info.external_attr = int(str(more.get("attributes", 0)))
            out.writestr(info, data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def refused(*sent: tuple[str, bytes]) -> str:
    """What is said; and that it is said soon."""
    begun = time.process_time()
    with pytest.raises(ParcelError) as caught:
        unpacked(sent)
    assert time.process_time() - begun < 5.0
    told = str(caught.value)
    assert "\n" not in told
    return told


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "kept")


@pytest.mark.parametrize("folder", ["", "rig/", "a/b/"])
def test_a_scene_comes_with_its_own_files_from_any_folder_of_an_archive(folder: str) -> None:
    sent = {"mine.yaml": WITH_BLADE.encode(), "parts/mine.yaml": b"parts: {}", ".DS_Store": b"x"}
    litter = {"__MACOSX/._mine.yaml": b"x"}
    data = archive({**{folder + name: held for name, held in sent.items()}, **litter})
    found = unpacked([("rig.zip", data)])
    assert found.name == "mine.yaml"
    assert found.text == WITH_BLADE
    assert found.files == {"parts/mine.yaml": b"parts: {}"}


def test_a_scene_with_a_mesh_is_the_same_rig_on_the_page_and_after_it(store: Store) -> None:
    sent = [(p.name, p.read_bytes()) for p in (WITH_MESH, MESH)]
    parcel = unpacked(sent)
    session = opened(store, parcel.text, parcel.name, files=parcel.files)
    assert session.checked is not None
    assert "obstacle" in WITH_MESH.read_text(encoding="utf-8")
    plain = load_scene(WITH_MESH)
    assert session.checked.scene.catalogue.bodies
    assert len(session.checked.scene.catalogue.bodies) == len(plain.catalogue.bodies)
    taken = unpacked([("again.zip", session.parcel())])
    assert taken == parcel
    assert session.parcel() == packed(parcel.name, parcel.text, parcel.files)


def test_a_catalogue_of_one_s_own_is_read_from_the_session_s_folder(store: Store) -> None:
    text = (CATALOGUE / "blades.yaml").read_text(encoding="utf-8")
    one = text[text.index("  blade-4:") :].split("\n\n")[0].replace("blade-4", "my-blade")
    mine = f"units: in\n\nparts:\n{one}\n"
    files = {"parts/mine.yaml": mine.encode()}
    session = opened(store, WITH_BLADE, files=files)
    assert session.faults == ()
    assert session.checked is not None
    again = Store(store.folder).get(session.id)
    assert again.checked is not None
    assert again.parcel() == session.parcel()
    assert unpacked([("x.zip", again.parcel())]) == Parcel("small.yaml", WITH_BLADE, files)


def test_a_file_that_is_missing_is_told_as_the_command_line_tells_it(
    store: Store, tmp_path: Path
) -> None:
    session = opened(store, WITH_BLADE, "scene.yaml")
    path = tmp_path / "scene.yaml"
    path.write_text(WITH_BLADE, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_scene(path)
    told = [(f.line, f.message, f.expected) for f in session.faults]
    assert told == [(f.line, f.message, f.expected) for f in caught.value.faults]
    assert session.faults[0].file == "scene.yaml"
    assert "'parts/mine.yaml'" in session.faults[0].message


def test_faults_of_a_catalogue_do_not_tell_where_the_session_lies(store: Store) -> None:
    files = {"parts/mine.yaml": MINE.encode()}
    session = opened(store, WITH_BLADE, files=files)
    assert session.faults
    assert {f.file for f in session.faults} == {"parts/mine.yaml"}
    assert str(store.folder) not in "".join(f.text() for f in session.faults)


def test_what_lies_beside_a_scene_of_this_machine_is_not_given_away(
    store: Store, tmp_path: Path
) -> None:
    (tmp_path / "home").mkdir()
    home = tmp_path / "home"
    for path in (WITH_MESH, MESH):
        (home / path.name).write_bytes(path.read_bytes())
    (home / "private.yaml").write_text("secret: 1", encoding="utf-8")
    path = home / WITH_MESH.name
    session = opened_for(store, path)
    taken = unpacked([("a.zip", session.parcel())])
    assert set(taken.files) == {MESH.name}


NAMES = ["../scene.yaml", "/etc/scene.yaml", "a/../../b.yaml", "C:\\scene.yaml", "c:scene.yaml",
         "~/scene.yaml", "a\\b.yaml", "nul.yaml", "con/scene.yaml", "a\0b.yaml", "a\nb.yaml", " ",
         "trailing./scene.yaml", "x" * 300 + ".yaml", "/".join("abcdefghij") + ".yaml",
         "what?.yaml"]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_names_that_lead_out_or_cannot_stand_everywhere_are_refused(name: str) -> None:
    assert refused((name, WITH_BLADE.encode()))
    if "\0" not in name and "\\" not in name:  # an archive cuts and turns these itself
        assert refused(("a.zip", archive({name: WITH_BLADE.encode(), "other.yaml": b"x: 1"})))


def test_links_bombs_passwords_and_damage_in_archives_are_refused() -> None:
    scene = {"scene.yaml": WITH_BLADE.encode()}
    link = archive({**scene, "mine.yaml": b"/etc/passwd"}, attributes=0o120777 << 16)
    assert "is a link" in refused(("a.zip", link))
    bomb = archive({**scene, "big.stl": b"\0" * (MOST_UNPACKED + 1)})
    assert len(bomb) < MOST_UNPACKED // 500
    assert "too big" in refused(("a.zip", bomb))
    many = archive({f"{k}.yaml": b"" for k in range(MOST_FILES + 1)})
    assert str(MOST_FILES) in refused(("a.zip", many))
    whole = archive(scene)
    for damaged in (whole[:40], whole[:-30], whole[:30] + b"\xff" * 20 + whole[50:]):
        assert "archive" in refused(("a.zip", damaged))
    head = bytearray(whole)
    for mark, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):  # says it is encrypted
        place = head.index(mark) + at
        head[place] |= 1
    assert "plain ZIP" in refused(("a.zip", bytes(head)))
    nested = archive({"a.zip": whole})
    assert "neither a scene" in refused(("b.zip", nested))
    assert "no file" in refused(("a.zip", archive({"__MACOSX/x": b"x"})))


def test_a_size_that_an_archive_lies_about_is_found_out() -> None:
    data = bytearray(archive({"scene.yaml": WITH_BLADE.encode(), "big.stl": b"\0" * 9_000_000}))
    place = data.rindex(b"PK\x01\x02")
    data[place + 24 : place + 28] = (10).to_bytes(4, "little")
    assert refused(("a.zip", bytes(data)))


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({}, "no file was sent"),
        ({"a.exe": b"MZ"}, "neither a scene"),
        ({"cab.stl": b"solid"}, "no scene among"),
        (
            {"a.yaml": WITH_BLADE.encode(), "b.yaml": WITH_BLADE.encode()},
            "'a.yaml', 'b.yaml' are scenes",
        ),
        ({"a.yaml": WITH_BLADE.encode(), "A.yaml": b"parts: {}"}, "twice"),
        ({"r/a.yaml": WITH_BLADE.encode(), "b.yaml": b"parts: {}"}, "not in the scene's folder"),
        ({"a.yaml": WITH_BLADE.encode("utf-16"), "b.yaml": b"parts: {}"}, "no scene among"),
        ({"a.yaml": b"\xff\xfe"}, "not UTF-8"),
        ({"a.yaml": b"x" * (MAX_BYTES + 1)}, "1 MiB"),
        ({f"{k}.yaml": b"x: 1" for k in range(MOST_FILES + 1)}, str(MOST_FILES)),
    ],
)
def test_what_is_no_scene_with_its_files_is_told(files: Mapping[str, bytes], told: str) -> None:
    assert told in refused(*files.items())


@given(st.lists(st.tuples(st.text(max_size=20), st.binary(max_size=60)), max_size=4))
def test_whatever_is_sent_is_taken_or_refused(sent: list[tuple[str, bytes]]) -> None:
    try:
        found = unpacked(sent)
    except ParcelError:
        return
    assert unpacked([("a.zip", packed(found.name, found.text, found.files))]) == found


@given(st.binary(max_size=400))
def test_whatever_an_archive_holds_it_is_taken_or_refused(noise: bytes) -> None:
    whole = archive({"scene.yaml": WITH_BLADE.encode()})
    for data in (b"PK\x03\x04" + noise, whole[: len(noise)] + noise + whole[len(noise) :]):
        try:
            unpacked([("a.zip", data)])
        except ParcelError:
            continue


HOSTILE = {
    "aliases": "a: &a [x, x]\nb: &b [*a, *a]\nrows: [*b, *b]\nstations: []",
    "an alias bomb": "\n".join(
        ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
        + [f"a{k}: &a{k} [{', '.join([f'*a{k - 1}'] * 9)}]" for k in range(1, 12)]
        + ["rows: *a11"]
    ),
    "NUL": WITH_BLADE.replace("name: One", "name: O\0e"),
    "deep nesting": "rows: " + "[" * 50_000,
    "deep mappings": "\n".join(" " * k + "a:" for k in range(900)),
    "10,000 rows": WITH_BLADE.replace("count: 1", "count: 10000"),
    "10,000 places": WITH_BLADE.replace(
        "count: 1, spacing: 15", "positions: [" + "1, " * 10_000 + "2]"
    ),
    "10,000 stations": SMALL + "  - {use: blade-rigid, at: gaps, depth: 1}\n" * 10_000,
    "a huge number": WITH_BLADE.replace("15", "1" + "0" * 5_000),
    "a tiny number": WITH_BLADE.replace("15", "1e-320"),
    "a tag": WITH_BLADE.replace("name: One row", "name: !!python/object/apply:os.system ['true']"),
    "a merge": WITH_BLADE + "<<: {name: x}\n",
    "twice": WITH_BLADE + "name: again\n",
    "a binary": WITH_BLADE.replace("name: One row", "name: !!binary aGVsbG8="),
    "no end": WITH_BLADE.replace("2 1/2", "2 1/"),
    "a path": WITH_BLADE.replace("parts/mine.yaml", "../../../../etc/passwd"),
    "a device": WITH_BLADE.replace("parts/mine.yaml", "/dev/zero"),
    "letters from right to left": WITH_BLADE.replace("name: One row", "name: \u202egnp.elif"),
    "nothing": "",
    "a list": "[1, 2]",
    "a mark before all": "\ufeff" + WITH_BLADE.replace("blade: my-blade", ""),
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_scenes_are_told_in_words_soon_and_as_by_the_command_line(
    store: Store, text: str
) -> None:
    begun = time.process_time()
    session = opened(store, text, "hostile.yaml")
    assert time.process_time() - begun < 10.0
    known = faults_of(text, session.folder)
    assert [f.text() for f in session.faults] == [
        f.text().replace(f"{session.folder}/", "") for f in known
    ]
    assert (session.checked is None) == bool(known)


def faults_of(text: str, folder: Path) -> tuple[Fault, ...]:
    try:
        scene_from_text(text, "hostile.yaml", folder)
    except InputError as error:
        return error.faults
    return ()


@pytest.mark.parametrize(
    "mesh",
    [b"", b"solid x\nfacet normal nan nan nan\n", b"\0" * 84, b"\0" * 80 + b"\xff" * 4,
     b"v nan nan nan\nv 0 0 0\nv 1 0 0\nf 1 2 3\n",
     b"".join(b"v %d 0 0\n" % k for k in range(3)) + b"f 1 2 3\n" * 1_000_000],
    ids=["empty", "nan", "none", "cut", "nan corner", "a million"],
)  # fmt: skip
def test_hostile_meshes_are_told_in_words(store: Store, mesh: bytes) -> None:
    text = WITH_MESH.read_text(encoding="utf-8")
    begun = time.process_time()
    session = opened(store, text, "mesh.yaml", files={MESH.name: mesh})
    assert time.process_time() - begun < 30.0
    assert session.checked is None
    assert session.faults
    assert all(MESH.name in f.message or f.message for f in session.faults)


def test_a_file_with_a_verdict_stays_what_it_was(store: Store) -> None:
    parcel = unpacked([(p.name, p.read_bytes()) for p in (WITH_MESH, MESH)])
    session = opened(store, parcel.text, parcel.name, files=parcel.files)
    assert session.checked is not None
    verdict = session.checked.findings.verdict
    header = WITH_MESH.read_text(encoding="utf-8")
    expected = (
        "fail" if "Verdict: fail" in header else "advise" if "Verdict: advise" in header else "pass"
    )
    assert verdict is Verdict(expected)
