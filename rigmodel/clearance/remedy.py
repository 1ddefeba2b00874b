"""Turns what a finding says could be turned, checks again, and keeps what makes it pass."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence

from pydantic import BaseModel

from rigmodel.assembly.build import assemble
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Change, Choice, Finding, Knob, Remedy, Verdict
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.reading.faults import path_text
from rigmodel.spec.resolve import Scene, resolve
from rigmodel.spec.scene import SceneSpec
from rigmodel.units import Unit

MAX_CHOICES = 8
_INCH_STEP, _MM_STEP, _DEG_STEP = 25.4 / 16.0, 1.0, 0.25


def changed_scene(scene: Scene, changes: Sequence[Change]) -> Scene | None:
    """The scene with some values written differently; None where they do not go together."""
    spec: object = scene.spec
    for change in changes:
        spec = _written(spec, change.path, change.value)
    if not isinstance(spec, SceneSpec):
        return None
    found = resolve(spec, scene.catalogue, scene.origin)
    return found if isinstance(found, Scene) else None


def _written(old: object, path: tuple[str | int, ...], value: object) -> object:
    """A copy of `old` in which `value` stands at `path`."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(old, BaseModel):
        name = str(step)
        return old.model_copy(update={name: _written(getattr(old, name), rest, value)})
    if isinstance(old, tuple):
        place = int(step)
        return (*old[:place], _written(old[place], rest, value), *old[place + 1 :])
    if isinstance(old, dict):
        return {**old, step: _written(old.get(step), rest, value)}
    raise TypeError(f"nothing can be written at {path!r}")


class RemedyFinder:
    """Finds remedies for the findings of one assembly.

    Args:
        assembly: what was checked.
        findings: what was found.
        memo: clearances already known.
        progress: called with a line of text before each search.
    """

    def __init__(
        self,
        assembly: Assembly,
        findings: Sequence[Finding],
        memo: Memo,
        progress: Callable[[str], None] = lambda _: None,
    ) -> None:
        self.scene = assembly.scene
        self.memo = memo
        self.progress = progress
        self.failing = {_key(f) for f in findings if f.verdict is Verdict.FAIL}
        self.found: list[Remedy] = []
        self._runs: dict[Hashable, tuple[Finding, ...] | None] = {}

    def remedy(self, finding: Finding) -> Remedy | None:
        """A change that makes a failing finding pass, re-checked; None where none was found.

        The first cure that leaves no new failure elsewhere is taken; failing that, the first that
        cures the finding, with what it leaves.
        """
        for known in self.found:
            if self._cures(finding, known.changes):
                return known
        self.progress(f"looking for a remedy: {finding.check} {' / '.join(finding.parts)}")
        best: Remedy | None = None
        for cure in finding.cures:
            changes = self._search(finding, cure)
            if changes is None:
                continue
            leaves = self._new_failures(changes)
            remedy = Remedy(changes, _says(self.scene, cure, changes), leaves)
            if not leaves:
                self.found.append(remedy)
                return remedy
            best = best or remedy
        if best is not None:
            self.found.append(best)
        return best

    def _search(self, finding: Finding, cure: Knob | Choice) -> tuple[Change, ...] | None:
        if isinstance(cure, Choice):
            for value in cure.values[:MAX_CHOICES]:
                changes = (Change(cure.path, value, cure.was, cure.unit),)
                if self._cures(finding, changes):
                    return changes
            return None
        return self._turn(finding, cure)

    def _turn(self, finding: Finding, knob: Knob) -> tuple[Change, ...] | None:
        """The least turn of a knob, in steps a tape can show, that cures the finding."""
        step = _step(self.scene.unit, knob.unit)
        way = 1.0 if knob.toward > knob.start else -1.0
        most = int(abs(knob.toward - knob.start) / step + 1e-9)
        low, high = 0, 1
        while high <= most and not self._cures(finding, _turned(knob, high * step * way)):
            low, high = high, high * 2
        if high > most:
            if low >= most or not self._cures(finding, _turned(knob, most * step * way)):
                return None
            high = most
        while high - low > 1:
            middle = (low + high) // 2
            if self._cures(finding, _turned(knob, middle * step * way)):
                high = middle
            else:
                low = middle
        return _turned(knob, high * step * way)

    def _run(self, changes: Sequence[Change], only: Sequence[str]) -> tuple[Finding, ...] | None:
        """Findings after some changes, or None where they do not go together; each run once."""
        key = (tuple((change.path, change.value) for change in changes), tuple(only))
        if key not in self._runs:
            scene = changed_scene(self.scene, changes)
            found = None if scene is None else run(assemble(scene), self.memo, only)
            self._runs[key] = found
        return self._runs[key]

    def _cures(self, finding: Finding, changes: Sequence[Change]) -> bool:
        """Whether the finding passes after the changes and its check fails nowhere new."""
        again = self._run(changes, (finding.check,))
        if again is None:
            return False
        failing = {_key(f) for f in again if f.verdict is Verdict.FAIL}
        return _key(finding) not in failing and failing <= self.failing

    def _new_failures(self, changes: Sequence[Change]) -> tuple[str, ...]:
        again = self._run(changes, ()) or ()
        new = {f.check for f in again if f.verdict is Verdict.FAIL and _key(f) not in self.failing}
        return tuple(sorted(new))


def _key(finding: Finding) -> tuple[str, tuple[str, ...]]:
    return finding.check, finding.parts


def _step(unit: Unit, kind: str) -> float:
    if kind == "deg":
        return _DEG_STEP
    if kind != "mm":
        return 1.0
    return _INCH_STEP if unit in (Unit.IN, Unit.FT) else _MM_STEP


def _turned(knob: Knob, by: float) -> tuple[Change, ...]:
    value = knob.start + by
    if knob.build is None:
        first = Change(knob.path, value, knob.start, knob.unit)
    else:
        place, values = knob.build
        new = (*values[:place], value, *values[place + 1 :])
        first = Change(knob.path, new, values, knob.unit)
    way = 1.0 if knob.toward > knob.start else -1.0
    more = (
        Change(path, start + abs(by) * share * way, start, knob.unit)
        for path, start, share in knob.also
    )
    return (first, *more)


def _says(scene: Scene, cure: Knob | Choice, changes: Sequence[Change]) -> str:
    """The remedy as one sentence, with the places in the scene file and the numbers."""
    told = ", ".join(
        f"{path_text(change.path)} {_shown(scene, change.was, change.unit)} → "
        f"{_shown(scene, change.value, change.unit)}"
        for change in changes
    )
    return f"{cure.says[0].upper()}{cure.says[1:]}: {told}"


def _shown(scene: Scene, value: object, unit: str) -> str:
    if isinstance(value, tuple):
        return "[" + ", ".join(_shown(scene, item, unit) for item in value) + "]"
    if isinstance(value, int | float) and unit == "mm":
        return scene.say(float(value))
    if not isinstance(value, int | float):
        return str(value)
    return f"{value:g}°" if unit == "deg" else f"{value:g} {unit}".rstrip()


def with_remedies(
    assembly: Assembly,
    findings: Sequence[Finding],
    memo: Memo,
    progress: Callable[[str], None] = lambda _: None,
) -> Iterator[Finding]:
    """The findings, each failing one with a remedy where one was found."""
    finder = RemedyFinder(assembly, findings, memo, progress)
    for finding in findings:
        if finding.verdict is Verdict.FAIL:
            yield finding.with_remedy(finder.remedy(finding))
        else:
            yield finding
