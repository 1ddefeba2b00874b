"""Studies: every case ends once, whoever works on it and however often the run is killed."""

from __future__ import annotations

import json
import math
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from pyarrow import parquet

from rigmodel.advise.study import cases, fits, plan, run, spec, store, write
from rigmodel.advise.study.cases import FITS, Outcome, Result, run_batch
from rigmodel.advise.study.digests import Digests
from rigmodel.advise.study.plan import StudyPlan
from rigmodel.advise.study.program import program_files
from rigmodel.advise.study.read import read_study
from rigmodel.advise.study.results import OUTCOMES, Results
from rigmodel.advise.study.scope import StudyScope, least_margin
from rigmodel.advise.study.tyres import hold_tyres
from rigmodel.assembly.build import assemble
from rigmodel.assembly.model import Role
from rigmodel.assembly.workbench import Workbench
from rigmodel.clearance.finding import Finding, Verdict
from rigmodel.clearance.motion import ERROR_BOUND_MM
from rigmodel.clearance.runner import run as check_all
from rigmodel.errors import InputError
from rigmodel.files import FileError
from rigmodel.spec.load import scene_from_text

SCENE = """
name: one blade
units: in
rows: {count: 2, spacing: 24, keep_out: 2 1/2}
tractor: {use: small-belly}
toolbar: {tube: tube-2x1-4, length: 72, height: 20}
stations: [{use: blade-rigid, at: [0], depth: 1, swap: {blade: blade-10}}]
limits: {missed: 40}
"""
STUDY = """
name: depth by height by spacing
scene: scene.yaml
vary:
  - {name: spacing, set: rows.spacing, values: ["4", "24"]}
  - {name: depth, set: "stations[1].depth", values: ["1", "1 1/2 in"]}
  - {name: height, set: toolbar.height, range: {low: 18 in, high: 26 in, step: 4 in}}
"""


@pytest.fixture
def study(tmp_path: Path) -> Path:
    """A study of twelve cases in a folder of its own."""
    (tmp_path / "scene.yaml").write_text(SCENE)
    path = tmp_path / "study.yaml"
    path.write_text(STUDY)
    return path


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same study, run without a stop on the cores of this machine."""
    folder = tmp_path_factory.mktemp("whole")
    (folder / "scene.yaml").write_text(SCENE)
    (folder / "study.yaml").write_text(STUDY)
    write.write_study(folder / "study.yaml", folder)
    return folder


def results_of(whole: Path) -> tuple[StudyPlan, Results]:
    found = read_study(whole / "study.yaml")
    return found, store.Store(found, whole / "study.parquet").results()


def test_every_case_ends_once_and_the_counts_add_up(whole: Path) -> None:
    found, results = results_of(whole)
    assert [result.case for result in results] == list(range(12))
    counts = fits.counts(results)
    assert sum(counts.values()) == found.total == 12
    # 4 in between rows leaves no soil between bands of 2 1/2 in each side: 6 of the 12.
    assert counts[Outcome.INVALID] == 6
    assert all("leave no soil" in r.reason for r in results if r.outcome is Outcome.INVALID)
    assert counts[Outcome.FAIL] > 0
    assert counts[Outcome.PASS] + counts[Outcome.ADVISE] > 0


def test_results_are_the_same_however_they_are_fetched(whole: Path) -> None:
    found, results = results_of(whole)
    everything = {result.case: result for result in results.stream()}
    assert sorted(everything) == list(range(found.total))
    assert list(results) == [everything[case] for case in range(found.total)]
    assert dict(results.several((7, 2))) == {2: everything[2], 7: everything[7]}
    for case, result in everything.items():
        assert OUTCOMES[results.outcomes[case]] is result.outcome
        room = results.rooms[case]
        assert math.isnan(room) if result.room_mm is None else room == result.room_mm


def test_a_case_ends_as_the_check_command_says(whole: Path, tmp_path: Path) -> None:
    """Each case, written as a scene file and checked on its own."""
    found, results = results_of(whole)
    scene = tmp_path / "case.yaml"
    for case in (0, 7):
        scene.write_text(found.text(case))
        code = "import sys; from rigmodel.cli import main; sys.exit(main(sys.argv[1:]))"
        command = [sys.executable, "-c", code, "check", "--json", str(scene)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        if results[case].outcome is Outcome.INVALID:
            assert done.returncode == 2
        else:
            assert json.loads(done.stdout)["verdict"] == results[case].outcome.value


TYRES_AND_LIFT = """
name: what differs round one rig
scene: scene.yaml
vary:
  - {name: spacing, set: rows.spacing, values: ["15", "15 1/2"]}
  - {name: track, set: [tractor.rear.track, tractor.front.track], values: ["52", "60", "68"]}
  - {name: tyre, set: tractor.rear.tyre, values: [9.5-24, 12.4-24]}
  - {name: lift, set: tractor.lift.highest, values: ["24", "30", "38"]}
