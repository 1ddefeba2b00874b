"""bar-level: what the bar's roll and pitch cost at each tool, and how much the depth allows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.finding import Choice, Finding, Point, at_most
from rigmodel.clearance.heights import Low
from rigmodel.clearance.scope import Scope

ID = "bar-level"
STATEMENT = "The bar's roll and pitch keep every rigid tool within its depth tolerance."


def allowed_tilt(tolerance_mm: float, lever_mm: float) -> float:
    """Angle in degrees at which a point `lever_mm` from the bar's centre moves by the tolerance.

    The sine of the angle is tolerance / lever: a bar 60 in long, out of level by 1 in from end to
    end, rolls by 0.95 degrees.
    """
    if lever_mm <= tolerance_mm:
        return 90.0
    return math.degrees(math.asin(tolerance_mm / lever_mm))


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding: the tool that the bar's tilt puts farthest off its depth."""
    assembly = scope.assembly
    rigid = [tool for tool in assembly.tools if not tool.arm]
    if not rigid:
        return
    level, actual = scope.level_lows, scope.work_lows
    moved = [(actual[t.part].z_mm - level[t.part].z_mm, t.part) for t in rigid]
    rise, part = max(moved, key=lambda pair: abs(pair[0]))
    yield _finding(assembly, rise, part, level, actual)


def _levers(assembly: Assembly, points: Mapping[str, Low]) -> tuple[float, float]:
    """Largest distances of rigid tools' lowest points from the bar's centre: y, then x, mm."""
    middle = assembly.scene.spec.toolbar.offset
    ahead = assembly.scene.tractor.toolbar_ahead
    rigid = [points[t.part].point for t in assembly.tools if not t.arm]
    return (
        max((abs(p[1] - middle) for p in rigid), default=0.0),
        max((abs(p[0] - ahead) for p in rigid), default=0.0),
    )


def _finding(
    assembly: Assembly, rise: float, part: str, level: Mapping[str, Low], actual: Mapping[str, Low]
) -> Finding:
    spec = assembly.scene.spec
    bar, limits, say = spec.toolbar, spec.limits, assembly.scene.say
    limit = limits.depth_tolerance
    across, along = _levers(assembly, level)
    roll, pitch = allowed_tilt(limit, across), allowed_tilt(limit, along)
    allowed = f"within {say(limit)} of depth the bar may roll {roll:.2f}° or pitch {pitch:.2f}°"
    if bar.roll == 0.0 and bar.pitch == 0.0:
        text = f"The bar is level; {allowed}."
    else:
        which = "higher" if rise > 0 else "deeper"
        text = (
            f"Rolled {bar.roll:g}° and pitched {bar.pitch:g}°, the bar puts {part} "
            f"{say(abs(rise))} {which} than level; {allowed}."
        )
    at: tuple[Point, ...] = (actual[part].point, level[part].point)
    cures = tuple(
        Choice(("toolbar", name), (0.0,), value, f"level the bar: {name} {value:g}° to 0°", "deg")
        for name, value in (("roll", bar.roll), ("pitch", bar.pitch))
        if value
    )
    return Finding(
        ID,
        at_most(abs(rise), limit),
        abs(rise),
        limit,
        "mm",
        text,
        parts=(part,),
        at=at,
        source=limits.source("depth_tolerance"),
        cures=cures,
    )
