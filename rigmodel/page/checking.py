"""Reads and checks a scene held as text: fast without remedies, then the remedies behind it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.broad import BodyTable
from rigmodel.clearance.check import gathered
from rigmodel.clearance.finding import Findings, Verdict
from rigmodel.clearance.kinematics import Linkage
from rigmodel.clearance.memo import ClearanceMemo
from rigmodel.clearance.remedy import with_remedies
from rigmodel.clearance.scope import Memo
from rigmodel.clearance.supports import IntArray
from rigmodel.clearance.trial import Bench
from rigmodel.errors import InputError
from rigmodel.loads.account import Account
from rigmodel.spec.load import scene_from_text
from rigmodel.spec.resolve import Scene


@dataclass(frozen=True, eq=False)
class Checked:
    """A scene that goes together, and what was found in it.

    Attributes:
        scene: it, answered in the unit that was asked for.
        assembly: what it makes.
        findings: of every check.
        cured: whether remedies have been looked for.
    """

    scene: Scene
    assembly: Assembly
    findings: Findings
    cured: bool

    @property
    def fails(self) -> bool:
        """Whether any statement fails."""
        return any(f.verdict is Verdict.FAIL for f in self.findings.findings)


class WatchedMemo(Memo):
    """A memo that asks before every survey whether to go on.

    Args:
        going_on: raises where the work is no longer wanted.
    """

    def __init__(self, going_on: Callable[[], None]) -> None:
        super().__init__()
        self.clearances = _Watched(going_on)


class _Watched(ClearanceMemo):
    def __init__(self, going_on: Callable[[], None]) -> None:
        super().__init__()
        self._going_on = going_on

    def keys(self, linkage: Linkage, table: BodyTable, pairs: IntArray) -> list[bytes]:
        self._going_on()
        return super().keys(linkage, table, pairs)


def check_text(text: str, name: str, folder: Path, unit: str, bench: Bench) -> Checked:
    """Runs every check on a scene's text, without looking for remedies.

    Args:
        text: the scene.
        name: what the scene is called in faults.
        folder: where its own catalogue and mesh files lie.
        unit: unit to answer in; empty for the scene's own.
        bench: what earlier checks have in common with this one; it is added to.

    Raises:
        InputError: with every fault of the scene.
    """
    try:
        scene = scene_from_text(text, name, folder)
    except InputError as error:  # where the folder lies is nobody's business
        below = f"{folder}/"
        raise InputError(
            replace(f, file=f.file.removeprefix(below)) for f in error.faults
        ) from None
    if unit and unit != scene.spec.units:
        scene = replace(scene, spec=scene.spec.model_copy(update={"units": unit}))
    assembly = bench.assembled(scene)
    loads = Account(assembly)
    found = bench.checked(assembly, loads=loads)
    return Checked(scene, assembly, gathered(loads, found), False)


def cured(checked: Checked, memo: Memo, going_on: Callable[[], None]) -> Checked:
    """The same with remedies; `going_on` is called before each search and may raise to stop."""
    found = tuple(
        with_remedies(
            checked.assembly, checked.findings.findings, Bench(memo), lambda _: going_on()
        )
    )
    loads = checked.findings.loads or Account(checked.assembly)
    return replace(checked, findings=gathered(loads, found), cured=True)
