"""Turns what a finding says could be turned, checks again, and keeps what makes it pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import groupby

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Change, Choice, Finding, Key, Knob, Remedy, Verdict
from rigmodel.clearance.runner import CHECKS
from rigmodel.clearance.trial import Bench, Trials, changed_scene, shown_value
from rigmodel.loads.bar import missing
from rigmodel.reading.faults import path_text
from rigmodel.spec.resolve import Scene

_Fails = frozenset[Key]
_MOST_ALIKE = 2  # findings that the same turns did not help, before they are given up
_NEARNESS = frozenset(check.id for check in CHECKS if check.motion is not None)
ORDER = {check.id: number for number, check in enumerate(CHECKS)}


class RemedyFinder:
    """Finds remedies for the findings of one assembly.

    Args:
        assembly: what was checked.
        findings: what was found.
        bench: what is known from earlier checks; it is added to.
        progress: called with a line of text before each search.
    """

    def __init__(
        self,
        assembly: Assembly,
        findings: Sequence[Finding],
        bench: Bench,
        progress: Callable[[str], None] = lambda _: None,
    ) -> None:
        self.scene = assembly.scene
        self.bench = bench
        self.progress = progress
        self._sags = not missing(assembly)
        self._station_of = {p: s.index for s in assembly.stations for p in s.parts}
        self.failing = frozenset(f.key for f in findings if f.verdict is Verdict.FAIL)
        self.found: list[Remedy] = []
        self._in_vain: Counter[tuple[str, frozenset[object]]] = Counter()
        self._trials: dict[str, Trials[_Fails]] = {}

    def remedy(self, finding: Finding) -> Remedy | None:
        """A change that makes a failing finding pass, re-checked; None where none was found.

        The first cure that leaves no new failure elsewhere is taken; failing that, the first that
        cures the finding and leaves new failures only in checks that stand later in the order of
        checks, with what it leaves. So remedies applied one after another come to an end: no check
        fails anew for the sake of a later one.
        """
        trials = self._checking(finding.check)
        for known in self.found:
            answer = trials.answer(known.changes)
            if answer is not None and self._cured(finding, answer):
                return known
        same = (finding.check, frozenset((cure.path, _turn(cure)) for cure in finding.cures))
        if self._in_vain[same] >= _MOST_ALIKE:
            return None  # the same turns helped none of those like it, from row to row
        self.progress(f"looking for a remedy: {finding.check} {' / '.join(finding.parts)}")
        best: Remedy | None = None
        for _, cures in groupby(finding.cures, key=lambda cure: cure.path):
            for cure, changes in self._least(finding, trials, tuple(cures)):
                leaves = self._new_failures(changes)
                remedy = Remedy(changes, _says(self.scene, cure, changes), leaves)
                if not leaves:
                    self.found.append(remedy)
                    return remedy
                if all(ORDER[check] > ORDER[finding.check] for check in leaves):
                    best = best or remedy
        if best is not None:
            self.found.append(best)
        else:
            self._in_vain[same] += 1
        return best

    def _least(
        self, finding: Finding, trials: Trials[_Fails], cures: Sequence[Knob | Choice]
    ) -> list[tuple[Knob | Choice, tuple[Change, ...]]]:
        """What cures a finding by one value, turned either way; the lesser change first."""
        found = []
        glance = partial(self._still_near, finding) if finding.check in _NEARNESS else None
        for cure in cures:
            changes = trials.least(
                cure,
                partial(self._cured, finding),
                hopeless=glance,
                too_little=self._too_little(finding, cure),
            )
            if changes is not None:
                found.append((cure, changes))
        return sorted(found, key=lambda pair: _by(*pair))

    def _checking(self, check: str) -> Trials[_Fails]:
        """Trials judged by one check, or by all of them for an empty string."""
        if check not in self._trials:
            only = (check,) if check else ()
            judge = partial(self.bench.failing, only=only)
            self._trials[check] = Trials(self.scene, judge)
        return self._trials[check]

    def _cured(self, finding: Finding, again: _Fails) -> bool:
        """Whether the finding passes and its check fails nowhere new."""
        return finding.key not in again and again <= self.failing

    def _still_near(self, finding: Finding, changes: Sequence[Change]) -> bool:
        """Whether the two parts of a finding are too near with nothing else on the bar."""
        owners = (self._station_of.get(part) for part in finding.parts)
        own = {index for index in owners if index is not None}
        scene = changed_scene(self.scene, changes, own)
        if scene is None or self.bench.near(scene, finding):
            return True
        whole = changed_scene(self.scene, changes) if self._sags else None
        return whole is not None and not self._cured(
            finding, self.bench.unsagged(whole, finding.check)
        )

    def _too_little(self, finding: Finding, cure: Knob | Choice) -> float:
        """How far a station may be moved and certainly be too near yet, mm.

        Moved by t, and its mirror image the other way, two parts come apart by 2 t at most. On a
        bar with holes a station moves farther than it was turned.
        """
        moves = isinstance(cure, Knob) and cure.path[-1] in ("rank", "shift")
        value, limit = finding.value, finding.limit
        if not moves or value is None or limit is None or self.scene.tube.hole_pitch is not None:
            return 0.0
        return max(0.0, limit - value) / 2.0 if finding.check in _NEARNESS else 0.0

    def _new_failures(self, changes: Sequence[Change]) -> tuple[str, ...]:
        whole = self._checking("")  # the findings may be of some checks only
        again = whole.answer(changes) or frozenset()
        before = whole.answer(()) or frozenset()
        return tuple(sorted({check for check, _ in again - before - self.failing}))


def _turn(cure: Knob | Choice) -> object:
    """What tells two cures of one value from each other."""
    return cure.values if isinstance(cure, Choice) else (cure.toward, cure.build)


def _by(cure: Knob | Choice, changes: Sequence[Change]) -> float:
    """How far a knob is turned; 0 for a choice, whose values come best first."""
    if isinstance(cure, Choice):
        return 0.0
    value = changes[0].value
    if isinstance(value, tuple) and cure.build is not None:
        value = value[cure.build[0]]
    return abs(float(str(value)) - cure.start)


def _says(scene: Scene, cure: Knob | Choice, changes: Sequence[Change]) -> str:
    """The remedy as one sentence, with the places in the scene file and the numbers."""
    told = ", ".join(
        f"{path_text(change.path)} {shown_value(scene, change.was, change.unit)} → "
        f"{shown_value(scene, change.value, change.unit)}"
        for change in changes
    )
    return f"{cure.says[0].upper()}{cure.says[1:]}: {told}"


def with_remedies(
    assembly: Assembly,
    findings: Sequence[Finding],
    bench: Bench,
    progress: Callable[[str], None] = lambda _: None,
) -> Iterator[Finding]:
    """The findings, each failing one with a remedy where one was found."""
    finder = RemedyFinder(assembly, findings, bench, progress)
    for finding in findings:
        if finding.verdict is Verdict.FAIL:
            yield finding.with_remedy(finder.remedy(finding))
        else:
            yield finding
