"""Turns what a finding says could be turned, checks again, and keeps what makes it pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Change, Choice, Finding, Key, Knob, Remedy, Verdict
from rigmodel.clearance.scope import Memo
from rigmodel.clearance.trial import Bench, Trials, shown_value
from rigmodel.reading.faults import path_text
from rigmodel.spec.resolve import Scene

_Fails = frozenset[Key]


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
        self.bench = Bench(memo)
        self.progress = progress
        self.failing = frozenset(f.key for f in findings if f.verdict is Verdict.FAIL)
        self.found: list[Remedy] = []
        self._trials: dict[str, Trials[_Fails]] = {}

    def remedy(self, finding: Finding) -> Remedy | None:
        """A change that makes a failing finding pass, re-checked; None where none was found.

        The first cure that leaves no new failure elsewhere is taken; failing that, the first that
        cures the finding, with what it leaves.
        """
        trials = self._checking(finding.check)
        for known in self.found:
            answer = trials.answer(known.changes)
            if answer is not None and self._cured(finding, answer):
                return known
        self.progress(f"looking for a remedy: {finding.check} {' / '.join(finding.parts)}")
        best: Remedy | None = None
        for cure in finding.cures:
            changes = trials.least(cure, partial(self._cured, finding))
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

    def _new_failures(self, changes: Sequence[Change]) -> tuple[str, ...]:
        again = self._checking("").answer(changes) or frozenset()
        return tuple(sorted({check for check, _ in again - self.failing}))


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
