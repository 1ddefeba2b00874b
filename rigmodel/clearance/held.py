"""Clearances held against their limits, and the finding each becomes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from rigmodel.assembly.model import Joint, JointKind
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Choice, Finding, Knob, Point, Verdict, at_least

TELL_MM = 0.1  # a sag that takes less than this is not worth words


@dataclass(frozen=True)
class HeldClearance:
    """One pair's least clearance over its motion.

    Attributes:
        parts: names of the two parts.
        value_mm: least clearance found; negative is the depth of the overlap.
        low_mm: proven: it is never less than this.
        limit_mm: what it is held against.
        pose: joints that are away from their working value where it occurs.
        at: the two nearest points there, world axes, mm.
        proven: whether the interval is narrow enough to call the value certain.
        moved: whether any joint moves one part against the other.
        at_least: whether they are in each other at least as deep as the value says.
        sag_mm: what the sag of the loaded bar may take of it, taken off the value already.
    """

    parts: tuple[str, str]
    value_mm: float
    low_mm: float
    limit_mm: float
    pose: Mapping[str, float]
    at: tuple[Point, Point]
    proven: bool
    moved: bool
    at_least: bool = False
    sag_mm: float = 0.0

    def less(self, sag_mm: float) -> HeldClearance:
        """The clearance that is left when the bar's sag takes as much as it can."""
        if sag_mm == 0.0:
            return self
        value, low = self.value_mm - sag_mm, self.low_mm - sag_mm
        return replace(self, value_mm=value, low_mm=low, sag_mm=sag_mm)

    @property
    def error_mm(self) -> float:
        """Proven bound on the error of the value."""
        return self.value_mm - self.low_mm


@dataclass(frozen=True)
class Held:
    """What a list of pairs came to.

    Attributes:
        broken: pairs proven to come nearer than their limit, nearest first.
        undecided: pairs that could not be decided within the budget.
        closest: the pair with the least room over its limit among the others, or None.
        clear: how many pairs are proven clear.
    """

    broken: tuple[HeldClearance, ...]
    undecided: tuple[HeldClearance, ...]
    closest: HeldClearance | None
    clear: int

    def told(self, tight: float) -> Iterator[tuple[HeldClearance, Verdict]]:
        """What is worth telling: each broken and undecided pair, else the closest one."""
        for clearance in self.broken:
            yield clearance, Verdict.FAIL
        for clearance in self.undecided:
            yield clearance, Verdict.NOT_CHECKED
        if self.closest is not None and not self.broken and not self.undecided:
            yield self.closest, at_least(self.closest.value_mm, self.closest.limit_mm, tight)


def clearance_finding(
    assembly: Assembly,
    check: str,
    clearance: HeldClearance,
    verdict: Verdict,
    limit: float,
    limit_name: str,
    cures: tuple[Knob | Choice, ...],
) -> Finding:
    """The finding of one held clearance.

    Args:
        assembly: what was checked.
        check: id of the check.
        clearance: the pair's clearance.
        verdict: how it came out.
        limit: limit to show, mm.
        limit_name: field of the limits it comes from, or words for another source.
        cures: what could be turned.
    """
    limits = assembly.scene.spec.limits
    known = limit_name in type(limits).model_fields
    return Finding(
        check,
        verdict,
        clearance.value_mm,
        limit,
        "mm",
        _sentence(assembly, clearance, verdict, limit),
        error_bound=clearance.error_mm,
        parts=clearance.parts,
        at=clearance.at,
        pose=clearance.pose,
        pose_name="over the motion" if clearance.moved else "work",
        source=limits.source(limit_name) if known else limit_name,
        cures=cures,
    )


def _sentence(assembly: Assembly, clearance: HeldClearance, verdict: Verdict, limit: float) -> str:
    say = assembly.scene.say
    one, other = clearance.parts
    value = clearance.value_mm
    when = _when(assembly, clearance)
    if clearance.sag_mm >= TELL_MM:
        when += f", {say(clearance.sag_mm)} taken off for the bar's sag"
    if verdict is Verdict.NOT_CHECKED:
        return (
            f"{one} and {other}: not decided; proven only that they stay more than "
            f"{say(clearance.low_mm)} apart{when}."
        )
    if verdict is Verdict.FAIL:
        if value < 0.0:
            least = "at least " if clearance.at_least else ""
            deep = f"{least}{say(-value)}"
            return f"{one} runs {deep} into {other}{when}; {say(limit)} of room is needed."
        if value < 1e-3:
            return f"{one} touches {other}{when}; {say(limit)} of room is needed."
        return f"{one} comes within {say(value)} of {other}{when}; {say(limit)} is needed."
    return f"Nearest are {one} and {other}, {say(value)} apart{when}; {say(limit)} is needed."


def _when(assembly: Assembly, clearance: HeldClearance) -> str:
    """Which joints stand where when the parts are nearest, in words."""
    joints = assembly.mechanism.joints
    told = [
        words
        for name, value in clearance.pose.items()
        if (words := _stands(assembly, joints[name], value))
    ]
    return f" (with {', '.join(told)})" if told else ""


def _stands(assembly: Assembly, joint: Joint, value: float) -> str:
    """Where one joint stands, in words; tolerances go without saying."""
    owner = joint.name.rpartition(".")[0]
    if joint.kind is JointKind.LIFT:
        by = f"{value:.1f}°" if joint.turns else assembly.scene.say(value)
        return f"the lift {'raised' if value > 0.0 else 'lowered'} {by}"
    words = {
        JointKind.FLOAT: f"{owner} at {value:.1f}°",
        JointKind.TRIP: f"{owner} tripped {value:.1f}°",
        JointKind.STEER: f"{owner} steered {value:.1f}°",
    }
    return words.get(joint.kind, "")