"""


EITHER = r" \(with [^)]*\)|row\d|left|right"


def test_answers_found_again_are_those_of_a_check_alone(tmp_path: Path) -> None:
    """Every case, worked on after others that share a part of it, against all checks run anew."""
    demo = Path(__file__).parents[2] / "scenes" / "three-rows-belly.yaml"
    (tmp_path / "scene.yaml").write_text(demo.read_text())
    (tmp_path / "study.yaml").write_text(TYRES_AND_LIFT)
    found = read_study(tmp_path / "study.yaml")
    worker = cases.Worker(found)
    results = dict(enumerate(worker.results(range(found.total))))
    assert len({result.outcome for result in results.values()}) > 1
    assert len({result.checks for result in results.values()}) > 3
    for case in range(0, found.total, 5):
        tree = found.tree(case)
        findings = check_all(assemble(scene_from_text(json.dumps(tree))))
        result = results[case]
        wrong = [f for f in findings if f.verdict.value == result.outcome.value]
        assert result.outcome.value == worst_of(findings)
        first: dict[str, str] = {}
        for finding in wrong if result.outcome is not Outcome.PASS else ():
            first.setdefault(finding.check, finding.message)
        # Of poses, or of left and right, with the same clearance either may be told.
        told = "\n".join(f"{k}: {v}" for k, v in first.items())
        assert re.sub(EITHER, "", result.reason) == re.sub(EITHER, "", told)


def worst_of(findings: tuple[Finding, ...]) -> str:
    """How a rig ends with these findings, in the order fail, not checked, advise, pass."""
    verdicts = {finding.verdict for finding in findings}
    return next(v.value for v in Verdict if v in verdicts)


def test_the_parquet_file_holds_values_and_reasons(whole: Path) -> None:
    table = parquet.read_table(whole / "study.parquet")
    assert table.column_names == [
        "case",
        "1 spacing",
        "2 depth",
        "3 height",
        "outcome",
        "room_mm",
        "room_check",
        "checks",
        "reason",
    ]
    rows = table.to_pylist()
    assert [row["3 height"] for row in rows[:3]] == ["18 in", "22 in", "26 in"]
    for row in rows:
        assert bool(row["reason"]) or row["outcome"] == "pass"
        assert bool(row["checks"]) == (row["outcome"] in ("fail", "not checked"))


def children(pid: int) -> list[str]:
    """Ids of a process's children, where the system tells them."""
    told = Path(f"/proc/{pid}/task/{pid}/children")
    return told.read_text().split() if told.exists() else []


def alive(pid: str) -> bool:
    """Whether a process still runs; one that only waits to be counted out does not."""
    try:
        told = Path(f"/proc/{pid}/stat").read_text()
    except OSError:
        return False
    return told.rpartition(")")[2].split()[0] != "Z"


