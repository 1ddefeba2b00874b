"""Weights and forces: what the rig weighs, where it balances, what it does to bar and lift."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.account import Account
from rigmodel.loads.constants import ENGINEER
from rigmodel.loads.trace import trace
from rigmodel.report.html.load_chart import load_chart
from rigmodel.report.html.markup import Html, breakable, table, tag


def loads_section(assembly: Assembly, found: Account) -> Html:
    """Tables and drawings of everything known, what is not known, and how each number was found."""
    return tag("div", {"class": "weights"}, list(_parts(assembly, found)))


def _parts(assembly: Assembly, found: Account) -> Iterator[Html]:
    unit = assembly.scene.unit
    total = words.mass(found.rig_kg, unit)
    yield tag("p", None, f"The rig weighs {total}, the bar alone {_kg(assembly, found.bar_kg)}. "
              f"Bolts, springs' own weight, hangers and what the tractor carries are not in it. "
              f"{ENGINEER}")  # fmt: skip
    yield _balance(assembly, found)
    yield _stations(assembly, found)
    if found.pull is not None:
        yield _pull(assembly, found)
    if found.along is not None:
        yield load_chart(assembly, found.along)
    if found.springs:
        yield _springs(assembly, found)
    yield tag("h3", None, "Not known")
    yield tag("ul", None, [tag("li", None, text) for text in found.unknown])
    yield tag(
        "details",
        None,
        tag("summary", None, "How each number was found"),
        _trace(assembly, found),
    )


def _kg(assembly: Assembly, kg: float) -> str:
    return words.mass(kg, assembly.scene.unit)


def _balance(assembly: Assembly, found: Account) -> Html:
    say, unit = assembly.scene.say, assembly.scene.unit
    loads = {load.pose: load for load in found.lift}
    rows = []
    for one in found.balances:
        x, y, z = one.centre_mm.tolist()
        load = loads.get(one.pose)
        moment = "–" if load is None or not load.moment_nm else words.moment(load.moment_nm, unit)
        ahead = f"{say(abs(x))} {'ahead' if x >= 0.0 else 'behind'}"
        across = "0" if abs(y) < 0.5 else f"{say(abs(y))} {'left' if y > 0.0 else 'right'}"
        carried = "–" if load is None else _kg(assembly, load.at_bar_kg)
        rows.append((one.pose, ahead, across, say(z), carried, moment))
    return table(
        "Centre of gravity of the rig, and what the lift carries",
        ("Pose", "From the rear axle", "From the centre", "Over the soil", "Load at the bar",
         "Moment about the lift's pivot"),
        rows,
        (1, 2, 3, 4, 5),
    )  # fmt: skip


def _stations(assembly: Assembly, found: Account) -> Html:
    say = assembly.scene.say
    rows = []
    for station in assembly.stations:
        body = found.stations[station.name]
        pulls = [found.drafts[t.part] for t in assembly.tools
                 if t.station == station.name and t.part in found.drafts]  # fmt: skip
        pull = words.force(sum(d.middle_n for d in pulls), assembly.scene.unit) if pulls else "–"
        behind = float(body.centroid_mm[0]) - float(_bar_x(assembly, found))
        rows.append(
            (
                breakable(station.name),
                _kg(assembly, body.mass_kg),
                f"{say(abs(behind))} {'ahead' if behind > 0.0 else 'behind'}",
                pull,
            )
        )
    rows.append((Html("bar"), _kg(assembly, found.bar_kg), "–", "–"))
    rows.append((Html("whole rig"), _kg(assembly, found.rig_kg), "–", "–"))
    return table(
        "Mass of every station, where it hangs from the bar, and its draft",
        ("Station", "Mass", "Its balance from the bar", "Draft"),
        rows,
        (1, 2, 3),
    )


def _bar_x(assembly: Assembly, found: Account) -> float:
    return float(found.parts["bar"].centroid_mm[0])


def _pull(assembly: Assembly, found: Account) -> Html:
    pull, say, unit = found.pull, assembly.scene.say, assembly.scene.unit
    assert pull is not None
    side = "the centre" if abs(pull.line_mm) < 0.5 else (
        f"{say(abs(pull.line_mm))} {'left' if pull.line_mm > 0.0 else 'right'} of the centre"
    )  # fmt: skip
    rows = [
        ("Draft of the rig", words.force(pull.draft_n, unit),
         f"{words.force(pull.low_n, unit)} to {words.force(pull.high_n, unit)}"),
        ("Line of the pull", side, "–"),
        ("Yaw moment", words.moment(abs(pull.yaw_nm), unit),
         "none" if abs(pull.yaw_nm) < 0.05
         else f"turns the tractor to the {'left' if pull.yaw_nm > 0.0 else 'right'}"),
    ]  # fmt: skip
    if pull.power_kw is not None:
        low, high = (pull.power_kw * end / pull.draft_n if pull.draft_n else 0.0
                     for end in (pull.low_n, pull.high_n))  # fmt: skip
        told = f"{pull.power_kw:.1f} kW ({pull.power_kw / 0.7457:.1f} hp)"
        rows.append(("Drawbar power", told, f"{low:.1f} to {high:.1f} kW"))
    return table("Pull of the whole rig", ("What", "Middle", "Range or side"), rows, (1,))


def _springs(assembly: Assembly, found: Account) -> Html:
    rows = []
    for part, forces in found.springs.items():
        ends = {"down stop": forces[0], "up stop": forces[-1]}
        work = forces[len(forces) // 2]
        rows.append(
            (
                breakable(part),
                *(
                    f"{words.force(f.force_n, assembly.scene.unit)} at {f.angle:.1f}°"
                    for f in (ends["down stop"], work, ends["up stop"])
                ),
            )
        )
    return table(
        "Down-force of tools on arms; bounce and resonance are not checked",
        ("Tool", "Down stop", "At work", "Up stop"),
        rows,
        (1, 2, 3),
    )


def _trace(assembly: Assembly, found: Account) -> Html:
    rows = [
        (one.what, one.formula, one.inputs, one.result, one.source)
        for one in trace(assembly, found)
    ]
    return table(
        "Formulas, what went into them, and their sources",
        ("What", "Formula", "What went in", "Result", "Source"),
        rows,
        (),
    )
