"""load-spring: tools on arms press on the soil all through their float."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Finding, Knob, at_least
from rigmodel.clearance.scope import Scope
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.spring import arm_entry, down_forces, known

ID = "load-spring"
STATEMENT = "Every tool on an arm presses on the soil all through its float."
_FIELDS = "spring_rate_n_mm, spring_preload_n and spring_lever"


def left_out(assembly: Assembly) -> str:
    """Why it is not checked, or an empty string."""
    arms = [(tool, arm_entry(assembly, tool)) for tool in assembly.tools if tool.arm]
    bare = [tool.part for tool, entry in arms if entry is None or not known(entry)]
    more = f" and {len(bare) - 1} more" if len(bare) > 1 else ""
    return f"down-force of {bare[0]}{more}: the arm needs {_FIELDS}" if bare else ""


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the tool with the least down-force."""
    assembly = scope.assembly
    found = []
    for tool in assembly.tools:
        entry = arm_entry(assembly, tool)
        if entry is not None and known(entry):
            forces = down_forces(assembly, tool, entry)
            found.append((min(f.force_n for f in forces), tool, forces))
    if not found:
        return
    least, tool, forces = min(found, key=lambda item: item[0])
    told = ", ".join(f"{f.force_n:.0f} N at {f.angle:.1f}°" for f in forces)
    item = assembly.mechanism.part(tool.arm.removesuffix(".float")).item
    entry = arm_entry(assembly, tool)
    start = 0.0 if entry is None else entry.spring_preload_n or 0.0
    own = item in assembly.scene.spec.parts
    path = ("parts", item, "spring_preload_n")
    yield Finding(
        ID,
        at_least(least, 0.0),
        least,
        0.0,
        "N",
        f"{tool.part} presses on the soil with {told}. {ENGINEER}",
        parts=(tool.part,),
        source="statics about the arm's pivot; constant spring lever, draft and soil left out",
        cures=(Knob(path, start, start + 1000.0, "N", "tighten the spring"),) if own else (),
    )
