"""What to do, in order: assembly, levelling, pair gaps, re-tightening, and what to write down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rigmodel.assembly.fingers import fingers_of
from rigmodel.assembly.model import JointKind, Role
from rigmodel.catalog.kinds import FingerWheel
from rigmodel.clearance.checks.pair_gap import pairs
from rigmodel.clearance.finding import Findings
from rigmodel.sheet.facts import Facts
from rigmodel.sheet.level import level_tolerance, stand
from rigmodel.sheet.words import counted, joined, printable, runs, tape_down
from rigmodel.sides import at_side

_CLOSE = ("wheel-clash", "part-clash", "tyre-fit", "frame-fit")
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Step:
    """One thing to do: a few words, and how."""

    title: str
    text: str


@dataclass(frozen=True)
class Blank:
    """An empty field for what was measured, and what it should be."""

    what: str
    wanted: str


def assembly_steps(facts: Facts, findings: Findings) -> tuple[Step, ...]:
    """Assembly in order, and what stays loose until the spacing is settled."""
    return tuple(_assembly_steps(facts, findings))


def _assembly_steps(facts: Facts, findings: Findings) -> Iterator[Step]:
    assembly = facts.assembly
    roles = {part.role for part in assembly.rig_parts()}
    half = facts.tape(assembly.scene.spec.toolbar.length / 2.0)
    yield Step(
        "Bar",
        f"Lay it on two stands. Mark its centre, {half} from each end, then every mark of the "
        f"table, on top and on the face that carries the clamps' plates.{_proof(facts)}",
    )
    yield Step("Clamps", _clamp_text(facts))
    if Role.ARM in roles or Role.HOLDER in roles:
        yield Step("Holders and arms", _bracket_text(facts))
    if any(tool.slide for tool in assembly.tools):
        yield Step("Shanks", _shank_text(roles))
    yield Step("Blades and wheels", _tool_text(facts, roles))
    yield Step(
        "Under the tractor",
        "Hang the rig on its lift, lower it onto its blocks (see Blocks and level), put stands "
        "under the bar, and level it.",
    )
    if facts.struts:
        yield Step("Struts", _strut_text(facts))
    yield Step(
        "Settle, then tighten",
        "Measure every mark, pair gap and depth, and shift what is off. Only then tighten: U-bolt "
        "nuts a little at a time from side to side, then set bolts. Measure once more.",
    )
    yield Step("Try by hand", _trial_text(facts, findings))


def _span(facts: Facts) -> tuple[str, str] | None:
    """From the first mark to the last, in words and as a length; None with one mark only."""
    if len(facts.marks) < 2:
        return None
    whole = facts.marks[0].centre_mm - facts.marks[-1].centre_mm
    return f"mark 1 to mark {len(facts.marks)}", facts.tape(whole)


def _proof(facts: Facts) -> str:
    span = _span(facts)
    return "" if span is None else f" Proof: from {span[0]} it is {span[1]}."


def _clamp_text(facts: Facts) -> str:
    text = f"Set each of the {counted(len(facts.marks), 'clamp')} over its mark"
    ranked = [i + 1 for i, mark in enumerate(facts.marks) if mark.rank_mm]
    front = [i + 1 for i, mark in enumerate(facts.marks) if mark.face == "front"]
    if front:
        text += f", plate to the front at mark {runs(front)}"
    if ranked:
        text += f"; hang the cross {'tube' if len(ranked) == 1 else 'tubes'} at mark {runs(ranked)}"
    nuts = f" ({counted(facts.u_bolt_nuts, 'nut')})" if facts.u_bolt_nuts else ""
    return f"{text}. LEAVE LOOSE: nuts finger-tight and one turn{nuts}."


def _strut_text(facts: Facts) -> str:
    tape, unit = facts.tape, facts.unit
    told = "; ".join(
        f"{one.name} {at_side(one.centre_mm, unit)}, its upper pin {tape(one.top_mm[2])} over the "
        f"bar's centre and {at_side(one.top_mm[1], unit)}, {tape(one.pins_mm)} from pin to pin"
        for one in facts.struts
    )
    return (
        f"Clamp each foot on top of the bar, from its centre: {told}. With the bar hanging level, "
        "pin the upper ends to the frame that rises with the bar; no strut may need to be forced."
    )


def _bracket_text(facts: Facts) -> str:
    text = "Bolt each one to its clamp as the picture shows."
    joints = facts.assembly.mechanism.joints.values()
    if any(j.kind in (JointKind.FLOAT, JointKind.TRIP) for j in joints):
        text += (
            " TIGHTEN NOW: pivots until the play is gone and the part still turns freely by hand; "
            "lock the nut."
        )
    return text


def _shank_text(roles: set[Role]) -> str:
    text = (
        "Slide each shank to its setting: what shows above its holder. LEAVE LOOSE: set bolts just "
        "snug."
    )
    if Role.CLIP in roles:
        text += " Put the clip on its top at once; it keeps the shank from falling out."
    return text


def _tool_text(facts: Facts, roles: set[Role]) -> str:
    text = "Bolt them on and TIGHTEN NOW."
    if Role.BLADE in roles:
        text += " Blades with the point forward."
    if Role.FINGER_WHEEL in roles:
        tilts = [i.entry.tilt for i in facts.items.values() if isinstance(i.entry, FingerWheel)]
        lean = " with their low side towards the row" if min(tilts, default=0.0) > 0.0 else ""
        text += f" Finger wheels{lean}; each must spin by hand."
    return text


def _trial_text(facts: Facts, findings: Findings) -> str:
    kinds = {j.kind for j in facts.assembly.mechanism.joints.values()}
    ways = ["swing every arm from stop to stop"] if JointKind.FLOAT in kinds else []
    ways += ["press every spring holder back"] if JointKind.TRIP in kinds else []
    ways += ["turn the front wheels from lock to lock"] if JointKind.STEER in kinds else []
    ways += ["lift slowly to the top"]
    text = f"Keep clear, and {joined(ways)}. Nothing may touch."
    close = [f for f in findings.findings if f.check in _CLOSE and len(f.parts) == 2]
    tight = sorted((f for f in close if f.margin is not None), key=lambda f: f.margin or 0.0)
    if tight:
        say = facts.assembly.scene.say
        told = [f"{f.parts[0]} and {f.parts[1]}, {say(f.value or 0.0)}" for f in tight[:2]]
        text += f" Least room over the motion: {'; '.join(told)}."
    return printable(text)


def level_steps(facts: Facts) -> tuple[Step, ...]:
    """Blocks under tyres and tools, height of the bar, and how level it must be."""
    found = stand(facts.assembly)
    tools = [f"{_on(facts, b.height_mm)}: {_grouped(facts, b.tools)}" for b in found.tools]
    return (
        Step("Tyres, on a hard level floor", f"all {_on(facts, found.tyres.height_mm)}."),
        Step("Tools", f"{'; '.join(tools)}."),
        Step("Bar", f"underside {facts.tape(found.under_bar_mm)} over the floor at both ends."),
        Step("How level", _level_text(facts)),
    )


def _on(facts: Facts, height_mm: float) -> str:
    height = facts.tape(height_mm)
    return "on the floor itself" if height == facts.tape(0.0) else f"on blocks {height} high"


def _grouped(facts: Facts, tools: tuple[str, ...]) -> str:
    """Tools on one block, and their marks where equal tools stand on other blocks too."""
    numbers = {t.name: i + 1 for i, mark in enumerate(facts.marks) for t in mark.tools}
    groups: dict[str, list[str]] = {}
    for tool in tools:
        groups.setdefault(facts.tools[tool], []).append(tool)
    told = []
    for words, names in groups.items():
        text = f"{len(names)} × {words}"
        if list(facts.tools.values()).count(words) > len(names):
            marks = runs(sorted(numbers[name] for name in names))
            text += f" (mark{'s' if len(names) > 1 else ''} {marks})"
        told.append(text)
    return ", ".join(told)


def _level_text(facts: Facts) -> str:
    found, bar = level_tolerance(facts.assembly), facts.assembly.scene.spec.toolbar
    if found is None:
        text = "all tools float on arms; level the bar by eye."
    else:
        text = (
            f"across, one end at most {tape_down(found.ends_mm, facts.unit)} higher than the other "
            f"({found.roll_deg:.2f}°); fore and aft at most {found.pitch_deg:.2f}°. That keeps "
            f"every rigid tool within {facts.tape(found.depth_mm)} of its depth."
        )
    if bar.roll or bar.pitch:
        text += (
            f" The scene has the bar rolled {bar.roll:g}° and pitched {bar.pitch:g}°: block "
            "heights are for a level bar."
        )
    return text


def gap_steps(facts: Facts) -> tuple[Step, ...]:
    """The gap of every pair at the start, and how to change it as the crop grows."""
    gaps = pair_gaps(facts)
    if not gaps:
        return ()
    limits = facts.assembly.scene.spec.limits
    rows: dict[str, list[str]] = {}
    for row, gap in gaps:
        rows.setdefault(_gap_words(facts, gap), []).append(row)
    start = "; ".join(f"{joined(names)}: {words}" for words, names in rows.items())
    usual = f"{facts.tape(limits.pair_gap_low)} to {facts.tape(limits.pair_gap_high)}"
    pitch = facts.assembly.scene.tube.hole_pitch
    hole = "" if pitch is None else f" One hole each side changes it by {facts.tape(2.0 * pitch)}."
    return (
        Step(
            "At the start",
            f"{start}, between the fingers' tips at the row (usual: {usual}; "
            f"{limits.source('pair_gap_low')}).",
        ),
        Step(
            "As the crop grows",
            "Start wide; close the gap bit by bit once plants hold when pulled, and open it again "
            f"where any is torn ({PRACTICE}). Move both clamps of a pair by half the change, so "
            f"that the row stays in the middle.{hole} First write the new pair_gap into the scene "
            "and check it.",
        ),
    )


def pair_gaps(facts: Facts) -> tuple[tuple[str, float], ...]:
    """Name of each row with a pair, and the gap between its fingers, mm; negative = interleaved."""
    across, at_work = (0.0, 1.0, 0.0), facts.assembly.at_work
    return tuple(
        (
            row.name,
            float(fingers_of(at_work(left)).extent(across)[0])
            - float(fingers_of(at_work(right)).extent(across)[1]),
        )
        for row, _, left, right in pairs(facts.assembly)
    )


def _gap_words(facts: Facts, gap: float) -> str:
    if gap < 0.0:
        return f"fingers interleaved by {facts.tape(-gap)}"
    return f"{facts.tape(gap)} gap"


def first_hour(facts: Facts) -> str:
    """What to tighten again, and when."""
    what = [counted(facts.u_bolt_nuts, "U-bolt nut")] if facts.u_bolt_nuts else []
    what += [counted(facts.set_bolts, "set bolt")] if facts.set_bolts else []
    told = joined(what) or "every bolt and nut"
    return (
        f"After the first hour of work and again after the first day ({PRACTICE}): rig down and "
        f"blocked, engine off, key out. Tighten {told} again, then look at every other fastener. "
        "A clamp that has moved is set to its mark anew."
    )


def blanks(facts: Facts) -> tuple[Blank, ...]:
    """What to measure on the finished rig, with what it should be."""
    assembly = facts.assembly
    under, span = facts.tape(stand(assembly).under_bar_mm), _span(facts)
    rows = [Blank(f"Floor to bar, {end} end", under) for end in ("left", "right")]
    if span is not None:
        rows.append(Blank(span[0].capitalize(), span[1]))
    gaps = ((row, _gap_words(facts, gap).removesuffix(" gap")) for row, gap in pair_gaps(facts))
    rows += [Blank(f"Pair gap, {row}", words) for row, words in gaps]
    depths = {facts.tools[tool.part]: tool.depth_mm for tool in assembly.tools}
    rows += [Blank(f"Depth dug out, {word}", facts.tape(mm)) for word, mm in depths.items()]
    rows += [Blank(f"Wheel track, {a.name}", facts.tape(a.track_mm)) for a in assembly.scene.axles]
    rows.append(Blank("Bolt grade, torque used", ""))
    rows.append(Blank("Tightened again on, by", ""))
    return tuple(rows)