def test_a_killed_run_that_goes_on_changes_nothing(study: Path, whole: Path) -> None:
    code = (
        "import sys; from pathlib import Path\n"
        "from rigmodel.advise.study.write import write_study\n"
        "if __name__ == '__main__':\n"
        "    write_study(Path(sys.argv[1]), Path(sys.argv[1]).parent)\n"
    )
    script = study.parent / "go.py"
    script.write_text(code)
    process = subprocess.Popen(
        [sys.executable, str(script), str(study)], start_new_session=True, cwd=Path.cwd()
    )
    parts = study.parent / "study.parts"
    deadline = time.monotonic() + 60.0
    while not list(parts.glob("part-*")) and time.monotonic() < deadline:
        time.sleep(0.005)
    workers = children(process.pid)
    process.send_signal(signal.SIGKILL)
    process.wait()
    while any(map(alive, workers)) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert not [pid for pid in workers if alive(pid)]  # they leave with it
    (parts / ".part-00000000.parquet.half").write_bytes(b"half")
    kept = {path.name: path.stat().st_mtime_ns for path in parts.glob("part-*")}
    assert kept
    assert not (study.parent / "study.parquet").exists()

    told: list[run.Progress] = []
    seen: dict[str, int] = {}

    def note(progress: run.Progress) -> None:
        told.append(progress)
        seen.update({path.name: path.stat().st_mtime_ns for path in parts.glob("part-*")})

    write.write_study(study, study.parent, progress=note)
    assert told[0].done == len(kept)  # batches of one case
    assert told[-1].done == told[-1].total == 12
    assert {name: seen[name] for name in kept} == kept  # nothing was worked on twice
    for name in ("study.parquet", "study.html"):
        assert (study.parent / name).read_bytes() == (whole / name).read_bytes()
    assert not parts.exists()


def test_a_cluster_gives_the_very_same_file(study: Path, whole: Path) -> None:
    import distributed  # noqa: PLC0415 - no other test needs it

    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
    )
    with cluster:
        write.write_study(study, study.parent, scheduler=cluster.scheduler_address)
    for name in ("study.parquet", "study.html"):
        assert (study.parent / name).read_bytes() == (whole / name).read_bytes()


def test_a_worker_killed_in_the_middle_changes_nothing(study: Path, whole: Path) -> None:
    distributed = pytest.importorskip("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
    )
    killed: list[int] = []

    def kill_one(progress: run.Progress) -> None:
        if 2 <= progress.done < 12 and not killed:
            killed.append(next(iter(cluster.workers.values())).process.pid)
            os.kill(killed[0], signal.SIGKILL)

    with cluster:
        write.write_study(
            study, study.parent, scheduler=cluster.scheduler_address, progress=kill_one
        )
    assert killed
    for name in ("study.parquet", "study.html"):
        assert (study.parent / name).read_bytes() == (whole / name).read_bytes()


def test_a_finished_study_is_not_worked_on_again(
    whole: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run, "_local", lambda *_: pytest.fail("worked on again"))
    before = (whole / "study.parquet").stat().st_mtime_ns
    _, told = write.write_study(whole / "study.yaml", whole)
    assert told.startswith("12 cases: ")
    assert (whole / "study.parquet").stat().st_mtime_ns == before


def test_another_study_is_not_written_over_unasked(study: Path) -> None:
    (study.parent / "study.parquet").write_bytes(b"something else")
    with pytest.raises(FileError, match="--force"):
        write.write_study(study, study.parent)
    assert (study.parent / "study.parquet").read_bytes() == b"something else"


def test_parts_of_a_changed_study_are_not_mixed_in(study: Path) -> None:
    found = read_study(study)
    kept = store.Store(found, study.parent / "study.parquet")
    kept.open()
    kept.add(0, run_batch(found, 0))
    study.write_text(STUDY.replace("1 1/2 in", "2 in"))
    changed = store.Store(read_study(study), study.parent / "study.parquet")
    with pytest.raises(FileError, match="another study"):
        changed.open()
    changed.open(replace=True)
    assert changed.missing() == tuple(range(12))


def test_parts_with_a_case_missing_or_twice_are_refused(study: Path) -> None:
    found = read_study(study)
    kept = store.Store(found, study.parent / "study.parquet")
    kept.open()
    results = [Result(i, Outcome.PASS, 1.0, "lift", (), "") for i in range(12)]
    for case in range(12):
        kept.add(case, results[case : case + 1] if case else results[1:2])
    with pytest.raises(plan.StudyError, match="every case once"):
        kept.finish()
    assert not (study.parent / "study.parquet").exists()


