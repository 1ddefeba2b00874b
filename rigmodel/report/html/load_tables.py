"""Tables of weights and forces, each number in the scene's system and in SI."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rigmodel.assembly.rig import Assembly
from rigmodel.clearance.checks.load_bar import strength_mpa
from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.balance import AxleLoads
from rigmodel.loads.pull_words import NOTHING_N, pull_lines
from rigmodel.loads.spring import DownForce
from rigmodel.loads.strut import whichever
from rigmodel.report.html.markup import Html, breakable, table
from rigmodel.sides import ahead, side, way
from rigmodel.units import Unit, format_setting

_TOLD_N = 0.5  # a force along the bar that is told


def balance(assembly: Assembly, found: Account) -> Html:
    """The rig's centre of gravity in its poses, and what the lift carries there."""
    unit = assembly.scene.unit
    loads = {load.pose: load for load in found.lift}
    rows = []
    for one in found.balances:
        load = loads.get(one.pose)
        moment = "–" if load is None or not load.moment_nm else words.moment(load.moment_nm, unit)
        carried = "–" if load is None else words.mass(load.at_bar_kg, unit)
        rows.append((one.pose, words.balance_point(one.centre_mm, unit), carried, moment))
    return table(
        "Centre of gravity of the rig, and what the lift carries",
        ("Pose", "Centre of gravity", "Load at the bar", "Moment about the lift's pivot"),
        rows,
        (2, 3),
    )


def axles(assembly: Assembly, loads: AxleLoads) -> Html:
    """Axle loads before and after, on level ground."""
    tractor, unit = assembly.scene.spec.tractor, assembly.scene.unit
    front, rear = tractor.front.load_kg or 0.0, tractor.rear.load_kg or 0.0
    rows = [
        (what, words.mass(ahead, unit), words.mass(behind, unit),
         f"{100.0 * ahead / (ahead + behind):.0f} %")
        for what, ahead, behind in (
            ("tractor alone", front, rear),
            ("rig fully lifted", loads.front_kg, loads.rear_kg),
        )
    ]  # fmt: skip
    return table(
        "Axle loads, standing on level ground",
        ("State", "Front axle", "Rear axle", "Share in front"),
        rows,
        (1, 2, 3),
    )


def stations(assembly: Assembly, found: Account) -> Html:
    """Mass of every station, where it hangs from the bar, and its draft."""
    unit = assembly.scene.unit
    tools = {s.name: [t.part for t in assembly.tools if t.station == s.name] for s in
             assembly.stations}  # fmt: skip
    rows = []
    for one in found.hung:
        own = tools.get(one.station, [])  # a strut has none
        drawn = [found.drafts[part].middle_n for part in own if found.drafts]
        pushes = [found.side.tools.get(part) for part in own]
        known = [push for push in pushes if push is not None]
        rows.append(
            (
                breakable(one.station),
                words.mass(one.mass_kg, unit),
                f"{format_setting(abs(one.ahead_mm), unit)} {ahead(one.ahead_mm)}",
                words.force(sum(drawn), unit) if drawn else "–",
                _pushed(sum(known) if len(known) == len(pushes) else None, unit) if own else "–",
            )
        )
    rows.append((Html("bar"), words.mass(found.bar_kg, unit), "–", "–", "–"))
    pull = found.pull
    rows.append(
        (
            Html("whole rig"),
            words.mass(found.rig_kg, unit),
            "–",
            "–" if pull is None else words.force(pull.draft_n, unit),
            _pushed(found.side.sum_n, unit),
        )
    )
    return table(
        "Mass of every station, where it hangs from the bar, its draft and side draft",
        ("Station", "Mass", "Its balance from the bar", "Draft", "Side draft"),
        rows,
        (1, 2, 3, 4),
    )


def _pushed(newtons: float | None, unit: Unit) -> str:
    """A push to one side."""
    if newtons is None:
        return "not known"
    return "–" if abs(newtons) < NOTHING_N else f"{words.force(abs(newtons), unit)} {way(newtons)}"


def parts(assembly: Assembly, found: Account) -> Html:
    """Mass of every part, and where its centre of gravity is."""
    unit = assembly.scene.unit
    rows = [
        (
            breakable(name),
            words.mass(body.mass_kg, unit),
            words.balance_point(np.asarray(body.centroid_mm), unit),
        )
        for name, body in found.parts.items()
    ]
    heads = ("Part", "Mass", "Centre of gravity")
    return table("Mass of every part at work", heads, rows, (1,))


def pull(found: Account) -> Html:
    """Draft of the rig, side draft, yaw and power."""
    rows = [(line.what, line.value, line.more or "–") for line in pull_lines(found)]
    return table("Pull of the whole rig", ("What", "Middle", "Range or side"), rows, (1,))


def drafts(assembly: Assembly, found: Account) -> Html:
    """Draft of every tool."""
    unit = assembly.scene.unit
    rows = [
        (
            breakable(part),
            *(words.force(n, unit) for n in (one.low_n, one.middle_n, one.high_n)),
            f"±{100.0 * one.range_share:.0f} %" if one.range_share else "stated",
            _pushed(found.side.tools.get(part), unit),
        )
        for part, one in found.drafts.items()
    ]
    heads = ("Tool", "Low", "Middle", "High", "Range", "Side draft")
    return table("Draft and side draft of every tool", heads, rows, (1, 2, 3, 4, 5))


