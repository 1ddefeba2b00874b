"""frame-fit: the rig clears the tractor's frame and obstacles over the whole lift."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import shank_cures
from rigmodel.clearance.finding import Choice, Finding, Knob
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import Scope

ID = "frame-fit"
STATEMENT = "The rig clears the tractor's frame and obstacles over the whole lift."


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each pair that comes too near, else one for the nearest pair."""
    assembly = scope.assembly
    limits = assembly.scene.spec.limits
    held = scope.hold_lifted(scope.of_role(Role.TRACTOR), limits.frame_clearance)
    for clearance, verdict in held.told(limits.tight):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limits.frame_clearance,
            "frame_clearance",
            _cures(assembly, clearance.parts),
        )


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    lift = assembly.scene.tractor.lift
    found: list[Knob | Choice] = [
        Knob(
            ("tractor", "lift", "highest"),
            lift.highest,
            lift.lowest,
            "mm",
            "stop the lift lower (a stop or a chain)",
        )
    ]
    for tool in assembly.tools:
        if tool.station and any(name.startswith(f"{tool.station}.") for name in parts):
            found += shank_cures(assembly, tool)
    return tuple(found)
