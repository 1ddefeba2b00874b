"""Ends of motion that a scene or its parts give the wrong way round."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rigmodel.catalog.kinds import AnyPart, SubAssembly, TrailingArm, walk
from rigmodel.catalog.tractors import TractorEntry
from rigmodel.spec.problem import Loc, Problem
from rigmodel.spec.scene import SceneLift
from rigmodel.units import Unit, format_length


def lift_problems(given: SceneLift, tractor: TractorEntry, unit: Unit) -> Iterator[Problem]:
    """A lift without a range, or a pivoting one without its pivot.

    Args:
        given: what the scene writes about the lift.
        tractor: the tractor with it.
        unit: unit to say lengths in.
    """
    lift = tractor.lift
    if lift.kind == "pivot" and None in (lift.pivot_x, lift.pivot_z):
        yield Problem(("tractor", "lift"), "a pivot lift needs pivot_x and pivot_z")
    if lift.lowest >= lift.highest:
        name = "highest" if given.highest is not None else "lowest"
        yield Problem(
            ("tractor", "lift", name),
            f"the lift's lowest, {format_length(lift.lowest, unit)}, is not below its highest, "
            f"{format_length(lift.highest, unit)}",
        )


def arm_problems(
    unit: SubAssembly, parts: Mapping[str, AnyPart], own: Mapping[str, AnyPart], loc: Loc
) -> Iterator[Problem]:
    """Arms of a sub-assembly whose stops are not on each side of their working angle.

    Args:
        unit: the sub-assembly.
        parts: all parts by id.
        own: those of them that the scene itself writes.
        loc: the station, where the fault lies if the arm is not the scene's own.
    """
    for node in walk(unit.tool):
        arm = parts[node.part]
        if isinstance(arm, TrailingArm) and not arm.down_stop <= arm.work_angle <= arm.up_stop:
            where: Loc = ("parts", node.part, "work_angle") if node.part in own else (*loc, "use")
            yield Problem(
                where,
                f"arm '{node.part}' works at {arm.work_angle:g}°, which is not between its down "
                f"stop, {arm.down_stop:g}°, and its up stop, {arm.up_stop:g}°",
                "down_stop, work_angle and up_stop of rising order; negative hangs down",
            )


def spring_problems(
    unit: SubAssembly, parts: Mapping[str, AnyPart], hole: int, loc: Loc
) -> Iterator[Problem]:
    """A station whose spring hangs in a hole that none of its arms has.

    Args:
        unit: the sub-assembly.
        parts: all parts by id.
        hole: the hole, counted from 1.
        loc: the station.
    """
    arms = [arm for node in walk(unit.tool) if isinstance(arm := parts[node.part], TrailingArm)]
    most = max((arm.spring_holes for arm in arms), default=1)
    if hole > most:
        told = f"its arm's spring has {most}" if arms else "it has no arm with a spring"
        yield Problem(
            (*loc, "spring_hole"), f"there is no hole {hole}: {told}", f"1 to {most}", str(most)
        )
