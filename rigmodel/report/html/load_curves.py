"""What the lift carries over its range, and what arms press with over their float, as curves."""

from __future__ import annotations

from collections.abc import Iterator

from rigmodel.assembly.rig import Assembly
from rigmodel.loads import words
from rigmodel.loads.account import Account, SpringCurve
from rigmodel.report.html.markup import Html, tag
from rigmodel.report.html.plot import Axis, Mark, plot
from rigmodel.units import Unit

_LENGTHS = {Unit.IN: ("in", 25.4), Unit.FT: ("ft", 304.8)}


def lift_curves(assembly: Assembly, found: Account) -> Iterator[Html]:
    """Load at the bar and moment about the pivot, from the lift's lowest to its highest."""
    if len(found.lift) < 2 or found.lift[-1].bar_mm <= found.lift[0].bar_mm:
        return
    unit = assembly.scene.unit
    name, size = _LENGTHS.get(unit, ("mm", 1.0))
    height = Axis(f"height of the bar's middle over the soil, {name}", size)
    work = Mark(assembly.scene.spec.toolbar.height, "at work", upright=True)
    inside = found.lift[0].bar_mm <= work.value <= found.lift[-1].bar_mm
    marks = (work,) if inside else ()
    if any(load.moment_nm for load in found.lift):
        most = max(found.lift, key=lambda load: load.moment_nm)
        moment, newton_metres = words.moment_axis(unit)
        points = [(load.bar_mm, load.moment_nm) for load in found.lift]
        yield _figure(
            "Moment of the rig about the lift's pivot over the lift: at most "
            f"{words.moment(most.moment_nm, unit)}, {most.pose}",
            plot(
                "Moment about the lift's pivot over the height of the bar",
                points,
                height,
                Axis(moment, newton_metres),
                marks,
            ),
        )
    most = max(found.lift, key=lambda load: load.at_bar_kg)
    capacity = assembly.scene.spec.tractor.lift.capacity_kg
    mass, kg = words.mass_axis(unit)
    limit = () if capacity is None else (
        Mark(capacity, f"raises {words.mass(capacity, unit)}"),
    )  # fmt: skip
    told = "not given: tractor.lift.capacity_kg" if capacity is None else words.mass(capacity, unit)
    yield _figure(
        "Load of the lift over its range, as a mass at the bar: at most "
        f"{words.mass(most.at_bar_kg, unit)}, {most.pose}; what it can raise: {told}",
        plot(
            "Load of the lift over the height of the bar",
            [(load.bar_mm, load.at_bar_kg) for load in found.lift],
            height,
            Axis(mass, kg),
            (*marks, *limit),
        ),
    )


def spring_curves(assembly: Assembly, found: Account) -> Iterator[Html]:
    """Down-force from stop to stop, one drawing for all tools that press alike."""
    for curve in found.spring_curves:
        if curve.high > curve.low:
            yield _spring(assembly, curve)


def _spring(assembly: Assembly, curve: SpringCurve) -> Html:
    unit = assembly.scene.unit
    force, newtons = words.force_axis(unit)
    ends = (curve.forces[0].force_n, curve.forces[-1].force_n)
    marks = [Mark(curve.work, "at work", upright=True)]
    if curve.wanted_n is not None:
        marks.append(Mark(curve.wanted_n, f"wanted {words.force(curve.wanted_n, unit)}"))
    return _figure(
        f"Down-force of {words.named(curve.tools)} over its float: "
        f"{words.force(ends[0], unit)} at the down stop, "
        f"{words.force(ends[1], unit)} at the up stop. The soil's push and draft are left out; "
        "bounce and resonance are not checked",
        plot(
            f"Down-force of {curve.tools[0]} over the angle of its arm",
            [(f.angle, f.force_n) for f in curve.forces],
            Axis("angle of the arm, degrees; up is plus"),
            Axis(force, newtons),
            marks,
        ),
    )


def _figure(caption: str, drawing: Html) -> Html:
    return tag("figure", None, drawing, tag("figcaption", None, f"{caption}."))