def test_a_case_that_breaks_the_program_is_not_lost(
    study: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by chance")

    monkeypatch.setattr(cases, "assemble", broken)
    (result,) = run_batch(read_study(study), 6)
    assert result.outcome is Outcome.NOT_CHECKED
    assert "ZeroDivisionError: by chance" in result.reason


def test_a_worker_with_another_program_is_refused(study: Path) -> None:
    other = replace(read_study(study), program="another")
    with pytest.raises(plan.StudyError, match="another version"):
        run_batch(other, 0)


def test_results_depend_on_every_module_that_works_on_them() -> None:
    """A module left out could be changed between two runs, or between two workers, unseen."""
    code = (
        "import sys, rigmodel.advise.study.cases\n"
        "print(*(m.__file__ for n, m in sys.modules.items() "
        "if n.partition('.')[0] in ('rigmodel', 'meshes_generic') and m.__file__), sep='\\n')\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = [Path(line) for line in done.stdout.splitlines()]
    assert len(loaded) > 50
    known = {path.resolve() for path in program_files()}
    left = [path for path in loaded if path.resolve() not in known and path.stem != "__init__"]
    assert not left


def test_a_sample_is_a_part_of_the_grid_and_the_same_each_time(study: Path) -> None:
    study.write_text(STUDY + "sample: {cases: 5, draw: 3}\n")
    one, two = read_study(study), read_study(study)
    assert one == two
    assert one.total == 5
    assert one.grid == 12
    texts = {one.text(case) for case in range(5)}
    assert len(texts) == 5
    study.write_text(STUDY)
    whole_grid = read_study(study)
    assert texts <= {whole_grid.text(case) for case in range(12)}
    study.write_text(STUDY + "sample: {cases: 5, draw: 4}\n")
    assert read_study(study).drawn != one.drawn


def test_files_of_the_scene_travel_with_the_plan(study: Path) -> None:
    (study.parent / "own.yaml").write_text(
        "units: in\nparts: {wide: {kind: a-blade, width: 9, length: 2 1/2, thickness: 1/4, "
        "tang_height: 4, tang_thickness: 1/4, tang_length: 1 1/2, sweep: 30}}\n"
    )
    scene = SCENE.replace("blade-10", "wide") + "catalogue: [own.yaml]\n"
    (study.parent / "scene.yaml").write_text(scene)
    found = read_study(study)
    assert [name for name, _ in found.files] == ["own.yaml"]
    (study.parent / "own.yaml").unlink()
    (result,) = run_batch(found, 7)
    assert result.outcome in FITS, result.reason


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("scene.yaml", "none.yaml", "study.yaml:3: scene: there is no file 'none.yaml'"),
        ("scene.yaml", "scen.yaml", "did you mean 'scene.yaml'?"),
        ("scene.yaml", "study.yaml", "study.yaml:3: scene: 'study.yaml' is no scene"),
        ("stations[1]", "stations[0]", "counted from 1"),
        ("toolbar.height", "toolbar..height", "names no place in a scene"),
        ("scene.yaml", "../scene.yaml", "study.yaml:3"),
        ("stations[1]", "stations[2]", "it holds no item 2"),
        ("toolbar.height", "rows.spacing", "varied twice"),
        ("toolbar.height", "name.height", "plain value"),
        ("low: 18 in", "low: 18 mm", "same unit"),
        ("step: 4 in", "step: 0 in", "more than 0"),
        ("step: 4 in", "step: 0.001 in", "more than the 1000"),
        ('values: ["4", "24"]', "values: []", "values"),
        ('values: ["4", "24"]', "value: 3", "value"),
        ('values: ["4", "24"]', 'values: ["4", "4"]', "given twice"),
        ('values: ["4", "24"]', 'together: [["4", "24"]]', "set names 1"),
        ("rows.spacing", "rows.spacng", "study.yaml:5"),
        ("rows.spacing", "rows.spacng", "did you mean 'spacing'?"),
        ('["4", "24"]', '["4", "wide"]', "study.yaml:5: vary[1].values[2]"),
        (
            "toolbar.height, range: {low: 18 in, high: 26 in, step: 4 in}",
            '"stations[1].swap.blade", values: [blade-1]',
            "did you mean 'blade-10'?",
        ),
    ],
)
def test_what_is_wrong_with_a_study_is_told(study: Path, old: str, new: str, says: str) -> None:
    study.write_text(STUDY.replace(old, new))
    with pytest.raises(InputError) as caught:
        read_study(study)
    assert says in str(caught.value)


