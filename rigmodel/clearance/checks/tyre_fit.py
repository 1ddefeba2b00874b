"""tyre-fit: the rig fits between or behind the tyres, over steering and lift."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rigmodel.assembly.model import Role
from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.cures import shift_cures, wheel_cures
from rigmodel.clearance.finding import Choice, Finding, Knob, Verdict, at_least
from rigmodel.clearance.held import clearance_finding
from rigmodel.clearance.scope import Scope

ID = "tyre-fit"
STATEMENT = "The rig fits between or behind the tyres over the steering range and the lift."


def between_tyres_mm(track: float, tyre_width: float) -> float:
    """Clear width between a pair of tyres, mm: a 60-in track with 12-in tyres leaves 48 in."""
    return track - tyre_width


def over_tyres_mm(track: float, tyre_width: float) -> float:
    """Width over the outer faces of a pair of tyres, mm."""
    return track + tyre_width


def row_to_tyre_mm(row: float, track: float, tyre_width: float) -> float:
    """From a row to the inner face of the tyre beside it, mm; negative under the tyre."""
    return (track - tyre_width) / 2.0 - abs(row)


def findings(scope: Scope) -> Iterator[Finding]:
    """Findings of too little room to a tyre, the nearest pair, and a hitched rig's own width."""
    assembly = scope.assembly
    limits = assembly.scene.spec.limits
    limit = limits.tyre_clearance + limits.tyre_growth
    held = scope.hold_lifted(scope.of_role(Role.TYRE), limit)
    for clearance, verdict in held.told(limits.tight):
        yield clearance_finding(
            assembly,
            ID,
            clearance,
            verdict,
            limit,
            "tyre_clearance",
            _cures(assembly, clearance.parts),
        )
    yield from _rows(assembly)
    if assembly.scene.tractor.mount != "belly":
        yield _overhang(scope)


def _cures(assembly: Assembly, parts: tuple[str, ...]) -> tuple[Knob | Choice, ...]:
    found: list[Knob | Choice] = []
    bar = assembly.scene.spec.toolbar
    if "bar" in parts:
        found.append(
            Knob(("toolbar", "length"), bar.length, bar.length / 2.0, "mm", "cut the bar shorter")
        )
    ahead = assembly.scene.tractor.toolbar_ahead
    for sign, way in ((1.0, "forward"), (-1.0, "back")):
        found.append(
            Knob(
                ("toolbar", "ahead"),
                ahead,
                ahead + sign * 500.0,
                "mm",
                f"hang the bar farther {way}",
            )
        )
    for name in parts:
        part = assembly.mechanism.part(name)
        if part.station:
            found += wheel_cures(assembly, assembly.station[part.station])
            found += shift_cures(assembly, assembly.station[part.station])
        if part.role is Role.TYRE:
            axle = name.split(".")[1]
            entry = assembly.scene.tractor.front if axle == "front" else assembly.scene.tractor.rear
            if entry is not None:
                wider = tuple(sorted(t for t in entry.tracks if t > entry.track))
                say = f"set the {axle} wheels wider"
                found.append(Choice(("tractor", axle, "track"), wider, entry.track, say, "mm"))
    return tuple(found)


def _rows(assembly: Assembly) -> Iterator[Finding]:
    """Rows that a tyre runs over or brushes."""
    say = assembly.scene.say
    worst: tuple[float, str, str] | None = None
    for axle in assembly.scene.axles:
        for row in assembly.rows:
            inside = row_to_tyre_mm(row.y_mm, axle.track_mm, axle.tyre.width_mm)
            outside = abs(row.y_mm) - over_tyres_mm(axle.track_mm, axle.tyre.width_mm) / 2.0
            room = max(inside, outside)  # under the tyre both are negative: the shorter way out
            if worst is None or room < worst[0]:
                worst = (room, row.name, axle.name)
    if worst is None:
        return
    room, row_name, axle_name = worst
    limit = assembly.scene.spec.rows.keep_out
    verdict = at_least(room, 0.0, limit)
    if verdict is Verdict.FAIL:
        text = f"A {axle_name} tyre runs over {row_name}, {say(-room)} inside its side."
    else:
        text = f"{row_name} is nearest to a tyre: {say(room)} from the {axle_name} tyre's side."
    yield Finding(
        ID, verdict, room, 0.0, "mm", text, parts=(row_name,), source="the row's own keep-out band"
    )


def _overhang(scope: Scope) -> Finding:
    """A rig on a hitch against the width over the widest pair of tyres."""
    assembly = scope.assembly
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    bodies, edges = scope.across
    out = np.where(np.isin(bodies, scope.rig), np.maximum(-edges[:, 0], edges[:, 1]), -np.inf)
    far = int(out.argmax())
    reach, widest = float(out[far]), scope.bodies[int(bodies[far])].name
    over = max(over_tyres_mm(a.track_mm, a.tyre.width_mm) for a in assembly.scene.axles)
    margin = over / 2.0 + limits.overhang - reach
    allowed = f" plus {say(limits.overhang)} each side" if limits.overhang else ""
    verdict = at_least(margin, 0.0, limits.tyre_clearance)
    state = "reaches past" if verdict is Verdict.FAIL else "stays within"
    text = (
        f"The rig {state} the tyres: {widest} is {say(reach)} from the tractor's centre, the "
        f"tyres' outer faces are at {say(over / 2.0)}{allowed}; margin {say(margin)}."
    )
    bar = assembly.scene.spec.toolbar
    return Finding(
        ID,
        verdict,
        margin,
        0.0,
        "mm",
        text,
        parts=(widest,),
        source=limits.source("overhang"),
        cures=(
            Knob(("toolbar", "length"), bar.length, bar.length / 2.0, "mm", "cut the bar shorter"),
            Knob(
                ("limits", "overhang"),
                limits.overhang,
                limits.overhang + 1500.0,
                "mm",
                "allow the rig to reach past the tyres",
            ),
        ),
    )
