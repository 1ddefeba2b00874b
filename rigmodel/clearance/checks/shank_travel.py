"""shank-travel: every shank stays in its holder at the depth asked, with slide to spare."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Adjustment
from rigmodel.assembly.rig import Assembly, ToolPlace
from rigmodel.clearance.cures import height_cures, shank_cures
from rigmodel.clearance.finding import Finding, Verdict, at_least
from rigmodel.clearance.scope import Scope

ID = "shank-travel"
STATEMENT = "The slide that gives each depth lies within its shank's range, with slide to spare."


def reserve(slide: Adjustment) -> float:
    """Slide left to the nearer end, mm; negative where the wanted slide is out of range."""
    return min(slide.wanted - slide.low, slide.high - slide.wanted)


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each shank out of range, and one for the shank nearest to an end."""
    assembly = scope.assembly
    found = []
    for tool in assembly.tools:
        if tool.slide:
            slide = assembly.adjustment[tool.slide]
            found.append((reserve(slide), slide, tool))
    out = [item for item in found if at_least(item[0], 0.0) is Verdict.FAIL]
    for item in out:
        yield _finding(assembly, *item)
    if found and not out:
        yield _finding(assembly, *min(found, key=lambda item: item[0]))


def _finding(assembly: Assembly, left: float, slide: Adjustment, tool: ToolPlace) -> Finding:
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    shank = slide.name.removesuffix(".slide")
    verdict = at_least(left, 0.0, limits.shank_reserve)
    if verdict is Verdict.FAIL:
        short = slide.wanted > slide.high
        kind = "short" if short else "long"
        end = slide.high if short else slide.low
        text = (
            f"{shank} is {say(-left)} too {kind}: {tool.part} needs {say(slide.wanted)} from "
            f"holder to foot, and with {say(limits.shank_end)} showing at each end of the holder "
            f"it gives {'at most' if short else 'no less than'} {say(end)}."
        )
    else:
        text = (
            f"Every shank stays in its holder; {shank} has the least slide left, {say(left)} "
            f"(set to {say(slide.value)} from holder to foot)."
        )
    return Finding(
        ID,
        verdict,
        left,
        0.0,
        "mm",
        text,
        parts=(shank,),
        source=f"{limits.source('shank_end')}; reserve: {limits.source('shank_reserve')}",
        cures=(
            *shank_cures(assembly, tool),
            *height_cures(assembly, slide.wanted > slide.high, slide.wanted < slide.low),
        ),
    )