def test_files_that_name_each_other_are_read_once(study: Path) -> None:
    own = "units: in\nparts: {}\n# study.yaml\n"
    (study.parent / "own.yaml").write_text(own + "tyres: {scene.yaml: {width: 9, diameter: 40}}\n")
    (study.parent / "scene.yaml").write_text(
        SCENE.replace("one blade", "study.yaml") + "notes: scene.yaml\ncatalogue: [own.yaml]\n"
    )
    assert [name for name, _ in read_study(study).files] == ["own.yaml", "study.yaml"]


def test_values_that_belong_together_change_together(study: Path) -> None:
    both = (
        '{name: spacing, set: [rows.spacing, "stations[1].swap.blade"], '
        'together: [["20", blade-8], ["24", blade-10]]}'
    )
    study.write_text(STUDY.replace('{name: spacing, set: rows.spacing, values: ["4", "24"]}', both))
    found = read_study(study)
    assert found.total == 12
    assert found.axes[0].labels == ("20, blade-8", "24, blade-10")
    for case, spacing, blade in ((0, "20", "blade-8"), (11, "24", "blade-10")):
        tree = found.tree(case)
        assert tree["rows"]["spacing"] == spacing
        assert tree["stations"][0]["swap"]["blade"] == blade


def test_values_have_the_names_they_are_given(study: Path) -> None:
    old, called = 'values: ["1", "1 1/2 in"]', "called: [shallow, deep]"
    assert old in STUDY
    study.write_text(STUDY.replace(old, f"{old}, {called}"))
    found = read_study(study)
    assert found.axes[1].labels == ("shallow", "deep")
    assert found.labels(0)[1] == "shallow"


@pytest.mark.parametrize(
    ("called", "says"),
    [
        ("called: [small]", "1 names for 2 values"),
        ("called: [small, small]", "twice"),
        ('called: [small, " "]', "empty"),
        ("called: []", "0 names"),
        ("called: small", "list"),
    ],
)
def test_names_that_do_not_go_with_the_values_are_told(study: Path, called: str, says: str) -> None:
    old = 'values: ["1", "1 1/2 in"]'
    study.write_text(STUDY.replace(old, f"{old}, {called}"))
    with pytest.raises(InputError) as caught:
        read_study(study)
    assert says in str(caught.value)


def test_catalogue_files_of_the_user_travel_with_the_plan(study: Path) -> None:
    mine = study.parent / "elsewhere" / "mine.yaml"
    mine.parent.mkdir()
    mine.write_text(
        "units: in\nparts: {wide: {kind: a-blade, width: 9, length: 2 1/2, thickness: 1/4, "
        "tang_height: 4, tang_thickness: 1/4, tang_length: 1 1/2, sweep: 30}}\n"
    )
    (study.parent / "scene.yaml").write_text(SCENE.replace("blade-10", "wide"))
    with pytest.raises(InputError, match="no part called 'wide'"):
        read_study(study)
    found = read_study(study, (mine,))
    mine.unlink()
    (result,) = run_batch(found, 7)
    assert result.outcome in FITS, result.reason


def test_a_sample_larger_than_the_grid_is_told(study: Path) -> None:
    study.write_text(STUDY + "sample: {cases: 13}\n")
    with pytest.raises(InputError, match="only 12 cases"):
        read_study(study)


@pytest.mark.parametrize(
    ("seconds", "says"),
    [(None, "3 of 9 cases"), (20.0, "20 s left"), (600.0, "10 min left"), (7200.0, "2.0 h left")],
)
def test_progress_says_how_long_it_will_take(seconds: float | None, says: str) -> None:
    assert says in run.Progress(3, 9, seconds).text()