def hangers(assembly: Assembly, found: Account) -> Html:
    """What the hangers bear."""
    unit = assembly.scene.unit
    rows = [
        (
            side(one.at_mm, unit, "the bar's centre"),
            f"{words.force(abs(one.up_n), unit)} {'up' if one.up_n >= 0.0 else 'down'}",
            f"{words.force(abs(one.ahead_n), unit)} {'ahead' if one.ahead_n >= 0.0 else 'back'}",
            f"{words.moment(abs(one.torque_nm), unit)} front "
            f"{'down' if one.torque_nm > 0.0 else 'up'}",
            f"{words.force(abs(one.left_n), unit)} {way(one.left_n)}"
            if abs(one.left_n) >= _TOLD_N
            else "–",
        )
        for one in found.hangers
    ]
    return table(
        "What every hanger does to the bar under weight, and draft at its high end",
        ("Hanger", "Holds it", "Draws it", "Torque", "Pushes it along"),
        rows,
        (1, 2, 3, 4),
    )


def struts(assembly: Assembly, found: Account) -> Html:
    """What every strut carries, and what its upper pin does to the frame."""
    unit, limits = assembly.scene.unit, assembly.scene.spec.limits
    rows = []
    for one in found.struts:
        ahead, left, up = one.on_frame_n.tolist()
        told = (
            (left, "left", "right"),
            (ahead, "ahead", "back"),
            (up, "up", "down"),
        )
        rows.append(
            (
                one.tie.name,
                words.force(one.most_pull_n, unit),
                words.force(one.most_push_n, unit),
                words.force(one.buckles_n / limits.buckling_factor, unit),
                words.stress(one.stress_mpa, unit),
                ", ".join(
                    f"{words.force(abs(n), unit)} {plus if n >= 0.0 else minus}"
                    for n, plus, minus in told
                ),
            )
        )
    return table(
        f"What every strut carries, {whichever(assembly)}; its weight comes on top at its upper "
        "pin, whose frame is not checked",
        ("Strut", "Pulls at most", "Pushes at most", "May push", "Stress", "Draws its frame"),
        rows,
        (1, 2, 3, 4),
    )


def strength(assembly: Assembly, found: Account) -> Iterator[Html]:
    """Greatest stress in bar, shanks, arms and cross tubes, the worst of each kind."""
    factor, unit = assembly.scene.spec.limits.stress_factor, assembly.scene.unit
    known = found.side.tools
    told: list[tuple[str, float, float | None, bool]] = []
    every = all(tool.part in known for tool in assembly.tools)
    if found.bar is not None:
        told.append(("bar", found.bar.stress_mpa, strength_mpa(assembly), every))
    if found.struck is not None:
        struck = f"bar, {found.struck.tool} against a stone"
        told.append((struck, found.struck.stress_mpa, strength_mpa(assembly), every))
    shanks = [
        (
            shank.name,
            shank.stress_mpa(found.back_n[shank.tool], known.get(shank.tool, 0.0)),
            shank.yield_mpa,
            shank.tool in known,
        )
        for shank in found.shanks
        if shank.tool in found.drafts
    ]
    told += sorted(shanks, key=lambda one: -one[1])
    beyond = {member.name: member.tools for member in found.carrying}
    members = [
        (m.name, m.worst.stress_mpa, m.yield_mpa, all(t.part in known for t in beyond[m.name]))
        for m in found.members
    ]
    told += sorted(members, key=lambda one: -one[1])
    if not told:
        return
    rows = [
        (
            breakable(name),
            words.stress(stress, unit),
            "not given" if strength is None else words.stress(strength, unit),
            "–" if strength is None else words.stress(strength / factor, unit),
            "counted" if whole else "not known",
        )
        for name, stress, strength, whole in told
    ]
    yield table(
        f"Greatest stress under weight, draft and side draft; yield over {factor:g} is allowed",
        ("Part", "Stress", "Yield strength", "Allowed", "Side draft"),
        rows,
        (1, 2, 3),
    )


def springs(assembly: Assembly, found: Account) -> Html:
    """Down-force of every tool on an arm."""
    unit = assembly.scene.unit
    angles = {tool.part: assembly.mechanism.joints[tool.arm].value for tool in assembly.tools
              if tool.arm}  # fmt: skip

    def told(force: DownForce) -> str:
        return f"{words.force(force.force_n, unit)} at {force.angle:.1f}°"

    rows = [
        (
            breakable(part),
            told(forces[0]),
            told(min(forces, key=lambda f: abs(f.angle - angles[part]))),
            told(forces[-1]),
        )
        for part, forces in found.springs.items()
    ]
    return table(
        "Down-force of tools on arms (0° is level, minus hangs down); bounce and resonance are not "
        "checked",
        ("Tool", "Down stop", "At work", "Up stop"),
        rows,
        (1, 2, 3),
    )


def clamps(assembly: Assembly, found: Account) -> Html:
    """Moment on every clamp against what friction holds, and the pull in its bolts."""
    unit = assembly.scene.unit
    rows = [
        (
            breakable(clamp.part),
            words.moment(clamp.turning_nm, unit),
            words.force(clamp.along_n, unit),
            words.moment(clamp.moment_nm, unit),
            words.moment(clamp.holds_nm, unit),
            f"{words.force(clamp.least_n, unit)} to {words.force(clamp.most_n, unit)}",
            "grade not given" if clamp.proof_n is None else words.force(clamp.proof_n, unit),
        )
        for clamp in found.clamps
    ]
    return table(
        "Clamps on the bar: friction at the least clamp load of the torque's spread",
        (
            "Clamp",
            "Turned about the bar",
            "Pushed along it",
            "Both as a moment",
            "Friction holds",
            "Clamp load of a leg",
            "Proof load of a leg",
        ),
        rows,
        (1, 2, 3, 4, 5, 6),
    )
