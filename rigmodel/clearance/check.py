"""`check(assembly) -> Findings`: every check, with remedies and what was not checked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks import (
    load_arm,
    load_axle,
    load_bar,
    load_joint,
    load_lift,
    load_shank,
    load_spring,
)
from rigmodel.clearance.finding import Finding, Findings, NotChecked, Verdict
from rigmodel.clearance.remedy import with_remedies
from rigmodel.clearance.runner import run
from rigmodel.clearance.scope import Memo
from rigmodel.clearance.trial import Bench
from rigmodel.loads.account import Account
from rigmodel.loads.bar import missing

_LOADS = (load_lift, load_axle, load_bar, load_shank, load_arm, load_joint, load_spring)


def check(
    assembly: Assembly,
    memo: Memo | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> Findings:
    """Runs every check on an assembly and looks for a remedy for each failure.

    Args:
        assembly: what `assemble` returned.
        memo: clearances known from an earlier check; it is added to.
        progress: called with a line of text before anything that may take long.
    """
    memo = Memo() if memo is None else memo
    loads = Account(assembly)
    found = run(assembly, memo, loads=loads)
    return gathered(loads, tuple(with_remedies(assembly, found, Bench(memo), progress)))


def gathered(loads: Account, found: tuple[Finding, ...], title: str = "") -> Findings:
    """Findings of a rig with all that was not checked, and the pairs bolted together.

    Args:
        loads: the rig's weights and forces, as far as its checks have worked them out.
        found: what the checks found.
        title: what the rig is called; its scene's name if empty.
    """
    assembly = loads.assembly
    unsettled = tuple(
        NotChecked(f.check, f.message) for f in found if f.verdict is Verdict.NOT_CHECKED
    )
    return Findings(
        title or assembly.scene.spec.name,
        found,
        (*unsettled, *_not_checked(loads)),
        bolted_pairs(assembly),
        loads,
    )


def bolted_pairs(assembly: Assembly) -> tuple[tuple[str, str], ...]:
    """Pairs of parts that touch by design, each once."""
    return tuple(
        (part.name, other)
        for part in assembly.mechanism.parts
        for other in sorted(part.bolted_to)
        if part.name < other
    )


def not_checked(assembly: Assembly) -> tuple[NotChecked, ...]:
    """What the checks leave out for this scene, and why."""
    return tuple(_not_checked(Account(assembly)))


@dataclass(frozen=True)
class _Allowance:
    field: str
    check: str
    what: str


_ALLOWANCES = (
    _Allowance("link_play", "tyre-fit", "play in the links between rig and tractor"),
    _Allowance("steering", "stand-off", "wander of the steering"),
    _Allowance("side_hill", "stand-off", "drift on a side hill"),
    _Allowance("roll", "stand-off", "roll of the bar while working"),
    _Allowance("pitch", "ground-contact", "pitch of the bar while working"),
    _Allowance("roughness", "ground-contact", "roughness of the bed"),
)


def _not_checked(loads: Account) -> Iterator[NotChecked]:
    assembly = loads.assembly
    for module in _LOADS:
        for reason in filter(None, module.left_out(loads).split("; ")):
            yield NotChecked(module.ID, reason)  # one by one: outputs tell equal ones once
    if missing(assembly):
        reason = "what sag of the loaded bar takes of the clearances: see load-bar"
        yield NotChecked("part-clash", reason)
    else:
        yield NotChecked("crop-band", "how far sag of the loaded bar leans tools sideways")
        yield NotChecked(
            "load-bar",
            "strength of the hangers, of welds and of what the bar hangs on; fatigue and shocks",
        )
    if assembly.struts:
        yield NotChecked(
            "load-bar",
            "the frame at the struts' upper pins, which is taken not to give; their pins and "
            "slots; whether a strut that leans ahead turns its clamp; what the struts' thrust "
            "along the bar adds to its sag",
        )
    if loads.side.stated:
        reason = "how far side draft bends shanks and arms towards the rows: see load-shank"
        yield NotChecked("crop-band", reason)
    tolerances = assembly.scene.spec.tolerances
    for allowance in _ALLOWANCES:
        if getattr(tolerances, allowance.field) is None:
            yield NotChecked(
                allowance.check,
                f"{allowance.what}: tolerances.{allowance.field} is not given, none is allowed for",
            )
    rows = assembly.scene.spec.rows
    if rows.drill_rows is None:
        reason = "rows sown in another pass (guess rows): rows.drill_rows is not given"
        yield NotChecked("stand-off", reason)
    elif tolerances.guess_row is None:
        reason = "gaps between drill passes: tolerances.guess_row is not given, none is allowed for"
        yield NotChecked("stand-off", reason)
    if assembly.scene.tube.hole_pitch is not None and tolerances.hole_play is None:
        reason = "play of pins in holes: tolerances.hole_play is not given, none is allowed for"
        yield NotChecked("stand-off", reason)
    plants = rows.plants
    if plants.height == 0.0:
        yield NotChecked("crop-band", "leaves: rows.plants.height is not given")
        yield NotChecked("lift", "clearance over plants: rows.plants.height is not given")
    yield NotChecked(
        "tyre-fit", "kingpin and camber: a front wheel steers upright about its middle"
    )
    yield NotChecked("part-clash", "hoses, wiring and anything that is not in the scene")
