"""coverage: strips of soil missed or worked twice, and their widths."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Choice, Finding, Knob, Verdict, at_most
from rigmodel.clearance.hoe_cures import fitting_hoes, swapped_hoes, wider_band, wider_hoes
from rigmodel.clearance.scope import Scope
from rigmodel.coverage import Coverage, Strip, cover, field_strip
from rigmodel.sides import side

ID = "coverage"
STATEMENT = "No soil outside the keep-out bands is missed, and little is worked twice."


def rig_coverage(assembly: Assembly) -> Coverage:
    """Strips that the hoes of an assembly work, with the bar level."""
    hoes: list[Strip] = [
        (tool.low_mm, tool.high_mm)
        for tool in assembly.tools
        if assembly.mechanism.part(tool.part).role is Role.BLADE
    ]
    rows = [row.y_mm for row in assembly.rows]
    bands = [(row.y_mm - row.keep_out_mm, row.y_mm + row.keep_out_mm) for row in assembly.rows]
    bed = assembly.soil.half_top if assembly.scene.spec.soil.shape == "bed" else None
    return cover(field_strip(rows, bed, hoes), bands, hoes)


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for missed soil, and one where much is worked twice."""
    assembly = scope.assembly
    found = rig_coverage(assembly)
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    yield _missed(assembly, found)
    if at_most(found.widest_doubled, limits.overlap) is Verdict.FAIL:
        yield Finding(
            ID,
            Verdict.ADVISE,
            found.widest_doubled,
            limits.overlap,
            "mm",
            f"A strip {say(found.widest_doubled)} wide is worked twice; narrower blades would do.",
            at=_ends(assembly, max(found.doubled, key=lambda s: s[1] - s[0])),
            source=limits.source("overlap"),
        )


def _ends(assembly: Assembly, strip: Strip) -> tuple[tuple[float, float, float], ...]:
    x = assembly.scene.tractor.toolbar_ahead
    return ((x, strip[0], 0.0), (x, strip[1], 0.0))


def _missed(assembly: Assembly, found: Coverage) -> Finding:
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    value = found.widest_missed
    if not found.missed:
        text = "Every strip of soil outside the keep-out bands is worked."
    else:
        strips = sorted(found.missed, key=lambda s: s[0] - s[1])
        listed = ", ".join(
            f"{say(high - low)} at {side((low + high) / 2, assembly.scene.unit)}"
            for low, high in strips[:4]
        )
        more = f" and {len(strips) - 4} more" if len(strips) > 4 else ""
        text = f"Soil is missed between the tools: {listed}{more}, from the tractor's centre."
    return Finding(
        ID,
        at_most(value, limits.missed, limits.missed if found.missed else 0.0),
        value,
        limits.missed,
        "mm",
        text,
        at=_ends(assembly, max(found.missed, key=lambda s: s[1] - s[0])) if found.missed else (),
        source=limits.source("missed"),
        cures=tuple(_cures(assembly)),
    )


def _cures(assembly: Assembly) -> Iterator[Knob | Choice]:
    yield from swapped_hoes(assembly)  # needs no other part
    yield from wider_hoes(assembly)
    yield from fitting_hoes(assembly)
    yield wider_band(assembly)
