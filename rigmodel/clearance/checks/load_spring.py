"""load-spring: tools on arms press on the soil all through their float, and as wanted at work."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.catalog.kinds import TrailingArm
from rigmodel.clearance.finding import Choice, Finding, Knob, at_least
from rigmodel.clearance.scope import Scope
from rigmodel.loads import formulas, words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.spring import DownForce, arm_entry, at_work, known
from rigmodel.spec.scene import Station

ID = "load-spring"
STATEMENT = "Every tool on an arm presses on the soil all through its float."
_SOURCE = (
    f"{formulas.SPRING}: {formulas.STATICS} about the arm's pivot; constant spring lever, draft "
    "and soil left out"
)
_FIELDS = "spring_rate_n_mm, spring_preload_n and spring_lever"


def left_out(loads: Account) -> str:
    """What of it is not checked and why, or an empty string."""
    assembly = loads.assembly
    arms = [(tool, arm_entry(assembly, tool)) for tool in assembly.tools if tool.arm]
    if not arms:
        return ""
    bare = [tool.part for tool, entry in arms if entry is None or not known(entry)]
    wanting = [f"down-force of {words.named(bare)}: the arm needs {_FIELDS}"] if bare else []
    return "; ".join((*wanting, "bounce and resonance of tools on arms are not modelled"))


def findings(scope: Scope) -> Iterator[Finding]:
    """The tool that presses least over its float, and the one farthest from what it shall press."""
    assembly = scope.assembly
    found = []
    for tool in assembly.tools:
        forces, entry = scope.loads.springs.get(tool.part), arm_entry(assembly, tool)
        if forces is not None and entry is not None:
            found.append((tool, entry, forces))
    if not found:
        return
    yield _least(assembly, *min(found, key=lambda one: min(f.force_n for f in one[2])))
    wanted = [
        (at_work(assembly, tool, forces).force_n - press, press, tool, entry)
        for tool, entry, forces in found
        if (press := _station(assembly, tool).press_n) is not None
    ]
    if wanted:
        margin, press, tool, entry = min(wanted, key=lambda one: one[0])
        yield _wanted(assembly, margin + press, press, tool, entry)


def _station(assembly: Assembly, tool: ToolPlace) -> Station:
    return assembly.scene.spec.stations[assembly.station[tool.station].index]


def _least(
    assembly: Assembly, tool: ToolPlace, entry: TrailingArm, forces: tuple[DownForce, ...]
) -> Finding:
    least = min(f.force_n for f in forces)
    unit = assembly.scene.unit
    told = ", ".join(f"{words.force(f.force_n, unit)} at {f.angle:.1f}°" for f in forces)
    return Finding(
        ID,
        at_least(least, 0.0),
        least,
        0.0,
        "N",
        f"{tool.part} presses on the soil with {told} (0° is level, minus hangs down). {ENGINEER}",
        parts=(tool.part,),
        source=_SOURCE,
        cures=_cures(assembly, tool, entry),
    )


def _wanted(
    assembly: Assembly, force: float, press: float, tool: ToolPlace, entry: TrailingArm
) -> Finding:
    hole = _station(assembly, tool).spring_hole
    unit = assembly.scene.unit
    where = f", its spring in hole {hole} of {entry.spring_holes}" if entry.spring_holes > 1 else ""
    return Finding(
        ID,
        at_least(force, press),
        force,
        press,
        "N",
        f"At work {tool.part} presses with {words.force(force, unit)}{where}; "
        f"{words.force(press, unit)} is wanted. {ENGINEER}",
        parts=(tool.part,),
        pose_name="work, what is wanted",
        source=f"press_n set in the scene; {_SOURCE}",
        cures=_cures(assembly, tool, entry),
    )


def _cures(assembly: Assembly, tool: ToolPlace, entry: TrailingArm) -> tuple[Knob | Choice, ...]:
    """Another hole for the spring, nearest first; then more preload, if the arm is one's own."""
    index = assembly.station[tool.station].index
    hole = _station(assembly, tool).spring_hole
    others = sorted(
        (one for one in range(1, entry.spring_holes + 1) if one != hole),
        key=lambda one: abs(one - hole),
    )
    found: list[Knob | Choice] = []
    if others:
        path = ("stations", index, "spring_hole")
        found.append(Choice(path, tuple(others), hole, "hang the spring in another hole"))
    item = assembly.mechanism.part(tool.arm.removesuffix(".float")).item
    if item in assembly.scene.spec.parts:
        start = entry.spring_preload_n or 0.0
        path_of_part = ("parts", item, "spring_preload_n")
        found.append(Knob(path_of_part, start, start + 1000.0, "N", "tighten the spring"))
    return tuple(found)
