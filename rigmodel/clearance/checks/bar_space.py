"""bar-space: clamps on the bar do not overlap or sit where they may not; a spanner can turn."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from rigmodel.assembly.rig import Assembly, ClampPlace
from rigmodel.clearance.bar_cures import strut_moves
from rigmodel.clearance.cures import shift_cures
from rigmodel.clearance.finding import Choice, Finding, Knob, Point, Verdict, at_least
from rigmodel.clearance.hoe_cures import hand_cures
from rigmodel.clearance.scope import Scope

ID = "bar-space"
STATEMENT = "Clamps on the bar keep apart, stay on it, off forbidden stretches, and take a spanner."

# Outside diameter of a spanner's head over its width across flats, the largest of the sizes
# 7/16 to 3/4 in (0.695 in for 7/16), US specification A-A-1346A.
HEAD_OVER_FLATS = 1.59


def findings(scope: Scope) -> Iterator[Finding]:
    """One finding for each fault, and one for the tightest neighbours."""
    assembly = scope.assembly
    yield from _off_the_bar(assembly)
    yield from _forbidden(assembly)
    yield from _neighbours(assembly)


def _reach(clamp: ClampPlace) -> tuple[float, float]:
    return clamp.centre_mm - clamp.width_mm / 2.0, clamp.centre_mm + clamp.width_mm / 2.0


def _on_bar(assembly: Assembly, place: float) -> Point:
    bar = assembly.scene.spec.toolbar
    return (assembly.scene.tractor.toolbar_ahead, bar.offset + place, bar.height)


def _off_the_bar(assembly: Assembly) -> Iterator[Finding]:
    bar, say = assembly.scene.spec.toolbar, assembly.scene.say
    limits = assembly.scene.spec.limits
    for clamp in assembly.on_bar:
        left = bar.length / 2.0 - max(abs(edge) for edge in _reach(clamp))
        if left < -1e-3:
            far = max(_reach(clamp), key=abs)
            end = bar.length / 2.0 if far > 0 else -bar.length / 2.0
            yield Finding(
                ID,
                at_least(left, 0.0),
                left,
                0.0,
                "mm",
                f"{clamp.part} hangs {say(-left)} over the bar's end.",
                parts=(clamp.part, "bar"),
                at=(_on_bar(assembly, far), _on_bar(assembly, end)),
                source=limits.source("clamp_gap"),
                cures=(
                    Knob(
                        ("toolbar", "length"),
                        bar.length,
                        bar.length * 2.0,
                        "mm",
                        "cut a longer bar",
                    ),
                ),
            )


def _forbidden(assembly: Assembly) -> Iterator[Finding]:
    say = assembly.scene.say
    for stretch in assembly.scene.spec.toolbar.no_clamp:
        for clamp in assembly.on_bar:
            if stretch.face not in ("any", clamp.face):
                continue
            low, high = _reach(clamp)
            over = min(high, stretch.high) - max(low, stretch.low)
            if over > 1e-3:
                why = f" ({stretch.why})" if stretch.why else ""
                yield Finding(
                    ID,
                    at_least(-over, 0.0),
                    -over,
                    0.0,
                    "mm",
                    f"{clamp.part} covers {say(over)} of the stretch kept free{why}, from "
                    f"{say(stretch.low)} to {say(stretch.high)}.",
                    parts=(clamp.part, "bar"),
                    at=(
                        _on_bar(assembly, max(low, stretch.low)),
                        _on_bar(assembly, min(high, stretch.high)),
                    ),
                    source="set in the scene",
                    cures=_moves(assembly, clamp),
                )


def _moves(assembly: Assembly, *clamps: ClampPlace) -> tuple[Knob | Choice, ...]:
    owners = [clamp.part.rpartition(".")[0] for clamp in clamps]
    braces = [strut for strut in assembly.struts if strut.name in owners]
    stations = [assembly.station[name] for name in owners if name in assembly.station]
    moves = [knob for strut in braces for knob in strut_moves(assembly, strut)]
    shifts = [cure for station in stations for cure in shift_cures(assembly, station)]
    hands = [cure for station in stations for cure in hand_cures(assembly, station)]
    return (*moves, *shifts, *hands)


def _neighbours(assembly: Assembly) -> Iterator[Finding]:
    ordered = sorted(assembly.on_bar, key=lambda c: c.centre_mm, reverse=True)
    found = []
    for left, right in pairwise(ordered):
        gap = _reach(left)[0] - _reach(right)[1]
        found.append((gap - _needed(assembly, left, right), gap, left, right))
    tight = [item for item in found if item[0] < -1e-3]
    for item in tight:
        yield _pair(assembly, *item[1:])
    if found and not tight:
        yield _pair(assembly, *min(found, key=lambda item: item[0])[1:])


def _needed(assembly: Assembly, left: ClampPlace, right: ClampPlace) -> float:
    """Gap that two neighbours need: the limit, or what a spanner's head sticks out past a clamp."""
    sticks_out = max(c.spanner_mm * HEAD_OVER_FLATS / 2.0 - c.nut_inset_mm for c in (left, right))
    return max(assembly.scene.spec.limits.clamp_gap, sticks_out)


def _pair(assembly: Assembly, gap: float, left: ClampPlace, right: ClampPlace) -> Finding:
    limits, say = assembly.scene.spec.limits, assembly.scene.say
    needed = _needed(assembly, left, right)
    verdict = at_least(gap, needed, limits.tight)
    if verdict is Verdict.FAIL and gap < 0.0:
        text = f"{left.part} and {right.part} overlap on the bar by {say(-gap)}."
    elif verdict is Verdict.FAIL:
        text = (
            f"{left.part} and {right.part} stand {say(gap)} apart on the bar; they need "
            f"{say(needed)} for the clamps and a spanner."
        )
    else:
        text = f"Clamps keep apart; {left.part} and {right.part} are closest, {say(gap)} apart."
    return Finding(
        ID,
        verdict,
        gap,
        needed,
        "mm",
        text,
        parts=(left.part, right.part),
        at=(_on_bar(assembly, _reach(left)[0]), _on_bar(assembly, _reach(right)[1])),
        source=limits.source("clamp_gap"),
        cures=_moves(assembly, left, right),
    )
