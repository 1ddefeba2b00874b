"""A session: what a fitter does to a scene, undo, conflicts, restarts, remedies."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigmodel.clearance.finding import Verdict
from rigmodel.errors import InputError
from rigmodel.page.actions import act
from rigmodel.page.asked import RequestError
from rigmodel.page.controls import (
    STATION,
    control,
    exact_length,
    kind_of,
    more_controls,
    station_controls,
)
from rigmodel.page.record import ConflictError
from rigmodel.page.session import Session
from rigmodel.page.shelf import StoreError, file_name
from rigmodel.page.store import Store
from rigmodel.page.text_edit import EditError, value_at
from rigmodel.sheet.fields import all_names, steps
from rigmodel.spec.load import load_scene, scene_from_text
from rigmodel.units import Unit, parse_length
from tests.page.scenes import SCENES, SMALL, opened, opened_for, scene_text


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "kept")


@pytest.fixture
def session(store: Store) -> Session:
    return opened(store, scene_text("three-rows-belly"), "three.yaml")


@pytest.fixture
def small(store: Store) -> Session:
    return opened(store, SMALL)


def do(session: Session, what: str, **more: object) -> str:
    return act(session, {"what": what, "version": session.record.version, **more})


def at(session: Session, *path: str | int) -> object:
    return value_at(session.record.text, path)


def test_a_number_is_written_checked_undone_and_done_again(small: Session) -> None:
    before = small.record.text
    do(small, "set", path=["rows", "spacing"], typed="380 mm")
    assert at(small, "rows", "spacing") == "380 mm"
    assert small.checked is not None
    assert small.checked.scene.spec.rows.spacing == 380.0
    do(small, "undo")
    assert small.record.text == before
    do(small, "redo")
    assert at(small, "rows", "spacing") == "380 mm"
    with pytest.raises(EditError, match="again"):
        do(small, "redo")


def test_what_would_not_read_is_refused_and_nothing_changes(small: Session) -> None:
    before = small.record.text, small.record.version
    for typed in ("fifteen", "-3", "1/0 in"):
        with pytest.raises(InputError):
            do(small, "set", path=["rows", "spacing"], typed=typed)
    with pytest.raises(InputError, match="goes round"):
        do(small, "set", path=["stations", 0, "use"], typed="finger-pair-50")
    assert (small.record.text, small.record.version) == before


def test_numbers_typed_in_the_unit_shown_keep_their_meaning(small: Session) -> None:
    do(small, "speak", unit="mm")
    assert small.checked is not None
    assert "mm" in small.checked.findings.findings[0].message
    assert control(("rows", "spacing"), small.checked.scene, small.record.text).written == (
        "381 mm"
    )
    do(small, "set", path=["rows", "spacing"], typed="400")
    assert at(small, "rows", "spacing") == "400 mm"
    do(small, "nudge", path=["rows", "spacing"], count=3)
    assert small.checked.scene.spec.rows.spacing == pytest.approx(403.0)
    assert at(small, "units") == "in"


@pytest.mark.parametrize("mm", [0.0, 25.4, 380.0, -203.2, 33.3333, 1587.5, 0.79375])
@pytest.mark.parametrize("unit", list(Unit))
def test_written_lengths_read_back_as_they_were(mm: float, unit: Unit) -> None:
    assert parse_length(exact_length(mm, unit), unit) == pytest.approx(mm, abs=1e-5)


def test_a_change_from_an_old_state_is_refused(small: Session) -> None:
    seen = small.record.version
    do(small, "set", path=["rows", "spacing"], typed="16")
    for what, more in (
        ("set", {"path": ["rows", "spacing"], "typed": "17"}),
        ("text", {"text": "x: 1"}),
        ("undo", {}),
        ("remove", {"index": 0}),
    ):
        with pytest.raises(ConflictError):
            act(small, {"what": what, "version": seen, **more})
    assert at(small, "rows", "spacing") == "16"


def test_stations_are_moved_copied_mirrored_and_deleted(session: Session) -> None:
    do(session, "move", index=0, count=2)
    assert at(session, "stations", 0, "shift") == "1/8 in"
    do(session, "move", index=0, count=-2)
    assert at(session, "stations", 0, "shift") is None
    do(session, "copy", index=2)
    assert at(session, "stations", 3, "name") == "copy2"
    do(session, "remove", index=3)
    do(session, "set", path=["stations", 2, "sides"], typed="left")
    do(session, "mirror", index=2)
    assert at(session, "stations", 2, "sides") == "right"
    assert at(session, "stations", 2, "hand") == "right"
    do(session, "mirror", index=1)
    assert at(session, "stations", 1, "hand") == ["right", "left"]
    with pytest.raises(EditError, match="every row"):
        do(session, "rows", index=0)
    do(session, "set", path=["stations", 0, "only"], typed="1, 2")
    do(session, "rows", index=0)
    assert at(session, "stations", 0, "only") is None


def test_mirroring_twice_gives_the_same_rig(session: Session) -> None:
    assert session.checked is not None
    before = {s.name: s.place_mm for s in session.checked.assembly.stations}
    for index in range(3):
        do(session, "mirror", index=index)
    mirrored = sorted(-s.place_mm for s in session.checked.assembly.stations)
    assert mirrored == pytest.approx(sorted(before.values()))
    for index in range(3):
        do(session, "mirror", index=index)
    assert {s.name: s.place_mm for s in session.checked.assembly.stations} == pytest.approx(before)


def test_a_given_place_is_snapped_to_the_holes_of_the_bar(store: Store) -> None:
    text = SMALL.replace("length: 72", "length: 72, hole_pitch: 2").replace(
        "at: outside", "at: [29 1/2, -29 1/2]"
    )
    session = opened(store, text, "holes")
    do(session, "move", index=0, count=1)
    assert at(session, "stations", 0, "at") == ["32 in", "-28 in"]


def test_parts_of_the_catalogue_are_chosen_and_stations_added(session: Session) -> None:
    do(session, "add", use="point-rigid", at="tracks")
    assert at(session, "stations", 3, "use") == "point-rigid"
    assert session.checked is not None
    assert len(session.checked.assembly.stations) == 6 + 2 + 2 + 2
    do(session, "set", path=["stations", 0, "use"], typed="finger-pair-10")
    assert at(session, "stations", 0, "use") == "finger-pair-10"


def test_a_remedy_is_applied_to_the_text_and_holds(store: Store) -> None:
    session = opened(store, scene_text("four-narrow-rows-clash"), "clash")
    checked = session.settled()
    assert checked is not None
    assert checked.cured
    failing = [f for f in checked.findings.findings if f.verdict is Verdict.FAIL]
    assert failing
    assert all(f.remedy for f in failing)
    do(session, "remedy", check=failing[0].check, parts=list(failing[0].parts))
    assert session.checked is not None
    keys = {(f.check, f.parts) for f in session.checked.findings.findings if f.verdict == "fail"}
    assert (failing[0].check, failing[0].parts) not in keys
    assert session.record.text.count("#") == scene_text("four-narrow-rows-clash").count("#")
    assert scene_from_text(session.record.text)


def test_live_findings_are_those_of_the_command_line(session: Session) -> None:
    from rigmodel.assembly.build import assemble  # noqa: PLC0415
    from rigmodel.clearance.check import check  # noqa: PLC0415

    do(session, "set", path=["rows", "spacing"], typed="12")
    do(session, "set", path=["rows", "spacing"], typed="15")
    wanted = check(assemble(load_scene(SCENES / "three-rows-belly.yaml")))
    assert session.checked is not None
    assert [f.message for f in session.checked.findings.findings] == [
        f.message for f in wanted.findings
    ]
    assert session.checked.findings.not_checked == wanted.not_checked


def test_a_broken_text_is_kept_with_the_faults_of_the_command_line(
    store: Store, tmp_path: Path
) -> None:
    broken = scene_text("three-rows-belly").replace("spacing: 15", "spacing: wide")
    path = tmp_path / "broken.yaml"
    path.write_text(broken, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_scene(path)
    session = opened(store, broken, "broken.yaml")
    assert session.checked is None
    assert [(f.line, f.message) for f in session.faults] == [
        (f.line, f.message) for f in caught.value.faults
    ]
    with pytest.raises(EditError, match="text"):
        do(session, "set", path=["rows", "count"], typed="3")
    do(session, "text", text=scene_text("three-rows-belly"))
    assert session.checked is not None
    assert not session.faults


def test_a_restart_loses_nothing(store: Store, small: Session) -> None:
    do(small, "set", path=["rows", "spacing"], typed="16")
    do(small, "speak", unit="mm")
    again = Store(store.folder).get(small.id)
    assert again.stamp > small.stamp  # so that an open page takes what the new server tells
    assert again.record == small.record
    do(again, "undo")
    assert at(again, "rows", "spacing") == "15"


def test_a_file_is_saved_back_unless_another_program_changed_it(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "mine.yaml"
    path.write_bytes(SMALL.encode())
    session = opened_for(store, path)
    do(session, "set", path=["rows", "spacing"], typed="16")
    assert session.unsaved
    assert opened_for(store, path) is session
    do(session, "save")
    assert path.read_text(encoding="utf-8") == session.record.text
    assert not session.unsaved
    path.write_text("name: other\n", encoding="utf-8")
    do(session, "set", path=["rows", "spacing"], typed="17")
    with pytest.raises(ConflictError, match="another program"):
        do(session, "save")
    assert path.read_text(encoding="utf-8") == "name: other\n"


def test_sessions_are_found_by_their_own_id_only(store: Store, small: Session) -> None:
    for id in ("", "..", "../" + small.id, small.id[:-1], small.id + "/", "x" * 22):
        with pytest.raises(StoreError):
            store.get(id)


@pytest.mark.parametrize(
    ("given", "made"),
    [
        ("a.yaml", "a.yaml"),
        ("../../etc/passwd", "passwd.yaml"),
        ("C:\\x\\rig 1.yml", "rig-1.yaml"),
        ("", "scene.yaml"),
        ('"\r\n<b>', "b.yaml"),
        ("...", "scene.yaml"),
        ("CON.yaml", "CON-.yaml"),
        ("lpt1.tar.yml", "lpt1-.tar.yaml"),
        ("Übung №3.yaml", "Übung-3.yaml"),
        ("a" * 300, "a" * 60 + ".yaml"),
    ],
)
def test_file_names_are_safe(given: str, made: str) -> None:
    assert file_name(given) == made


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"what": "format"},
        {"what": "set", "version": 1},
        {"what": "set", "version": True, "path": ["rows"], "typed": "1"},
        {"what": "set", "version": 1, "path": [], "typed": "1"},
        {"what": "set", "version": 1, "path": [{}], "typed": "1"},
        {"what": "set", "version": 1, "path": ["rows", -1], "typed": "1"},
        {"what": "move", "version": 1, "index": "0", "count": 1},
        {"what": "speak", "unit": "furlong"},
        {"what": "remedy", "version": 1, "check": "x", "parts": "y"},
    ],
)
def test_requests_that_the_page_never_sends_are_refused(
    small: Session, asked: dict[str, object]
) -> None:
    with pytest.raises(RequestError):
        act(small, asked)


def test_every_field_of_the_measuring_sheet_has_a_control(small: Session) -> None:
    assert small.checked is not None
    for name in all_names():
        made = control(steps(name), small.checked.scene, small.record.text)
        assert made.help
        assert made.title
        assert made.kind in (
            "length",
            "angle",
            "count",
            "text",
            "choice",
        )
    assert kind_of(("rows", "spacing")) == "length"
    assert kind_of(("rows", "positions")) == "length"
    assert kind_of(("stations", 0, "rank")) == "length"
    assert kind_of(("toolbar", "roll")) == "angle"
    assert kind_of(("rows", "count")) == "count"
    assert {kind_of(("stations", 0, n)) for n in STATION} == {"length", "count", "text"}


def test_lists_grow_and_shrink_and_leave_the_text_as_it_was(small: Session) -> None:
    before = small.record.text
    lists_ = ("toolbar-no_clamp", "toolbar-no_clamp", "tractor-obstacles", "toolbar-struts")
    for list_ in lists_:
        do(small, "list-add", list=list_)
    do(small, "set", path=["toolbar", "no_clamp", 1, "why"], typed="a weld")
    do(small, "set", path=["toolbar", "struts", 0, "at"], typed="20 1/2")
    do(small, "set", path=["tractor", "obstacles", 0, "at"], typed="60, -10, 52")
    assert small.checked is not None
    spec = small.checked.scene.spec
    assert [s.why for s in spec.toolbar.no_clamp] == ["hanger 1", "a weld"]
    assert spec.tractor.obstacles is not None
    assert spec.tractor.obstacles[0].at == (60 * 25.4, -254.0, 52 * 25.4)
    assert [strut.at for strut in spec.toolbar.struts] == [520.7]
    assert small.checked.assembly.struts[0].clamp.centre_mm == 520.7
    for list_ in lists_:
        do(small, "list-remove", list=list_, index=0)
    assert small.record.text == before
    with pytest.raises(EditError):
        do(small, "list-remove", list="toolbar-no_clamp", index=0)
    with pytest.raises(EditError):
        do(small, "list-add", list="stations")


def test_what_came_with_the_tractor_is_kept_when_one_more_is_added(store: Store) -> None:
    session = opened(store, SMALL.replace("small-belly", "offset-belly"), "small.yaml")
    assert session.checked is not None
    own = session.checked.scene.tractor.obstacles
    do(session, "list-add", list="tractor-obstacles")
    assert session.checked.scene.tractor.obstacles[: len(own)] == own
    assert len(session.checked.scene.tractor.obstacles) == len(own) + 1
    for _ in range(len(own) + 1):
        do(session, "list-remove", list="tractor-obstacles", index=0)
    assert session.checked.scene.tractor.obstacles == ()
    do(session, "undo")
    do(session, "set", path=["tractor", "obstacles", 0, "size"], typed="10, 10, 10")


@pytest.mark.parametrize(("side", "name"), [(1, "outside.left"), (-1, "outside.right")])
def test_a_station_is_put_at_a_mark(small: Session, side: int, name: str) -> None:
    assert small.checked is not None
    before = small.checked.assembly.station
    mark = before[name].place_mm
    do(small, "place", index=0, name=name, to=mark + side * 30.0)
    after = small.checked.assembly.station
    sixteenth = 25.4 / 16.0
    assert after[name].place_mm == pytest.approx(
        round((mark + side * 30.0) / sixteenth) * sixteenth, abs=0.06
    )
    other = {"outside.left": "outside.right", "outside.right": "outside.left"}[name]
    assert after[other].place_mm == pytest.approx(-after[name].place_mm, abs=1e-6)
    do(small, "undo")
    assert small.record.text == SMALL
    with pytest.raises(EditError):
        do(small, "place", index=0, name="row1.left", to=0.0)
    for wrong in (True, "1", float("nan"), 1e9, None):
        with pytest.raises(RequestError):
            do(small, "place", index=0, name=name, to=wrong)


def test_a_mark_snaps_to_the_holes_of_the_bar(store: Store) -> None:
    text = SMALL.replace("tube: tube-2x1-4,", "size: 2, wall: 1/4, hole_pitch: 1,")
    text = text.replace("at: outside", "at: [20, -20]")
    session = opened(store, text, "holes.yaml")
    do(session, "place", index=0, name="place2", to=-15.3 * 25.4)
    assert session.checked is not None
    placed = session.checked.assembly.station
    assert placed["place2"].place_mm == pytest.approx(-15 * 25.4)
    assert placed["place1"].place_mm == pytest.approx(20 * 25.4, abs=25.4)
    assert at(session, "stations", 0, "at", 0) == "20"


LEAVES = (
    "rows.band_height", "rows.next_pass", "soil.texture", "soil.stone_n", "tractor.speed_kmh",
    "tractor.front.load_kg", "tractor.lift.capacity_kg", "toolbar.roll", "toolbar.pitch",
    "toolbar.hangers", "toolbar.yield_mpa", "toolbar.clamp_grade", "tolerances.roughness",
    "limits.preload_spread",
)  # fmt: skip


def test_what_bears_on_weights_and_levels_can_be_turned(session: Session) -> None:
    assert session.checked is not None
    scene, text = session.checked.scene, session.record.text
    there = {c.path: c for _, items in more_controls(scene, text) for c in items}
    assert {steps(name) for name in LEAVES} <= set(there)
    speed = there[steps("tractor.speed_kmh")]
    assert (speed.title, speed.unit) == ("Tractor speed", "km/h")
    wheels, blades, _ = ({c.path[-1] for c in station_controls(scene, text, k)} for k in range(3))
    assert {"spring_hole", "press_n"} <= wheels
    assert not {"spring_hole", "press_n"} & blades
    do(session, "set", path=["tractor", "speed_kmh"], typed="5")
    do(session, "set", path=["toolbar", "hangers"], typed="12, -12")
    do(session, "set", path=["soil", "texture"], typed="fine")
    assert session.checked.scene.spec.toolbar.hangers == (304.8, -304.8)
    assert at(session, "soil", "texture") == "fine"
