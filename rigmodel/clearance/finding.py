"""What a check says: one statement with a value, a limit, a place and a way out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from rigmodel.loads.account import Account

Point = tuple[float, float, float]
AGREES_MM = 1e-3  # values this near a limit stand exactly on it: touching, not crossing


class Verdict(StrEnum):
    """How a statement came out, from worst to best."""

    FAIL = "fail"
    NOT_CHECKED = "not checked"
    ADVISE = "advise"
    PASS = "pass"


_SEVERITY = {v: i for i, v in enumerate(Verdict)}


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of some verdicts; `pass` when there are none. `not checked` counts as advise."""
    ranked = [Verdict.ADVISE if v is Verdict.NOT_CHECKED else v for v in verdicts]
    return min(ranked, key=_SEVERITY.__getitem__, default=Verdict.PASS)


def at_least(value: float, limit: float, tight: float = 0.0) -> Verdict:
    """Verdict on a value that must be `limit` or more; within `tight` above it is advise."""
    margin = value - limit
    if margin < -AGREES_MM:
        return Verdict.FAIL
    return Verdict.ADVISE if margin < tight - AGREES_MM else Verdict.PASS


def at_most(value: float, limit: float, tight: float = 0.0) -> Verdict:
    """Verdict on a value that must be `limit` or less; within `tight` below it is advise."""
    return at_least(-value, -limit, tight)


@dataclass(frozen=True)
class Change:
    """One value of the scene to write differently.

    Attributes:
        path: where in the scene, such as ``("stations", 1, "rank")``; indices count from 0.
        value: what to write there (mm, degrees, an id, or a list of them).
        was: what is written there now, or None where a default stands.
        unit: ``mm``, ``deg`` or an empty string.
    """

    path: tuple[str | int, ...]
    value: object
    was: object = None
    unit: str = "mm"


@dataclass(frozen=True)
class Knob:
    """A value of the scene that could be turned to cure a finding.

    Attributes:
        path: where in the scene.
        start: value now.
        toward: value it may be turned as far as.
        unit: ``mm`` or ``deg``.
        says: how the fitter would put it, such as 'move row2.left outward'.
        build: index in a list value that is turned, with the list as it is now; or None.
        also: further values turned with it: path, value now, and how much for each mm or degree.
    """

    path: tuple[str | int, ...]
    start: float
    toward: float
    unit: str
    says: str
    build: tuple[int, tuple[float, ...]] | None = None
    also: tuple[tuple[tuple[str | int, ...], float, float], ...] = ()


@dataclass(frozen=True)
class Choice:
    """Values of the scene that could be put in place of the one there, best first.

    Attributes:
        path: where in the scene.
        values: what could stand there.
        was: what is written there now.
        says: how the fitter would put it.
        unit: ``mm``, ``deg`` or an empty string.
        also: further changes that each of the values needs.
    """

    path: tuple[str | int, ...]
    values: tuple[object, ...]
    was: object
    says: str
    unit: str = ""
    also: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Remedy:
    """Changes that were applied and re-checked, and the sentence that says them."""

    changes: tuple[Change, ...]
    says: str
    leaves: tuple[str, ...] = ()


Key = tuple[str, tuple[str, ...]]
"""What a finding is about: a check and parts."""


@dataclass(frozen=True)
class Finding:
    """One checked statement.

    Attributes:
        check: id of the check.
        verdict: how it came out.
        value: measured value, or None where there is no number.
        limit: what it is held against, or None.
        unit: ``mm`` or ``deg``.
        error_bound: proven bound on the error of `value`; 0 where it is exact.
        parts: stable names.
        at: two points in mm, world axes, or empty.
        pose: joints away from their working value where the value occurs.
        pose_name: what that pose is called: ``work``, ``over the motion`` and so on.
        message: a sentence a fitter understands.
        remedy: a change that was re-checked, or None.
        source: where the limit comes from.
        cures: values that could be turned, in the order they should be tried.
        about: names it goes by where its parts are only the nearest of more; else empty.
    """

    check: str
    verdict: Verdict
    value: float | None
    limit: float | None
    unit: str
    message: str
    error_bound: float = 0.0
    parts: tuple[str, ...] = ()
    at: tuple[Point, ...] = ()
    pose: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    pose_name: str = "work"
    remedy: Remedy | None = None
    source: str = ""
    cures: tuple[Knob | Choice, ...] = ()
    about: tuple[str, ...] = ()

    @property
    def key(self) -> Key:
        """What it is about: its check and its parts, or the names that stand for them."""
        return self.check, self.about or self.parts

    @property
    def margin(self) -> float | None:
        """Distance of the value from its limit where both are given (positive or negative)."""
        return None if self.value is None or self.limit is None else self.value - self.limit

    def with_remedy(self, remedy: Remedy | None) -> Finding:
        """The same finding with a remedy."""
        return replace(self, remedy=remedy)


@dataclass(frozen=True)
class NotChecked:
    """Something the tool does not answer, and why."""

    check: str
    reason: str


@dataclass(frozen=True)
class Findings:
    """Everything `check(assembly)` found.

    Attributes:
        scene: the scene's title.
        findings: in the order of the checks.
        not_checked: what was left out, and why.
        bolted: pairs of parts that touch by design and so were not held against each other.
        loads: weights and forces as the checks found them, or None.
    """

    scene: str
    findings: tuple[Finding, ...]
    not_checked: tuple[NotChecked, ...]
    bolted: tuple[tuple[str, str], ...]
    loads: Account | None = field(default=None, compare=False, repr=False)

    @property
    def verdict(self) -> Verdict:
        """The worst verdict."""
        return worst(f.verdict for f in self.findings)

    def of(self, check: str) -> tuple[Finding, ...]:
        """Findings of one check."""
        return tuple(f for f in self.findings if f.check == check)