def test_the_time_left_is_that_of_the_pace_of_late() -> None:
    """Start-up of 30 s, then a batch of ten a second; later the machine is four times slower."""
    times = iter([0.0, *(30.0 + i for i in range(40)), *(70.0 + 4.0 * i for i in range(20))])
    pace = run.Pace(1000, lambda: next(times))
    told = [pace.now(10 * i) for i in range(61)]
    assert told[0].seconds_left is None
    assert told[1].seconds_left == pytest.approx(30.0 * 99.0)
    for i in range(5, 41):
        assert told[i].seconds_left == pytest.approx(100.0 - i)
    assert told[60].seconds_left == pytest.approx(4.0 * 40.0)


def test_a_study_that_is_done_tells_no_time_left() -> None:
    assert run.Progress(9, 9, 0.0).text() == "9 of 9 cases"


def test_small_studies_work_on_all_tyres_of_a_rig_together(study: Path) -> None:
    axes = STUDY + "  - {name: tyre, set: tractor.rear.tyre, values: [8.3-24, 9.5-24, 11.2-24]}\n"
    study.write_text(axes)
    found = read_study(study)
    assert (found.total, found.batch) == (36, 3)
    for start in found.starts():
        places = [found.place(case) for case in found.batch_cases(start)]
        assert [place[-1] for place in places] == [0, 1, 2]
        assert len({place[:-1] for place in places}) == 1
    few = axes.replace('["4", "24"]', '["24"]').replace("high: 26 in", "high: 18 in")
    study.write_text(few)  # two rigs: better that both cores have work
    assert read_study(study).batch == 1


def test_batches_hold_every_case_once(study: Path) -> None:
    found = read_study(study)
    starts: Callable[[], range] = found.starts
    assert [start + i for start in starts() for i in range(found.batch)][: found.total] == list(
        range(found.total)
    )
    assert spec.MAX_CASES >= 10_000


def test_tyres_held_together_over_several_lifts_are_as_each_held_alone(tmp_path: Path) -> None:
    demo = Path(__file__).parents[2] / "scenes" / "three-rows-belly.yaml"
    (tmp_path / "scene.yaml").write_text(demo.read_text())
    (tmp_path / "study.yaml").write_text(TYRES_AND_LIFT)
    found, workbench = read_study(tmp_path / "study.yaml"), Workbench()
    groups: dict[str, list[StudyScope]] = {}
    for case in range(found.total):
        spacing, _, _, lift = found.labels(case)
        if spacing == "15":
            assembly = assemble(scene_from_text(found.text(case)), workbench)
            groups.setdefault(lift, []).append(StudyScope(assembly))
    limit = 30.0
    told = hold_tyres(tuple(groups.values()), limit, Digests())
    ends = set()
    for group, held in zip(groups.values(), told, strict=True):
        for scope, together in zip(group, held, strict=True):
            alone = scope.hold_lifted(scope.of_role(Role.TYRE), limit)
            ends.add(bool(alone.broken))
            assert bool(together.broken) == bool(alone.broken)
            assert bool(together.undecided) == bool(alone.undecided)
            assert least_margin(together) == pytest.approx(least_margin(alone), abs=ERROR_BOUND_MM)
            for clearance in together.broken:  # joints go by their own names
                assert clearance.pose.keys() <= scope.assembly.mechanism.joints.keys()
    assert ends == {True, False}


@pytest.mark.parametrize("workers", [1, 2, 3, 5, 8])
def test_every_batch_goes_to_one_worker_and_neighbours_to_the_same(workers: int) -> None:
    starts = range(0, 2600, 100)
    stretches = run.Stretches(starts, min(workers, len(starts)))
    given: dict[int, list[int]] = {k: [] for k in range(workers)}
    for turn in range(3 * len(starts)):  # the first worker is twice as fast as the others
        worker = 0 if turn % 2 else (turn // 2) % workers
        start = stretches.next_for(worker)
        if start is not None:
            given[worker].append(start)
    assert sorted(s for each in given.values() for s in each) == list(starts)
    for each in given.values():
        moves = sum(b - a != 100 for a, b in pairwise(each))
        assert moves <= len(starts) // 2
    assert stretches.next_for(0) is None
